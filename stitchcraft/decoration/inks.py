"""The inks of a drawing, line by line and area by area, and what each is sewn as: judged by how wide it is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.base import SHORTEST_MM, line_stitch
from stitchcraft.defaults import ARTWORK, PLANNING
from stitchcraft.design import Area, Column, Element, Fill, Line, LineStitch, Running, Satin, Triple
from stitchcraft.geometry.borders import border_rails
from stitchcraft.geometry.chains import continuous_paths
from stitchcraft.geometry.curves import length_of, lines_of, polygons_of

_BATCH: Final = 32
_CRUMB_SHARE: Final = 0.1
"""A piece cut down to less than this share of its area is left out."""

_SLENDER: Final = 1.5
"""Area over the square of the width from which a shape is no blob: an ellipse 1.9 times as long as wide."""


@dataclass(frozen=True, slots=True, eq=False)
class Ink:
    """One line or area of a drawing in its place, before it is cut to the area.

    Attributes:
        colour: ``"#rrggbb"``.
        shape: Lines or polygons, mm.
        width: Width of a line, mm; 0 for an area.
    """

    colour: str
    shape: BaseGeometry
    width: float


_Piece: TypeAlias = tuple[str, bool, Element]
"""Something sewn: its colour, whether it is drawn as a line, and what it is."""


@dataclass(frozen=True, slots=True, eq=False)
class Sewn:
    """What inks are sewn as.

    Attributes:
        elements: In the order of drawing; lines of one colour that touch are one.
        colours: Of each element, ``"#rrggbb"``.
        lines: Of each element, whether it is drawn as a line.
        motifs: How many inks are sewn, whole or cut.
        crumbs: How many pieces are too small and left out.
    """

    elements: tuple[Element, ...]
    colours: tuple[str, ...]
    lines: tuple[bool, ...]
    motifs: int
    crumbs: int


def sewn_inks(inks: Iterable[Ink], room: shapely.MultiPolygon, stitch: str | None) -> Sewn:
    """Cut inks to an area and sew each by its width.

    Lines of one colour and one stitch whose ends touch, or that cross, are joined into as few continuous runs as
    they can be sewn in without sewing any stretch twice.

    Args:
        inks: In the order of drawing, none beneath another.
        room: The area.
        stitch: The word for how all are sewn; None goes by width.
    """
    sewn: list[_Piece] = []
    motifs = crumbs = 0
    for ink in inks:
        found = list(_sewn_line(ink, room, stitch) if ink.width else _sewn_area(ink, room, stitch))
        pieces = [element for element in found if element is not None]
        crumbs += len(found) - len(pieces)
        motifs += bool(pieces)
        sewn += [(ink.colour, ink.width > 0, element) for element in pieces]
    joined = _joined(sewn)
    kept = [one for one in joined if not isinstance(one[2], Line) or length_of(one[2].path) >= SHORTEST_MM]
    colours, lines, elements = zip(*kept, strict=True) if kept else ((), (), ())
    return Sewn(elements, colours, lines, motifs if kept else 0, crumbs + len(joined) - len(kept))


def _joined(sewn: Sequence[_Piece]) -> list[_Piece]:
    """Join the lines of each colour and stitch; the runs stand where the first of their lines stood."""
    groups: dict[tuple[str, bool, LineStitch], list[FloatArray]] = {}
    for colour, is_line, element in sewn:
        if isinstance(element, Line):
            groups.setdefault((colour, is_line, element.stitch), []).append(element.path)
    joined: list[_Piece] = []
    for colour, is_line, element in sewn:
        if not isinstance(element, Line):
            joined.append((colour, is_line, element))
            continue
        paths = groups.pop((colour, is_line, element.stitch), [])
        if len(paths) > 1:
            paths = continuous_paths(paths, split_crossings=True)
        joined += [(colour, is_line, Line(path, element.stitch)) for path in paths]
    return joined


def uncovered(inks: Sequence[Ink]) -> list[Ink]:
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


def extent(shape: BaseGeometry) -> float:
    """Area of areas, length of lines: what shares of a drawing are counted in."""
    return float(shape.area if shape.area else shape.length)


def _sewn_line(ink: Ink, room: shapely.MultiPolygon, stitch: str | None) -> Iterator[Element | None]:
    """What a line is sewn as; None for each crumb that is left out. Short lines wait: they may join others."""
    if stitch in ("running", "triple") or ink.width <= ARTWORK["triple_to"].value:
        style = _line_style(ink.width, stitch)
        yield from (Line(path, style) for path in lines_of(shapely.intersection(ink.shape, room)))
        return
    for path in lines_of(ink.shape):
        column = _column(path, ink.width, room)
        if column is not None:
            yield column
        else:
            shape = band(shapely.LineString(path), ink.width)
            yield from _sewn_area(replace(ink, shape=shape, width=0.0), room, "satin")


def _line_style(width: float, stitch: str | None) -> LineStitch:
    if stitch in ("running", "triple"):
        return line_stitch(stitch)
    return Running() if width <= ARTWORK["running_to"].value else Triple()


def band(line: BaseGeometry, width: float) -> BaseGeometry:
    """The area that a line of a width covers."""
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


def _sewn_area(ink: Ink, room: shapely.MultiPolygon, stitch: str | None) -> Iterator[Element | None]:
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
