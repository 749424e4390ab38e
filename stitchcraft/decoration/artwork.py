"""Artwork: a maker's own SVG drawing, sewn by how wide its lines and areas are.

What is drawn later covers what lies beneath it: the covered part is not sewn, so no two layers of thread pile up
and the order of sewing does not matter.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import ClassVar, Final

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry.base import BaseGeometry

from stitchcraft.decoration.base import (
    SHORTEST_MM,
    Decoration,
    Drawing,
    Point,
    Polygonal,
    checked_angle,
    line_stitch,
    one_of,
    settle,
)
from stitchcraft.defaults import ARTWORK, PLANNING
from stitchcraft.design import Area, Column, Element, Fill, FloatArray, Line, LineStitch, Running, Satin, Triple
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.geometry.borders import border_rails
from stitchcraft.geometry.curves import length_of, lines_of, polygons_of, turned
from stitchcraft.geometry.drawing import Drawing as SvgDrawing
from stitchcraft.geometry.drawing import Shape, polygons_of_shape
from stitchcraft.geometry.svg_paths import read_svg
from stitchcraft.units import Length, length_between

STITCHES: Final = ("running", "triple", "satin", "fill")
PLACES: Final = ("area", "anchor")

_BATCH: Final = 32
_HEIGHTS: Final = 41
_CUT_SHARE: Final = 0.01
_CRUMB_SHARE: Final = 0.1
"""A piece cut down to less than this share of its area is left out."""

_SLENDER: Final = 1.5
"""Area over the square of the width from which a shape is no blob: an ellipse 1.9 times as long as wide."""


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """What of an artwork is drawn in one colour.

    Attributes:
        colour: ``"#rrggbb"`` as in the drawing.
        elements: What is sewn in it.
    """

    colour: str
    elements: tuple[Element, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Coloured(Drawing):
    colours: tuple[str, ...] = ()
    lost: float = 0.0
    crumbs: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class _Ink:
    """One line or area of the drawing in its place, before it is cut to the area."""

    colour: str
    shape: BaseGeometry
    width: float
    """Width of a line, mm; 0 for an area."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Artwork(Decoration):
    """A drawing from an SVG file.

    Lines up to 0.8 mm wide are sewn as running stitch, up to 1.2 mm as triple stitch, wider ones as satin, and
    those past the widest satin as fill. Areas are judged in the same way by the largest circle that fits into
    them: up to 0.8 mm they are sewn along their outline, up to the widest satin as satin, past it as fill; blobs
    over 3 mm are filled too, since satin lines would fan out over them. The limits are in
    `stitchcraft.defaults.ARTWORK` and `PLANNING`.

    Attributes:
        svg: The file, or a drawing that has been read.
        width: Width of the drawing's outlines once placed; as drawn if None. Lines scale with it.
        angle: Turn about its middle, degrees counter-clockwise.
        place: Where the middle of the drawing's box goes. ``"area"``: midway between the area's left and right
            ends, at that height, nearest to its middle, at which most of the box lies inside. ``"anchor"``: on
            the anchor.
        stitch: None goes by width. ``"running"`` or ``"triple"`` sews every line, and every area's outline, that
            way; ``"satin"`` or ``"fill"`` sews every area that way.
        bare: Colour that stands for bare cloth, such as ``"#ffffff"``: what is drawn in it covers what lies
            beneath and is not sewn. None sews every colour.
        inset: How far it stays inside the area's edges; a length.
        drawing: What was read.

    Raises:
        ArtworkError: On construction, if the drawing cannot be used.
        ParameterError: If another value cannot.
    """

    kind: ClassVar[str] = "artwork"

    svg: str | os.PathLike[str] | SvgDrawing
    width: Length | None = None
    angle: float = 0.0
    place: str = "area"
    stitch: str | None = None
    bare: str | None = None
    drawing: SvgDrawing = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        Decoration.__post_init__(self)
        drawing = self.svg if isinstance(self.svg, SvgDrawing) else read_svg(self.svg)
        left, _, right, _ = drawing.bounds
        if self.width is not None:
            settle(self, width=length_between(self.width, name="width", low=1.0, high=1000.0))
            if right - left < 1e-3:
                raise ParameterError("width", self.width, f"left out, since {drawing.name} has no width to scale")
        if self.stitch is not None:
            one_of(self.stitch, name="stitch", choices=STITCHES)
        if self.bare is not None and not isinstance(self.bare, str):
            raise ParameterError("bare", self.bare, 'a colour like "#ffffff"')
        settle(
            self,
            drawing=drawing,
            angle=checked_angle(self.angle),
            place=one_of(self.place, name="place", choices=PLACES),
        )

    @property
    def scale(self) -> float:
        """How many times larger than drawn it is sewn."""
        left, _, right, _ = self.drawing.bounds
        return 1.0 if self.width is None else float(self.width) / (right - left)

    @property
    def notes(self) -> tuple[str, ...]:
        """What of the drawing cannot be sewn or was changed, a sentence each."""
        return self.drawing.notes

    def layers(self, area: Polygonal, *, anchor: Point = (0.0, 0.0), mirror: bool = False) -> tuple[Layer, ...]:
        """The elements of `elements` by colour, in the order in which the drawing first uses each.

        Raises:
            ParameterError: As for `elements`.
        """
        drawing = self._coloured(area, anchor, mirror)
        found: dict[str, list[Element]] = {}
        for colour, element in zip(drawing.colours, drawing.elements, strict=True):
            found.setdefault(colour, []).append(element)
        return tuple(Layer(colour, tuple(elements)) for colour, elements in found.items())

    def findings(
        self, area: Polygonal, *, anchor: Point = (0.0, 0.0), mirror: bool = False, part: str = ""
    ) -> tuple[Finding, ...]:
        """What the maker should know: everything left out of the drawing, and what the area cuts off.

        Args:
            area: As for `elements`.
            anchor: As for `elements`.
            mirror: As for `elements`.
            part: The part that carries it, for the findings.
        """
        name = self.drawing.name
        found = [Finding(Level.NOTE, "artwork-left-out", part, f"{name}: {note}.") for note in self.notes]
        colours = {paint for shape in self.drawing.shapes for paint in (shape.fill, shape.stroke) if paint is not None}
        if len(colours) > 1:
            message = f"{name}: its {len(colours)} colours are sewn in one thread, the decoration's."
            found.append(Finding(Level.NOTE, "artwork-one-thread", part, message))
        drawing = self._coloured(area, anchor, mirror)
        if drawing.lost > _CUT_SHARE:
            message = f"{name}: {drawing.lost:.0%} of the drawing lies outside its area and is cut off."
            remedy = "Make it smaller with width, or give it a larger part."
            found.append(Finding(Level.WARNING, "artwork-cut", part, message, remedy, drawing.lost, _CUT_SHARE))
        if drawing.crumbs:
            message = f"{name}: small pieces left out: {drawing.crumbs}."
            remedy = "Draw it with fewer details, or make it larger with width."
            found.append(Finding(Level.NOTE, "artwork-crumbs", part, message, remedy))
        return tuple(found)

    def _coloured(self, area: Polygonal, anchor: Point, mirror: bool) -> _Coloured:
        drawing, _ = self._drawing(area, anchor, mirror)
        return drawing if isinstance(drawing, _Coloured) else _Coloured(lost=1.0)

    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:
        room = shapely.MultiPolygon(area)
        shapely.prepare(room)
        inks = [ink for ink in self._uncovered(self._placed(room, anchor)) if ink.colour != self.bare]
        elements: list[Element] = []
        colours: list[str] = []
        motifs = crumbs = 0
        for ink in inks:
            sewn = list(_sewn_line(ink, room, self.stitch) if ink.width else _sewn_area(ink, room, self.stitch))
            found = [element for element in sewn if element is not None]
            crumbs += len(sewn) - len(found)
            motifs += bool(found)
            elements += found
            colours += [ink.colour] * len(found)
        whole = sum(_extent(ink.shape) for ink in inks)
        inside = sum(_extent(shapely.intersection(ink.shape, room)) for ink in inks)
        return _Coloured(
            tuple(elements),
            motifs,
            sum(length_of(element.path) for element in elements if isinstance(element, Line)),
            filled_mm2=float(sum(element.polygon.area for element in elements if isinstance(element, Area))),
            colours=tuple(colours),
            lost=max(0.0, 1 - inside / whole) if whole else 0.0,
            crumbs=crumbs,
        )

    def _placed(self, room: shapely.MultiPolygon, anchor: Point) -> list[_Ink]:
        """The drawing's lines and areas where they go, in the order of drawing."""
        left, bottom, right, top = self.drawing.bounds
        middle, scale = np.array([(left + right) / 2, (bottom + top) / 2]), self.scale
        corners = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
        around = shapely.Polygon(turned((corners - middle) * scale, self.angle)).envelope
        centre = np.asarray(anchor if self.place == "anchor" else _roomiest(room, around))

        def put(xy: FloatArray) -> FloatArray:
            return turned((xy - middle) * scale, self.angle, centre)

        inks = []
        for shape in self.drawing.shapes:
            if shape.fill is not None:
                inks.append(_Ink(shape.fill, shapely.transform(polygons_of_shape(shape), put), 0.0))
            if shape.stroke is not None:
                width = shape.stroke_width_mm * scale
                lines = [shapely.LineString(put(path)) for path in _paths(shape)]
                if width > PLANNING["satin_split"].value and self.stitch not in ("running", "triple"):
                    inks.append(_Ink(shape.stroke, _band(shapely.MultiLineString(lines), width), 0.0))
                else:
                    inks += [_Ink(shape.stroke, line, width) for line in lines]
        return [ink for ink in inks if not ink.shape.is_empty]

    def _uncovered(self, inks: list[_Ink]) -> list[_Ink]:
        """Take away from each line and area what areas drawn later cover."""
        shown = []
        cover: BaseGeometry = shapely.Polygon()
        recent: list[BaseGeometry] = []
        for ink in reversed(inks):
            left = shapely.difference(ink.shape, cover)
            for area in recent:
                if area.intersects(left):
                    left = shapely.difference(left, area)
            if left.is_empty:
                continue
            shown.append(replace(ink, shape=left))
            if not ink.width:
                recent.append(ink.shape)
            if len(recent) == _BATCH:  # joining them one by one would take time with the square of their number
                cover, recent = shapely.union_all([cover, *recent]), []
        return shown[::-1]


def _paths(shape: Shape) -> Iterator[FloatArray]:
    return (path for path in shape.subpaths if length_of(path) > 1e-6)


def _extent(shape: BaseGeometry) -> float:
    """Area of areas, length of lines: what shares of a drawing are counted in."""
    return float(shape.area if shape.area else shape.length)


def _roomiest(room: shapely.MultiPolygon, box: BaseGeometry) -> Point:
    """The point midway across at which most of a box about (0, 0) lies inside; the one nearest to the middle."""
    left, bottom, right, top = room.bounds
    x, middle = (left + right) / 2, (bottom + top) / 2
    best = (0.0, 0.0, middle)
    for share in np.linspace(0.0, 1.0, _HEIGHTS):
        y = float(bottom + share * (top - bottom))
        inside = shapely.intersection(shapely.affinity.translate(box, x, y), room).area
        best = max(best, (round(inside, 6), -round(abs(y - middle), 6), y))
    return (x, best[2])


def _sewn_line(ink: _Ink, room: shapely.MultiPolygon, stitch: str | None) -> Iterator[Element | None]:
    """What a line is sewn as; None for each crumb that is left out."""
    if stitch in ("running", "triple") or ink.width <= ARTWORK["triple_to"].value:
        style = _line_style(ink.width, stitch)
        for path in lines_of(shapely.intersection(ink.shape, room)):
            yield Line(path, style) if length_of(path) >= SHORTEST_MM else None
        return
    for path in lines_of(ink.shape):
        column = _column(path, ink.width, room)
        if column is not None:
            yield column
        else:
            band = _band(shapely.LineString(path), ink.width)
            yield from _sewn_area(replace(ink, shape=band, width=0.0), room, "satin")


def _line_style(width: float, stitch: str | None) -> LineStitch:
    if stitch in ("running", "triple"):
        return line_stitch(stitch)
    return Running() if width <= ARTWORK["running_to"].value else Triple()


def _band(line: BaseGeometry, width: float) -> BaseGeometry:
    return shapely.buffer(line, width / 2, cap_style="flat", join_style="mitre", mitre_limit=2.0)


def _column(path: FloatArray, width: float, room: shapely.MultiPolygon) -> Column | None:
    """A satin column along a line, if all of it lies inside and it does not lie over itself."""
    if length_of(path) < SHORTEST_MM:
        return None
    left, right = border_rails(path, width=width)
    closed = len(left) > 2 and bool(np.allclose(left[0], left[-1], atol=1e-6))
    rings = [left, right] if closed else [np.vstack([left, right[::-1]])]
    inside = all(room.covers(shapely.LineString(ring)) for ring in rings)
    return Column(left, right, Satin()) if inside and all(_simple(ring) for ring in rings) else None


def _simple(ring: FloatArray) -> bool:
    """Whether a ring does not cross itself; points that are one but for rounding count as one."""
    distinct = ring[np.hypot(*np.diff(ring, axis=0, append=ring[:1]).T) > 1e-6]
    return len(distinct) > 2 and bool(shapely.LinearRing(distinct).is_simple)


def _sewn_area(ink: _Ink, room: shapely.MultiPolygon, stitch: str | None) -> Iterator[Element | None]:
    """What an area is sewn as; None for each crumb that is left out."""
    for part in polygons_of(ink.shape):
        pieces = [part] if room.covers(part) else polygons_of(shapely.intersection(part, room))
        for polygon in pieces:
            if polygon.area < _CRUMB_SHARE * part.area:
                yield None
            elif stitch in ("running", "triple") or inscribed_width(polygon) <= ARTWORK["running_to"].value:
                rings = [np.asarray(ring.coords) for ring in (polygon.exterior, *polygon.interiors)]
                style = line_stitch(stitch) if stitch in ("running", "triple") else Running()
                yield from (Line(ring, style) if length_of(ring) >= 2 * SHORTEST_MM else None for ring in rings)
            else:
                yield Area(polygon, Satin() if stitch == "satin" or (stitch is None and _slim(polygon)) else Fill())


def _slim(polygon: shapely.Polygon) -> bool:
    """Whether satin suits an area: not too wide anywhere, and not a blob, over which satin lines would fan out."""
    across = inscribed_width(polygon)
    if across > PLANNING["satin_split"].value:
        return False
    return across <= ARTWORK["blob_from"].value or polygon.area >= _SLENDER * across**2


def inscribed_width(polygon: shapely.Polygon) -> float:
    """Diameter of the largest circle that fits into a polygon, to 0.01 mm, mm."""
    return 2 * float(shapely.maximum_inscribed_circle(polygon, tolerance=0.005).length)
