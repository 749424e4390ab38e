"""The mirror image of a design: left made right, element for element; what is read is set anew."""

from __future__ import annotations

from dataclasses import replace

import shapely

from stitchcraft.decoration import Decoration
from stitchcraft.design import Area, Column, Design, Element, Fill, Line, Purpose
from stitchcraft.geometry.curves import mirrored
from stitchcraft.parts.stops import sewn_stops


def mirrored_design(design: Design, name: str) -> Design:
    """Mirror a design, (x, y) to (-x, y); the order and direction of sewing stay.

    Args:
        design: What to mirror.
        name: Name of the result.
    """
    stops = tuple(
        replace(stop, elements=tuple(_mirrored_element(element) for element in stop.elements)) for stop in design.stops
    )
    return replace(design, name=name, stops=stops, origin=(-design.origin[0], design.origin[1]))


def opposite_design(
    design: Design, name: str, decoration: Decoration, area: shapely.Polygon | shapely.MultiPolygon
) -> Design:
    """Mirror a design, but for a decoration that is read: that fills the mirror image of its area the right way round.

    Args:
        design: What to mirror.
        name: Name of the result.
        decoration: What fills *area* in the design.
        area: Where the design is decorated, mm.
    """
    image, anew = mirrored_design(design, name), decoration.opposite
    if anew is None or not decoration.elements(area):
        return image
    # what is read is sewn in one thread, and before all else that decorates, such as an echo
    at = next(number for number, stop in enumerate(image.stops) if stop.purpose is Purpose.DECORATE)
    stops = list(image.stops)
    stops[at] = replace(stops[at], elements=anew.elements(shapely.transform(area, mirrored)))
    return replace(image, stops=sewn_stops(stops))


def _mirrored_element(element: Element) -> Element:
    if isinstance(element, Line):
        return replace(element, path=mirrored(element.path))
    if isinstance(element, Column):
        return replace(element, rail_a=mirrored(element.rail_a), rail_b=mirrored(element.rail_b))
    stitch = element.stitch
    if isinstance(stitch, Fill) and stitch.angle is not None:
        stitch = replace(stitch, angle=180.0 - stitch.angle)
    polygon = shapely.transform(element.polygon, mirrored)
    return Area(polygon, stitch, start=_mirrored_point(element.start), end=_mirrored_point(element.end))


def _mirrored_point(point: tuple[float, float] | None) -> tuple[float, float] | None:
    return None if point is None else (-point[0], point[1])
