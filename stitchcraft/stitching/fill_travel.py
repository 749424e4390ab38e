"""Ways through a fill from one place to another, under rows that are still to come.

The sections are rooms; where a row of one touches a row of the next there is a door. A way is found from door
to door by Dijkstra's algorithm, priced higher through rooms that are sewn already, and then pulled taut
through the rows that it crosses: its corners are those of a string. Every needle point of a way lies on a row,
within the row's ends, so a way never leaves the shape.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray, IntArray
from stitchcraft.defaults import PLANNING
from stitchcraft.geometry.curves import distances_along
from stitchcraft.geometry.triangles import Triangles
from stitchcraft.stitching.fill_rows import bends_of, without_short_stitches
from stitchcraft.stitching.fill_sections import Rows

EDGE_CLEARANCE: Final = PLANNING["travel_clearance"].value
OVER_SEWN: Final = 6.0
"""Price of travel over rows already sewn, against 1 under rows to come."""

STRAY_MM: Final = 0.2
"""How far a way may stray from its stitches where it bends."""

SHORTEST_MM: Final = PLANNING["travel_shortest"].value
TURN_OVERHANG_MM: Final = PLANNING["travel_overhang"].value
"""From row to row a plain turn may run this far beside the later of the two."""

DOORSTEPS: Final = 3
"""Places on each door: left, middle and right."""


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """A way through an area, in the row frame.

    Attributes:
        at: (n, 2) where it crosses each row, from start to goal, mm.
        turns: (n,) bool: where it bends.
        spans: int64 (n,) the span crossed there, -1 for none.
    """

    at: FloatArray
    turns: NDArray[np.bool_]
    spans: IntArray

    def stitches(self, rows: Rows, step: float, later: NDArray[np.bool_] | None = None) -> FloatArray:
        """Place needle points along the way, its two ends left out.

        Every point is put on one of the two rows that the way passes between, on the nearer one or on the one
        that reaches there: so it lies inside the shape. A row still to come is preferred, even the next but one.

        Args:
            rows: The rows that the way was found in.
            step: Longest stitch, mm, before points are put on rows.
            later: (spans,) which are still to come; None for all.

        Returns:
            (m, 2) mm, in the row frame.
        """
        along = distances_along(self.at)
        corners = np.concatenate([[0], np.flatnonzero(self.turns[1:-1]) + 1, [len(along) - 1]])
        fixed = along[corners[bends_of(self.at[corners], STRAY_MM)]]
        parts = np.maximum(1, np.ceil(np.diff(fixed) / step - 1e-9)).astype(np.int64)
        piece = np.repeat(np.arange(len(parts)), parts)
        nth = np.arange(len(piece)) - np.repeat(np.cumsum(parts) - parts, parts)
        wanted = (fixed[:-1][piece] + nth / parts[piece] * np.diff(fixed)[piece])[1:]
        before = np.clip(np.searchsorted(along, wanted, side="right") - 1, 0, len(along) - 2)
        share = (wanted - along[before]) / np.maximum(along[before + 1] - along[before], 1e-12)
        xy = self.at[before] + share[:, None] * (self.at[before + 1] - self.at[before])
        near, far = self.spans[before], self.spans[before + 1]
        near, far = np.where(share > 0.5, far, near), np.where(share > 0.5, near, far)
        for span in (far, near):
            _put_on(rows, xy, span, 0.0, span >= 0)
        if later is not None:
            straight = nth[1:] > 0
            for span in (*_beside(rows, far), *_beside(rows, near)):
                _put_on(rows, xy, span, EDGE_CLEARANCE, straight & later[span] & (span >= 0))
            for span in (far, near):
                _put_on(rows, xy, span, 0.0, later[span] & (span >= 0))
        kept = without_short_stitches(np.vstack([self.at[:1], xy, self.at[-1:]]), min(SHORTEST_MM, step / 2))
        return xy[kept[1:-1] - 1]


def _put_on(rows: Rows, xy: FloatArray, span: IntArray, clearance: float, which: NDArray[np.bool_]) -> None:
    """Move points to the height of a span, those that it reaches."""
    reached = which & (rows.low[span] + clearance <= xy[:, 0]) & (xy[:, 0] <= rows.high[span] - clearance)
    xy[reached, 1] = rows.y[span[reached]]


def _beside(rows: Rows, span: IntArray) -> list[IntArray]:
    """The spans below and above some in their sections, -1 where there is none."""
    place = np.empty(len(rows.members), dtype=np.int64)
    place[rows.members] = np.arange(len(place))
    found = []
    for step in (-1, 1):
        other = rows.members[np.clip(place[span] + step, 0, len(place) - 1)]
        found.append(np.where((span >= 0) & (rows.section[other] == rows.section[span]), other, -1))
    return found


@dataclass(eq=False)
class Travel:
    """The rooms and doors of one connected area.

    Attributes:
        rows: The rows.
        area: The area itself in the row frame, for what no row crosses.
        at: (nodes, 2) places on the doorsteps, left, middle and right of each door, then four corners of each
            room: bottom left, bottom right, top left, top right.
        rooms: int64 (nodes, 2) the rooms that each place belongs to; a corner has one.
        nodes_in: The places in each room, corners not among them.
    """

    rows: Rows
    area: shapely.Polygon
    at: FloatArray = field(init=False)
    rooms: IntArray = field(init=False)
    nodes_in: list[list[int]] = field(init=False)
    span_at: IntArray = field(init=False)
    low: FloatArray = field(init=False)
    high: FloatArray = field(init=False)
    place: IntArray = field(init=False)
    _triangles: Triangles | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        rows = self.rows
        inset = np.minimum(EDGE_CLEARANCE, (rows.high - rows.low) / 3)
        self.low, self.high = rows.low + inset, rows.high - inset
        self.place = np.empty(len(rows.row), dtype=np.int64)
        self.place[rows.members] = np.arange(len(rows.members))
        lower, upper = rows.links.T
        left = np.maximum(rows.low[lower], rows.low[upper])
        right = np.minimum(rows.high[lower], rows.high[upper])
        step = np.minimum(EDGE_CLEARANCE, (right - left) / 3)
        y = (rows.y[lower] + rows.y[upper]) / 2
        doors = np.stack([np.column_stack([x, y]) for x in (left + step, (left + right) / 2, right - step)], axis=1)
        ends = np.column_stack([rows.members[rows.start[:-1]], rows.members[rows.start[1:] - 1]])
        corners = np.stack(
            [
                np.column_stack([side[ends[:, e]], rows.y[ends[:, e]]])
                for e in (0, 1)
                for side in (rows.left, rows.right)
            ],
            axis=1,
        )
        self.span_at = np.concatenate([np.full(3 * len(lower), -1), np.repeat(ends, 2, axis=1).ravel()])
        self.at = np.vstack([doors.reshape(-1, 2), corners.reshape(-1, 2)])
        between = np.repeat(np.column_stack([rows.section[lower], rows.section[upper]]), DOORSTEPS, axis=0)
        alone = np.repeat(np.arange(rows.sections), 4)
        self.rooms = np.vstack([between, np.column_stack([alone, alone])])
        self.nodes_in = [[] for _ in range(rows.sections)]
        for node, (a, b) in enumerate(between.tolist()):
            self.nodes_in[a].append(node)
            self.nodes_in[b].append(node)

    @property
    def doorsteps(self) -> int:
        """How many places are on doorsteps; the corners follow them."""
        return DOORSTEPS * len(self.rows.links)

    def corner(self, section: int, end: int, side: int) -> int:
        """The place at a corner of a section: end 0 is its bottom row, side 0 the left."""
        return self.doorsteps + 4 * section + 2 * end + side

    def span_near(self, point: FloatArray) -> int:
        """The span that holds a point or is nearest to it."""
        rows = self.rows
        dx = np.maximum(np.maximum(rows.low - point[0], point[0] - rows.high), 0.0)
        return int(np.argmin(dx**2 + (rows.y - point[1]) ** 2))

    def overhang(self, x: float, span: int, goal_span: int) -> float:
        """How far a place on one span lies outside the span above or below it, mm.

        Up to `TURN_OVERHANG_MM` a plain turn leads from one row to the other; infinite if the two spans are
        not neighbours that touch.
        """
        rows = self.rows
        low, high = float(rows.low[goal_span]), float(rows.high[goal_span])
        if abs(int(rows.row[span]) - int(rows.row[goal_span])) != 1:
            return math.inf
        if not (rows.low[span] < high and low < rows.high[span]):
            return math.inf
        return max(low - x, x - high, 0.0)

    def way(self, start: FloatArray, goal: FloatArray, *, span: int, goal_span: int, price: FloatArray) -> Way:
        """Find the cheapest way between two places.

        Args:
            start: (2,) in the row frame, mm.
            goal: (2,) likewise.
            span: The span that *start* lies on or near.
            goal_span: The span that *goal* lies on or near.
            price: (sections,) price of a millimetre in each room.

        Returns:
            The way from *start* to *goal*, both included.
        """
        doors = self._doors(start, goal, int(self.rows.section[span]), int(self.rows.section[goal_span]), price)
        if doors is None:
            return self._through_triangles(start, goal)
        gates = self._gates(doors, span, goal_span)
        return self._taut(start, goal, gates)

    def _doors(
        self, start: FloatArray, goal: FloatArray, room: int, goal_room: int, price: FloatArray
    ) -> list[tuple[int, int]] | None:
        """The doorsteps on the cheapest way, each with the room that is left by it; None if there is no way."""
        if room == goal_room:
            return []
        at, rooms, cost = self.at.tolist(), self.rooms.tolist(), price.tolist()
        at += [goal.tolist(), start.tolist()]  # places -2 and -1
        best: dict[int, float] = {}
        came: dict[int, tuple[int, int]] = {}
        queue: list[tuple[float, int, int, int]] = [(0.0, -1, -1, room)]
        while queue and -2 not in came:
            so_far, node, before, through = heapq.heappop(queue)
            if node in came:
                continue
            came[node] = (before, through)
            x, y = at[node]
            for inside in rooms[node] if node >= 0 else (room,):
                for other in (*self.nodes_in[inside], *((-2,) if inside == goal_room else ())):
                    total = so_far + math.hypot(at[other][0] - x, at[other][1] - y) * cost[inside]
                    if other not in came and total < best.get(other, math.inf):
                        best[other] = total
                        heapq.heappush(queue, (total, other, node, inside))
        if -2 not in came:
            return None
        steps = []
        node, onward = came[-2]
        while node >= 0:
            before, through = came[node]
            if through != onward:
                steps.append((node, through))
            node, onward = before, through
        return steps[::-1]

    def _gates(
        self, doors: list[tuple[int, int]], span: int, goal_span: int
    ) -> tuple[IntArray, FloatArray, FloatArray]:
        """The spans that a way crosses in turn, and how far to the left and right it may cross each."""
        rows = self.rows
        spans: list[IntArray] = []
        narrow: list[tuple[int, float, float]] = []
        here = span
        count = 0
        for node, room in [*doors, (-1, -1)]:
            if node < 0:
                target, onward = goal_span, -1
            else:
                lower, upper = rows.links[node // DOORSTEPS].tolist()
                target, onward = (lower, upper) if rows.section[lower] == room else (upper, lower)
            a, b = int(self.place[here]), int(self.place[target])
            crossed = rows.members[a : b + 1] if b >= a else rows.members[b : a + 1][::-1]
            spans.append(crossed)
            count += len(crossed)
            if onward >= 0:
                left = max(rows.low[target], rows.low[onward])
                right = min(rows.high[target], rows.high[onward])
                step = min(EDGE_CLEARANCE, (right - left) / 3)
                # the last row of a room appears twice: once to move along it, once to leave it by the door
                spans.append(np.array([target]))
                narrow.append((count, left + step, right - step))
                spans.append(np.array([onward]))
                narrow.append((count + 1, left + step, right - step))
                count += 2
                here = onward
        gate = np.concatenate(spans)
        low, high = self.low[gate], self.high[gate]
        for i, left, right in narrow:
            low[i], high[i] = left, right
        # a door as wide as the last bit of its place may come out inside out
        return gate, low, np.maximum(low, high)

    def _taut(self, start: FloatArray, goal: FloatArray, gates: tuple[IntArray, FloatArray, FloatArray]) -> Way:
        """Pull a string from start to goal through gates on rows."""
        gate, low, high = gates
        y = np.concatenate([[start[1]], self.rows.y[gate], [goal[1]]])
        low = np.concatenate([[start[0]], low, [goal[0]]])
        high = np.concatenate([[start[0]], high, [goal[0]]])
        # going down is as good as going up: unfold the way so that it only ever rises
        along = np.cumsum(np.abs(np.diff(y, prepend=y[0])) + 1e-6)
        x = np.empty(len(y))
        turns = np.zeros(len(y), dtype=bool)
        x[0], at = start[0], 0
        while at < len(y) - 1:
            rise = along[at + 1 :] - along[at]
            least = np.maximum.accumulate((low[at + 1 :] - x[at]) / rise)
            most = np.minimum.accumulate((high[at + 1 :] - x[at]) / rise)
            closed = np.flatnonzero(least > most)
            if not len(closed):
                slope = (goal[0] - x[at]) / rise[-1]
                x[at + 1 :] = x[at] + slope * rise
                break
            stop = int(closed[0])
            # which side shut the view tells at which corner the string bends
            lifted = least[stop] > least[stop - 1]
            slope = most[stop - 1] if lifted else least[stop - 1]
            side = (high if lifted else low)[at + 1 : at + 1 + stop]
            corner = int(np.flatnonzero(np.abs((side - x[at]) / rise[:stop] - slope) <= 1e-12 + 1e-9 * abs(slope))[-1])
            x[at + 1 : at + 2 + corner] = x[at] + slope * rise[: corner + 1]
            at = at + 1 + corner
            turns[at] = True
        return Way(np.column_stack([x, y]), turns, np.concatenate([[-1], gate, [-1]]))

    def _through_triangles(self, start: FloatArray, goal: FloatArray) -> Way:
        """Where a neck is so thin that no row crosses it: from edge to edge of a triangulation."""
        if self._triangles is None:
            self._triangles = Triangles(self.area)
        way = self._triangles.way(start, goal)
        return Way(way, np.ones(len(way), dtype=bool), np.full(len(way), -1))
