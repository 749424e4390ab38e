"""How strokes share the place where they meet: each keeps to its own edges, and what joins begins under the other."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import distances_along, length_of
from stitchcraft.geometry.spines import End, Stroke

OVERLAP_MM: Final = 0.5
"""A stroke begins so far inside the stroke that it joins."""

MOUTH: Final = 1.25
"""Where another stroke comes in, its mouth reaches at most one radius of the disc there to either side; and some."""

OUT: Final = 1.1
"""A line is bounded by its own stroke's outline if it is at most so many times as long as those farther on."""

SIDEWAYS: Final = 0.25
"""A stroke comes in on the side of a line if the cosine between the two is above this."""


def _mouths(stroke: Stroke) -> list[tuple[int, float]]:
    """Where other strokes come in, and how far along the stroke that reaches to either side; none into another."""
    place = distances_along(stroke.path)[stroke.passes]
    apart = np.abs(place[:, None] - place)
    if stroke.closed:
        apart = np.minimum(apart, length_of(stroke.path) - apart)
    np.fill_diagonal(apart, np.inf)
    mouth = np.minimum(MOUTH * stroke.radius[stroke.passes], apart.min(axis=1, initial=np.inf) / 2)
    return list(zip(stroke.passes.tolist(), mouth.tolist(), strict=True))


def straightened(stroke: Stroke) -> tuple[FloatArray, FloatArray]:
    """A stroke's path and the radius along it, going straight on where other strokes come in: there its axis bends."""
    along = distances_along(stroke.path)
    keep = np.ones(len(along), dtype=bool)
    for (index, mouth), ways in zip(_mouths(stroke), stroke.branches, strict=True):
        if not len(ways):
            continue
        away = np.abs(along - along[index])
        keep &= (np.minimum(away, along[-1] - away) if stroke.closed else away) > mouth
    if not stroke.closed:
        keep[[0, -1]] = True
    path, radius = stroke.path, _levelled_radius(stroke)
    if keep.all() or keep.sum() < 4:
        return path, radius
    path, radius = path[keep], radius[keep]
    if stroke.closed and not keep[0]:
        path, radius = np.vstack([path, path[:1]]), np.append(radius, radius[0])
    return path, radius


def _levelled_radius(stroke: Stroke) -> FloatArray:
    """The radius along a stroke, levelled where other strokes come in and widen it."""
    along = distances_along(stroke.path)
    radius = stroke.radius.copy()
    ends = [index for index, end in zip((0, len(along) - 1), stroke.ends, strict=True) if end is not End.FREE]
    for index in [*stroke.passes.tolist(), *([] if stroke.closed else ends)]:
        reach = 1.5 * float(stroke.radius[index])
        near = np.abs(along - along[index]) < reach
        edge = np.interp([along[index] - reach, along[index] + reach], along, stroke.radius)
        radius[near] = np.minimum(radius[near], np.maximum(edge.min(), stroke.radius[near] * 0.8))
    return radius


def hidden_under(stroke: Stroke, size: float, end: int) -> float:
    """How much of a stroke's end to leave out at least, because it lies under the stroke that it joins."""
    if stroke.ends[end] is not End.JOINING:
        return 0.0
    disc = float(stroke.radius[-end])
    return max(0.0, math.sqrt(max(disc**2 - size**2, 0.0)) - size - OVERLAP_MM)


def between_own_edges(stroke: Stroke, foot: FloatArray, direction: FloatArray, reach: FloatArray) -> FloatArray:
    """Keep lines from running into other strokes: across the mouth of each, a stroke goes on between its own edges."""
    along = distances_along(foot)
    total = float(along[-1])
    reach = reach.copy()
    for (index, mouth), ways in zip(_mouths(stroke), stroke.branches, strict=True):
        middle = int(np.argmin(np.hypot(*(foot - stroke.path[index]).T)))
        if not (ways @ direction[middle] > SIDEWAYS).any():
            continue
        away = along - along[middle]
        if stroke.closed:
            away = (away + total / 2) % total - total / 2
        before, after = np.flatnonzero(away < -mouth), np.flatnonzero(away > mouth)
        near = np.abs(away) <= mouth
        edges = [float(reach[beyond[np.argmin(np.abs(away[beyond]))]]) for beyond in (before, after) if len(beyond)]
        if edges:
            reach[near] = np.minimum(reach[near], np.interp(away[near], [-mouth, mouth], [edges[0], edges[-1]]))
    return reach


def out_of_joined(
    stroke: Stroke, end: int, foot: FloatArray, to_a: FloatArray, to_b: FloatArray
) -> tuple[NDArray[np.bool_], FloatArray, FloatArray]:
    """Begin a stroke where it comes out of the one that it joins.

    It has come out on a side from where the outline goes along with it. Its first line lies `OVERLAP_MM` before it is
    out on either side; no line is longer than farther on.

    Returns:
        Which lines to keep, and how far each may reach to either side.
    """
    keep = np.ones(len(foot), dtype=bool)
    if stroke.ends[end] is not End.JOINING:
        return keep, to_a, to_b
    along = distances_along(foot)
    left = along[-1] - along if end else along
    disc, size = float(stroke.radius[-end]), float(np.median(stroke.radius))
    start = float(np.hypot(*(foot[-end] - stroke.path[-end])))
    own = (left + start > disc) & (left + start < disc + 2 * size)
    if not own.any():
        return keep, to_a, to_b
    sides, out = [], []
    for reach in (to_a, to_b):
        width = float(np.median(reach[own]))
        within = (reach > OUT * width + 0.05) & (left + start < disc + size)
        out.append(float(left[within].max(initial=0.0)))
        sides.append(np.where(left <= out[-1], np.minimum(reach, width), reach))
    return left >= min(out) - OVERLAP_MM, sides[0], sides[1]


def own_share(stroke: Stroke, end: int, foot: FloatArray, direction: FloatArray, reach: FloatArray) -> FloatArray:
    """Shorten lines near a meeting where another of its strokes is nearer."""
    node = stroke.path[-end]
    disc = float(stroke.radius[-end])
    away = np.hypot(*(stroke.path - node).T)
    beyond = np.flatnonzero(away >= disc)
    own = stroke.path[(beyond[-1] if end else beyond[0]) if len(beyond) else end - 1] - node
    own = own / max(float(np.hypot(*own)), 1e-12)
    near = np.hypot(*(foot - node).T) < 3 * disc
    for rival in stroke.rivals[end]:
        towards = own - rival
        size = float(np.hypot(*towards))
        if size < 1e-6:
            continue
        margin = (foot - node) @ towards / size + OVERLAP_MM
        closing = -(direction @ towards) / size
        limit = np.where(closing > 1e-9, np.maximum(margin, 0.0) / np.maximum(closing, 1e-9), np.inf)
        reach = np.where(near, np.minimum(reach, limit), reach)
    return reach
