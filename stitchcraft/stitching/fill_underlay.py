"""What lies under a fill: a run inside its edge, then sparse rows across its grain."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from stitchcraft.design import FloatArray
from stitchcraft.geometry.curves import grown, polygons_of
from stitchcraft.stitching.fill_rows import row_points
from stitchcraft.stitching.fill_sections import Rows, rows_of

NARROWEST_MM = 0.6
"""No underlay where less than this would be left between the edge runs."""


@dataclass(frozen=True, slots=True, eq=False)
class Underlay:
    """Strokes to lay under one area, in the row frame of its top rows.

    Attributes:
        outlines: Closed runs inside the outer edge, (n, 2) each, mm.
        rings: Closed runs around holes; each is sewn when a row comes to it.
        rows: Sparse rows across the grain, in a frame turned by a further quarter.
        length: Stitch length, mm.
        shortest: Shortest stitch, mm.
    """

    outlines: tuple[FloatArray, ...]
    rings: tuple[FloatArray, ...]
    rows: tuple[Rows, ...]
    length: float
    shortest: float

    def strokes(self, start: FloatArray) -> Iterator[FloatArray]:
        """Give the strokes one after another, always the nearest next: the outlines, then the rows.

        Args:
            start: (2,) where the needle comes from, mm.

        Yields:
            (n, 2) needle points of a stroke.
        """
        here = start
        outer, inner = list(self.outlines), list(self.rings)
        while outer:
            ring = _taken(outer, here)
            yield ring
            here = ring[-1]
        ways = [
            (block, section, mode)
            for block, rows in enumerate(self.rows)
            for section in range(rows.sections)
            for mode in range(4)
        ]
        corners = np.array([self._corner(*way) for way in ways]).reshape(-1, 2)
        for _ in range(len(ways) // 4):
            nearest = int(np.argmin(np.hypot(*(corners - here).T)))
            stroke = self._sewn(*ways[nearest])
            yield from self._with_rings(stroke, inner)
            here = stroke[-1]
            first = nearest - nearest % 4
            corners[first : first + 4] = np.inf
        while inner:
            ring = _taken(inner, here)
            yield ring
            here = ring[-1]

    def _with_rings(self, stroke: FloatArray, rings: list[FloatArray]) -> Iterator[FloatArray]:
        """Break a stroke where a turn is longer than a stitch, and to run around each hole that it comes to."""
        breaks: dict[int, list[FloatArray]] = {
            i: [] for i in np.flatnonzero(np.hypot(*np.diff(stroke, axis=0).T) > 1.25 * self.length).tolist()
        }
        points = shapely.points(stroke)
        for ring in list(rings):
            near = np.flatnonzero(shapely.dwithin(points, shapely.LinearRing(ring), self.length))
            if len(near):
                breaks.setdefault(int(near[0]), []).append(ring)
                rings[:] = [other for other in rings if other is not ring]
        begin = 0
        for i, around in sorted(breaks.items()):
            yield stroke[begin : i + 1]
            begin = i + 1
            for ring in around:
                yield ring_from(ring, stroke[i])
        if begin < len(stroke):
            yield stroke[begin:]

    def _corner(self, block: int, section: int, mode: int) -> FloatArray:
        rows = self.rows[block]
        spans = rows.spans_of(section)
        span = spans[-1 if mode & 2 else 0]
        return _quarter_turned(np.array([[(rows.right if mode & 1 else rows.left)[span], rows.y[span]]]))[0]

    def _sewn(self, block: int, section: int, mode: int) -> FloatArray:
        rows = self.rows[block]
        spans = rows.spans_of(section)[:: -1 if mode & 2 else 1]
        backward = (np.arange(len(spans)) + mode) % 2 == 1
        points, _ = row_points(rows, spans, backward, length=self.length, repeat=2, shortest=self.shortest)
        return _quarter_turned(points)


def underlay_of(
    area: shapely.Polygon, *, inset: float, spacing: float, length: float, shortest: float
) -> Underlay | None:
    """Lay out the underlay of an area.

    Args:
        area: One polygon in the row frame of its top rows, mm.
        inset: Edge run inside the edge by this, mm.
        spacing: Row spacing of the rows across the grain, mm.
        length: Stitch length, mm.
        shortest: Shortest stitch, mm.

    Returns:
        The strokes; None where the area is too narrow for any.
    """
    core = grown(grown(area, -(inset + NARROWEST_MM / 2)), NARROWEST_MM / 2)
    parts = [part for part in polygons_of(core) if part.area > NARROWEST_MM**2]
    # a chord may cut a curve, but by no more than a third of what is left to the edge
    plain = [shapely.simplify(part, inset / 3) for part in parts]
    outlines = tuple(_ring(shapely.get_coordinates(part.exterior), length, shortest) for part in plain)
    holes = tuple(_ring(shapely.get_coordinates(hole), length, shortest) for part in plain for hole in part.interiors)
    rows = tuple(
        laid
        for part in parts
        if (laid := rows_of(part, spacing=spacing, angle=90.0, narrow=shortest, long_step=length)).sections
    )
    return Underlay(outlines, holes, rows, length, shortest) if outlines else None


def ring_from(ring: FloatArray, point: FloatArray) -> FloatArray:
    """Begin a closed run at its point nearest to a place."""
    first = _nearest(ring, point)[1]
    return np.vstack([ring[first:-1], ring[: first + 1]])


def _taken(rings: list[FloatArray], point: FloatArray) -> FloatArray:
    """Take the nearest of some closed runs out of the list."""
    nearest = min(range(len(rings)), key=lambda i: _nearest(rings[i], point)[0])
    return ring_from(rings.pop(nearest), point)


def _nearest(ring: FloatArray, point: FloatArray) -> tuple[float, int]:
    away = np.hypot(*(ring[:-1] - point).T)
    first = int(np.argmin(away))
    return float(away[first]), first


def _ring(corners: FloatArray, length: float, shortest: float) -> FloatArray:
    sides = np.hypot(*np.diff(corners, axis=0).T)
    corners = np.vstack([corners[:-1][sides > shortest], corners[-1:]])
    corners[0] = corners[-1]
    sides = np.hypot(*np.diff(corners, axis=0).T)
    parts = np.maximum(1, np.ceil(sides / length - 1e-9)).astype(np.int64)
    side = np.repeat(np.arange(len(parts)), parts)
    nth = np.arange(len(side)) - np.repeat(np.cumsum(parts) - parts, parts)
    share = (nth / parts[side])[:, None]
    points = corners[:-1][side] + share * (corners[1:] - corners[:-1])[side]
    return np.vstack([points, corners[-1:]])


def _quarter_turned(points: FloatArray) -> FloatArray:
    return np.column_stack([-points[:, 1], points[:, 0]])
