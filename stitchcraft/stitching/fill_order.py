"""The order of a fill's sections, and the corner where each begins.

Any order can be sewn without a jump, since there is always a way through the shape; a good order has short
ways, and ways under rows that come later. Two steps: a walk over the tree of sections in which every way is
hidden (a section is sewn when all that hangs on it is done), from several roots; then a local search.
"""

from __future__ import annotations

import itertools
import random
from dataclasses import dataclass

import numpy as np

from stitchcraft.design import FloatArray
from stitchcraft.stitching.fill_hops import Hops
from stitchcraft.stitching.fill_search import Costs, Tour, improved
from stitchcraft.stitching.fill_travel import Travel

SEARCHED_UP_TO = 160
"""More sections than this are sewn in the order of the tree, without the local search."""

TURNS_PER_SECTION = 600
MOST_WORK = 4_000_000
FEWEST_PER_SECTION = 70
"""Above some 19 sections, those of six holes, the turns go down with the square of the sections, but no lower than
this: the search around 12 holes then takes some 40 ms. Five times as many turns save a tenth of the travel there, by
measuring."""

SHARE_WORTH_ALL = 0.02
"""With less travel than this share of the rows to begin with, the search is shorter in proportion."""

ROOTS_TRIED = 12


@dataclass(frozen=True, slots=True)
class Sewn:
    """How one section is sewn.

    Attributes:
        section: Which.
        end: Where it starts: 0 in its bottom row, 1 in its top row.
        side: Where that row starts: 0 at the left, 1 at the right.
    """

    section: int
    end: int
    side: int


def order_of_sections(
    travel: Travel,
    *,
    start: FloatArray | None = None,
    end: FloatArray | None = None,
    search: bool = True,
    seed: int = 0,
) -> list[Sewn]:
    """Choose the order in which to sew the sections of one connected area, and how to enter each.

    Args:
        travel: The area's rooms and doors.
        start: (2,) where the needle comes from, in the row frame; None if it does not matter.
        end: (2,) where it should end; None if it does not matter.
        search: Whether to look for something better than a walk over the tree.
        seed: Of the local search.

    Returns:
        Every section once, in order of sewing.
    """
    count = travel.rows.sections
    from_start, to_end = _distances(travel, start), _distances(travel, end)
    if count == 1:
        mode = min(range(4), key=lambda m: from_start[_enters(travel, 0)[m]] + to_end[_leaves(travel, 0)[m]])
        return [Sewn(0, mode >> 1, mode & 1)]
    sections = range(count)
    costs = Costs(
        Hops(travel),
        [_enters(travel, s) for s in sections],
        [_leaves(travel, s) for s in sections],
        from_start,
        to_end,
    )
    tour = min((_with_sides(costs, _tree(travel, root)) for root in _roots(count)), key=costs.total)
    if search and count <= SEARCHED_UP_TO:
        share = costs.total(tour) / max(float((travel.rows.high - travel.rows.low).sum()), 1e-9)
        fewer = max(MOST_WORK / count**2, FEWEST_PER_SECTION * count)
        turns = int(min(fewer, TURNS_PER_SECTION * count) * min(1.0, share / SHARE_WORTH_ALL))
        tour = improved(costs, tour, chance=random.Random(seed), turns=turns)
    return [Sewn(section, mode >> 1, mode & 1) for section, mode in tour]


def leaving(travel: Travel, sewn: Sewn) -> int:
    """The corner at which a section is left."""
    turned = travel.rows.turned_mode(sewn.section, 2 * sewn.end + sewn.side)
    return travel.corner(sewn.section, turned >> 1, turned & 1)


def _enters(travel: Travel, section: int) -> list[int]:
    return [travel.corner(section, mode >> 1, mode & 1) for mode in range(4)]


def _leaves(travel: Travel, section: int) -> list[int]:
    return [leaving(travel, Sewn(section, mode >> 1, mode & 1)) for mode in range(4)]


def _distances(travel: Travel, point: FloatArray | None) -> list[float]:
    away = np.zeros(len(travel.at)) if point is None else np.hypot(*(travel.at - point).T)
    return [float(mm) for mm in away]


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


def _with_sides(costs: Costs, order: list[tuple[int, int]]) -> Tour:
    """Choose the side at which each section begins, for the shortest ways in all."""
    section, end = order[0]
    best = [(costs.start[costs.enters[section][2 * end + side]], [side]) for side in (0, 1)]
    for (before, its_end), (section, end) in itertools.pairwise(order):
        best = [
            min(
                (cost + costs.hops.hop(costs.leaves[before][2 * its_end + sides[-1]],
                                       costs.enters[section][2 * end + side])[0], [*sides, side])
                for cost, sides in best
            )
            for side in (0, 1)
        ]  # fmt: skip
    sides = min(best)[1]
    return [(section, 2 * end + side) for (section, end), side in zip(order, sides, strict=True)]
