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
        rings: Closed runs inside the edge, (n, 2) each, mm.
        rows: Sparse rows across the grain, in a frame turned by a further quarter.
        length: Stitch length, mm.
        shortest: Shortest stitch, mm.
    """

    rings: tuple[FloatArray, ...]
    rows: tuple[Rows, ...]
    length: float
    shortest: float

    def first(self, point: FloatArray) -> FloatArray:
        """Where the first stroke begins for a needle that comes from a point, (2,) mm."""
        return next(iter(self.strokes(point)))[0]

    def strokes(self, start: FloatArray) -> Iterator[FloatArray]:
        """Give the strokes one after another, always the nearest next: the rings, then the rows.

        Args:
            start: (2,) where the needle comes from, mm.

        Yields:
            (n, 2) needle points of a stroke.
        """
        here = start
        rings = list(self.rings)
        while rings:
            nearest = min(range(len(rings)), key=lambda i: _nearest(rings[i], here)[0])
            ring = ring_from(rings.pop(nearest), here)
            yield ring
            here = ring[-1]
        ways = {
            (block, section, mode): self._corner(block, section, mode)
            for block, rows in enumerate(self.rows)
            for section in range(rows.sections)
            for mode in range(4)
        }
        while ways:
            block, section, mode = min(ways, key=lambda way: float(np.hypot(*(ways[way] - here))))
            stroke = self._sewn(block, section, mode)
            # a turn longer than a stitch is a way to be found like any other
            long = np.flatnonzero(np.hypot(*np.diff(stroke, axis=0).T) > 1.25 * self.length) + 1
            yield from np.split(stroke, long)
            here = stroke[-1]
            for other in range(4):
                del ways[block, section, other]

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
    rings = tuple(
        _ring(shapely.get_coordinates(ring), length, shortest) for part in plain for ring in shapely.get_rings(part)
    )
    rows = tuple(
        laid
        for part in parts
        if (laid := rows_of(part, spacing=spacing, angle=90.0, narrow=shortest, long_step=length)).sections
    )
    return Underlay(rings, rows, length, shortest) if rings else None


def ring_from(ring: FloatArray, point: FloatArray) -> FloatArray:
    """Begin a closed run at its point nearest to a place."""
    first = _nearest(ring, point)[1]
    return np.vstack([ring[first:-1], ring[: first + 1]])


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
