"""The split of satin lines that are too long to lie flat."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.design import FloatArray
from stitchcraft.stitching.short_stitches import Cells, nearest, put, spread

PHASES: Final = (0.0, 0.5, 0.25, 0.75)
"""Where successive lines are split, as a share of the split length: no two neighbours in line, no diagonals."""


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
    tight = np.zeros(len(length), dtype=bool) if moved is None else spread(moved, 2 * apart)[:-1]
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
    near = spread(tight, 4 * apart)
    return np.delete(result, _crowded(result, doubtful, points[:-1][near], gap), axis=0)


def _crowded(points: FloatArray, doubtful: NDArray[np.intp], others: FloatArray, gap: float) -> list[int]:
    """Which of the doubtful points lie too near to one of the others, or to an earlier one of themselves."""
    cells: Cells = {}
    for x, y in others.tolist():
        put(cells, (x, y), gap)
    crowded = []
    for row, (x, y) in zip(doubtful.tolist(), points[doubtful].tolist(), strict=True):
        if nearest(cells, (x, y), gap) < gap:
            crowded.append(row)
        else:
            put(cells, (x, y), gap)
    return crowded
