"""How much of each cell of a grid lies under lines of some width, and under how many of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.errors import ParameterError

LINES_A_CELL: Final = 3
MOST_CELLS: Final = 4_000_000
"""400 by 400 mm at 0.2 mm, larger than the largest field of the trade; past it a map swallows memory."""

_AT_ONCE: Final = 200_000  # cells measured in one go, each height of them counted


@dataclass(frozen=True, slots=True)
class Grid:
    """Square cells that lie symmetrically about the middle of a box.

    Attributes:
        left: Left edge of the first column.
        bottom: Lower edge of the first row.
        cell: Side of a cell.
        rows: How many rows, from the bottom up.
        columns: How many columns.
    """

    left: float
    bottom: float
    cell: float
    rows: int
    columns: int

    @classmethod
    def around(cls, xy: FloatArray, *, cell: float, margin: float) -> Grid:
        """The grid that holds (n, 2) points, one at least, with a margin on each side.

        Raises:
            ParameterError: If that takes more cells than a map may have.
        """
        low, high = xy.min(axis=0), xy.max(axis=0)
        columns, rows = np.ceil(np.round((high - low + 2 * margin) / cell, 6)).astype(int).tolist()
        if rows * columns > MOST_CELLS:
            raise ParameterError("cell", cell, f"larger: {rows} x {columns} cells are over {MOST_CELLS:,}")
        left, bottom = (low + high) / 2 - np.array([columns, rows]) * cell / 2
        return cls(float(left), float(bottom), cell, rows, columns)

    def counts(self, xy: FloatArray, weight: FloatArray) -> FloatArray:
        """Add up what lies in each cell, (rows, columns); what lies on an edge counts half on either side.

        Args:
            xy: (n, 2) points.
            weight: (n,) what each counts.
        """
        at = np.round((xy - (self.left, self.bottom)) / self.cell, 6)
        below, above = np.ceil(at).astype(np.int64) - 1, np.floor(at).astype(np.int64)
        sums = np.zeros(self.rows * self.columns)
        for column in (below[:, 0], above[:, 0]):
            for row in (below[:, 1], above[:, 1]):
                inside = (column >= 0) & (column < self.columns) & (row >= 0) & (row < self.rows)
                key = row[inside] * self.columns + column[inside]
                sums += np.bincount(key, weights=weight[inside] / 4, minlength=len(sums))
        return sums.reshape(self.rows, self.columns)


def averaged(cells: FloatArray, size: int) -> FloatArray:
    """The mean over a square of cells about each; past the grid all is 0.

    Args:
        cells: (rows, columns).
        size: Side of the square, an odd number of cells.
    """
    reach = size // 2
    # in place: a map is large
    sums = np.pad(cells, ((reach + 1, reach), (reach + 1, reach)))
    for axis in (0, 1):
        np.cumsum(sums, axis=axis, out=sums)
    total: FloatArray = sums[size:, size:] - sums[:-size, size:]
    total -= sums[size:, :-size]
    total += sums[:-size, :-size]
    np.maximum(total, 0.0, out=total)
    total /= size**2
    return total


def line_cover(start: ArrayLike, end: ArrayLike, width: ArrayLike, grid: Grid) -> tuple[FloatArray, FloatArray]:
    """Measure what straight lines with square ends cover of each cell.

    Each cell is measured along some of its heights, exactly, and likewise across. A line that lies along the way of
    measuring is caught whole or not at all, one that lies across it is measured exactly: the two count in each cell by
    how much of its lines lies across them.

    Args:
        start: (n, 2) where each line begins.
        end: (n, 2) where it ends; a line of no length covers nothing.
        width: (n,) its width.
        grid: The cells.

    Returns:
        Share of each cell that is covered at all, from 0 to 1; and how many lines lie on it, on average: their area
        over the cell's. Both (rows, columns).
    """
    one, other, wide = (np.asarray(value, dtype=np.float64) for value in (start, end, width))
    cover, layers, lying = _measured(one, other, wide, grid)
    turned = Grid(grid.bottom, grid.left, grid.cell, grid.columns, grid.rows)
    cover_up, layers_up, lying_up = (part.T for part in _measured(one[:, ::-1], other[:, ::-1], wide, turned))
    lying += layers_up - lying_up
    del lying_up
    both = layers + layers_up
    share = np.divide(lying, both, out=np.full_like(both, 0.5), where=both > 0)
    mixed: FloatArray = (1 - share) * cover + share * cover_up
    return np.minimum(mixed, 1.0), (1 - share) * layers + share * layers_up


def _measured(
    start: FloatArray, end: FloatArray, width: FloatArray, grid: Grid
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Along the rows alone: share covered, layers, and how much of the layers lies along the rows."""
    row, left, right, lying = _spans(start, end, width, grid)
    layers, along = (_by_cell(row, left, right, weight, grid) for weight in (np.ones(len(row)), lying))
    # row after row laid end to end, so that one sorting serves them all
    base = row * float(grid.columns)
    order = np.argsort(base + left, kind="stable")
    begin, finish = (base + left)[order], np.maximum.accumulate((base + right)[order])
    starts = np.flatnonzero(np.concatenate([[True], begin[1:] > finish[:-1]])) if len(begin) else np.empty(0, int)
    stops = np.append(starts[1:], len(begin)) - 1 if len(begin) else starts
    own, off = row[order][starts], base[order][starts]
    return _by_cell(own, begin[starts] - off, finish[stops] - off, np.ones(len(own)), grid), layers, along


def _spans(
    start: FloatArray, end: FloatArray, width: FloatArray, grid: Grid
) -> tuple[NDArray[np.int64], FloatArray, FloatArray, FloatArray]:
    """Where lines cross the heights at which they are measured: number of the height, both ends in cells, slant.

    The last is 1 for a line along the rows and 0 for one across them.
    """
    step = grid.cell / LINES_A_CELL
    length = np.hypot(*(end - start).T)
    keep = (length > 0) & (width > 0)
    start, end, half, length = start[keep], end[keep], width[keep] / 2, length[keep]
    along = (end - start) / length[:, None]
    reach = np.abs(along[:, 0]) * half
    low, high = np.minimum(start[:, 1], end[:, 1]) - reach, np.maximum(start[:, 1], end[:, 1]) + reach
    first = np.ceil((low - grid.bottom) / step - 0.5).astype(np.int64).clip(0)
    last = np.ceil((high - grid.bottom) / step - 0.5).astype(np.int64).clip(max=grid.rows * LINES_A_CELL)
    count = (last - first).clip(0)
    line = np.repeat(np.arange(len(count)), count)
    row = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + first[line]
    dy = grid.bottom + (row + 0.5) * step - start[line, 1]
    ux, uy = along[line].T
    # a point x along the row lies within the line's width and between its ends
    across = _between(-uy, ux * dy, -half[line], half[line])
    length_wise = _between(ux, uy * dy, np.zeros(len(line)), length[line])
    left = (np.maximum(across[0], length_wise[0]) + start[line, 0] - grid.left) / grid.cell
    right = (np.minimum(across[1], length_wise[1]) + start[line, 0] - grid.left) / grid.cell
    left, right = left.clip(0, grid.columns), right.clip(0, grid.columns)
    kept = right > left
    return row[kept], left[kept], right[kept], ux[kept] ** 2


def _between(slope: FloatArray, rest: FloatArray, low: FloatArray, high: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Where slope * x + rest lies from low to high, for each."""
    safe = np.where(np.abs(slope) < 1e-12, 1e-12, slope)
    one, other = (low - rest) / safe, (high - rest) / safe
    return np.minimum(one, other), np.maximum(one, other)


def _by_cell(row: NDArray[np.int64], left: FloatArray, right: FloatArray, weight: FloatArray, grid: Grid) -> FloatArray:
    """Share of each cell that spans cover, each counted by its weight: (rows, columns)."""
    shares = np.zeros((grid.rows, grid.columns))
    order = np.argsort(row, kind="stable")
    row, left, right, weight = row[order], left[order], right[order], weight[order]
    band = max(1, _AT_ONCE // (LINES_A_CELL * grid.columns))
    for low in range(0, grid.rows, band):
        high = min(low + band, grid.rows)
        one, end = np.searchsorted(row, (low * LINES_A_CELL, high * LINES_A_CELL))
        if one < end:
            base = (row[one:end] - low * LINES_A_CELL) * grid.columns
            spans = base + left[one:end], base + right[one:end]
            heights = (high - low) * LINES_A_CELL
            filled = _filled(*spans, weight[one:end], heights * grid.columns)
            shares[low:high] = filled.reshape(high - low, LINES_A_CELL, grid.columns).mean(axis=1)
    return np.maximum(shares, 0.0)


def _filled(left: FloatArray, right: FloatArray, weight: FloatArray, size: int) -> FloatArray:
    """How much of each of *size* cells in a row spans cover, each counted by its weight."""
    filled = np.zeros(size + 1)
    for ends, sign in ((left, 1.0), (right, -1.0)):
        cell = np.floor(ends).astype(np.int64)
        # from where a span begins, the rest of that cell and all the cells after it; the same taken off at its end
        whole = np.cumsum(np.bincount(cell + 1, weights=weight, minlength=size + 2))[: size + 1]
        part = np.bincount(cell, weights=weight * (cell + 1 - ends), minlength=size + 1)[: size + 1]
        filled += sign * (part + whole)
    return filled[:size]
