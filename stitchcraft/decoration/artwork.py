"""Artwork: a maker's own SVG drawing, sewn in its own colours, placed once or repeated on a lattice.

An area covers what is drawn beneath it: the covered part is not sewn, so that no two fillings pile up. Lines lie on
areas, and are sewn after them.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, field, replace
from functools import reduce
from typing import ClassVar, Final

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry.base import BaseGeometry

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.decoration.base import (
    Decoration,
    Drawing,
    Layer,
    Point,
    Polygonal,
    checked_angle,
    held_length,
    one_of,
    settle,
)
from stitchcraft.decoration.dots import EDGES, LAYOUTS
from stitchcraft.decoration.inks import Ink, Sewn, band, extent, sewn_inks, uncovered
from stitchcraft.decoration.lattice import Frame, faded, neighbours, node_rows
from stitchcraft.decoration.layering import layered
from stitchcraft.defaults import ARTWORK, PLANNING
from stitchcraft.design import Area, Element, Line, Thread
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.geometry.curves import grown, length_of
from stitchcraft.geometry.drawing import Drawing as SvgDrawing
from stitchcraft.geometry.drawing import Shape, polygons_of_shape
from stitchcraft.geometry.svg_paths import NO_SIZE, read_svg
from stitchcraft.units import Length, length_between, mm_text

STITCHES: Final = ("running", "triple", "satin", "fill")
PLACES: Final = ("area", "origin")
COLOURS: Final = ("drawn", "one")

_HEIGHTS: Final = 41
_CUT_SHARE: Final = 0.01
_OVERLAP_MM: Final = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class _Coloured(Drawing):
    colours: tuple[str, ...] = ()
    lines: tuple[bool, ...] = ()
    lost: float = 0.0
    crumbs: int = 0


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
            ends, at that height, nearest to its middle, at which most of the box lies inside. ``"origin"``: on
            the origin of the area's frame. The shift is added to either.
        pitch: Middle to nearest middle where the drawing is a motif that repeats, a length; None sews it once.
        layout: Of the repeats: ``"hexagonal"`` (six neighbours each) or ``"square"``.
        edge: Of the repeats: ``"whole"`` keeps whole motifs only, ``"clip"`` cuts them at the area's edge,
            ``"fade"`` lets them shrink towards it.
        stitch: None goes by width. ``"running"`` or ``"triple"`` sews every line, and every area's outline, that
            way; ``"satin"`` or ``"fill"`` sews every area that way.
        colours: ``"drawn"`` sews each colour of the drawing in a thread of its own, and a drawing in one colour
            in the thread of all decorations; ``"one"`` sews all in that thread.
        bare: Colour that stands for bare cloth, such as ``"#ffffff"``: what is drawn in it covers what lies
            beneath and is not sewn. None sews every colour.
        inset: How far it stays inside the area's edges; a length.
        shift: How far it is moved from its place, right and up; two lengths.
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
    pitch: Length | None = None
    layout: str = "hexagonal"
    edge: str = "whole"
    stitch: str | None = None
    colours: str = "drawn"
    bare: str | None = None
    drawing: SvgDrawing = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        Decoration.__post_init__(self)
        drawing = self.svg if isinstance(self.svg, SvgDrawing) else read_svg(self.svg)
        left, _, right, _ = drawing.bounds
        if self.width is not None:
            settle(self, width=held_length(self.width, "width"))
            if right - left < 1e-3:
                raise ParameterError("width", self.width, f"left out, since {drawing.name} has no width to scale")
        if self.pitch is not None:
            settle(self, pitch=length_between(self.pitch, name="pitch", low=2.0, high=500.0))
        if self.stitch is not None:
            one_of(self.stitch, name="stitch", choices=STITCHES)
        if self.bare is not None:
            settle(self, bare=_colour(self.bare))
        for name, choices in (("place", PLACES), ("layout", LAYOUTS), ("edge", EDGES), ("colours", COLOURS)):
            one_of(getattr(self, name), name=name, choices=choices)
        settle(self, drawing=drawing, angle=checked_angle(self.angle))

    @property
    def scale(self) -> float:
        """How many times larger than drawn it is sewn."""
        left, _, right, _ = self.drawing.bounds
        return 1.0 if self.width is None else float(self.width) / (right - left)

    @property
    def runs_on(self) -> bool:
        """Whether a seam may cut it: repeats that are asked to be cut, and no single drawing."""
        return self.pitch is not None and self.edge == "clip"

    @property
    def notes(self) -> tuple[str, ...]:
        """What of the drawing cannot be sewn or was changed, a sentence each."""
        if self.width is None:
            return self.drawing.notes
        # what size it was taken at does not matter where the maker gives one
        return tuple(note for note in self.drawing.notes if not note.endswith(NO_SIZE))

    @property
    def threads(self) -> tuple[str, ...]:
        """The colours that are sewn, in the order in which the drawing first uses each; the bare one is not."""
        paints = [paint for shape in self.drawing.shapes for paint in (shape.fill, shape.stroke)]
        return tuple(dict.fromkeys(paint for paint in paints if paint is not None and paint != self.bare))

    def layers(self, area: Polygonal, *, alike: Callable[[str], Hashable] = str) -> tuple[Layer, ...]:
        """The elements of `elements` by colour, in the order in which the drawing first uses each.

        A colour whose lines lie on areas of another comes after that one, in two layers if it must.

        Args:
            area: As for `elements`.
            alike: Says for a colour what it is sewn in: those with the same answer make one layer.

        Raises:
            ParameterError: As for `elements`.
        """
        if self.colours == "one" or len(self.threads) == 1:
            # as if named: zero-argument super() fails in classes with slots
            return Decoration.layers(self, area)
        drawing = self._coloured(area)
        return layered(drawing.elements, drawing.colours, drawing.lines, alike=alike, first=self.threads)

    def findings(self, area: Polygonal, *, part: str = "") -> tuple[Finding, ...]:
        """What the maker should know: all that is left out of the drawing, changes of thread, what the area cuts off.

        Args:
            area: As for `elements`.
            part: The part that carries it, for the findings.
        """
        name = self.drawing.name
        found = [Finding(Level.NOTE, "artwork-left-out", part, f"{name}: {note}.") for note in self.notes]
        found += self._colour_findings(part)
        if self.pitch is None:
            found += self._cut_findings(area, part)
        else:
            found += [*Decoration.findings(self, area, part=part), *self._overlap_findings(part)]
        crumbs = self._coloured(area).crumbs
        if crumbs:
            message = f"{name}: small pieces left out: {crumbs}."
            remedy = "Draw it with fewer details, or make it larger with width."
            found.append(Finding(Level.NOTE, "artwork-crumbs", part, message, remedy))
        return tuple(found)

    def _colour_findings(self, part: str) -> Iterator[Finding]:
        name, count, most = self.drawing.name, len(self.threads), ARTWORK["most_colours"].value
        if self.colours == "one" and count > 1:
            message = f"{name}: its {count} colours are sewn in one thread, the decoration's."
            yield Finding(
                Level.NOTE, "artwork-one-thread", part, message, 'Set colours to "drawn" to sew each in its own.'
            )
        if self.colours == "drawn" and count > most:
            message = f"{name}: its {count} colours take as many changes of thread."
            remedy = 'Draw it in fewer colours, or set colours to "one".'
            yield Finding(Level.NOTE, "artwork-many-colours", part, message, remedy, count, most)

    def _cut_findings(self, area: Polygonal, part: str) -> Iterator[Finding]:
        lost = self._coloured(area).lost
        if lost > _CUT_SHARE:
            message = f"{self.drawing.name}: {lost:.0%} of the drawing lies outside its area and is cut off."
            remedy = "Make it smaller with width, or give it a larger part."
            yield Finding(Level.WARNING, "artwork-cut", part, message, remedy, lost, _CUT_SHARE)

    def _overlap_findings(self, part: str) -> Iterator[Finding]:
        """Repeats that lie over one another: their threads would pile up."""
        shape, pitch = _covered(self._motif), float(self.pitch or 0.0)
        core = grown(shape, -_OVERLAP_MM)
        beside = neighbours(pitch, hexagonal=self.layout == "hexagonal")
        over = max(float(core.intersection(shapely.affinity.translate(shape, x, y)).area) for x, y in beside)
        if over > 0:
            least = 2 * float(shapely.minimum_bounding_radius(shape))
            message = f"{self.drawing.name}: its repeats lie over one another."
            remedy = f"Set pitch to {mm_text(math.ceil(10 * least) / 10)}, or make it smaller with width."
            yield Finding(Level.WARNING, "artwork-overlap", part, message, remedy, round(over, 2), 0.0)

    def _coloured(self, area: Polygonal) -> _Coloured:
        drawing = self._drawing(area)
        return drawing if isinstance(drawing, _Coloured) else _Coloured(lost=1.0)

    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:
        room = shapely.MultiPolygon(area)
        shapely.prepare(room)
        if self.pitch is not None:
            return self._repeated(room, anchor)
        inks = self._inks_at(self._middle(room, anchor))
        whole = sum(extent(ink.shape) for ink in inks)
        inside = sum(extent(shapely.intersection(ink.shape, room)) for ink in inks)
        sewn = sewn_inks(inks, room, self.stitch)
        return replace(_counted(sewn), lost=max(0.0, 1 - inside / whole) if whole else 0.0)

    def _repeated(self, room: shapely.MultiPolygon, anchor: Point) -> Drawing:
        """The drawing on every node of a lattice; each whole one is the same, stitch for stitch."""
        motif, pitch = self._motif, float(self.pitch or 0.0)
        outline = _covered(motif)
        frame, reach = Frame(anchor, 0.0), float(shapely.minimum_bounding_radius(outline))
        rows = node_rows(frame.box(list(room.geoms), margin=2 * reach), pitch, hexagonal=self.layout == "hexagonal")
        whole = sewn_inks(motif, shapely.MultiPolygon([shapely.box(*grown(outline, 1.0).bounds)]), self.stitch)
        parts: list[Sewn] = []
        for node in (node for row in rows for node in frame.out(row)):
            size = float(faded(shapely.Point(node).distance(room.boundary), pitch)) if self.edge == "fade" else 1.0
            shape = shapely.transform(outline, lambda xy: xy * size + node)  # noqa: B023 - used at once
            if room.contains(shape):
                parts.append(
                    _moved(whole, node) if size == 1.0 else sewn_inks(_placed(motif, node, size), room, self.stitch)
                )
            elif self.edge == "clip" and room.intersects(shape):
                parts.append(sewn_inks(_placed(motif, node, 1.0), room, self.stitch))
        together = reduce(_both, parts, Sewn((), (), (), 0, 0))
        # what the edge cuts off, or lets fade away, is meant
        return replace(_counted(together), motifs=sum(bool(part.elements) for part in parts), crumbs=whole.crumbs)

    @property
    def _motif(self) -> list[Ink]:
        return self._inks_at(np.zeros(2))

    def _middle(self, room: shapely.MultiPolygon, anchor: Point) -> FloatArray:
        if self.place == "origin":
            return np.asarray(anchor)
        left, bottom, right, top = self.drawing.bounds
        half = np.array([[right - left, top - bottom]]) / 2 * self.scale
        corners = half * [[-1, -1], [1, -1], [1, 1], [-1, 1]]
        around = shapely.Polygon(turned(corners, self.angle)).envelope
        return np.asarray(_roomiest(room, around)) + np.asarray(anchor)

    def _inks_at(self, centre: FloatArray) -> list[Ink]:
        """The drawing's lines and areas where they go, in the order of drawing, without what is covered or bare."""
        left, bottom, right, top = self.drawing.bounds
        middle, scale = np.array([(left + right) / 2, (bottom + top) / 2]), self.scale

        def put(xy: FloatArray) -> FloatArray:
            return turned((xy - middle) * scale, self.angle, (float(centre[0]), float(centre[1])))

        inks = []
        for shape in self.drawing.shapes:
            if shape.fill is not None:
                inks.append(Ink(shape.fill, shapely.transform(polygons_of_shape(shape), put), 0.0))
            if shape.stroke is not None:
                width = shape.stroke_width_mm * scale
                lines = [shapely.LineString(put(path)) for path in _paths(shape)]
                if width > PLANNING["satin_split"].value and self.stitch not in ("running", "triple"):
                    inks.append(Ink(shape.stroke, band(shapely.MultiLineString(lines), width), 0.0))
                else:
                    inks += [Ink(shape.stroke, line, width) for line in lines]
        shown = uncovered([ink for ink in inks if not ink.shape.is_empty])
        return [ink for ink in shown if ink.colour != self.bare]


def _colour(value: object) -> str:
    try:
        return Thread(value).colour  # type: ignore[arg-type]
    except ParameterError as error:
        raise ParameterError("bare", value, error.needs) from None


def _paths(shape: Shape) -> Iterator[FloatArray]:
    return (path for path in shape.subpaths if length_of(path) > 1e-6)


def _covered(inks: list[Ink]) -> BaseGeometry:
    """The area that inks cover."""
    return shapely.union_all([band(ink.shape, ink.width) if ink.width else ink.shape for ink in inks])


def _counted(sewn: Sewn) -> _Coloured:
    return _Coloured(
        sewn.elements,
        sewn.motifs,
        sum(length_of(element.path) for element in sewn.elements if isinstance(element, Line)),
        filled_mm2=float(sum(element.polygon.area for element in sewn.elements if isinstance(element, Area))),
        colours=sewn.colours,
        lines=sewn.lines,
        crumbs=sewn.crumbs,
    )


def _both(one: Sewn, other: Sewn) -> Sewn:
    return Sewn(
        one.elements + other.elements,
        one.colours + other.colours,
        one.lines + other.lines,
        one.motifs + other.motifs,
        one.crumbs + other.crumbs,
    )


def _placed(inks: list[Ink], at: FloatArray, size: float) -> list[Ink]:
    """Inks of a motif about the origin, scaled and brought to a node; lines keep their width."""
    return [replace(ink, shape=shapely.transform(ink.shape, lambda xy: xy * size + at)) for ink in inks]


def _moved(sewn: Sewn, by: FloatArray) -> Sewn:
    return replace(sewn, elements=tuple(_moved_element(element, by) for element in sewn.elements))


def _moved_element(element: Element, by: FloatArray) -> Element:
    """An element moved by (2,) mm."""
    if isinstance(element, Line):
        return replace(element, path=element.path + by)
    if isinstance(element, Area):
        return replace(element, polygon=shapely.transform(element.polygon, lambda xy: xy + by))
    return replace(element, rail_a=element.rail_a + by, rail_b=element.rail_b + by)


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
