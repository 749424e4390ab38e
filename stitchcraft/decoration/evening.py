"""Even out a closed line: stretches that run too near one another push each other apart.

The line behaves like a thread on a table whose stretches repel each other up to a given distance, whose bends
are stiff, and which the edge of the table holds in. It lengthens into what was bare.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import at_distances, closed, grown, length_of

_ROUNDINGS: Final = (0.35, 0.28, 0.2, 0.1)
_ROUNDS: Final = 16
_CHECK_EVERY: Final = 4
_POINTS_PER_GAP: Final = 6
_PUSH: Final = 0.10
_STIFFNESS: Final = 0.06
_EDGE_SHARE: Final = 0.6
_REACH: Final = 1.1
_BALD: Final = 0.75
_GROWTH: Final = 0.45
_LOBE: Final = 0.5
_SPOTS: Final = 24


def evened(ring: FloatArray, part: shapely.Polygon, gap: float) -> FloatArray:
    """Move a closed line until its stretches lie about a gap apart and half a gap from the edge.

    Args:
        ring: (n, 2) closed line inside the polygon that does not cross itself, mm.
        part: The polygon to stay inside.
        gap: Distance wanted, mm.

    Returns:
        A closed line inside the polygon that does not cross itself; the one given if nothing better was found.
    """
    shapely.prepare(part)
    posts = _edge_posts(part, gap)
    dust = dust_in(grown(part, -_EDGE_SHARE * gap), gap / 4)
    best, moving = ring, ring
    for turn in range(1, _ROUNDS + 1):
        points = _even_points(moving, gap / _POINTS_PER_GAP)
        moved = points + _pushes(points, posts, gap)
        if turn % 2:
            moved += _pulls(moved, dust, gap)
        points = _smoothed(moved, _STIFFNESS * gap, gap / _POINTS_PER_GAP)
        moving = closed(points)
        if turn % _CHECK_EVERY == 0 or turn == _ROUNDS:
            line = shapely.LinearRing(moving)
            if not (line.is_simple and part.contains(line)):
                break
            best = moving
    return rounded(best, part, gap)


def rounded(ring: FloatArray, part: shapely.Polygon, gap: float) -> FloatArray:
    """Take the corners off a closed line, as far as it stays inside the polygon and does not cross itself.

    Each point becomes a bell-weighted mean of its neighbourhood along the line.
    """
    step = gap / _POINTS_PER_GAP / 2
    points = _even_points(ring, step)
    for share in _ROUNDINGS:
        smooth = closed(_smoothed(points, share * gap, step))
        line = shapely.LinearRing(smooth)
        if line.is_simple and part.contains(line):
            return smooth
    return ring


def _edge_posts(part: shapely.Polygon, gap: float) -> FloatArray:
    rings = [part.exterior, *part.interiors]
    return np.vstack(
        [at_distances(np.asarray(ring.coords)[:, :2], np.arange(0.0, ring.length, gap / 8)) for ring in rings]
    )


def _even_points(ring: FloatArray, step: float) -> FloatArray:
    length = length_of(ring)
    count = max(16, round(length / step))
    return at_distances(ring, length * np.arange(count) / count)


def _pushes(points: FloatArray, posts: FloatArray, gap: float) -> FloatArray:
    """How far each point is pushed in this round, (n, 2) mm."""
    from scipy.spatial import cKDTree  # loaded here: no other decoration needs it

    count = len(points)
    tree = cKDTree(points)
    pairs = tree.query_pairs(_REACH * gap, output_type="ndarray")
    along = np.abs(pairs[:, 0] - pairs[:, 1])
    # stretches that follow each other along the line are near by nature and do not repel
    apart = np.minimum(along, count - along) > 1.6 * _POINTS_PER_GAP
    one, other = pairs[apart].T
    between = points[one] - points[other]
    distance = np.maximum(np.hypot(*between.T), 1e-9)
    force = between / distance[:, None] * (1 - distance / (_REACH * gap))[:, None]
    push = np.column_stack(
        [np.bincount(one, force[:, k], count) - np.bincount(other, force[:, k], count) for k in (0, 1)]
    ).astype(np.float64)
    reach = _EDGE_SHARE * gap
    near, post = cKDTree(posts).query(points, distance_upper_bound=reach)
    close = np.flatnonzero(np.isfinite(near))
    away = (points[close] - posts[post[close]]) / np.maximum(near[close], 1e-9)[:, None]
    push[close] += 3.0 * away * (1 - near[close] / reach)[:, None]
    size = np.hypot(*push.T)
    # no point moves farther than a twelfth of a gap at once, so that no stretch can leap over another
    limit = np.minimum(_PUSH, 1 / 12 / np.maximum(size, 1e-9))
    return push * limit[:, None] * gap


def _pulls(points: FloatArray, dust: FloatArray, gap: float) -> FloatArray:
    """How far each point is drawn towards a bald spot: the stretch nearest to its middle grows a lobe."""
    from scipy.spatial import cKDTree  # loaded here: no other decoration needs it

    pull = np.zeros_like(points)
    if not len(dust):
        return pull
    far, nearest = cKDTree(points).query(dust)
    taken: list[FloatArray] = []
    for spot in np.argsort(-far, kind="stable")[: 40 * _SPOTS]:
        if far[spot] < _BALD * gap or len(taken) == _SPOTS:
            break
        if taken and np.hypot(*(np.array(taken) - dust[spot]).T).min() < 2 * gap:
            continue
        taken.append(dust[spot])
        behind = np.arange(len(points)) - nearest[spot]
        behind = np.minimum(behind % len(points), -behind % len(points)) / _POINTS_PER_GAP
        lobe = np.exp(-((behind / _LOBE) ** 2))
        towards = (dust[spot] - points[nearest[spot]]) / far[spot]
        pull += lobe[:, None] * towards * min(_GROWTH * gap, far[spot] - gap / 2)
    return pull


def dust_in(room: BaseGeometry, grain: float) -> FloatArray:
    """A grid of points that covers a polygon, (n, 2), no more than some thousands."""
    if room.is_empty:
        return np.empty((0, 2))
    left, bottom, right, top = room.bounds
    grain = max(grain, math.sqrt(room.area / 4000))
    x, y = np.meshgrid(np.arange(left, right, grain) + grain / 2, np.arange(bottom, top, grain) + grain / 2)
    dust = np.column_stack([x.ravel(), y.ravel()])
    return dust[shapely.contains_xy(room, dust)]


def _smoothed(points: FloatArray, width: float, step: float) -> FloatArray:
    waves = np.fft.rfftfreq(len(points), d=step)
    bell = np.exp(-2 * (math.pi * width * waves) ** 2)
    return np.fft.irfft(np.fft.rfft(points, axis=0) * bell[:, None], n=len(points), axis=0)
