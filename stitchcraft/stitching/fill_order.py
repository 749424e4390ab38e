"""The order of a fill's passes, and the corner where each begins.

Any order can be sewn without a jump, since there is always a way through the shape; a good order has short
ways, and ways under rows that come later. Two steps: a walk over the tree of sections in which every way is
hidden (a section is sewn when all that hangs on it is done), from several roots; then a local search, which
also chooses how each section is sewn (`stitchcraft.stitching.fill_passes`).
"""

from __future__ import annotations

import numpy as np

from stitchcraft.arrays import FloatArray
from stitchcraft.stitching.distances import distance
from stitchcraft.stitching.fill_hops import Hops
from stitchcraft.stitching.fill_passes import Kind, Pass, Variants, passes_of
from stitchcraft.stitching.fill_search import Costs, improved, with_best_corners
from stitchcraft.stitching.fill_travel import Travel

SEARCHED_UP_TO = 160
"""More sections than this are sewn in the order of the tree, without the local search."""

ROOTS_TRIED = 12
FEWEST_STARTS = 4
MOST_STARTS = 230
"""The search begins from so many trees, and from more as long as that makes no more sections than this in all."""

GOOD_SHARE = 0.00036
"""An order that costs no more than this share of the rows for each section is good: no other is looked for. That is
0.7 % with the 19 or so sections of 6 holes, 1.4 % with 12 holes and more."""

AWAY = 20.0
"""Price of a millimetre between where the needle is asked to end and where it does: it cannot travel there unseen."""

LESS_HOPE = 0.1
"""After each search an order may cost this much more to be good enough."""


def order_of_passes(
    travel: Travel,
    *,
    start: FloatArray | None = None,
    end: FloatArray | None = None,
    search: bool = True,
    can_show: bool = True,
) -> list[Pass]:
    """Choose the order in which to sew the sections of one connected area, and how to sew each.

    Args:
        travel: The area's rooms and doors.
        start: (2,) where the needle comes from, in the row frame; None if it does not matter.
        end: (2,) where it should end; None if it does not matter.
        search: Whether to look for something better than a walk over the tree.
        can_show: Whether travel must keep under rows to come. Underlay need not; its wide rows are sewn row after
            row, and it is worth one search.

    Returns:
        Passes that sew every section once, in order.
    """
    count = travel.rows.sections
    variants = Variants(travel.rows)
    from_start, to_end = _distances(travel, start), AWAY * _distances(travel, end)
    if count == 1:
        through = np.arange(4)
        return passes_of(through[[(from_start[variants.enter[:4]] + to_end[variants.leave[:4]]).argmin()]])
    if not can_show:
        variants.extra[np.arange(len(variants.extra)) >> 2 & 7 >= Kind.BACK] = np.inf
    costs = Costs(Hops(travel, can_show=can_show), variants, from_start, to_end)
    # a tree ends in its root
    roots = [*_roots(count), *([int(to_end.argmin()) // 4] if end is not None else [])]
    tours = [np.array([32 * section + 2 * end for section, end in _tree(travel, root)]) for root in roots]
    tours.sort(key=costs.plain)
    if not search or count > SEARCHED_UP_TO:
        return passes_of(with_best_corners(costs, tours[0]))
    enough = GOOD_SHARE * min(count, 40) * float((travel.rows.high - travel.rows.low).sum())
    best, least = with_best_corners(costs, tours[0]), np.inf
    if costs.total(best) <= enough:
        return passes_of(best)
    for tour in tours[: min(ROOTS_TRIED, max(FEWEST_STARTS, MOST_STARTS // count))]:
        found, price = improved(costs, with_best_corners(costs, tour))
        if price < least:
            best, least = found, price
        if least <= enough or not can_show:
            break
        enough *= 1.0 + LESS_HOPE
    return passes_of(best)


def _distances(travel: Travel, point: FloatArray | None) -> FloatArray:
    corners = travel.at[travel.doorsteps :]
    return np.zeros(len(corners)) if point is None else distance(*(corners - point).T)


def _roots(count: int) -> list[int]:
    """A few sections to grow the tree from, spread over the list."""
    return sorted({round(i * (count - 1) / (ROOTS_TRIED - 1)) for i in range(ROOTS_TRIED)})


def _tree(travel: Travel, root: int) -> list[tuple[int, int]]:
    """Sew each section of a spanning tree after all that hangs on it, towards where it hangs.

    Returns:
        Every section with the end at which it is entered.
    """
    beside: list[list[tuple[int, int]]] = [[] for _ in range(travel.rows.sections)]
    for a, b in travel.rows.section[travel.rows.links].tolist():
        beside[a].append((b, 1))
        beside[b].append((a, 0))
    seen: set[int] = set()
    order: list[tuple[int, int]] = []
    for first in (root, *range(len(beside))):
        if first not in seen:
            seen.add(first)
            _hang(first, beside, seen, order)
    return order


def _hang(root: int, beside: list[list[tuple[int, int]]], seen: set[int], order: list[tuple[int, int]]) -> None:
    """Append the sections reachable from a root, each after all that hangs on it."""
    stack = [(root, 1, _nearer_first(beside[root], 1))]
    while stack:
        here, hangs_at, todo = stack[-1]
        if not todo:
            order.append((here, 1 - hangs_at))
            stack.pop()
            continue
        other, our_end = todo.pop(0)
        if other not in seen:
            seen.add(other)
            touches = 1 - our_end
            stack.append((other, touches, _nearer_first(beside[other], touches)))


def _nearer_first(beside: list[tuple[int, int]], end: int) -> list[tuple[int, int]]:
    """Those that touch a given end before those at the other."""
    return [n for n in beside if n[1] == end] + [n for n in beside if n[1] != end]
