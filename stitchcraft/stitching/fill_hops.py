"""What it costs to get from the end of one section of a fill to the beginning of another."""

from __future__ import annotations

import numpy as np

from stitchcraft.design import FloatArray
from stitchcraft.stitching.fill_travel import OVER_SEWN, TURN_OVERHANG_MM, Travel

UNREACHED = 20.0
"""Price of a millimetre to where no row leads, against 1 for rows to come."""

Hop = tuple[float, tuple[tuple[int, float], ...]]
"""Length of a way, and its length in each room that it passes, mm."""


class Hops:
    """Shortest ways between the corners of sections, each looked up once."""

    def __init__(self, travel: Travel) -> None:
        from scipy.sparse import csr_matrix  # slow to load, and fills in one section do without

        self.travel = travel
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
        head, tail, room_of = np.concatenate(heads), np.concatenate(tails), np.concatenate(rooms)
        # two rooms that share a door share the steps along it: keep one of each
        order = np.lexsort((tail, head))
        head, tail, room_of = head[order], tail[order], room_of[order]
        first = np.ones(len(head), dtype=bool)
        first[1:] = (head[1:] != head[:-1]) | (tail[1:] != tail[:-1])
        head, tail, self._room = head[first], tail[first], room_of[first]
        self._distance: FloatArray = np.hypot(*(travel.at[head] - travel.at[tail]).T) + 1e-9
        self._graph = csr_matrix((self._distance, (head, tail)), shape=(len(travel.at), len(travel.at)))
        self._edge = {pair: i for i, pair in enumerate(zip(head.tolist(), tail.tolist(), strict=True))}
        self._before: dict[int, list[int]] = {}
        self.known: dict[tuple[int, int], Hop] = {}

    def hop(self, start: int, goal: int) -> Hop:
        """Find the way from a corner where a section ended to a corner where another begins."""
        found = self.known.get((start, goal))
        if found is None:
            found = self.known[start, goal] = self._looked_up(start, goal)
        return found

    def _looked_up(self, start: int, goal: int) -> Hop:
        travel = self.travel
        beside = travel.overhang(float(travel.at[start, 0]), int(travel.span_at[start]), int(travel.span_at[goal]))
        if beside <= TURN_OVERHANG_MM:
            return float(np.hypot(*(travel.at[goal] - travel.at[start]))), ((int(travel.rooms[start, 0]), beside),)
        before = self._ways_from(start)
        in_room: dict[int, float] = {}
        total, here = 0.0, goal
        while here != start and before[here] >= 0:
            edge = self._edge[before[here], here]
            length = float(self._distance[edge])
            total += length
            room = int(self._room[edge])
            in_room[room] = in_room.get(room, 0.0) + length
            here = before[here]
        if here != start:  # a neck that no row crosses lies between
            return UNREACHED * float(np.hypot(*(travel.at[goal] - travel.at[start]))), ()
        return total, tuple(in_room.items())

    def _ways_from(self, start: int) -> list[int]:
        if start not in self._before:
            from scipy.sparse.csgraph import dijkstra  # as above

            # the section where a way begins has been sewn by then
            source = int(self.travel.rooms[start, 0])
            self._graph.data = np.where(self._room == source, self._distance * OVER_SEWN, self._distance)
            corners = [self.travel.corner(source, e, s) for e in (0, 1) for s in (0, 1)]
            _, before = dijkstra(self._graph, indices=corners, return_predecessors=True)
            self._before.update(zip(corners, before.tolist(), strict=True))
        return self._before[start]
