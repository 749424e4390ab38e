"""Petals: overlapping circles whose overlaps make four-petal flowers (orange peel)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar, Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.base import (
    CUT_OR_WHOLE,
    LINE_STITCHES,
    SHORTEST_MM,
    TOUCH_MM,
    Drawing,
    Point,
    one_of,
    settle,
)
from stitchcraft.decoration.lattice import Frame, faded, node_rows
from stitchcraft.decoration.lines import LineDecoration
from stitchcraft.decoration.runs import Motif
from stitchcraft.defaults import DECORATION, PLANNING
from stitchcraft.design import Area, Column, Element, Fill, Satin
from stitchcraft.geometry.curves import arc, joined, polygons_of
from stitchcraft.units import Length, length_between

STITCHES: Final = (*LINE_STITCHES, "satin")
_SMALLEST_MM: Final = 5.0
"""A petal that fades is no shorter than this: it would be narrower than a satin may be."""

_LEAST_SHARE: Final = 0.3
"""A satin petal cut down to less than this share of its area is left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Petals(LineDecoration):
    """Flowers of four petals; a petal is the overlap of two circles.

    Circles of radius r on a square lattice of step sqrt(2) r meet at the flowers' centres, the origin among
    them; a petal is sqrt(2) r long and (2 - sqrt(2)) r wide.

    Attributes:
        pitch: Length of a petal, tip to tip; a length.
        angle: Direction of a petal, degrees.
        edge: ``"clip"`` cuts petals at the area's edge, ``"whole"`` keeps whole petals only; ``"fade"`` lets satin
            petals shrink towards it.
        stitch: ``"running"`` or ``"triple"`` for outlines, ``"satin"`` for filled petals.
        border: Whether the area's edge is sewn too; not with satin.
        inset: How far the pattern stays inside the area's edges; a length.
    """

    kind: ClassVar[str] = "petals"

    pitch: Length = DECORATION["petal_pitch"].value
    angle: float = 45.0

    def __post_init__(self) -> None:
        stitch = one_of(self.stitch, name="stitch", choices=STITCHES)
        # outlines that shrink would hang together no more, and each take its own thread ends
        edge = one_of(self.edge, name="edge", choices=CUT_OR_WHOLE if stitch != "satin" else (*CUT_OR_WHOLE, "fade"))
        settle(self, stitch="running", edge="clip")
        LineDecoration.__post_init__(self)
        settle(self, stitch=stitch, edge=edge, pitch=length_between(self.pitch, name="pitch", low=5.0, high=200.0))

    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:
        if self.stitch != "satin":
            return self._in_runs(area, anchor)
        elements: list[Element] = []
        for part in area:
            room = shapely.buffer(part, TOUCH_MM, join_style="mitre")
            shapely.prepare(part)
            shapely.prepare(room)
            for one, other in self._motifs(Frame(anchor, self.angle), area):
                elements.extend(self._filled(one, other, part, room))
        return Drawing(tuple(elements), len(elements), filled_mm2=sum(_area_of(element) for element in elements))

    def _motifs(self, frame: Frame, area: list[shapely.Polygon]) -> list[Motif]:
        length = float(self.pitch)
        petals: list[Motif] = []
        for row in node_rows(frame.box(area, margin=length), length, hexagonal=False):
            for centre in row:
                petals.append([frame.out(side) for side in _petal(centre, length, upright=False)])
                petals.append([frame.out(side) for side in _petal(centre, length, upright=True)])
        return petals

    def _filled(
        self, one: FloatArray, other: FloatArray, part: shapely.Polygon, room: shapely.Polygon
    ) -> list[Element]:
        if self.edge == "fade":
            one, other = self._shrunk(one, other, part)
            if len(one) == 0:
                return []
        petal = shapely.Polygon(joined(one, other[::-1]))
        if room.contains(petal):
            return [_satin_petal(one)]
        if self.edge != "clip" or not part.intersects(petal):
            return []
        across = math.degrees(math.atan2(*(one[-1] - one[0])[::-1])) + 90
        slim = shapely.buffer(petal, -DECORATION["petal_gap"].value).intersection(part)
        kept = polygons_of(slim, smallest_mm2=_LEAST_SHARE * petal.area)
        return [Area(piece, Fill(angle=across)) for piece in kept]

    def _shrunk(self, one: FloatArray, other: FloatArray, part: shapely.Polygon) -> tuple[FloatArray, FloatArray]:
        """A petal's sides, drawn in about its middle by how near the edge is; none outside, or if it is too small."""
        middle, length = (one[0] + one[-1]) / 2, float(self.pitch)
        if not part.contains(shapely.Point(middle)):
            return one[:0], other[:0]
        size = float(faded(part.boundary.distance(shapely.Point(middle)), length))
        if size * length < _SMALLEST_MM:
            return one[:0], other[:0]
        return middle + (one - middle) * size, middle + (other - middle) * size

    def _reach(self) -> float:
        return float(self.pitch)

    def _crumb(self) -> float:
        return max(SHORTEST_MM, 0.4 * float(self.pitch))


def _petal(tip: FloatArray, length: float, *, upright: bool) -> tuple[FloatArray, FloatArray]:
    """Both sides of the petal that starts at a node and runs to the next one right of it, or above it.

    The ends are the nodes themselves to the last bit, so that petals meet.
    """
    radius = length / math.sqrt(2)
    along = np.array([0.0, 1.0]) if upright else np.array([1.0, 0.0])
    turn = 90.0 if upright else 0.0
    left = np.array([-along[1], along[0]])
    middle = tip + along * length / 2
    upper = arc(middle - left * length / 2, radius, turn + 135, turn + 45)
    lower = arc(middle + left * length / 2, radius, turn - 135, turn - 45)
    for side in (upper, lower):
        side[0], side[-1] = tip, tip + along * length
    return upper, lower


def _satin_petal(one: FloatArray) -> Column:
    """A petal as a column: a little slimmer, and without the tips, where eight rails would meet."""
    gap, narrowest = DECORATION["petal_gap"].value, PLANNING["satin_narrowest"].value
    length = float(np.hypot(*(one[-1] - one[0])))
    along = (one[-1] - one[0]) / length
    left = np.array([-along[1], along[0]])
    radius = length / math.sqrt(2) - gap
    # seen along the petal, a side at distance x from the middle is sqrt(r^2 - x^2) - length / 2 away from it
    half = math.sqrt(radius**2 - (length / 2 + narrowest / 2) ** 2)
    reach = math.degrees(math.asin(half / radius))
    turn = math.degrees(math.atan2(along[1], along[0]))
    middle = (one[0] + one[-1]) / 2
    upper = arc(middle - left * length / 2, radius, turn + 90 + reach, turn + 90 - reach)
    lower = arc(middle + left * length / 2, radius, turn - 90 - reach, turn - 90 + reach)
    return Column(upper, lower, Satin())


def _area_of(element: Element) -> float:
    if isinstance(element, Column):
        return float(shapely.Polygon(joined(element.rail_a, element.rail_b[::-1])).area)
    return float(element.polygon.area) if isinstance(element, Area) else 0.0
