"""What it costs to get from the end of one section of a fill to the beginning of another."""

from __future__ import annotations

import math

import numpy as np

from stitchcraft.arrays import FloatArray, IntArray
from stitchcraft.stitching.distances import distance
from stitchcraft.stitching.fill_travel import DOORSTEPS, OVER_SEWN, TURN_OVERHANG_MM, Travel

UNREACHED = 20.0
"""Price of a millimetre to where no row leads, against 1 for rows to come."""


class Hops:
    """Shortest ways between the corners of sections; corners are numbered ``4 * section + 2 * end + side``.

    Attributes:
        price: (corners, corners) length of the way from one corner to another, mm, with what lies in the
            section of the first counted `OVER_SEWN` times, since that has been sewn by then; once where no way
            can show.
        known: The answers that `rooms` has given.
    """

    def __init__(self, travel: Travel, *, can_show: bool = True) -> None:
        from scipy.sparse import csr_matrix  # slow to load, and fills in one section do without
        from scipy.sparse.csgraph import dijkstra

        self.travel = travel
        first = travel.doorsteps
        head, tail = _steps(travel)
        length = distance(*(travel.at[head] - travel.at[tail]).T) + 1e-9
        over_sewn = OVER_SEWN if can_show else 1.0
        length[head >= first] *= over_sewn
        count = len(travel.at)
        graph = csr_matrix((length, (head, tail)), shape=(count, count))
        price, self._before = dijkstra(graph, indices=np.arange(first, count), return_predecessors=True)
        self.price: FloatArray = np.ascontiguousarray(price[:, first:])
        xy = travel.at[first:]
        self._direct = ~np.isfinite(self.price)
        # a neck that no row crosses lies between
        a, b = np.nonzero(self._direct)
        self.price[a, b] = UNREACHED * distance(*(xy[a] - xy[b]).T)
        self._direct |= np.eye(len(xy), dtype=bool)
        self._take_turns(xy, over_sewn)
        self._direct |= not can_show
        self._at, self._rooms = travel.at.tolist(), travel.rooms.tolist()
        self._before_from: dict[int, list[int]] = {}
        self.known: dict[tuple[int, int], tuple[tuple[int, int, float], ...]] = {}

    def rooms(self, start: int, goal: int) -> tuple[tuple[int, int, float], ...]:
        """What the way from one corner to another passes after the section of the first.

        Returns:
            Two rooms and a length in mm, for each stretch: it can be hidden in either of the two.
        """
        found = self.known[start, goal] = () if self._direct[start, goal] else self._looked_up(start, goal)
        return found

    def _take_turns(self, xy: FloatArray, over_sewn: float) -> None:
        """From row to row leads a plain turn, wherever it overhangs little."""
        rows, span = self.travel.rows, self.travel.span_at[self.travel.doorsteps :]
        row = rows.row[span]
        a, b = np.nonzero(np.abs(row[:, None] - row) == 1)
        beside, onto = span[a], span[b]
        over = np.maximum(np.maximum(rows.low[onto] - xy[a, 0], xy[a, 0] - rows.high[onto]), 0.0)
        near = (rows.low[beside] < rows.high[onto]) & (rows.low[onto] < rows.high[beside]) & (over <= TURN_OVERHANG_MM)
        a, b, over = a[near], b[near], over[near]
        self.price[a, b] = distance(*(xy[a] - xy[b]).T) + (over_sewn - 1.0) * over
        self._direct[a, b] = True

    def _looked_up(self, start: int, goal: int) -> tuple[tuple[int, int, float], ...]:
        first, at, rooms = self.travel.doorsteps, self._at, self._rooms
        before = self._before_from.get(start)
        if before is None:
            before = self._before_from[start] = self._before[start].tolist()
        source, here = start + first, goal + first
        lengths: dict[tuple[int, int], float] = {}
        while (previous := before[here]) != source:
            stretch = _shared(rooms[previous], rooms[here])
            lengths[stretch] = lengths.get(stretch, 0.0) + math.dist(at[here], at[previous])
            here = previous
        return tuple((*stretch, length) for stretch, length in lengths.items())


def _shared(some: list[int], others: list[int]) -> tuple[int, int]:
    """The rooms that two places share: twice the same, or the two on whose common doorstep they lie."""
    shared = [room for room in some if room in others]
    return shared[0], shared[-1]


def _steps(travel: Travel) -> tuple[IntArray, IntArray]:
    """All steps inside a room: from door to door, from a corner to a door and back, from corner to corner."""
    heads: list[IntArray] = []
    tails: list[IntArray] = []
    for room, doors in enumerate(travel.nodes_in):
        corner = travel.corner(room, 0, 0)
        nodes = np.array([*doors, *range(corner, corner + 4)])
        heads.append(np.repeat(nodes, len(nodes)))
        tails.append(np.tile(nodes, len(nodes)))
    head, tail = np.concatenate(heads), np.concatenate(tails)
    # two rooms that share a door share the steps along it: take them once
    along = np.arange(travel.doorsteps).reshape(-1, DOORSTEPS)
    door = np.where(head < travel.doorsteps, head // DOORSTEPS, -1)
    apart = (head != tail) & ((door < 0) | (door != np.where(tail < travel.doorsteps, tail // DOORSTEPS, -2)))
    some, others = (np.repeat(along, DOORSTEPS, axis=1), np.tile(along, DOORSTEPS))
    across = some != others
    return np.append(head[apart], some[across]), np.append(tail[apart], others[across])
