"""Needle points kept apart: short stitches where lines crowd, and the split of lines too long to lie flat."""

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

PHASES: Final = (0.0, 0.5, 0.25, 0.75)
"""Where successive lines are split, as a share of the split length: no two neighbours in line, no diagonals."""


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
    moved = points.copy()
    cells: Cells = {}
    rows = _middle_first(crowded, ring=ring).tolist()
    others = np.flatnonzero(~crowded) if everywhere else _beside(crowded, reach=12)
    for row in others.tolist():
        x, y = points[row].tolist()
        if _nearest(cells, (x, y), gap) < gap:
            rows.append(row)
        else:
            _put(cells, (x, y), gap)
    for row, (x, y), (ox, oy) in zip(rows, points[rows].tolist(), opposite[rows].tolist(), strict=True):
        length = math.hypot(ox - x, oy - y)
        for inset in INSETS:
            if inset * gap > DEEPEST * length:
                keep[row] = False
                break
            share = inset * gap / max(length, 1e-9)
            place = (x + (ox - x) * share, y + (oy - y) * share)
            if _nearest(cells, place, gap) >= gap:
                moved[row] = place
                _put(cells, place, gap)
                break
        else:
            keep[row] = False
    return moved, keep


def _too_near(points: FloatArray, gap: float, *, ring: bool) -> NDArray[np.bool_]:
    """Which points lie nearer than *gap* to the next on either side of the column."""
    crowded = np.zeros(len(points), dtype=bool)
    for apart in (1, 2):
        near = np.hypot(*(np.roll(points, -apart, axis=0) - points).T) < gap
        if not ring:
            near[-apart:] = False
        crowded |= near | np.roll(near, apart)
    return crowded


def _beside(crowded: NDArray[np.bool_], *, reach: int) -> NDArray[np.intp]:
    """The points that are not crowded themselves, but within a few of one that is (or of an end)."""
    window = _spread(crowded, reach)
    window[:reach] = window[-reach:] = True
    return np.flatnonzero(window & ~crowded)


def _spread(mask: NDArray[np.bool_], reach: int) -> NDArray[np.bool_]:
    """Mark everything within *reach* places of what is marked."""
    total = np.concatenate([[0], np.cumsum(mask)])
    place = np.arange(len(mask))
    return total[np.minimum(place + reach + 1, len(mask))] > total[np.maximum(place - reach, 0)]


def _middle_first(crowded: NDArray[np.bool_], *, ring: bool) -> NDArray[np.intp]:
    """The crowded points, crowd by crowd, each from its middle outward."""
    rows = np.flatnonzero(crowded)
    count = len(crowded)
    if not len(rows):
        return rows
    if ring and len(rows) < count:
        # begin in the longest stretch without crowding, so that no crowd is cut in two
        gaps = np.diff(np.append(rows, rows[0] + count))
        first = (int(np.argmax(gaps)) + 1) % len(rows)
        rows = np.concatenate([rows[first:], rows[:first] + count])
    crowd = np.concatenate([[0], np.cumsum(np.diff(rows) > 4)])
    starts = np.flatnonzero(np.concatenate([[True], np.diff(crowd) > 0]))
    ends = np.append(starts[1:], len(rows)) - 1
    middle = (rows[starts] + rows[ends]) / 2
    return rows[np.lexsort((np.abs(rows - middle[crowd]), crowd))] % count


def _nearest(cells: Cells, place: tuple[float, float], gap: float) -> float:
    x, y = place
    column, row = math.floor(x / gap), math.floor(y / gap)
    nearest = math.inf
    for i in (column - 1, column, column + 1):
        for j in (row - 1, row, row + 1):
            for px, py in cells.get((i, j), ()):
                nearest = min(nearest, math.hypot(x - px, y - py))
    return nearest


def _put(cells: Cells, place: tuple[float, float], gap: float) -> None:
    cells.setdefault((math.floor(place[0] / gap), math.floor(place[1] / gap)), []).append(place)


def split(
    points: FloatArray,
    on_a: NDArray[np.bool_],
    longest: float,
    gap: float,
    *,
    moved: NDArray[np.bool_] | None = None,
    everywhere: bool = False,
) -> FloatArray:
    """Add penetrations to every line longer than *longest*, staggered from line to line.

    They lie on a lattice about the middle of the column, at least a quarter of its spacing from either rail.

    Args:
        points: (n, 2) needle points in order, mm.
        on_a: (n,) which of them lie on rail *a*.
        longest: Lines up to this are left whole, mm; no stitch of a split line is longer.
        gap: Least distance between two penetrations, mm.
        moved: (n,) which of them were pulled in; None for none.
        everywhere: As for `kept_apart`.

    Returns:
        (m, 2) needle points, m >= n.
    """
    move = np.diff(points, axis=0)
    length = np.hypot(*move.T)
    if not len(length) or length.max() <= longest:
        return points
    spacing = longest * 4 / 7
    margin = spacing / 4
    line = np.arange(len(length))
    phase = np.asarray(PHASES)[line % len(PHASES)] * spacing
    first = np.ceil((margin - length / 2 - phase) / spacing)
    last = np.floor((length / 2 - margin - phase) / spacing)
    added = np.where(length > longest, np.maximum(last - first + 1, 0), 0).astype(int)
    of = np.repeat(line, added + 1)
    number = np.arange(len(of)) - np.repeat(np.cumsum(added + 1) - added - 1, added + 1)
    forth = on_a[:-1][of]
    from_middle = np.where(forth, first[of] + number - 1, first[of] + added[of] - number) * spacing + phase[of]
    along = np.where(number == 0, 0.0, length[of] / 2 + np.where(forth, from_middle, -from_middle))
    share = along / np.maximum(length[of], 1e-9)
    result = np.vstack([points[:-1][of] + move[of] * share[:, None], points[-1:]])
    # lines with one phase lie a few steps apart: only where an end of theirs hardly moves can they crowd
    apart = len(PHASES)
    tight = np.zeros(len(length), dtype=bool) if moved is None else _spread(moved, 2 * apart)[:-1]
    if everywhere:
        tight[:] = True
    elif len(points) > apart + 1:
        hop = np.hypot(*(points[apart:] - points[:-apart]).T) < 2 * gap
        tight[: len(hop)] |= hop
        tight[: len(hop) - 1] |= hop[1:]
        tight[apart:] |= hop[: len(tight) - apart]
    doubtful = np.flatnonzero((number > 0) & tight[of])
    if not len(doubtful):
        return result
    near = _spread(tight, 4 * apart)
    return np.delete(result, _crowded(result, doubtful, points[:-1][near], gap), axis=0)


def _crowded(points: FloatArray, doubtful: NDArray[np.intp], others: FloatArray, gap: float) -> list[int]:
    """Which of the doubtful points lie too near to one of the others, or to an earlier one of themselves."""
    cells: Cells = {}
    for x, y in others.tolist():
        _put(cells, (x, y), gap)
    crowded = []
    for row, (x, y) in zip(doubtful.tolist(), points[doubtful].tolist(), strict=True):
        if _nearest(cells, (x, y), gap) < gap:
            crowded.append(row)
        else:
            _put(cells, (x, y), gap)
    return crowded
