"""Which elements of a stop have to be sewn before which: what lies under before what lies on top."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from stitchcraft.design import Area, Column, Element

OVERLAP_MM2: Final = 0.5
"""Areas that share less than this only touch."""

OVERLAP_MM: Final = 0.5
"""A line that runs over an area for less than this only touches it."""


def layers_of(elements: Sequence[Element]) -> list[int]:
    """Give each element a layer such that overlapping elements keep the order in which they were drawn.

    An area or a column that overlaps an earlier element, or is overlapped by a later one, is sewn in that order.
    Lines that cross lines are free: neither hides the other.

    Args:
        elements: In the order drawn.

    Returns:
        Layer of each element, from 0; a lower layer is sewn first.
    """
    broad = [index for index, element in enumerate(elements) if not _is_line(element)]
    layer = [0] * len(elements)
    if not broad or len(elements) == 1:
        return layer
    shapes = [shape_of(element) for element in elements]
    tree = shapely.STRtree(shapes)
    under: list[set[int]] = [set() for _ in elements]
    for index in broad:
        for other in np.sort(tree.query(shapes[index], predicate="intersects")).tolist():
            if other != index and _overlap(shapes[index], shapes[other]):
                under[max(index, other)].add(min(index, other))
    for index, below in enumerate(under):
        layer[index] = max((layer[other] + 1 for other in below), default=0)
    return layer


def shape_of(element: Element) -> BaseGeometry:
    """What an element covers: a polygon for an area or a column, a line otherwise."""
    if isinstance(element, Area):
        return element.polygon if element.polygon.is_valid else shapely.make_valid(element.polygon)
    if isinstance(element, Column):
        if element.closed:
            ring = shapely.Polygon(element.rail_a).symmetric_difference(shapely.Polygon(element.rail_b))
            return shapely.make_valid(ring)
        return shapely.make_valid(shapely.Polygon(np.vstack([element.rail_a, element.rail_b[::-1]])))
    return shapely.LineString(element.path)


def _is_line(element: Element) -> bool:
    return not isinstance(element, Area | Column)


def _overlap(one: BaseGeometry, other: BaseGeometry) -> bool:
    shared = shapely.intersection(one, other)
    return bool(
        shared.area > OVERLAP_MM2 or (shared.area == 0 and shared.length > OVERLAP_MM and _has_line(one, other))
    )


def _has_line(*shapes: BaseGeometry) -> bool:
    return any(shape.area == 0 for shape in shapes)
