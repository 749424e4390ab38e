"""Needle points kept apart: short stitches where lines crowd."""

from __future__ import annotations

import math
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from stitchcraft.design import FloatArray

Cells: TypeAlias = dict[tuple[int, int], list[tuple[float, float]]]

INSETS: Final = (0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 16.0)
"""How far along its line a crowded needle point may be pulled in, in gaps, in order of trial."""

DEEPEST: Final = 0.72
"""No needle point is pulled in by more than this share of its line."""


def kept_apart(
    points: FloatArray, opposite: FloatArray, gap: float, *, ring: bool = False, everywhere: bool = False
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Pull crowded needle points in along their lines, until none is nearer to another than *gap*.

    Where points crowd, they are dealt with from the middle of the crowd outward, so that a corner keeps its own
    needle point and looks the same from both sides. Each takes the first of `INSETS` at which no point that is
    settled already is too near. Where there is none, the point is left out: the thread then goes along the
    longer side instead.

    Args:
        points: (n, 2) needle points in order, mm.
        opposite: (n, 2) the other ends of their lines.
        gap: Least distance, mm.
        ring: Whether the first point follows the last. If not, the first stays where it is.
        everywhere: Look for points too near that are far apart in the order as well: the column may cross itself.

    Returns:
        The points, moved, and which of them to keep.
    """
    crowded = _too_near(points, gap, ring=ring)
    count = len(points)
    if not ring:
        crowded[0] = False
    keep = np.ones(count, dtype=bool)
    if not crowded.any() and not everywhere:
        return points, keep
    if everywhere:
        moved = points.copy()
    else:
        moved, crowded = _alternated(points, opposite, crowded, gap, ring=ring)
    cells: Cells = {}
    rows = _middle_first(crowded, ring=ring).tolist()
    others = np.flatnonzero(~crowded) if everywhere else _beside(crowded, reach=12)
    for row in others.tolist():
        x, y = moved[row].tolist()
        if nearest(cells, (x, y), gap) < gap:
            rows.append(row)
        else:
            put(cells, (x, y), gap)
    for row, (x, y), (ox, oy) in zip(rows, points[rows].tolist(), opposite[rows].tolist(), strict=True):
        length = math.hypot(ox - x, oy - y)
        for inset in INSETS:
            if inset * gap > DEEPEST * length:
                keep[row] = False
                break
            share = inset * gap / max(length, 1e-9)
            place = (x + (ox - x) * share, y + (oy - y) * share)
            if nearest(cells, place, gap) >= gap:
                moved[row] = place
                put(cells, place, gap)
                break
        else:
            keep[row] = False
    return moved, keep


def _too_near(points: FloatArray, gap: float, *, ring: bool, steps: tuple[int, ...] = (1, 2)) -> NDArray[np.bool_]:
    """Which points lie nearer than *gap* to the next on either side of the column."""
    crowded = np.zeros(len(points), dtype=bool)
    for apart in steps:
        near = np.hypot(*(np.roll(points, -apart, axis=0) - points).T) < gap
        if not ring:
            near[-apart:] = False
        crowded |= near | np.roll(near, apart)
    return crowded


def _beside(crowded: NDArray[np.bool_], *, reach: int) -> NDArray[np.intp]:
    """The points that are not crowded themselves, but within a few of one that is (or of an end)."""
    window = spread(crowded, reach)
    window[:reach] = window[-reach:] = True
    return np.flatnonzero(window & ~crowded)


def spread(mask: NDArray[np.bool_], reach: int) -> NDArray[np.bool_]:
    """Mark everything within *reach* places of what is marked."""
    total = np.concatenate([[0], np.cumsum(mask)])
    place = np.arange(len(mask))
    return total[np.minimum(place + reach + 1, len(mask))] > total[np.maximum(place - reach, 0)]


def _alternated(
    points: FloatArray, opposite: FloatArray, crowded: NDArray[np.bool_], gap: float, *, ring: bool
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Settle the mild crowds of even curves at once: every second point is pulled in just far enough.

    Returns:
        The points, and which of them are still crowded, since that was not enough.
    """
    rows, crowd, middle = _crowds(crowded, ring=ring)
    place = rows % len(points)
    apart = np.hypot(*(np.roll(points, -2, axis=0) - points).T)
    nearest_two = np.minimum(apart, np.roll(apart, 2))[place]
    # the fourth point along is one that stays as well
    far = np.sqrt(np.maximum(gap**2 - nearest_two**2, 0.0)) * 1.02 + 0.01 * gap
    line = opposite[place] - points[place]
    length = np.hypot(*line.T)
    short = ((rows - middle[crowd]) // 2 % 2 == 1) & (far <= DEEPEST * length)
    trial = points.copy()
    trial[place[short]] += line[short] * (far[short] / length[short])[:, None]
    bad = _too_near(trial, gap, ring=ring) | _too_near(trial, gap, ring=ring, steps=(4,))
    still = crowded & spread(bad, 4)
    trial[still] = points[still]
    return trial, still


def _crowds(crowded: NDArray[np.bool_], *, ring: bool) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """The crowded points in order, which crowd each belongs to, and the point in the middle of each crowd.

    In a ring, the numbers of points past the end go on from the last, so that no crowd is cut in two.
    """
    rows = np.flatnonzero(crowded)
    count = len(crowded)
    if ring and 0 < len(rows) < count:
        gaps = np.diff(np.append(rows, rows[0] + count))
        first = (int(np.argmax(gaps)) + 1) % len(rows)
        rows = np.concatenate([rows[first:], rows[:first] + count])
    begins = np.concatenate([[True], np.diff(rows) > 4])[: len(rows)]
    starts = np.flatnonzero(begins)
    ends = np.append(starts[1:], len(rows))
    return rows, np.cumsum(begins) - 1, rows[(starts + ends - 1) // 2] if len(rows) else rows


def _middle_first(crowded: NDArray[np.bool_], *, ring: bool) -> NDArray[np.intp]:
    """The crowded points, crowd by crowd, each from its middle outward."""
    rows, crowd, middle = _crowds(crowded, ring=ring)
    return rows[np.lexsort((np.abs(rows - middle[crowd]), crowd))] % len(crowded)


def nearest(cells: Cells, place: tuple[float, float], gap: float) -> float:
    """Distance from a place to the nearest point in the cells, if that is less than *gap*; else *gap* or more."""
    x, y = place
    around = cells.get((math.floor(x / gap), math.floor(y / gap)))
    return min([math.hypot(x - px, y - py) for px, py in around]) if around else math.inf


def put(cells: Cells, place: tuple[float, float], gap: float) -> None:
    """Add a point to its cell and those around it, which are *gap* wide: looking up is then one look."""
    column, row = math.floor(place[0] / gap), math.floor(place[1] / gap)
    for i in (column - 1, column, column + 1):
        for j in (row - 1, row, row + 1):
            cells.setdefault((i, j), []).append(place)
