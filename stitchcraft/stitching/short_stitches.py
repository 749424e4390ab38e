"""Needle points kept apart: short stitches where lines crowd, and the split of lines too long to lie flat."""

from __future__ import annotations

import math
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from stitchcraft.design import FloatArray

Cells: TypeAlias = dict[tuple[int, int], list[tuple[float, float]]]

INSETS: Final = (0.0, 0.24, 0.12, 0.36, 0.48, 0.6, 0.72)
"""How far along its line a crowded needle point may be pulled in, in order of trial."""

PHASES: Final = (0.0, 0.5, 0.25, 0.75)
"""Where successive lines are split, as a share of the split length: no two neighbours in line, no diagonals."""


def kept_apart(points: FloatArray, opposite: FloatArray, gap: float) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Pull crowded needle points in along their lines, until none is nearer to another than *gap*.

    Each point takes the first of `INSETS` at which no earlier needle point of the column is too near. Where
    there is none, the point is left out: the thread then goes along the longer side instead.

    Args:
        points: (n, 2) needle points in order, mm.
        opposite: (n, 2) the other ends of their lines.
        gap: Least distance, mm.

    Returns:
        The points, moved, and which of them to keep. The first and last are always kept.
    """
    count = len(points)
    crowded = np.zeros(count, dtype=bool)
    for apart in (1, 2):
        near = np.hypot(*(points[apart:] - points[:-apart]).T) < gap if count > apart else np.zeros(0, dtype=bool)
        crowded[: len(near)] |= near
        crowded[apart : apart + len(near)] |= near
    keep = np.ones(count, dtype=bool)
    if not crowded.any():
        return points, keep
    reach = 4
    window = np.convolve(crowded, np.ones(2 * reach + 1), mode="same") > 0.5
    window[: 2 * reach] = window[-2 * reach :] = True
    moved = points.copy()
    cells: Cells = {}
    rows = np.flatnonzero(window)
    for row, (x, y), (ox, oy) in zip(rows.tolist(), points[rows].tolist(), opposite[rows].tolist(), strict=True):
        best, best_distance = (x, y), -1.0
        for inset in INSETS:
            place = (x + (ox - x) * inset, y + (oy - y) * inset)
            distance = _nearest(cells, place, gap)
            if distance > best_distance:
                best, best_distance = place, distance
            if distance >= gap:
                break
        if best_distance < gap and 0 < row < count - 1:
            keep[row] = False
            continue
        moved[row] = best
        _put(cells, best, gap)
    return moved, keep


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


def split(points: FloatArray, on_a: NDArray[np.bool_], longest: float, gap: float) -> FloatArray:
    """Add penetrations to every line longer than *longest*, staggered from line to line.

    They lie on a lattice about the middle of the column, at least a quarter of its spacing from either rail.

    Args:
        points: (n, 2) needle points in order, mm.
        on_a: (n,) which of them lie on rail *a*.
        longest: Lines up to this are left whole, mm; no stitch of a split line is longer.
        gap: Least distance between two penetrations, mm.

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
    tight = np.zeros(len(length), dtype=bool)
    if len(points) > apart + 1:
        hop = np.hypot(*(points[apart:] - points[:-apart]).T) < 2 * gap
        tight[: len(hop)] |= hop
        tight[: len(hop) - 1] |= hop[1:]
        tight[apart:] |= hop[: len(tight) - apart]
    doubtful = np.flatnonzero((number > 0) & tight[of])
    return result if not len(doubtful) else np.delete(result, _crowded(result, doubtful, gap), axis=0)


def _crowded(points: FloatArray, doubtful: NDArray[np.intp], gap: float) -> list[int]:
    """Which of the doubtful points lie too near to an earlier one of them."""
    cells: Cells = {}
    crowded = []
    for row, (x, y) in zip(doubtful.tolist(), points[doubtful].tolist(), strict=True):
        if _nearest(cells, (x, y), gap) < gap:
            crowded.append(row)
        else:
            _put(cells, (x, y), gap)
    return crowded
