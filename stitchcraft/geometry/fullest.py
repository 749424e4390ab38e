"""The square that holds most of a million points in whole units: exact, whatever they weigh.

The lower left corner of a square lies in one cell of a grid of the square's own side, and the square within the block
of two by two cells from there. What a block holds limits what its squares can; so does, more closely, what its finer
cells hold; and few blocks are left in which each square has to be looked at.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from stitchcraft.arrays import FloatArray, IntArray

_AT_ONCE: Final = 1 << 19  # cells of blocks in one go
_FINER: Final = 2  # units: side of the finer cells
_HAIR: Final = 1e-6  # sums of the same weights in another order ...
_TIE: Final = 1e-9  # ... and how much nearer two of them are that count as equal


@dataclass(frozen=True, slots=True, eq=False)
class _Cells:
    """Points in whole units, by cells of a grid of which nothing is kept but what holds points.

    Attributes:
        units: (n, 2) points, cell after cell, from the lowest left cell.
        weight: (n,) what each counts.
        key: (k,) number of each cell that holds points, ascending: a column after the other, each from below.
        first: (k + 1,) where its points begin.
        held: (k,) sum of its weights.
        wide: How much larger the number is one column on.
        side: Side of a cell.
        origin: (2,) the corner that *units* are told from.
    """

    units: IntArray
    weight: FloatArray
    key: IntArray
    first: IntArray
    held: FloatArray
    wide: int
    side: int
    origin: FloatArray

    @classmethod
    def of(cls, units: FloatArray, weight: FloatArray, side: int) -> _Cells:
        # by column and row in one number; one cell is left free below and to the left, for the blocks that begin there
        origin = units.min(axis=0) - side
        whole = (units - origin).astype(np.int64)
        column, row = (whole // side).T
        wide = int(row.max()) + 2
        key = column * wide + row
        order = np.argsort(key, kind="stable")
        ranked = key[order]
        first = np.flatnonzero(np.diff(ranked, prepend=-1))
        held = np.add.reduceat(weight[order], first)
        return cls(
            whole[order], weight[order], ranked[first], np.append(first, len(ranked)), held.astype(np.float64), wide,
            side, origin,
        )  # fmt: skip

    @property
    def steps(self) -> IntArray:
        """From the number of a block's lower left cell to those of its four."""
        return np.array([0, 1, self.wide, self.wide + 1])

    def found(self, number: IntArray) -> IntArray:
        """Which cells have these numbers; -1 where there is none, for want of points."""
        place = np.searchsorted(self.key, number).clip(max=len(self.key) - 1)
        return np.where(self.key[place] == number, place, -1)

    def blocks(self) -> tuple[IntArray, FloatArray]:
        """The blocks that hold a point, by the number of their lower left cell, ascending; and the sums they hold."""
        corner = np.sort((self.key[:, None] - self.steps).ravel())
        corner = corner[np.diff(corner, prepend=-1) > 0]
        most = np.zeros(len(corner))
        # one of their cells after the other: all four at once would take more room than all the rest
        for step in self.steps:
            cell = self.found(corner + step)
            most += np.where(cell >= 0, self.held[cell], 0.0)
        return corner, most

    def table(self, corner: IntArray, cell: int) -> FloatArray:
        """Sums over the finer cells of blocks, of all from the first column and row on: differences tell squares.

        Args:
            corner: (b,) number of the block's lower left cell.
            cell: Side of a finer cell, units: a divisor of *side*.

        Returns:
            (b, m + 1, m + 1), m = 2 side / cell: by column, then by row.
        """
        size = 2 * self.side // cell
        four = self.found(corner[:, None] + self.steps).ravel()
        there = four >= 0
        own = four[there]
        count = self.first[own + 1] - self.first[own]
        block = np.repeat(np.repeat(np.arange(len(corner)), 4)[there], count)
        point = np.arange(count.sum()) + np.repeat(self.first[own] - np.cumsum(count) + count, count)
        low = np.column_stack(np.divmod(corner, self.wide)) * self.side
        column, row = ((self.units[point] - low[block]) // cell).T
        place = (block * size + column) * size + row
        held = np.bincount(place, weights=self.weight[point], minlength=len(corner) * size**2)
        table = np.zeros((len(corner), size + 1, size + 1))
        np.cumsum(held.reshape(-1, size, size), axis=1, out=table[:, 1:, 1:])
        np.cumsum(table, axis=2, out=table)
        return table


def _squares(table: FloatArray, across: int) -> FloatArray:
    """The sums in all squares, some cells across, that begin in the first cell of a block: (b, m, m)."""
    starts = table.shape[1] // 2
    low, high = slice(0, starts), slice(across, across + starts)
    squares: FloatArray = table[:, high, high] - table[:, low, high]
    squares -= table[:, high, low]
    squares += table[:, low, low]
    return squares


def fullest_square(units: FloatArray, weight: FloatArray, *, side: int, limit: float = 0.0) -> tuple[FloatArray, float]:
    """Find the square that holds most, among all that hold more than a limit.

    Args:
        units: (n, 2) points in whole units, one at least.
        weight: (n,) what each counts.
        side: Side of the square, units: as many places of points across.
        limit: What the weights in the square have to pass.

    Returns:
        Lower left corner of the square, (2,), which itself lies in it; and the sum of its weights, 0 if no square
        passes the limit. Of equals it is the first from the left, then from below.
    """
    cells = _Cells.of(units, weight, side)
    corner, most = cells.blocks()
    # some square holds what the fullest cell does: nothing less need be looked at
    least = max(limit, float(cells.held.max()) - _HAIR)
    if side % _FINER == 0 and side > 2 * _FINER:
        across = side // _FINER
        for some in _portions(np.flatnonzero(most > least), (2 * across) ** 2):
            table = cells.table(corner[some], _FINER)
            least = max(least, float(_squares(table, across).max()) - _HAIR)
            # a square that begins between two of them reaches into one more
            most[some] = _squares(table, across + 1).max(axis=(1, 2))
    left = np.flatnonzero(most > least)
    left = left[np.argsort(-most[left], kind="stable")]  # the most promising first: they rule others out
    best, at = limit, (0, 0)
    for some in _portions(left, (2 * side) ** 2):
        # what can no more than equal the best has to begin as far left: on an even lattice nearly all is ruled out
        begins = corner[some] // cells.wide * side
        hopeful = some[(most[some] > least) & ((most[some] > best + _TIE) | (begins <= at[0]))]
        if not len(hopeful):
            continue
        sums = _squares(cells.table(corner[hopeful], 1), side)
        fullest = float(sums.max())
        if fullest <= limit + _TIE or fullest < best - _TIE:
            continue
        equal = (sums >= fullest - _TIE).reshape(len(sums), -1)
        # the first of each block: where points are few and even, all squares are equal
        block = np.flatnonzero(equal.any(axis=1))
        within = np.column_stack(np.divmod(equal[block].argmax(axis=1), side))
        low = np.column_stack(np.divmod(corner[hopeful[block]], cells.wide)) * side + within
        first = min(map(tuple, low.tolist()))
        at = first if fullest > best + _TIE else min(at, first)
        best, least = max(best, fullest), max(least, fullest - _HAIR)
    if best <= limit:
        return np.zeros(2), 0.0
    return np.array(at) + cells.origin, best


def _portions(blocks: IntArray, cells: int) -> Iterator[IntArray]:
    """Blocks of so many cells in portions that take no more room than is needed."""
    most = max(1, _AT_ONCE // cells)
    for first in range(0, len(blocks), most):
        yield blocks[first : first + most]
