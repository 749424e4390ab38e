"""Dots: a lattice of small filled discs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar, Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.decoration.base import (
    SHORTEST_MM,
    TOUCH_MM,
    Decoration,
    Drawing,
    Point,
    checked_angle,
    line_stitch,
    one_of,
    settle,
    yes_or_no,
)
from stitchcraft.decoration.lattice import Frame, faded, node_rows
from stitchcraft.decoration.strings import headings, strings_of
from stitchcraft.defaults import DECORATION
from stitchcraft.design import Area, Column, Element, Fill, Line, LineStitch, Running, Satin
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import arc, circle, length_of, polygons_of
from stitchcraft.units import Length, length_between

STITCHES: Final = ("satin", "fill", "running", "triple")
EDGES: Final = ("whole", "clip", "fade")
LAYOUTS: Final = ("hexagonal", "square")

_CAP_DEG: Final = 66.0
"""Half of the arc that each satin rail of a dot takes: what is left open at both poles is narrower than half
the dot and would pile up needle points; the thread's own thickness and its push close it."""

_POLE: Final = math.cos(math.radians(90.0 - _CAP_DEG))
"""Where the ends of a dot's rails are, in radii from its centre: there a string reaches it and leaves it."""

_LEAST_SHARE: Final = 0.25
"""A dot cut down to less than this share of its area is left out."""


@dataclass(frozen=True, slots=True, eq=False)
class _Dot:
    """A dot, or what the edge leaves of it.

    Attributes:
        centre: Of the whole dot, mm.
        radius: Of the whole dot, mm.
        piece: What the edge leaves of it; None if it is whole.
    """

    centre: FloatArray
    radius: float
    piece: shapely.Polygon | None = None

    @property
    def area(self) -> float:
        """mm2."""
        return math.pi * self.radius**2 if self.piece is None else float(self.piece.area)

    def outline(self) -> FloatArray:
        """Closed path around it, mm."""
        return circle(self.centre, self.radius) if self.piece is None else np.asarray(self.piece.exterior.coords)

    def pole(self, direction: float, share: float) -> FloatArray:
        """Where a string that goes in a direction, degrees, leaves it: at a share of its radius; a cut dot, within."""
        if self.piece is not None:
            return np.asarray(self.piece.representative_point().coords[0])
        return turned(np.array([[self.radius * share, 0.0]]), direction, self.centre)[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dots(Decoration):
    """A lattice of small filled discs.

    Attributes:
        pitch: Centre to nearest centre; a length.
        diameter: Of a dot, at most the pitch; a length.
        layout: ``"hexagonal"`` (six neighbours each) or ``"square"``.
        angle: Direction of the rows, degrees.
        edge: ``"whole"`` keeps whole dots only, ``"clip"`` cuts them at the area's edge, ``"fade"`` lets them
            shrink towards it.
        stitch: ``"satin"`` or ``"fill"`` for solid dots, ``"running"`` or ``"triple"`` for their outline.
        joined: Whether a running stitch leads from each dot to the next, like beads on a string: it shows, but
            saves a lock and a cut at every dot.
        inset: How far the pattern stays inside the area's edges; a length.

    Example:
        >>> Dots(pitch="7 mm", diameter=3).describe(shapely.box(0, 0, 70, 70)).motifs
        105
    """

    kind: ClassVar[str] = "dots"

    pitch: Length = DECORATION["dot_pitch"].value
    diameter: Length = DECORATION["dot_diameter"].value
    layout: str = "hexagonal"
    angle: float = 0.0
    edge: str = "whole"
    stitch: str = "satin"
    joined: bool = False

    def __post_init__(self) -> None:
        Decoration.__post_init__(self)
        pitch = length_between(self.pitch, name="pitch", low=2.0, high=200.0)
        diameter = length_between(self.diameter, name="diameter", low=DECORATION["dot_smallest"].value, high=100.0)
        if diameter > pitch:
            raise ParameterError("diameter", self.diameter, f"at most the pitch, {pitch:g} mm")
        settle(
            self,
            pitch=pitch,
            diameter=diameter,
            layout=one_of(self.layout, name="layout", choices=LAYOUTS),
            angle=checked_angle(self.angle),
            edge=one_of(self.edge, name="edge", choices=EDGES),
            stitch=one_of(self.stitch, name="stitch", choices=STITCHES),
            joined=yes_or_no(self.joined, name="joined"),
        )

    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:
        pitch, radius = float(self.pitch), float(self.diameter) / 2
        frame = Frame(anchor, self.angle)
        rows = node_rows(frame.box(area, margin=radius), pitch, hexagonal=self.layout == "hexagonal")
        if not rows:
            return Drawing()
        drawn = [self._drawn_in(part, [frame.out(row) for row in rows]) for part in area]
        solid = self.stitch in ("satin", "fill")
        return Drawing(
            tuple(element for one in drawn for element in one.elements),
            sum(one.motifs for one in drawn),
            0.0 if solid else sum(one.line_mm for one in drawn),
            sum(one.link_mm for one in drawn),
            sum(one.filled_mm2 for one in drawn) if solid else 0.0,
        )

    def _drawn_in(self, part: shapely.Polygon, rows: list[FloatArray]) -> Drawing:
        in_rows = [self._dots_in(part, row) for row in rows]
        dots = [dot for row in in_rows for dot in row]
        if not dots:
            return Drawing()
        strings = self._strings(part, in_rows) if self.joined else [[number] for number in range(len(dots))]
        elements: list[Element] = []
        link_mm = 0.0
        for string in strings:
            hung, links = self._hung([dots[number] for number in string], part)
            elements += hung
            link_mm += links
        lines = sum(length_of(dot.outline()) for dot in dots)
        return Drawing(tuple(elements), len(dots), lines, link_mm, sum(dot.area for dot in dots))

    def _strings(self, part: shapely.Polygon, in_rows: list[list[_Dot]]) -> list[list[int]]:
        ends = np.cumsum([0, *(len(row) for row in in_rows)]).tolist()
        numbered = [list(range(low, high)) for low, high in pairwise(ends)]
        # every other row of the lattice comes from right to left
        rows = [row[:: -1 if k % 2 else 1] for k, row in enumerate(numbered)]
        centres = np.array([dot.centre for row in in_rows for dot in row])
        return strings_of(rows, centres, float(self.pitch), part)

    def _hung(self, dots: list[_Dot], part: shapely.Polygon) -> tuple[list[Element], float]:
        """The elements of dots on a string, or of a single one, and how long the string is between them, mm."""
        if len(dots) == 1:
            return [_element_of(dots[0], self.stitch, self.angle, None)], 0.0
        ways = headings(np.array([dot.centre for dot in dots]), self.angle)
        share = _POLE if self.stitch == "satin" else 1.0
        elements: list[Element] = [_element_of(dots[0], self.stitch, self.angle, ways[0])]
        links = 0.0
        for (one, leave), (other, come) in pairwise(zip(dots, ways, strict=True)):
            link = np.array([one.pole(leave, share), other.pole(come + 180.0, share)])
            if length_of(link) > SHORTEST_MM and part.contains(shapely.LineString(link)):
                elements.append(Line(link, self._string_stitch()))
                links += length_of(link)
            elements.append(_element_of(other, self.stitch, self.angle, come))
        return elements, links

    def _string_stitch(self) -> LineStitch:
        return Running() if self.stitch in ("satin", "fill") else line_stitch(self.stitch)

    def _dots_in(self, part: shapely.Polygon, centres: FloatArray) -> list[_Dot]:
        dots: list[_Dot] = []
        for centre, radius in zip(centres, self._radii(centres, part).tolist(), strict=True):
            if radius > 0:
                dots.append(_Dot(centre, radius))
            elif radius < 0:
                disc = shapely.Polygon(circle(centre, -radius))
                left = polygons_of(shapely.intersection(disc, part), smallest_mm2=_LEAST_SHARE * disc.area)
                dots += [_Dot(centre, -radius, piece) for piece in left]
        return dots

    def _radii(self, centres: FloatArray, part: shapely.Polygon) -> FloatArray:
        """Radius of the dot at each centre, mm: 0 for none, below 0 for one that the edge cuts."""
        shapely.prepare(part)
        points = shapely.points(centres)
        room = shapely.distance(part.boundary, points)
        inside = shapely.contains(part, points)
        radius = float(self.diameter) / 2
        if self.edge == "fade":
            size = radius * faded(room, float(self.pitch))
            return np.where(
                inside & (room >= size - TOUCH_MM) & (2 * size >= DECORATION["dot_smallest"].value), size, 0.0
            )
        whole = inside & (room >= radius - TOUCH_MM)
        cut = ~whole & (room < radius) & (self.edge == "clip")
        return np.where(whole, radius, np.where(cut, -radius, 0.0))


def _element_of(dot: _Dot, stitch: str, angle: float, way: float | None) -> Element:
    """What sews a dot; on a string, from where that comes in to where it goes out."""
    if stitch == "satin" and dot.piece is None:
        # rails run from the lower pole to the upper one, so that the thread lies along the lattice's rows
        up = angle + 90.0 if way is None else way
        right = arc(dot.centre, dot.radius, up - 90 - _CAP_DEG, up - 90 + _CAP_DEG)
        left = arc(dot.centre, dot.radius, up + 90 + _CAP_DEG, up + 90 - _CAP_DEG)
        return Column(left, right, Satin())
    if stitch in ("satin", "fill"):
        rows = angle if way is None else way + 90.0
        return Area(shapely.Polygon(dot.outline()) if dot.piece is None else dot.piece, Fill(angle=rows))
    return Line(dot.outline(), line_stitch(stitch))
