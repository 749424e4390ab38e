"""Ways through a polygon from triangle to triangle: always there, wherever the polygon hangs together."""

from __future__ import annotations

import heapq
import math

import numpy as np
import shapely
from numpy.typing import ArrayLike

from stitchcraft.arrays import FloatArray


class Triangles:
    """The constrained Delaunay triangulation of a polygon, and which triangles share an edge."""

    def __init__(self, area: shapely.Polygon) -> None:
        self._shapes = shapely.get_parts(shapely.constrained_delaunay_triangles(area))
        by_edge: dict[tuple[tuple[float, ...], ...], list[int]] = {}
        for number, triangle in enumerate(self._shapes):
            corners = [tuple(corner) for corner in shapely.get_coordinates(triangle)[:3].tolist()]
            for i in range(3):
                by_edge.setdefault(tuple(sorted((corners[i], corners[i - 1]))), []).append(number)
        self._beside: dict[int, list[tuple[int, tuple[float, float]]]] = {}
        for (p, q), owners in by_edge.items():
            if len(owners) == 2:
                middle = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
                self._beside.setdefault(owners[0], []).append((owners[1], middle))
                self._beside.setdefault(owners[1], []).append((owners[0], middle))

    def way(self, start: ArrayLike, goal: ArrayLike) -> FloatArray:
        """Find a way between two places through the middles of the edges between triangles.

        Args:
            start: (2,) a place in the polygon, mm; a place outside counts for the nearest triangle.
            goal: (2,) likewise.

        Returns:
            (n, 2) corners of the way, *start* and *goal* included. It lies in the polygon if they do. If the
            polygon does not hang together it is the straight line.

        Example:
            >>> bend = shapely.Polygon([(0, 0), (4, 0), (4, 4), (3, 4), (3, 1), (0, 1)])
            >>> bend.covers(shapely.LineString(Triangles(bend).way((0.5, 0.5), (3.5, 3.5))))
            True
        """
        begin, finish = (tuple(np.asarray(end, dtype=np.float64).tolist()) for end in (start, goal))
        first, last = (int(np.argmin(shapely.distance(self._shapes, shapely.Point(end)))) for end in (begin, finish))
        queue: list[tuple[float, int, int, tuple[float, ...]]] = [(0.0, first, -1, begin)]
        came: dict[int, tuple[int, tuple[float, ...]]] = {}
        while queue and last not in came:
            so_far, here, before, at = heapq.heappop(queue)
            if here in came:
                continue
            came[here] = (before, at)
            for other, middle in self._beside.get(here, []):
                if other not in came:
                    heapq.heappush(queue, (so_far + math.dist(at, middle), other, here, middle))
        way = [finish]
        here = last if last in came else first
        while here >= 0:
            here, at = came[here]
            way.append(at)
        return np.array(way[::-1])
