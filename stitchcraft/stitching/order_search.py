"""Ordering of many pieces that can be sewn backwards as well as forwards.

Then it does not matter which end of a piece is called its entry, and the sewing is a round tour over the ends
of the pieces: the two ends of a piece are tied together, and two more nodes (one, if both ends of the sewing
are free) stand for coming and leaving. Order and direction are then chosen by the same moves; where a piece
offers more than one pair of ends, the pair is chosen anew whenever the tour about it changes.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from random import Random
from typing import Final

import numpy as np

from stitchcraft.arrays import FloatArray, IntArray
from stitchcraft.stitching.distances import distance
from stitchcraft.stitching.order_exact import Task
from stitchcraft.stitching.order_strips import strip_orders
from stitchcraft.stitching.order_tour import LEAST_GAIN_MM, Tour
from stitchcraft.stitching.order_ways import best_ways, nearest_first, travel_along

SAME_POINT_MM: Final = 1e-9
SAME_TRAVEL_MM: Final = 1e-6
NEAR_FIRST: Final = 6
"""How many near nodes a first new link may go to; the second goes to one less. Chosen by measuring."""
WIDEST_SHAKE: Final = 30
WIDEST_OF_MANY: Final = 50
"""Nodes in a stretch that a shake moves, at most: wide ones save more while the tour is still far from the best."""
HEAT: Final = 0.13
"""A shake that costs this share of the mean link is at first kept about one time in three; chosen by measuring."""
SETTLED_UP_TO: Final = 600
"""With no more pieces than this there are shakes enough to come near the best."""
FEW_PIECES: Final = 120
"""Up to so many, another start finds more than longer shaking does."""
MOST_PIECES: Final = 1200
"""More than this are ordered in stretches: the table of distances grows with the square."""


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to search, counted in steps so that the answer does not depend on the machine.

    Attributes:
        starts: How many orders to begin from.
        shakes: How many for each.
    """

    starts: int
    shakes: int


def effort_for(pieces: int) -> Effort:
    """Effort for so many pieces, chosen by measuring: a tenth of a second for 100 of them, some 2 s at most."""
    if pieces <= FEW_PIECES:
        return Effort(starts=max(2, min(5, 240 // pieces)), shakes=max(200, 6 * pieces))
    return Effort(starts=1, shakes=min(9 * pieces, 5000))


def reversible_ways(task: Task) -> list[list[tuple[int, int]]]:
    """For each piece the pairs (way, the way that sews it backwards), as states, each pair once."""
    found: list[list[tuple[int, int]]] = []
    for i in range(task.pieces):
        own = range(int(task.first[i]), int(task.first[i + 1]))
        into, out = task.entry[own.start : own.stop], task.exit[own.start : own.stop]
        miss = np.abs(out[:, None] - into[None]).max(axis=2)
        back = (miss <= SAME_POINT_MM) & (miss.T <= SAME_POINT_MM)
        pairs: list[tuple[int, int]] = []
        for k in own:
            partners = np.flatnonzero(back[k - own.start])
            if len(partners) and own.start + int(partners[0]) >= k:
                pairs.append((k, own.start + int(partners[0])))
        found.append(pairs)
    return found


@dataclass(frozen=True, slots=True, eq=False)
class Nodes:
    """The ends of the pieces, numbered through.

    Attributes:
        pairs: For each piece its pairs (way, the way that sews it backwards), as states.
        head: For each piece the node of the one end.
        tail: For each piece the node of the other; the same where it always ends in the hole where it began.
        owner: For each node its piece.
        beside: Pairs of nodes of two pieces that can be at places near each other: the one, in order, and the other.
        tables: What the first search has measured, kept for those that follow.
    """

    pairs: list[list[tuple[int, int]]]
    head: list[int]
    tail: list[int]
    owner: list[int]
    beside: tuple[IntArray, IntArray]
    tables: list[tuple[list[array[float]], list[list[int]]]] = field(default_factory=list)


def nodes_of(task: Task, pairs: list[list[tuple[int, int]]]) -> Nodes:
    """Number the ends of pieces that all have pairs of ends, and find which come near which."""
    # loaded here: ordering a few pieces must not wait for it
    from scipy.spatial import KDTree

    head: list[int] = []
    tail: list[int] = []
    owner: list[int] = []
    for i, own in enumerate(pairs):
        head.append(len(owner))
        single = all(np.abs(task.entry[a] - task.exit[a]).max() <= SAME_POINT_MM for a, _ in own)
        owner.extend([i] if single else [i, i])
        tail.append(len(owner) - 1)
    at = np.vstack([task.entry[[there, back]] for own in pairs for there, back in own])
    node = np.array([(head[i], tail[i]) for i, own in enumerate(pairs) for _ in own]).ravel()
    ways = max(len(own) for own in pairs)
    _, index = KDTree(at).query(at, k=min(len(at), (2 * NEAR_FIRST + 4) * ways))
    index = index.reshape(len(at), -1)
    one, other = np.repeat(node, index.shape[1]), node[index].ravel()
    piece = np.array(owner)
    foreign = piece[one] != piece[other]
    count = len(owner)
    one, other = np.divmod(np.unique(one[foreign] * count + other[foreign]), count)
    return Nodes(pairs, head, tail, owner, (one, other))


class Search:
    """A tour over the ends of the pieces, and which pair of ends each piece shows at the moment."""

    def __init__(self, task: Task, nodes: Nodes, states: IntArray) -> None:
        pairs = nodes.pairs
        self.task = task
        self.pairs = pairs
        self.choosy = any(len(own) > 1 for own in pairs)
        self.head, self.tail, self.owner = nodes.head, nodes.tail, nodes.owner
        self.leave = len(self.owner)
        self.come = self.leave if task.start is None and task.end is None else self.leave + 1
        self.shown = [0] * task.pieces
        self.ends = [[(complex(*task.entry[a]), complex(*task.exit[a])) for a, _ in own] for own in pairs]
        self.xy = np.zeros((self.come + 1, 2))
        self.free = np.zeros(self.come + 1, dtype=bool)
        for node, point in ((self.leave, task.end), (self.come, task.start)):
            self.free[node] = point is None
            self.xy[node] = 0.0 if point is None else point
        around = [self.come]
        for state in states.tolist():
            around.extend(self._laid(int(task.piece[state]), state))
        if self.leave != self.come:
            around.append(self.leave)
        self.tour = Tour(around, *self._tables(nodes), self._mates(), wide=NEAR_FIRST - 1)

    def _laid(self, piece: int, state: int) -> list[int]:
        """Show the pair of ends that a state belongs to; its nodes in the order in which that state meets them."""
        for k, (there, back) in enumerate(self.pairs[piece]):
            if state in (there, back):
                self.shown[piece] = k
                self._place(piece)
                ends = [self.head[piece], self.tail[piece]]
                return ends[:1] if ends[0] == ends[1] else ends[:: 1 if state == there else -1]
        self.shown[piece] = 0
        self._place(piece)
        return sorted({self.head[piece], self.tail[piece]})

    def _place(self, piece: int) -> None:
        state = self.pairs[piece][self.shown[piece]][0]
        self.xy[self.head[piece]] = self.task.entry[state]
        self.xy[self.tail[piece]] = self.task.exit[state]

    def _tables(self, nodes: Nodes) -> tuple[list[array[float]], list[list[int]]]:
        """Distances and near nodes; where no piece has a choice of ends they are the same for every order."""
        if self.choosy:
            return self._table(), self._near(*nodes.beside)
        if not nodes.tables:
            nodes.tables.append((self._table(), self._near(*nodes.beside)))
        return nodes.tables[0]

    def _row(self, node: int) -> FloatArray:
        if self.free[node]:
            return np.zeros(len(self.xy))
        row: FloatArray = distance(*(self.xy - self.xy[node]).T)
        row[self.free] = 0.0
        return row

    def _table(self) -> list[array[float]]:
        away: FloatArray = distance(*(self.xy[:, None] - self.xy[None]).transpose(2, 0, 1))
        away[self.free] = 0.0
        away[:, self.free] = 0.0
        if self.come != self.leave:
            away[self.come, self.leave] = away[self.leave, self.come] = 0.0
        return [array("d", row.tobytes()) for row in away]

    def _mates(self) -> list[int]:
        mate = [-1] * len(self.xy)
        for one, other in [*zip(self.head, self.tail, strict=True), (self.come, self.leave)]:
            if one != other:
                mate[one], mate[other] = other, one
        return mate

    def _near(self, one: IntArray, other: IntArray) -> list[list[int]]:
        """For each node the nearest nodes of other pieces; a piece with many pairs counts where it is now."""
        away = distance(*(self.xy[other] - self.xy[one]).T)
        ranked = other[np.lexsort((away, one))]
        begins = np.searchsorted(one, np.arange(self.leave + 1)).tolist()
        near = [ranked[low : min(low + NEAR_FIRST, high)].tolist() for low, high in pairwise(begins)]
        everywhere = np.arange(self.leave)
        outside = range(self.leave, len(self.xy))
        return near + [everywhere.tolist() if self.free[k] else self._nearest_to(k) for k in outside]

    def _nearest_to(self, outside: int) -> list[int]:
        away = distance(*(self.xy[: self.leave] - self.xy[outside]).T)
        return np.argsort(away, kind="stable")[:NEAR_FIRST].tolist()

    def settle(self) -> None:
        """Improve the tour as far as the moves go."""
        self.tour.settle(self.tour.nodes[::-1])
        self._choose_pairs(range(self.leave))

    def cool(self, times: int, random: Random) -> None:
        """Shake the tour and settle what was touched, so many times, and end with the best tour that came of it.

        What is a little worse is kept now and then, ever less often: S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi,
        "Optimization by simulated annealing", Science 220 (1983) 671-680, over settled tours as in Martin, Otto and
        Felten.
        """
        tour = self.tour
        width = max(1, min(WIDEST_SHAKE if self.task.pieces <= SETTLED_UP_TO else WIDEST_OF_MANY, len(tour.nodes) // 4))
        hottest = HEAT * tour.length() / len(tour.nodes)
        kept = best = (tour.nodes[:], tour.place[:], self.shown[:])
        lost = least = 0.0
        for number in range(times):
            shaken = tour.shake(random, width)
            if shaken is None:
                continue
            cost, touched = shaken
            tour.touched.clear()
            saved = tour.settle(touched) - cost
            if self.choosy:
                saved += self._choose_pairs(sorted(tour.touched))
            heat = hottest * (1 - number / times)
            if saved < -LEAST_GAIN_MM and saved <= heat * math.log(1.0 - random.random()):
                self._go_back(kept)
                continue
            kept = (tour.nodes[:], tour.place[:], self.shown[:])
            lost -= saved
            if lost < least - LEAST_GAIN_MM:
                best, least = kept, lost
        self._go_back(best)

    def _go_back(self, kept: tuple[list[int], list[int], list[int]]) -> None:
        nodes, place, shown = kept
        self.tour.restore(nodes, place)
        if shown != self.shown:
            for piece, pair in enumerate(shown):
                self._show(piece, pair)

    def _choose_pairs(self, nodes: Iterable[int]) -> float:
        """Let the pieces of some nodes show the ends that suit their places in the tour; what that saved."""
        saved = 0.0
        for piece in sorted({self.owner[node] for node in nodes if node < self.leave}):
            if len(self.pairs[piece]) == 1:
                continue
            gain, pair = self._best_pair(piece)
            if gain > LEAST_GAIN_MM:
                self._show(piece, pair)
                saved += gain
                saved += self.tour.settle(sorted({self.head[piece], self.tail[piece]}))
        return saved

    def _best_pair(self, piece: int) -> tuple[float, int]:
        tour = self.tour
        head, tail = self.head[piece], self.tail[piece]
        one, other = (tour.nodes[tour.place[head] - 1], tour.nodes[(tour.place[head] + 1) % len(tour.nodes)])
        if head != tail:
            one = other if one == tail else one
            other = tour.nodes[tour.place[tail] - 1]
            other = tour.nodes[(tour.place[tail] + 1) % len(tour.nodes)] if other == head else other
        free_one, free_other = self.free[one], self.free[other]
        before, after = complex(*self.xy[one]), complex(*self.xy[other])
        # plain numbers: there are too few ways for arrays to pay
        cost = [
            (0.0 if free_one else abs(into - before)) + (0.0 if free_other else abs(out - after))
            for into, out in self.ends[piece]
        ]
        least = min(cost)
        return cost[self.shown[piece]] - least, cost.index(least)

    def _show(self, piece: int, pair: int) -> None:
        if self.shown[piece] == pair:
            return
        self.shown[piece] = pair
        self._place(piece)
        dist = self.tour.dist
        for node in {self.head[piece], self.tail[piece]}:
            row = self._row(node)
            dist[node] = array("d", row.tobytes())
            for other, away in enumerate(row.tolist()):
                dist[other][node] = away

    def states(self) -> IntArray:
        """The tour as states in sewing order."""
        tour = self.tour
        at = tour.place[self.come]
        around = tour.nodes[at + 1 :] + tour.nodes[:at]
        if around and around[0] == self.leave:
            around.reverse()
        found: list[int] = []
        seen: set[int] = set()
        for node in around:
            if node >= self.leave or self.owner[node] in seen:
                continue
            piece = self.owner[node]
            seen.add(piece)
            there, back = self.pairs[piece][self.shown[piece]]
            found.append(there if node == self.head[piece] else back)
        return np.array(found, dtype=np.int64)


def searched(task: Task, pairs: list[list[tuple[int, int]]], states: IntArray, seed: int) -> IntArray:
    """Improve a sequence of states of pieces that all have pairs of ends, as far as the effort for them goes."""
    effort = effort_for(task.pieces)
    best, least = states, travel_along(task, states)
    ends: list[float] = []
    for start, search in enumerate(_starts(task, pairs, states, effort.starts)):
        # choosing ends makes a shake take about twice as long
        search.cool(effort.shakes // (2 if search.choosy else 1), Random(seed * 1000 + start))
        found = best_ways(task, search.states())
        travel = travel_along(task, found)
        # what two starts end with alike is seldom bettered by a third
        alike = any(abs(travel - other) < SAME_TRAVEL_MM for other in ends) and travel <= least + SAME_TRAVEL_MM
        ends.append(travel)
        if travel < least - LEAST_GAIN_MM:
            best, least = found, travel
        if alike:
            break
    return best


def _starts(task: Task, pairs: list[list[tuple[int, int]]], states: IntArray, count: int) -> Iterator[Search]:
    """Settled searches from so many different orders; the first is the best of what is at hand."""
    nodes = nodes_of(task, pairs)
    rivals: list[tuple[float, int, Search]] = []
    for rival in (states, *strip_orders(task, best=2)):
        search = Search(task, nodes, rival)
        search.settle()
        rivals.append((travel_along(task, search.states()), len(rivals), search))
    yield min(rivals, key=lambda one: one[:2])[2]
    for k in range(1, count):
        search = Search(task, nodes, nearest_first(task, first=int(task.first[k * task.pieces // count])))
        search.settle()
        yield search
