"""Which points lie near one another, and how many share a square, for a million points at once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray, IntArray

_PIECE: Final = 1 << 14


def near_pairs(xy: NDArray[np.floating[Any]], radius: float) -> IntArray:
    """Find the pairs of points nearer to each other than *radius*, in a grid of cells of that size.

    Args:
        xy: (n, 2) points.
        radius: Above 0, in the same unit.

    Returns:
        (k, 2) indices, the smaller first, in the order of the larger and then of the smaller.
    """
    if len(xy) < 2:
        return np.empty((0, 2), dtype=np.int64)
    # a hair wider than the radius: points nearer than that by rounding alone are then never two cells apart
    side = radius * (1 + 1e-9)
    column, row = (np.floor((axis - axis.min()) / side).astype(np.int64) for axis in xy.T)
    wide = int(row.max()) + 3
    column *= wide
    column += row
    order = np.argsort(column)
    ranked = column[order]
    found = [np.empty((0, 2), dtype=np.int64)]
    # in pieces, since most points have no neighbour and all bounds at once would take more room than the points
    for first in range(0, len(ranked), _PIECE):
        own = ranked[first : first + _PIECE]
        place = np.arange(first, first + len(own))
        # the rest of its own cell and the cell above; then the three cells beside it, whose keys follow on one another
        after = place + 1, np.searchsorted(ranked, own + 1, side="right")
        beside = np.searchsorted(ranked, own + wide - 1), np.searchsorted(ranked, own + wide + 1, side="right")
        for low, high in (after, beside):
            count = high - low
            one = np.repeat(place, count)
            other = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + np.repeat(low, count)
            pairs = np.sort(np.column_stack([order[one], order[other]]), axis=1)
            found.append(pairs[np.hypot(*(xy[pairs[:, 0]] - xy[pairs[:, 1]]).T) < radius])
    near = np.vstack(found)
    return near[np.lexsort((near[:, 0], near[:, 1]))]


def within_reach(xy: FloatArray, spots: FloatArray, reach: float) -> NDArray[np.bool_]:
    """Say for each point whether it may lie within *reach* of any of some spots; none that does is left out.

    Args:
        xy: (n, 2) points, one at least.
        spots: (m, 2) likewise.
        reach: Above 0, in the same unit.
    """
    lows = [min(float(xy[:, axis].min()), float(spots[:, axis].min())) for axis in (0, 1)]
    own, cells = (
        # from the lowest on, so that whole numbers are cut off downward; an axis at a time, which is faster
        [((points[:, axis] - low) / reach).astype(np.int64) + 1 for axis, low in enumerate(lows)]
        for points in (spots, xy)
    )
    wide = max(int(own[1].max()), int(cells[1].max())) + 2
    marked = np.zeros((max(int(own[0].max()), int(cells[0].max())) + 2) * wide, dtype=bool)
    marked[own[0] * wide + own[1]] = True
    grid = marked.reshape(-1, wide)
    grown = grid.copy()
    grown[1:] |= grid[:-1]
    grown[:-1] |= grid[1:]
    around = grown.copy()
    around[:, 1:] |= grown[:, :-1]
    around[:, :-1] |= grown[:, 1:]
    return around.ravel()[cells[0] * wide + cells[1]]


def window_sums(
    xy: FloatArray, weight: FloatArray, *, side: float = 1.0, steps: int = 4
) -> tuple[FloatArray, FloatArray]:
    """Add up the weights of the points in a square that slides over them.

    Args:
        xy: (n, 2) points, one at least.
        weight: (n,) what each counts.
        side: Side of the square, in the unit of the points.
        steps: The square moves by its side divided by this, both ways.

    Returns:
        Lower left corner of the first square, (2,); and the sum in each square, (i, j), the first at that corner.
    """
    cell = side / steps
    low = np.array([xy[:, 0].min(), xy[:, 1].min()]) - (steps - 1) * cell
    across, up = (((xy[:, axis] - low[axis]) / cell).astype(np.int64) + 1 for axis in (0, 1))
    rows, columns = int(across.max()) + steps, int(up.max()) + steps
    counts = np.bincount(across * columns + up, weights=weight, minlength=rows * columns)
    sums: FloatArray = counts.reshape(rows, columns).astype(np.float64, copy=False)
    # a row and a column of zeros come first, so that sums of sums tell squares
    np.cumsum(sums, axis=0, out=sums)
    np.cumsum(sums, axis=1, out=sums)
    whole: FloatArray = sums[steps:, steps:] - sums[:-steps, steps:]
    whole -= sums[steps:, :-steps]
    whole += sums[:-steps, :-steps]
    return low, whole


def may_reach(xy: FloatArray, weight: FloatArray, limit: float, *, side: float = 1.0) -> bool:
    """Say at small cost whether the weights in a square of that side may add up to more than a limit.

    Any such square lies within one of the squares, twice as wide, that move by its side; those are looked at.
    """
    return bool(window_sums(xy, weight, side=2 * side, steps=2)[1].max() > limit + 1e-9)


def crowded_tiles(xy: FloatArray, weight: FloatArray, limit: float, *, side: float, sides: int) -> Iterator[IntArray]:
    """Divide points into large tiles, and pick out those in which a square may hold more than a limit.

    Far-flung points cost no more than crowded ones: what lies between them is never looked at.

    Args:
        xy: (n, 2) points, one at least.
        weight: (n,) what each counts.
        limit: Of the weights in a square.
        side: Side of the square.
        sides: How many such sides a tile is wide: few where each tile costs by its area.

    Yields:
        Indices, ascending, of the points that lie in a tile or within *side* above or to the right of it: every square
        that holds more than the limit has all its points in one of these.
    """
    tile, origin = sides * side, xy.min(axis=0)
    cell = np.floor((xy - origin) / tile).astype(np.int64)
    tiles, own, count = np.unique(cell, axis=0, return_inverse=True, return_counts=True)
    sums = np.bincount(own.ravel(), weights=weight)
    by_tile = np.split(np.argsort(own.ravel(), kind="stable"), np.cumsum(count)[:-1])
    number = {(x, y): k for k, (x, y) in enumerate(tiles.tolist())}
    corners = {(x - i, y - j) for x, y in number for i in (0, 1) for j in (0, 1)}
    for x, y in sorted(corners):
        these = [number[place] for i in (0, 1) for j in (0, 1) if (place := (x + i, y + j)) in number]
        if sums[these].sum() <= limit:
            continue
        members = np.sort(np.concatenate([by_tile[k] for k in these]))
        low = origin + np.array([x, y]) * tile
        inside = members[((xy[members] >= low) & (xy[members] < low + tile + side)).all(axis=1)]
        if len(inside) and may_reach(xy[inside], weight[inside], limit, side=side):
            yield inside
