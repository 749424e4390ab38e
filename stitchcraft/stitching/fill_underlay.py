"""What lies under a fill: a run inside its edge, then sparse rows across its grain."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import grown, polygons_of
from stitchcraft.stitching.fill_order import order_of_passes
from stitchcraft.stitching.fill_rows import row_points
from stitchcraft.stitching.fill_sections import Rows, rows_of
from stitchcraft.stitching.fill_settings import FillSettings
from stitchcraft.stitching.fill_travel import Travel

TOUCHES_MM = 0.6
"""A row that ends this near to a run around a hole has come to it."""

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
        """Give the strokes one after another: the outlines, then the rows, and each ring when a row comes to it.

        Args:
            start: (2,) where the needle comes from, mm.

        Yields:
            (n, 2) needle points of a stroke.
        """
        here = start
        outer, inner, blocks = list(self.outlines), list(self.rings), list(self.rows)
        while outer:
            ring = _taken(outer, here)
            yield ring
            here = ring[-1]
        while blocks:
            nearest = min(range(len(blocks)), key=lambda i: _away(blocks[i], here))
            for rows in self._rows_from(blocks.pop(nearest), here):
                yield from self._with_rings(rows, inner)
                here = rows[-1]
        while inner:
            ring = _taken(inner, here)
            yield ring
            here = ring[-1]

    def _rows_from(self, rows: Rows, here: FloatArray) -> Iterator[FloatArray]:
        """The rows of a part, section by section."""
        travel = Travel(rows, shapely.Polygon())
        for sewn in order_of_passes(travel, start=_quarter_back(here[None]).ravel(), can_show=False):
            spans, backward = sewn.spans(rows), sewn.backward(rows)
            points, start = row_points(rows, spans, backward, length=self.length, repeat=2, shortest=self.shortest)
            crossing = sewn.crossing(rows)
            for part in np.split(points, [start[crossing]]) if crossing else [points]:
                yield self._with_split_turns(_quarter_turned(part))

    def _with_rings(self, rows: FloatArray, rings: list[FloatArray]) -> Iterator[FloatArray]:
        """Break rows to run around each hole that they touch."""
        if not rings:
            yield rows
            return
        breaks: dict[int, list[FloatArray]] = {}
        points = shapely.points(rows)
        for ring in list(rings):
            away: FloatArray = np.asarray(shapely.distance(points, shapely.LinearRing(ring)))
            nearest = int(np.argmin(away))
            if away[nearest] < TOUCHES_MM:
                breaks.setdefault(nearest, []).append(ring)
                rings[:] = [other for other in rings if other is not ring]
        begin = 0
        for i, around in sorted(breaks.items()):
            yield rows[begin : i + 1]
            begin = i + 1
            for ring in around:
                yield ring_from(ring, rows[i])
        if begin < len(rows):
            yield rows[begin:]

    def _with_split_turns(self, rows: FloatArray) -> FloatArray:
        """Split turns longer than a stitch, by points on the run along the edge that they follow."""
        length = np.hypot(*np.diff(rows, axis=0).T)
        long = np.flatnonzero(length > 1.25 * self.length)
        if not len(long):
            return rows
        parts = np.ceil(length[long] / self.length).astype(np.int64)
        of = np.repeat(np.arange(len(long)), parts - 1)
        nth = np.arange(len(of)) - np.repeat(np.cumsum(parts - 1) - parts + 1, parts - 1) + 1
        before, after = rows[long[of]], rows[long[of] + 1]
        straight = before + (nth / parts[of])[:, None] * (after - before)
        return np.insert(rows, long[of] + 1, nearest_on([*self.outlines, *self.rings], straight), axis=0)


def underlay_of(area: shapely.Polygon, settings: FillSettings) -> Underlay | None:
    """Lay out the underlay of an area.

    Args:
        area: One polygon in the row frame of its top rows, mm.
        settings: How it is filled.

    Returns:
        The strokes; None where the area is too narrow for any.
    """
    inset, length, shortest = settings.underlay_inset, settings.underlay_length, settings.shortest
    core = grown(grown(area, -(inset + NARROWEST_MM / 2)), NARROWEST_MM / 2)
    parts = [part for part in polygons_of(core) if part.area > NARROWEST_MM**2]
    # a chord may cut a curve, but by no more than a third of what is left to the edge
    plain = [shapely.simplify(part, inset / 3) for part in parts]
    outlines = tuple(_ring(shapely.get_coordinates(part.exterior), length, shortest) for part in plain)
    holes = tuple(_ring(shapely.get_coordinates(hole), length, shortest) for part in plain for hole in part.interiors)
    rows = tuple(
        laid
        for part in parts
        if (
            laid := rows_of(part, spacing=settings.underlay_spacing, angle=90.0, narrow=shortest, long_step=length)
        ).sections
    )
    return Underlay(outlines, holes, rows, length, shortest) if outlines else None


def nearest_on(lines: Sequence[FloatArray], points: FloatArray) -> FloatArray:
    """The places of some lines nearest to points.

    Args:
        lines: At least one, (k, 2) each, mm.
        points: (n, 2) mm.

    Returns:
        (n, 2) mm.
    """
    sides = np.concatenate([np.stack([line[:-1], line[1:]], axis=1) for line in lines])
    tree = shapely.STRtree(np.asarray(shapely.linestrings(sides)))
    one, other = sides[np.asarray(tree.nearest(shapely.points(points)))].transpose(1, 0, 2)
    way = other - one
    share = ((points - one) * way).sum(axis=1) / np.maximum((way**2).sum(axis=1), 1e-12)
    return one + np.clip(share, 0.0, 1.0)[:, None] * way


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


def _away(rows: Rows, point: FloatArray) -> float:
    """How far the nearest row end of a part is."""
    ends = np.vstack([np.column_stack([side, rows.y]) for side in (rows.left, rows.right)])
    away = np.hypot(*(ends - _quarter_back(point[None])).T)
    return float(away.min())


def _quarter_back(points: FloatArray) -> FloatArray:
    return np.column_stack([points[:, 1], -points[:, 0]])


def _quarter_turned(points: FloatArray) -> FloatArray:
    return np.column_stack([-points[:, 1], points[:, 0]])
