"""The mirror image of a design: left made right, element for element."""

from __future__ import annotations

from dataclasses import replace

import shapely

from stitchcraft.design import Area, Column, Design, Element, Fill, Line
from stitchcraft.geometry.curves import mirrored


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
