"""Needle points along a line: running, triple and double-run.

Stitches run between fixed points, which are the ends of the line and its corners. Between two of them the line
is cut into equal parts of a running total of "stitches wanted", so no short remainder is ever left over.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PLANNING
from stitchcraft.design import Role
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import at_distances, distances_along
from stitchcraft.stitching.pieces import Run

CORNER_DEG: Final = 30.0
"""A turn sharper than this is a corner, and gets a needle point of its own."""

THINNEST_MM: Final = 0.01
"""Vertices nearer to one another than this say nothing about direction: a tenth of a machine unit."""

DOUBLE_GAP_MM: Final = PLANNING["needle_gap"].value + 0.05
"""Holes of a double-run seam keep this far apart: the needle gap and the error of rounding, mm."""

SHORTEST_DOUBLE_MM: Final = 2.0
"""A double-run seam has five holes at least, each a gap from the next."""

# vertices looked at in one go, so that memory stays in proportion to the stitches
_CHUNK: Final = 1 << 14

# how much denser a stitch that cuts a bend gets at least; rising, so that the rounds come to an end
_GAINS: Final = (*[1.01] * 8, *[1.05] * 8, *[1.2] * 8, *[1.5] * 16)
_NOISE: Final = 1e-9


def run_points(
    path: FloatArray,
    *,
    length: float,
    tolerance: float = 0.1,
    shortest: float = PLANNING["run_curve_shortest"].value,
) -> FloatArray:
    """Place needle points along a line, evenly, closer together where it bends.

    Both ends are hit, and so is every corner: a turn of more than `CORNER_DEG`, or a vertex that stands off its
    neighbours by more than *tolerance*. Between two of these the line is divided evenly: no stitch is longer than
    *length*, measured along the line, and none is a short remainder. Where a stitch would cut a bend by more than
    *tolerance*, stitches are made shorter, but a bend never asks for less than *shortest*; a stitch is then at
    least half of *shortest* long, unless its two ends are fixed points nearer than that. A line sewn the other way
    round gets the same needle points.

    Args:
        path: (n, 2) positions in mm; closed if it ends where it starts.
        length: Longest stitch, mm, above 0.
        tolerance: Largest distance from the line to the stitches, mm, above 0.
        shortest: Shortest step that a bend may ask for, mm, above 0.

    Returns:
        (m, 2) needle points, mm, m >= 2.

    Raises:
        ParameterError: If a number is not above 0, or the path has no length.

    Example:
        >>> run_points(np.array([[0.0, 0.0], [5.0, 0.0]]), length=3.0).tolist()
        [[0.0, 0.0], [2.5, 0.0], [5.0, 0.0]]
    """
    for name, value in (("length", length), ("tolerance", tolerance), ("shortest", shortest)):
        if not (math.isfinite(value) and value > 0):
            raise ParameterError(name, value, "a length above 0 mm")
    line = _thinned(np.asarray(path, dtype=np.float64))
    along = distances_along(line)
    corners = corners_of(line, stand_off=tolerance)
    fixed, loops = along[corners], _no_chord(line[corners])
    breaks, wanted = fixed, np.full(len(fixed) - 1, 1.0 / length)
    densest = max(1.0 / shortest, 1.0 / length)
    for count, gain in enumerate(_GAINS):
        cuts = _even_cuts(fixed, breaks, wanted, loops)
        points = _on_line(line, along, cuts)
        excess = _cut_off(line, along, cuts, points) / tolerance
        density = _mean_density(cuts, breaks, wanted)
        tight = (excess > 1.0 + _NOISE) & (density < densest * (1 - 1e-6))
        if not tight.any():
            if count == 0:
                return points
            break
        factor = np.where(tight, np.maximum(np.sqrt(excess), gain), 1.0)
        breaks, wanted = _raised(breaks, wanted, cuts, factor, densest)
    return _evened(line, along, fixed, cuts, points, tolerance)


def corners_of(path: FloatArray, *, stand_off: float = math.inf) -> NDArray[np.intp]:
    """Indices of the fixed points of a line: its two ends, and its corners.

    Args:
        path: (n, 2) positions in mm, no two neighbours equal.
        stand_off: A vertex farther than this from the straight line between its neighbours, mm, is a corner however
            little the line turns there: both its sides are long, so it was drawn as a corner and not as a curve.
    """
    x, y = np.diff(path[:, 0]), np.diff(path[:, 1])
    squared = x * x + y * y
    cross = x[:-1] * y[1:] - y[:-1] * x[1:]
    dot = x[:-1] * x[1:] + y[:-1] * y[1:]
    sharp = dot < math.cos(math.radians(CORNER_DEG)) * np.sqrt(squared[:-1] * squared[1:])
    if math.isfinite(stand_off):
        # twice the area of the triangle with a neighbour at each side, over its base
        sharp |= cross * cross > stand_off**2 * (squared[:-1] + squared[1:] + 2 * dot)
    return np.concatenate([[0], np.flatnonzero(sharp) + 1, [len(path) - 1]])


def _thinned(path: FloatArray) -> FloatArray:
    """Drop vertices nearer than `THINNEST_MM` to the one before; both ends stay."""
    if len(path) >= 2 and np.hypot(*np.diff(path, axis=0).T).min() >= THINNEST_MM:
        return path
    keep = [0]
    for index in range(1, len(path)):
        if math.dist(path[index], path[keep[-1]]) >= THINNEST_MM:
            keep.append(index)
    if keep[-1] != len(path) - 1:
        # the end itself is hit exactly: it replaces the last kept vertex, which lies within a hair of it
        keep = [*keep[:-1], len(path) - 1] if len(keep) > 1 else keep
    if len(keep) < 2:
        raise ParameterError("path", "a path without length", f"at least {THINNEST_MM:g} mm long")
    return path[keep]


def _no_chord(ends: FloatArray) -> NDArray[np.bool_]:
    """Which stretches between fixed points end where they start: one stitch along them would have no length."""
    return np.hypot(*np.diff(ends, axis=0).T) < THINNEST_MM


def _even_cuts(fixed: FloatArray, breaks: FloatArray, wanted: FloatArray, loops: NDArray[np.bool_]) -> FloatArray:
    """Distances along the line at which the needle goes down: equal parts of the integral of *wanted*."""
    total = np.concatenate([[0.0], np.cumsum(np.diff(breaks) * wanted)])
    at_fixed = np.interp(fixed, breaks, total)
    share = np.diff(at_fixed)
    count = np.maximum(np.where(loops, 2, 1), np.ceil(share - 1e-10).astype(np.intp))
    first = np.cumsum(count) - count
    stretch = np.repeat(np.arange(len(count)), count)
    part = (np.arange(len(stretch)) - first[stretch]) / count[stretch]
    cuts = np.interp(at_fixed[:-1][stretch] + part * share[stretch], total, breaks)
    cuts[first] = fixed[:-1]
    return np.append(cuts, fixed[-1])


def _evened(
    line: FloatArray, along: FloatArray, fixed: FloatArray, cuts: FloatArray, points: FloatArray, tolerance: float
) -> FloatArray:
    """Use equal stitches between two fixed points wherever as many of them cut the line no more than allowed."""
    first = np.searchsorted(cuts, fixed)
    count = np.diff(first)
    stretch = np.repeat(np.arange(len(count)), count)
    part = (np.arange(len(stretch)) - first[:-1][stretch]) / count[stretch]
    even = np.append(fixed[:-1][stretch] + part * np.diff(fixed)[stretch], fixed[-1])
    even_points = _on_line(line, along, even)
    worst = np.maximum.reduceat(_cut_off(line, along, even, even_points), first[:-1])
    good = np.append((worst <= tolerance * (1.0 + _NOISE))[stretch], True)
    return np.where(good[:, None], even_points, points)


def _on_line(line: FloatArray, along: FloatArray, cuts: FloatArray) -> FloatArray:
    return np.column_stack([np.interp(cuts, along, line[:, 0]), np.interp(cuts, along, line[:, 1])])


def _cut_off(line: FloatArray, along: FloatArray, cuts: FloatArray, points: FloatArray) -> FloatArray:
    """How far the line strays from each stitch, mm: exact, since it is farthest at one of its vertices."""
    x, y = points[:-1, 0], points[:-1, 1]
    step_x, step_y = np.diff(points[:, 0]), np.diff(points[:, 1])
    per_squared = 1.0 / np.maximum(step_x * step_x + step_y * step_y, 1e-18)
    farthest = np.zeros(len(cuts) - 1)
    for first in range(0, len(line), _CHUNK):
        some = slice(first, first + _CHUNK)
        stitch = np.clip(np.searchsorted(cuts, along[some], side="right") - 1, 0, len(cuts) - 2)
        off_x, off_y = line[some, 0] - x[stitch], line[some, 1] - y[stitch]
        to_x, to_y = step_x[stitch], step_y[stitch]
        share = np.clip((off_x * to_x + off_y * to_y) * per_squared[stitch], 0.0, 1.0)
        off_x -= share * to_x
        off_y -= share * to_y
        np.maximum.at(farthest, stitch, off_x * off_x + off_y * off_y)
    return np.sqrt(farthest)


def _mean_density(cuts: FloatArray, breaks: FloatArray, wanted: FloatArray) -> FloatArray:
    """Stitches wanted per mm at the loosest place of each stitch."""
    total = np.concatenate([[0.0], np.cumsum(np.diff(breaks) * wanted)])
    return np.diff(np.interp(cuts, breaks, total)) / np.diff(cuts)


def _raised(
    breaks: FloatArray, wanted: FloatArray, cuts: FloatArray, factor: FloatArray, densest: float
) -> tuple[FloatArray, FloatArray]:
    """Multiply the density under each stitch by its factor, up to *densest*."""
    tight = np.flatnonzero(factor > 1)
    merged = _merged(breaks, np.unique(np.concatenate([cuts[tight], cuts[tight + 1]])))
    middle = (merged[:-1] + merged[1:]) / 2
    old = wanted[np.clip(np.searchsorted(breaks, middle) - 1, 0, len(wanted) - 1)]
    rise = factor[np.clip(np.searchsorted(cuts, middle) - 1, 0, len(factor) - 1)]
    return merged, np.minimum(old * rise, np.maximum(densest, old))


def _merged(one: FloatArray, other: FloatArray) -> FloatArray:
    """Two rising sequences as one."""
    # a stable sort finds the two and merges them
    both = np.sort(np.concatenate([one, other]), kind="stable")
    return both[np.append(True, np.diff(both) > 0)]


def repeated(points: FloatArray, *, passes: int = 3) -> FloatArray:
    """Sew every stitch several times before going on to the next: forward, back, forward.

    The passes of a stitch share its two holes to the last bit, so a sharp point stays one hole.

    Args:
        points: (n, 2) needle points of a plain run, mm, n >= 2.
        passes: How often each stitch is sewn: odd, so that the line advances.

    Returns:
        (passes * (n - 1) + 1, 2) needle points.

    Raises:
        ParameterError: If *passes* is not an odd whole number from 1 to 9.

    Example:
        >>> repeated(np.array([[0.0, 0.0], [2.0, 0.0], [4.0, 0.0]]))[:, 0].tolist()
        [0.0, 2.0, 0.0, 2.0, 4.0, 2.0, 4.0]
    """
    if isinstance(passes, bool) or passes not in (1, 3, 5, 7, 9):
        raise ParameterError("passes", passes, "an odd whole number from 1 to 9")
    stitches = np.repeat(np.arange(len(points) - 1), passes)
    far_end = np.arange(len(stitches)) % passes % 2 == 0
    return points[np.concatenate([[0], stitches + far_end])]


def double_run(points: FloatArray, *, lock: float = PLANNING["lock_stitch"].value) -> Run:
    """Sew a seam out and back through the same holes, with a lock at both ends.

    The needle starts two lock steps in from the first end, steps back to it, sews the seam to the far end, locks
    there with one hole a lock step in, comes back, and ends where it started: with a and b one and two lock steps
    in from the first point p0, and q one in from the last point pn, the order is ``b a p0 p1 ... pn q pn q ...
    p1 p0 a b``. Every hole is used exactly twice, both times at the same position to the last bit.

    The holes of the locks lie on the stitches of the seam. They are put where they keep off the seam's own holes by
    `DOUBLE_GAP_MM`; where the seam's holes are too close for that, those in the way are left out, except corners.
    A closed seam goes round twice the same way instead and locks at its start: ``b a p0 ... p0 ... a b``.

    Args:
        points: (n, 2) needle points of the seam sewn once, mm.
        lock: Length of a lock stitch, mm; taken between `DOUBLE_GAP_MM` and twice itself where holes are near.

    Returns:
        The run; lock stitches have the role `Role.LOCK`.

    Raises:
        ParameterError: If the seam is shorter than `SHORTEST_DOUBLE_MM`.
    """
    seam = np.asarray(points, dtype=np.float64)
    total = float(distances_along(seam)[-1])
    if total < SHORTEST_DOUBLE_MM:
        raise ParameterError("path", f"a seam {total:.2f} mm long", f"at least {SHORTEST_DOUBLE_MM:g} mm long")
    closed = math.dist(seam[0], seam[-1]) < THINNEST_MM
    a, b, seam = _lock_holes(seam, lock=lock, holes=2)
    if closed:
        ring = seam[:-1]
        xy = np.vstack([b, a, ring, ring, a, b])
        role = _roles(len(xy), start=3, end=2)
        return Run(xy, role)
    q, _, backwards = _lock_holes(seam[::-1], lock=lock, holes=1, others=np.vstack([a, b]))
    seam = backwards[::-1]
    out, back = np.vstack([b, a, seam]), np.vstack([q, seam[-1:], q, seam[-2::-1], a, b])
    role = _roles(len(out) + len(back), start=3, end=2)
    role[len(out) : len(out) + 3] = Role.LOCK
    return Run(np.vstack([out, back]), role)


def _roles(count: int, *, start: int, end: int) -> NDArray[np.uint8]:
    role = np.full(count, Role.TOP, dtype=np.uint8)
    role[:start] = Role.LOCK
    role[count - end :] = Role.LOCK
    return role


def _lock_holes(
    seam: FloatArray, *, lock: float, holes: int, others: FloatArray | None = None
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Find one or two holes near the start of a seam, and the seam without the holes that they would crowd.

    Returns:
        The nearer hole (1, 2), the farther one (1, 2) (the same one if only one is asked for), and the seam.
    """
    total = float(distances_along(seam)[-1])
    steps = np.arange(DOUBLE_GAP_MM, 2 * max(lock, DOUBLE_GAP_MM) + _NOISE, 0.05)
    near, step = (grid.ravel() for grid in np.meshgrid(steps, steps if holes == 2 else [0.0], indexing="ij"))
    room = near + step <= total - (2 if holes == 2 else 1) * DOUBLE_GAP_MM
    near, far = near[room], (near + step)[room]
    taken = seam if others is None else np.vstack([seam, others])
    removable = np.zeros(len(taken), dtype=bool)
    removable[: len(seam)] = True
    removable[corners_of(seam)] = False
    crowded = np.zeros((len(near), len(taken)), dtype=bool)
    for distance in (near, far):
        spots = at_distances(seam, distance)
        crowded |= np.hypot(*(spots[:, None] - taken[None]).transpose(2, 0, 1)) < DOUBLE_GAP_MM - _NOISE
    cost = 1000.0 * crowded[:, ~removable].sum(axis=1) + 10.0 * crowded[:, removable].sum(axis=1)
    cost += np.abs(near - lock) + (np.abs(far - near - lock) if holes == 2 else 0.0)
    best = int(np.argmin(np.round(cost, 9)))
    keep = ~(crowded[best] & removable)[: len(seam)]
    return at_distances(seam, near[best : best + 1]), at_distances(seam, far[best : best + 1]), seam[keep]
