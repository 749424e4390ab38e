"""Needle points along the rows of a fill."""

from __future__ import annotations

import itertools
import math
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray, IntArray
from stitchcraft.defaults import PLANNING
from stitchcraft.geometry.curves import distances_along
from stitchcraft.stitching.fill_sections import Rows

LEAST_END_SHARE: Final = 0.25
LEAST_END_MM: Final = PLANNING["row_end_shortest"].value


def row_points(
    rows: Rows,
    spans: IntArray,
    backward: NDArray[np.bool_],
    *,
    length: float,
    repeat: int,
    shortest: float,
) -> tuple[FloatArray, IntArray]:
    """Place the needle points of rows in the order in which they are sewn.

    The points lie on one lattice for all rows, shifted by a share of the stitch from row to row, so that the
    texture runs on across sections and around holes. Both ends of a row take a point. A lattice point that
    would leave a short stitch at an end moves to halve the distance between its neighbours: no stitch is
    longer than *length*.

    Args:
        rows: The rows.
        spans: (n,) which of them, in order of sewing.
        backward: (n,) those sewn from right to left.
        length: Stitch length, mm.
        repeat: After how many rows the lattice comes back.
        shortest: No shorter stitch, mm, where a row is long enough for two points.

    Returns:
        (m, 2) points in the row frame, and (n + 1,) where each row starts among them.
    """
    left, right, row = rows.left[spans], rows.right[spans], rows.row[spans]
    least = max(shortest, min(LEAST_END_MM, LEAST_END_SHARE * length))
    phase = np.mod(row, repeat) * (length / repeat)
    first = np.floor((left - phase) / length + 1e-9).astype(np.int64) + 1
    inner = np.ceil((right - phase) / length - 1e-9).astype(np.int64) - first
    np.maximum(inner, 0, out=inner)
    short_left = (inner > 0) & (first * length + phase - left < least)
    short_right = (inner > 0) & (right - ((first + inner - 1) * length + phase) < least)
    # one lattice point cannot be moved twice: drop it, or of two keep one, in the middle
    lone = (inner == 1) & (short_left | short_right)
    gone = lone & (right - left <= length)
    both = (inner == 2) & short_left & short_right
    middle = (lone & ~gone) | both
    inner[gone] = 0
    inner[both] = 1
    tiny = right <= left
    count = np.where(tiny, 1, inner + 2)
    start = np.zeros(len(spans) + 1, dtype=np.int64)
    np.cumsum(count, out=start[1:])
    x = np.arange(start[-1], dtype=np.float64)
    x -= np.repeat(start[:-1] + 1 - first, count)
    x *= length
    x += np.repeat(phase, count)
    head, tail = start[:-1], start[1:] - 1
    move = short_left & (inner > 1) & ~middle
    x[head[move] + 1] = (left[move] + x[head[move] + 2]) / 2
    move = short_right & (inner > 1) & ~middle
    x[tail[move] - 1] = (right[move] + x[tail[move] - 2]) / 2
    x[head[middle] + 1] = (left[middle] + right[middle]) / 2
    x[tail], x[head] = right, left
    x[head[tiny]] = (left[tiny] + right[tiny]) / 2
    points = np.empty((len(x), 2))
    points[:, 1] = np.repeat(rows.y[spans], count)
    order = np.arange(len(x))
    turn = np.repeat(np.where(backward, head + tail, 0), count)
    np.subtract(turn, order, out=order, where=np.repeat(backward, count))
    points[:, 0] = x[order]
    return points, start


def without_short_turns(
    points: FloatArray, start: IntArray, left_of: FloatArray, shortest: float, *, last: NDArray[np.bool_] | None = None
) -> NDArray[np.bool_]:
    """Mark the points to keep so that no turn from row to row is a stitch too short.

    Args:
        points: (m, 2) needle points of rows sewn to and fro.
        start: (n + 1,) where each row starts.
        left_of: (n,) +1 for a row sewn to the right, -1 to the left.
        shortest: mm.
        last: (n,) rows that are the last of their section: they keep both ends, so that corners are covered.

    Returns:
        (m,) False at the one of two points, end of a row and start of the next, that lies further in.
    """
    keep = np.ones(len(points), dtype=bool)
    ends, heads = start[1:-1] - 1, start[1:-1]
    close = np.hypot(*(points[heads] - points[ends]).T) < shortest
    head_out = (points[heads, 0] - points[ends, 0]) * left_of[:-1] > 0
    if last is not None:
        head_out |= last[1:]
    several = np.diff(start) > 1
    drop_end = close & head_out & several[:-1]
    drop_head = close & ~head_out & several[1:]
    keep[ends[drop_end]] = False
    keep[heads[drop_head]] = False
    return keep


def bends_of(path: FloatArray, tolerance: float) -> IntArray:
    """Numbers of the points at which a path bends, its ends among them: between them it strays by *tolerance*."""
    kept = shapely.get_coordinates(shapely.simplify(shapely.LineString(path), tolerance, preserve_topology=False))
    numbers = [0]
    for x, y in kept[1:-1].tolist():
        after = numbers[-1] + 1
        numbers.append(after + int(np.argmax((path[after:, 0] == x) & (path[after:, 1] == y))))
    return np.array([*numbers, len(path) - 1])


def thinned(path: FloatArray, step: float, tolerance: float) -> IntArray:
    """Choose points of a finely drawn path to sew: its bends, and between them points about *step* apart.

    Args:
        path: (n, 2), n >= 2, mm.
        step: mm.
        tolerance: How far the path may stray from the stitches where it bends, mm.

    Returns:
        Numbers of the points chosen, the first and the last among them.
    """
    along = distances_along(path)
    bends = bends_of(path, tolerance)
    chosen = [bends]
    for a, b in itertools.pairwise(bends.tolist()):
        parts = max(1, math.ceil((along[b] - along[a]) / step - 1e-9))
        wanted = np.linspace(along[a], along[b], parts + 1)[1:-1]
        chosen.append(a + np.searchsorted((along[a:b] + along[a + 1 : b + 1]) / 2, wanted))
    return np.unique(np.concatenate(chosen))


def without_short_stitches(points: FloatArray, shortest: float, held: NDArray[np.bool_] | None = None) -> IntArray:
    """Choose points so that neighbours are at least *shortest* apart.

    Args:
        points: (m, 2), in order of sewing.
        shortest: mm.
        held: (m,) points that push out the one before them rather than go themselves.

    Returns:
        Numbers of the points kept; the first and the last are among them.
    """
    count = len(points)
    if count < 3:
        return np.arange(count)
    steps = np.diff(points, axis=0)
    close = np.flatnonzero(np.einsum("ij,ij->i", steps, steps) < shortest**2) + 1
    if not len(close):
        return np.arange(count)
    keep = np.ones(count, dtype=bool)
    limit = shortest**2
    xy = points
    at = 0
    while at < len(close):
        i = int(close[at])
        anchor = i - 1
        while anchor > 0 and not keep[anchor]:
            anchor -= 1
        # follow the crowd until a point is far enough from the last one kept
        while i < count - 1 and (xy[i, 0] - xy[anchor, 0]) ** 2 + (xy[i, 1] - xy[anchor, 1]) ** 2 < limit:
            if held is not None and held[i] and not held[anchor] and anchor > 0:
                keep[anchor] = False
                anchor = i
            else:
                keep[i] = False
            i += 1
        at = max(at + 1, int(np.searchsorted(close, i, side="right")))
    last = count - 1
    before = last - 1
    # the last point stays, so all that crowd it go
    while before > 0 and (not keep[before] or np.hypot(*(xy[last] - xy[before])) < shortest):
        keep[before] = False
        before -= 1
    return np.flatnonzero(keep)
