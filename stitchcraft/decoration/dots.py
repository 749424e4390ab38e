"""Dots: a lattice of small filled discs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar, Final

import numpy as np
import shapely

from stitchcraft.decoration.base import (
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
from stitchcraft.decoration.lattice import Frame, node_rows
from stitchcraft.defaults import DECORATION
from stitchcraft.design import Area, Column, Element, Fill, FloatArray, Line, Satin
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import arc, circle, length_of, polygons_of
from stitchcraft.units import Length, length_between

STITCHES: Final = ("satin", "fill", "running", "triple")
EDGES: Final = ("whole", "clip", "fade")
LAYOUTS: Final = ("hexagonal", "square")

_CAP_DEG: Final = 66.0
"""Half of the arc that each satin rail of a dot takes: what is left open at both poles is narrower than half
the dot and would pile up needle points; the thread's own thickness and its push close it."""

_LEAST_SHARE: Final = 0.25
"""A dot cut down to less than this share of its area is left out."""


@dataclass(frozen=True, slots=True, eq=False)
class _Dot:
    """A dot, or what the edge leaves of it."""

    centre: FloatArray
    area: float
    element: Element


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
        centres = frame.out(np.vstack(rows))
        elements: list[Element] = []
        motifs, filled, link_mm = 0, 0.0, 0.0
        for part in area:
            dots = self._dots_in(part, centres)
            motifs += len(dots)
            filled += sum(dot.area for dot in dots)
            strings = _strings(dots, part, reach=1.01 * pitch) if self.joined else {}
            link_mm += sum(length_of(string) for string in strings.values())
            for index, dot in enumerate(dots):
                elements.extend([Line(strings[index])] if index in strings else [])
                elements.append(dot.element)
        if self.stitch in ("satin", "fill"):
            return Drawing(tuple(elements), motifs, 0.0, link_mm, filled)
        sewn = sum(length_of(element.path) for element in elements if isinstance(element, Line))
        return Drawing(tuple(elements), motifs, sewn - link_mm, link_mm)

    def _dots_in(self, part: shapely.Polygon, centres: FloatArray) -> list[_Dot]:
        dots: list[_Dot] = []
        for centre, radius in zip(centres, self._radii(centres, part), strict=True):
            if radius > 0:
                dots.append(_Dot(centre, math.pi * radius**2, _whole_dot(centre, radius, self.angle, self.stitch)))
            elif radius < 0:
                dots.extend(_cut_dot(centre, -radius, part, self.angle, self.stitch))
        return dots

    def _radii(self, centres: FloatArray, part: shapely.Polygon) -> FloatArray:
        """Radius of the dot at each centre, mm: 0 for none, below 0 for one that the edge cuts."""
        shapely.prepare(part)
        points = shapely.points(centres)
        room = shapely.distance(part.boundary, points)
        inside = shapely.contains(part, points)
        radius = float(self.diameter) / 2
        if self.edge == "fade":
            size = radius * np.clip(0.3 + 0.7 * room / (1.5 * float(self.pitch)), 0.0, 1.0)
            return np.where(
                inside & (room >= size - TOUCH_MM) & (2 * size >= DECORATION["dot_smallest"].value), size, 0.0
            )
        whole = inside & (room >= radius - TOUCH_MM)
        cut = ~whole & (room < radius) & (self.edge == "clip")
        return np.where(whole, radius, np.where(cut, -radius, 0.0))


def _whole_dot(centre: FloatArray, radius: float, angle: float, stitch: str) -> Element:
    if stitch == "satin":
        # rails run from the lower pole to the upper one, so that the thread lies along the lattice's rows
        right = arc(centre, radius, angle - _CAP_DEG, angle + _CAP_DEG)
        left = arc(centre, radius, angle + 180 + _CAP_DEG, angle + 180 - _CAP_DEG)
        return Column(left, right, Satin())
    if stitch == "fill":
        return Area(shapely.Polygon(circle(centre, radius)), Fill(angle=angle))
    return Line(circle(centre, radius), line_stitch(stitch))


def _cut_dot(centre: FloatArray, radius: float, part: shapely.Polygon, angle: float, stitch: str) -> list[_Dot]:
    disc = shapely.Polygon(circle(centre, radius))
    pieces = polygons_of(shapely.intersection(disc, part), smallest_mm2=_LEAST_SHARE * disc.area)
    if stitch in ("satin", "fill"):
        return [_Dot(centre, piece.area, Area(piece, Fill(angle=angle))) for piece in pieces]
    return [_Dot(centre, 0.0, Line(np.asarray(piece.exterior.coords), line_stitch(stitch))) for piece in pieces]


def _strings(dots: list[_Dot], part: shapely.Polygon, *, reach: float) -> dict[int, FloatArray]:
    """The ways from a dot to the one that follows it, by the number of the latter, where they stay inside."""
    found: dict[int, FloatArray] = {}
    for index, (one, other) in enumerate(pairwise(dots), start=1):
        way = np.array([one.centre, other.centre])
        if 0 < length_of(way) <= reach and part.contains(shapely.LineString(way)):
            found[index] = way
    return found
