"""The order of a fill's sections, and the corner where each begins.

Any order can be sewn without a jump, since there is always a way through the shape; a good order has short
ways, and ways under rows that come later. Two steps: a walk over the tree of sections in which every way is
hidden (a section is sewn when all that hangs on it is done), from several roots; then a local search that
moves sections, turns chains of them round and changes corners, with the ways' lengths looked up.
"""

from __future__ import annotations

import itertools
import random
from dataclasses import dataclass

import numpy as np

from stitchcraft.design import FloatArray
from stitchcraft.stitching.fill_travel import OVER_SEWN, Travel

SEARCHED_UP_TO = 160
"""More sections than this are sewn in the order of the tree, without the local search."""

TURNS_PER_SECTION = 120
MOST_TURNS = 6000
ROOTS_TRIED = 12
UNREACHED = 20.0
"""Price of a way to where no row leads, against 1 for rows to come."""


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


class _Hops:
    """Cost of the way from where one section ends to where another begins, looked up once."""

    def __init__(self, travel: Travel) -> None:
        from scipy.sparse import csr_matrix  # slow to load, and fills in one section do without

        self.travel = travel
        count = len(travel.at)
        heads: list[np.ndarray] = []
        tails: list[np.ndarray] = []
        rooms: list[np.ndarray] = []
        for room, doors in enumerate(travel.nodes_in):
            nodes = np.array([*doors, *(travel.corner(room, e, s) for e in (0, 1) for s in (0, 1))])
            a, b = np.meshgrid(nodes, nodes)
            apart = a != b
            heads.append(a[apart])
            tails.append(b[apart])
            rooms.append(np.full(int(apart.sum()), room))
        head, tail, self.room = np.concatenate(heads), np.concatenate(tails), np.concatenate(rooms)
        distance = np.hypot(*(travel.at[head] - travel.at[tail]).T) + 1e-9
        # two rooms that share a door share the steps along it: keep one of each
        order = np.lexsort((distance, tail, head))
        head, tail, distance, self.room = head[order], tail[order], distance[order], self.room[order]
        first = np.ones(len(head), dtype=bool)
        first[1:] = (head[1:] != head[:-1]) | (tail[1:] != tail[:-1])
        head, tail, distance, self.room = head[first], tail[first], distance[first], self.room[first]
        self.graph = csr_matrix((distance, (head, tail)), (count, count))
        self.distance = distance
        self.edge = {pair: i for i, pair in enumerate(zip(head.tolist(), tail.tolist(), strict=True))}
        self.rows: dict[int, tuple[list[float], list[int]]] = {}
        self.known: dict[tuple[int, int], tuple[float, tuple[tuple[int, float], ...]]] = {}

    def hop(self, start: int, goal: int) -> tuple[float, tuple[tuple[int, float], ...]]:
        """Length of the way between two corners, and its length in each room where it may show."""
        found = self.known.get((start, goal))
        if found is None:
            found = self.known[start, goal] = self._looked_up(start, goal)
        return found

    def _looked_up(self, start: int, goal: int) -> tuple[float, tuple[tuple[int, float], ...]]:
        source = int(self.travel.rooms[start, 0])
        if start not in self.rows:
            from scipy.sparse.csgraph import dijkstra  # as above

            # where the way begins has always been sewn by then
            self.graph.data = np.where(self.room == source, self.distance * OVER_SEWN, self.distance)
            corners = [self.travel.corner(source, e, s) for e in (0, 1) for s in (0, 1)]
            _, before = dijkstra(self.graph, indices=corners, return_predecessors=True)
            for corner, row in zip(corners, before.tolist(), strict=True):
                self.rows[corner] = ([], row)
        before = self.rows[start][1]
        in_room: dict[int, float] = {}
        total, here = 0.0, goal
        while here != start and before[here] >= 0:
            edge = self.edge[before[here], here]
            length = float(self.distance[edge])
            total += length
            room = int(self.room[edge])
            in_room[room] = in_room.get(room, 0.0) + length
            here = before[here]
        if here != start:  # a neck that no row crosses lies between
            at = self.travel.at
            return UNREACHED * float(np.hypot(*(at[goal] - at[start]))), ()
        return total, tuple(in_room.items())


def order_of_sections(
    travel: Travel, *, start: FloatArray | None = None, end: FloatArray | None = None, seed: int = 0
) -> list[Sewn]:
    """Choose the order in which to sew the sections of one connected area, and how to enter each.

    Args:
        travel: The area's rooms and doors.
        start: (2,) where the needle comes from, in the row frame; None if it does not matter.
        end: (2,) where it should end; None if it does not matter.
        seed: Of the local search.

    Returns:
        Every section once, in order of sewing.
    """
    count = travel.rows.sections
    if count == 1:
        return [
            min((Sewn(0, e, s) for e in (0, 1) for s in (0, 1)), key=lambda way: _ends_cost(travel, way, start, end))
        ]
    search = _Search(travel, start, end)
    tours = [search.tree(root) for root in _roots(count)]
    tour = min(tours, key=search.cost)
    if count <= SEARCHED_UP_TO:
        tour = search.improved(tour, random.Random(seed), min(MOST_TURNS, TURNS_PER_SECTION * count))
    return [Sewn(section, mode >> 1, mode & 1) for section, mode in tour]


def _ends_cost(travel: Travel, way: Sewn, start: FloatArray | None, end: FloatArray | None) -> float:
    enter = travel.at[travel.corner(way.section, way.end, way.side)]
    leave = travel.at[leaving(travel, way.section, way.end, way.side)]
    cost = 0.0
    for asked, place in ((start, enter), (end, leave)):
        if asked is not None:
            cost += float(np.hypot(*(place - asked)))
    return cost


def leaving(travel: Travel, section: int, end: int, side: int) -> int:
    """The corner at which a section is left that was entered at a given one."""
    rows = int(travel.rows.start[section + 1] - travel.rows.start[section])
    return travel.corner(section, 1 - end, side ^ (rows & 1))


def _roots(count: int) -> list[int]:
    """A few sections to grow the tree from, spread over the list."""
    return sorted({round(i * (count - 1) / (ROOTS_TRIED - 1)) for i in range(ROOTS_TRIED)})


_Tour = list[tuple[int, int]]


class _Search:
    def __init__(self, travel: Travel, start: FloatArray | None, end: FloatArray | None) -> None:
        self.travel = travel
        self.hops = _Hops(travel)
        count = travel.rows.sections
        self.enters = [[travel.corner(s, m >> 1, m & 1) for m in range(4)] for s in range(count)]
        self.leaves = [[leaving(travel, s, m >> 1, m & 1) for m in range(4)] for s in range(count)]
        self.from_start = self._distances(start)
        self.to_end = self._distances(end)

    def _distances(self, point: FloatArray | None) -> list[float]:
        at = self.travel.at
        return (np.zeros(len(at)) if point is None else np.hypot(*(at - point).T)).tolist()

    def cost(self, tour: _Tour) -> float:
        """Length of all ways, what shows of them counted `OVER_SEWN` times."""
        extra = OVER_SEWN - 1.0
        known, hop = self.hops.known, self.hops.hop
        enters, leaves = self.enters, self.leaves
        sewn = [False] * len(tour)
        section, mode = tour[0]
        total = self.from_start[enters[section][mode]]
        here = leaves[section][mode]
        sewn[section] = True
        for section, mode in tour[1:]:
            key = (here, enters[section][mode])
            found = known.get(key)
            if found is None:
                found = hop(*key)
            total += found[0]
            for room, length in found[1]:
                if sewn[room]:
                    total += extra * length
            sewn[section] = True
            here = leaves[section][mode]
        return total + self.to_end[here]

    def tree(self, root: int) -> _Tour:
        """Sew each section of a spanning tree after all that hangs on it, towards where it hangs."""
        beside: list[list[tuple[int, int]]] = [[] for _ in range(self.travel.rows.sections)]
        section = self.travel.rows.section
        for lower, upper in self.travel.rows.links.tolist():
            a, b = int(section[lower]), int(section[upper])
            beside[a].append((b, 1))
            beside[b].append((a, 0))
        seen: set[int] = set()
        order: list[tuple[int, int]] = []
        for first in (root, *range(len(beside))):
            if first not in seen:
                seen.add(first)
                _hang(first, beside, seen, order)
        return self._with_sides(order)

    def _with_sides(self, order: list[tuple[int, int]]) -> _Tour:
        """Choose the side at which each section begins, for the shortest ways in all."""
        hop = self.hops.hop
        section, end = order[0]
        best = [(self.from_start[self.enters[section][2 * end + side]], [side]) for side in (0, 1)]
        for (before, its_end), (section, end) in itertools.pairwise(order):
            best = [
                min(
                    (cost + hop(self.leaves[before][2 * its_end + sides[-1]], self.enters[section][2 * end + side])[0],
                     [*sides, side])
                    for cost, sides in best
                )
                for side in (0, 1)
            ]  # fmt: skip
        sides = min(best)[1]
        return [(section, 2 * end + side) for (section, end), side in zip(order, sides, strict=True)]

    def improved(self, tour: _Tour, chance: random.Random, turns: int) -> _Tour:
        """Change the tour at random and keep what is better, or a little worse early on."""
        now = best = self.cost(tour)
        kept = tour
        count = len(tour)
        heat = 0.03 * now / count + 1e-9
        for turn in range(turns):
            changed = _changed(tour, chance)
            cost = self.cost(changed)
            if cost < now or chance.random() < np.exp((now - cost) / (heat * (1.0 - turn / turns) + 1e-12)):
                tour, now = changed, cost
                if cost < best:
                    kept, best = changed, cost
        return kept


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


def _changed(tour: _Tour, chance: random.Random) -> _Tour:
    count = len(tour)
    kind = chance.random()
    i = chance.randrange(count)
    if kind < 0.3:
        section, mode = tour[i]
        return [*tour[:i], (section, mode ^ chance.randrange(1, 4)), *tour[i + 1 :]]
    length = min(count - i, 1 + int(chance.random() ** 2 * 4))
    block, rest = tour[i : i + length], tour[:i] + tour[i + length :]
    if kind < 0.6:
        block = [(section, mode ^ 2) for section, mode in reversed(block)]
    j = i if kind > 0.5 and kind < 0.6 else chance.randrange(len(rest) + 1)
    if length == 1 and chance.random() < 0.5:
        block = [(block[0][0], chance.randrange(4))]
    return rest[:j] + block + rest[j:]
