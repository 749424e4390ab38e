"""Fill: rows of stitches that cover an area, sewn without a jump."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.defaults import PLANNING
from stitchcraft.design import Role
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import polygons_of
from stitchcraft.stitching.fill_order import order_of_passes
from stitchcraft.stitching.fill_passes import Pass
from stitchcraft.stitching.fill_rows import row_points, thinned, without_short_stitches, without_short_turns
from stitchcraft.stitching.fill_sections import Rows, angle_of_fewest_sections, rows_of
from stitchcraft.stitching.fill_settings import FillSettings
from stitchcraft.stitching.fill_travel import EDGE_CLEARANCE, OVER_SEWN, TURN_OVERHANG_MM, Travel
from stitchcraft.stitching.fill_underlay import Underlay, underlay_of
from stitchcraft.stitching.pieces import Piece, Run

THIN_MM: Final = PLANNING["fill_narrowest"].value
"""An area nowhere wider than this is sewn as a run along its middle: too narrow for rows."""

THIN_RUN_MM: Final = PLANNING["fill_narrow_run"].value
THIN_STRAY_MM: Final = 0.1
CHOICES_UP_TO: Final = 6
"""With no more sections than this, ways that begin in each corner are worked out too."""


def fill_pieces(
    polygon: shapely.Polygon | shapely.MultiPolygon,
    settings: FillSettings,
    *,
    start: ArrayLike | None = None,
    end: ArrayLike | None = None,
) -> list[Piece]:
    """Fill an area with rows of stitches: one piece for each connected part, sewn without a jump.

    A piece is sewn in this order: underlay (a run inside the edge, then sparse rows across the grain), then
    the top rows, section by section. The needle gets from section to section by travel under rows that come
    later, as far as there are any on its way. Roles tell the three apart.

    Rows run to and fro. Where a turn between two rows would be a stitch shorter than the settings' *shortest*, the row
    ends share one point. An area nowhere wider than `THIN_MM` becomes a run along its middle.

    Args:
        polygon: What to fill, mm; holes and several parts allowed. An invalid shape (a ring that crosses
            itself, parts that overlap) is read by its structure: what lies inside a shell and outside its
            holes, each place once. Parts under 0.01 mm2 are left out.
        settings: How it is filled.
        start: (x, y) that the needle comes from: the piece begins there, or at the nearest place inside.
        end: (x, y) that the needle goes to next: the piece ends in the corner of a section near it.

    Returns:
        The pieces, from left to right, each with one or more ways to sew it. No penetration lies outside the
        shape widened along the rows as the settings say.

    Raises:
        ParameterError: If it is no area, or a point is none.

    Example:
        >>> settings = FillSettings(row_spacing=1.0, length=4.0, angle=0, underlay=False)
        >>> pieces = fill_pieces(shapely.box(0, 0, 10, 2), settings)
        >>> pieces[0].sew(0).xy.tolist()
        [[0.0, 0.5], [4.0, 0.5], [8.0, 0.5], [10.0, 0.5], [10.0, 1.5], [9.0, 1.5], [5.0, 1.5], [1.0, 1.5], [0.0, 1.5]]
    """
    parts = _parts_of(polygon)
    if not parts:
        return []
    angle = settings.angle
    if angle is None:
        angle = angle_of_fewest_sections(shapely.MultiPolygon(parts), spacing=settings.row_spacing)
    ends = [_point(point, name, angle) for point, name in ((start, "start"), (end, "end"))]
    pieces = []
    for part in parts:
        area = shapely.transform(part, partial(turned, angle_deg=-angle))
        thin = bool(shapely.is_empty(shapely.buffer(area, -THIN_MM / 2)))
        rows = rows_of(
            area,
            # wide rows may miss a sliver that lies aslant
            spacing=min(settings.row_spacing, THIN_MM / 2) if thin else settings.row_spacing,
            angle=0.0,
            compensation=0.0 if thin else settings.widening(angle),
            narrow=THIN_MM if thin else settings.shortest,
            long_step=2 * settings.length,
        )
        if not len(rows.row):
            continue
        under = underlay_of(area, settings) if settings.underlay and not thin else None
        fill = _Fill(
            rows=rows, travel=Travel(rows, area), area=area, under=under, angle=angle, settings=settings, thin=thin
        )
        pieces.append(fill.piece(*ends))
    return pieces


def _parts_of(polygon: BaseGeometry) -> list[shapely.Polygon]:
    if not isinstance(polygon, shapely.Polygon | shapely.MultiPolygon):
        raise ParameterError("polygon", polygon, "a Polygon or a MultiPolygon")
    if not np.isfinite(shapely.get_coordinates(polygon)).all():
        raise ParameterError("polygon", "a shape with points that are not finite", "finite, in mm")
    if not polygon.is_valid:
        polygon = shapely.union_all(
            shapely.make_valid(shapely.get_parts(polygon), method="structure", keep_collapsed=False)
        )
    return polygons_of(polygon)


def _kept(points: FloatArray, keep: NDArray[np.bool_]) -> FloatArray:
    return points if keep.all() else points[keep]


def _point(point: ArrayLike | None, name: str, angle: float) -> FloatArray | None:
    if point is None:
        return None
    xy = np.asarray(point, dtype=np.float64)
    if xy.shape != (2,) or not np.isfinite(xy).all():
        raise ParameterError(name, point, "a point (x, y) in mm")
    return turned(xy[None], -angle)[0]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Fill:
    """One connected area, ready to be sewn; everything in the row frame."""

    rows: Rows
    travel: Travel
    area: shapely.Polygon
    under: Underlay | None
    angle: float
    settings: FillSettings
    thin: bool

    def piece(self, start: FloatArray | None, end: FloatArray | None) -> Piece:
        """Work out the ways to sew the area; their stitches are placed when they are asked for."""
        left, bottom, right, top = self.area.bounds
        corners = [np.array(xy) for xy in ((left, bottom), (right, top), (right, bottom), (left, top))]
        begins: list[FloatArray | None] = [start]
        if start is None and self.rows.sections <= CHOICES_UP_TO:
            begins = [*corners]
        elif start is None and self.under is not None:
            begins = [corners[0]]
        lead = start is not None and not self.thin
        if start is not None and lead:
            begins = [self._inside(start)]
        ways = [self._way(begin, end, lead=lead) for begin in begins]
        entries = turned(np.array([under[0][0][0] if under else self._first(tour) for under, tour in ways]), self.angle)
        exits = turned(np.array([self._last(tour) for _, tour in ways]), self.angle)

        def sew(way: int) -> Run:
            points, role = self._sewn(*ways[way])
            xy = turned(points, self.angle)
            # the promise of a piece, to the last bit
            xy[0], xy[-1] = entries[way], exits[way]
            return Run(xy, role)

        return Piece(entries, exits, sew)

    def _way(
        self, start: FloatArray | None, end: FloatArray | None, *, lead: bool = False
    ) -> tuple[list[tuple[FloatArray, Role]], list[Pass]]:
        """Lay the underlay from a place, then order the top rows from where it ends.

        With *lead* the needle starts in that very place, and gets from there to the first row or run under all
        that comes.
        """
        chunks: list[tuple[FloatArray, Role]] = []
        here = start
        if lead and start is not None:
            chunks.append((start[None], Role.TRAVEL))
        if self.under is not None and start is not None:
            for stroke in self.under.strokes(start):
                if chunks:
                    chunks.append(self._to_stroke(chunks[-1][0][-1], stroke[0]))
                chunks.append((stroke, Role.UNDERLAY))
                here = stroke[-1]
        return chunks, order_of_passes(self.travel, start=here, end=end, search=not self.thin)

    def _to_stroke(self, here: FloatArray, there: FloatArray) -> tuple[FloatArray, Role]:
        """What lies between two strokes of underlay: no more than a stitch is underlay too."""
        way = self._hidden_way(here, there)
        single = not len(way) and np.hypot(*(there - here)) <= self.settings.underlay_length
        return way, Role.UNDERLAY if single else Role.TRAVEL

    def _inside(self, point: FloatArray) -> FloatArray:
        """The place nearest to a point that is well inside the area, or inside at all."""
        inner = shapely.buffer(self.area, -EDGE_CLEARANCE)
        if inner.is_empty:
            inner = self.area
        return shapely.get_coordinates(shapely.shortest_line(inner, shapely.Point(point)))[0]

    def _first(self, tour: list[Pass]) -> FloatArray:
        return self._row_end(int(tour[0].spans(self.rows)[0]), right=bool(tour[0].backward(self.rows)[0]))

    def _last(self, tour: list[Pass]) -> FloatArray:
        return self._row_end(int(tour[-1].spans(self.rows)[-1]), right=not tour[-1].backward(self.rows)[-1])

    def _row_end(self, span: int, *, right: bool) -> FloatArray:
        return np.array([(self.rows.right if right else self.rows.left)[span], self.rows.y[span]])

    def _sewn(self, under: list[tuple[FloatArray, Role]], tour: list[Pass]) -> tuple[FloatArray, NDArray[np.uint8]]:
        chunks = list(under)
        if under:
            chunks.append((self._hidden_way(under[-1][0][-1], self._first(tour)), Role.TRAVEL))
        chunks.extend(self._top(tour))
        points = np.concatenate([chunk for chunk, _ in chunks])
        counts = [len(chunk) for chunk, _ in chunks]
        role = np.repeat(np.array([role for _, role in chunks], dtype=np.uint8), counts)
        held = role == Role.TOP
        # the stitch that ends a travel still is one, though the point it ends at belongs to a row or a stroke
        role[np.cumsum(counts)[[i for i, (_, kind) in enumerate(chunks) if kind == Role.TRAVEL]]] = Role.TRAVEL
        if self.thin and len(points) > 2:
            kept = thinned(points, min(THIN_RUN_MM, self.settings.length), THIN_STRAY_MM)
            points, role, held = points[kept], role[kept], held[kept]
        kept = without_short_stitches(points, self.settings.shortest, held=held)
        return (points, role) if len(kept) == len(points) else (points[kept], role[kept])

    def _hidden_way(self, here: FloatArray, there: FloatArray) -> FloatArray:
        """Needle points between two places, both left out, while nothing has been sewn that shows."""
        line = shapely.LineString([here, there])
        if self.area.covers(line):
            parts = max(1, int(np.ceil(line.length / self.settings.underlay_length - 1e-9)))
            return here + (np.arange(1, parts) / parts)[:, None] * (there - here)
        span, goal_span = self.travel.span_near(here), self.travel.span_near(there)
        way = self.travel.way(here, there, span=span, goal_span=goal_span, price=np.ones(self.rows.sections))
        return way.stitches(self.rows, self.settings.underlay_length)

    def _top(self, tour: list[Pass]) -> list[tuple[FloatArray, Role]]:
        rows = self.rows
        spans = np.concatenate([sewn.spans(rows) for sewn in tour])
        backward = np.concatenate([sewn.backward(rows) for sewn in tour])
        points, start = row_points(
            rows,
            spans,
            backward,
            length=self.settings.length,
            repeat=self.settings.repeat,
            shortest=self.settings.shortest,
        )
        gaps = self._ways_between(tour, spans, points, start)
        gaps.update(self._long_turns(spans, points, start, set(gaps)))
        last = np.zeros(len(spans), dtype=bool)
        last[np.cumsum([len(sewn.spans(rows)) for sewn in tour]) - 1] = True
        keep = without_short_turns(points, start, np.where(backward, -1.0, 1.0), self.settings.shortest, last=last)
        for row in gaps:
            keep[start[row] - 1 : start[row] + 1] = True
        chunks: list[tuple[FloatArray, Role]] = []
        at = 0
        for row in sorted(gaps):
            chunks.append((_kept(points[at : start[row]], keep[at : start[row]]), Role.TOP))
            # a turn that takes no point of its own is part of the fill, anything else is travel
            plain = (
                len(gaps[row]) == 0 and np.hypot(*(points[start[row]] - points[start[row] - 1])) <= self.settings.length
            )
            chunks.append((gaps[row], Role.TOP if plain else Role.TRAVEL))
            at = int(start[row])
        chunks.append((_kept(points[at:], keep[at:]), Role.TOP))
        return chunks

    def _ways_between(
        self, tour: list[Pass], spans: NDArray[np.int64], points: FloatArray, start: NDArray[np.int64]
    ) -> dict[int, FloatArray]:
        """Travel from pass to pass and across rows, by the number of the row before which it is sewn."""
        price = np.ones(self.rows.sections)
        when = np.empty(len(spans), dtype=np.int64)
        when[spans] = np.arange(len(spans))
        gaps = {}
        row = 0
        for sewn in tour:
            crossing = sewn.crossing(self.rows)
            for to_come in (row, row + crossing) if crossing else (row,):
                if to_come == 0:
                    continue
                here, there = points[start[to_come] - 1], points[start[to_come]]
                span, goal_span = int(spans[to_come - 1]), int(spans[to_come])
                if to_come == row and self.travel.overhang(float(here[0]), span, goal_span) <= TURN_OVERHANG_MM:
                    gaps[to_come] = self._turn(here, there, goal_span)
                else:
                    way = self.travel.way(here, there, span=span, goal_span=goal_span, price=price)
                    gaps[to_come] = way.stitches(self.rows, self.settings.underlay_length, later=when >= to_come)
            price[sewn.section] = OVER_SEWN
            row += len(sewn.spans(self.rows))
        return gaps

    def _long_turns(
        self, spans: NDArray[np.int64], points: FloatArray, start: NDArray[np.int64], gaps: set[int]
    ) -> dict[int, FloatArray]:
        """Split the turns that are longer than a stitch, where the outline runs nearly along the rows."""
        ends, heads = points[start[1:-1] - 1], points[start[1:-1]]
        long = np.flatnonzero(np.hypot(*(heads - ends).T) > self.settings.length) + 1
        return {
            row: self._turn(points[start[row] - 1], points[start[row]], int(spans[row]))
            for row in long.tolist()
            if row not in gaps
        }

    def _turn(self, here: FloatArray, there: FloatArray, span: int) -> FloatArray:
        """Needle points between the end of a row and the beginning of the next, on either of the two."""
        parts = max(1, int(np.ceil(np.hypot(*(there - here)) / self.settings.length - 1e-9)))
        x = here[0] + np.arange(1, parts) / parts * (there[0] - here[0])
        later = (self.rows.low[span] <= x) & (x <= self.rows.high[span])
        return np.column_stack([x, np.where(later, there[1], here[1])])
