"""The split of satin lines that are too long to lie flat."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.stitching.settling import settled
from stitchcraft.stitching.short_stitches import spread

SLANT_MM: Final = 0.1
"""A line of a zigzag is so much longer than the column is wide, at the most."""

SHIFTS: Final = (0.0, 1.0, -1.0, 2.0, -2.0, 3.0, -3.0, 4.0, -4.0)
"""How far a penetration may be moved along its line to keep off others, in gaps, in order of trial."""

FINE_SHIFTS: Final = tuple(sign * step / 4 for step in range(1, 33) for sign in (1, -1))
"""The same for those that find no place among these."""

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
        longest: Lines up to this, give or take their slant, are left whole, mm; a split one has no stitch longer.
        gap: Least distance between two penetrations, mm.
        moved: (n,) which of them were pulled in; None for none.
        everywhere: As for `kept_apart`.

    Returns:
        (m, 2) needle points, m >= n.
    """
    length = np.diff(points[:, 0])
    np.hypot(length, np.diff(points[:, 1]), out=length)
    whole = longest + SLANT_MM
    if not len(length) or length.max() <= whole:
        return points
    move = np.diff(points, axis=0)
    spacing = longest * 4 / 7
    margin = spacing / 4
    line = np.arange(len(length))
    phase = np.asarray(PHASES)[line % len(PHASES)] * spacing
    first = np.ceil((margin - length / 2 - phase) / spacing)
    last = np.floor((length / 2 - margin - phase) / spacing)
    added = np.where(length > whole, np.maximum(last - first + 1, 0), 0).astype(int)
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
    ahead = move / np.maximum(length, 1e-9)[:, None]
    settled_already = np.append(spread(tight, 4 * apart)[of], True)
    settled_already[doubtful] = False
    taken = result[settled_already]
    waiting = doubtful
    for shifts in (SHIFTS, FINE_SHIFTS):
        shift = np.asarray(shifts) * gap
        room = np.column_stack([along, length[of] - along])[waiting] - margin / 2
        places = result[waiting][:, None] + ahead[of[waiting]][:, None] * shift[:, None]
        usable = (-shift <= room[:, :1]) & (shift <= room[:, 1:])
        choice = settled(places, usable, taken, gap, turn=np.zeros_like(waiting))
        found = choice >= 0
        result[waiting[found]] = places[found, choice[found]]
        taken = np.vstack([taken, result[waiting[found]]])
        waiting = waiting[~found]
        if not len(waiting):
            return result
    # one that finds no place is left out where the stitch stays short enough without it
    left_out: list[int] = []
    for row in waiting.tolist():
        before = row - 1
        while before in left_out:
            before -= 1
        if np.hypot(*(result[row + 1] - result[before])) <= whole:
            left_out.append(row)
    return np.delete(result, left_out, axis=0)
