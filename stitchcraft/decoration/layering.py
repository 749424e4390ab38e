"""The order in which a drawing's threads are sewn: a line that is drawn over an area comes after it.

Areas never lie on one another, since what is drawn later is cut out of what lies beneath; lines do lie on areas.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from stitchcraft.decoration.base import Layer
from stitchcraft.design import Area, Column, Element, Line

_LIES_ON_MM: Final = 0.5
"""A line lies on an area if more of its length than this does: one that ends on its edge does not."""

_MIDDLE: Final = np.linspace(0.0, 1.0, 65)


@dataclass(frozen=True, slots=True)
class _Group:
    """What is sewn in one go: elements by number, and the colour that it is first drawn in."""

    colour: str
    numbers: tuple[int, ...]


def layered(
    elements: Sequence[Element],
    colours: Sequence[str],
    lines: Sequence[bool],
    *,
    alike: Callable[[str], Hashable],
    first: Sequence[str],
) -> tuple[Layer, ...]:
    """Sort elements into as few layers as can be, one for each thread unless its lines must wait for another's areas.

    Args:
        elements: What is sewn.
        colours: Of each.
        lines: Of each, whether it is drawn as a line.
        alike: Says for a colour what it is sewn in: those with the same answer make one layer.
        first: All colours, in the order in which the drawing first uses them.
    """
    groups: dict[Hashable, list[int]] = {alike(colour): [] for colour in first}
    names = {alike(colour): colour for colour in reversed(first)}
    for number, colour in enumerate(colours):
        groups[alike(colour)].append(number)
    waiting = [_Group(names[key], tuple(numbers)) for key, numbers in groups.items() if numbers]
    sorted_groups: list[_Group] = []
    under = _Under(elements, lines)
    while waiting:
        free = next(
            (one for one in waiting if not any(under(one, other) for other in waiting if other is not one)), None
        )
        if free is None:
            # each waits for another: all areas go first, the lines after them
            waiting = [
                _Group(group.colour, part)
                for of_lines in (False, True)
                for group in waiting
                if (part := tuple(number for number in group.numbers if lines[number] == of_lines))
            ]
            continue
        waiting.remove(free)
        sorted_groups.append(free)
    return tuple(Layer(group.colour, tuple(elements[number] for number in group.numbers)) for group in sorted_groups)


class _Under:
    """Says whether lines of one group lie on areas of another, so that the other goes first."""

    def __init__(self, elements: Sequence[Element], lines: Sequence[bool]) -> None:
        self._shapes = [_shape(element) for element in elements]
        self._lines = lines
        self._pairs: set[tuple[int, int]] = set()
        areas = [number for number, is_line in enumerate(lines) if not is_line and isinstance(elements[number], Area)]
        tree = shapely.STRtree([self._shapes[number] for number in areas])
        for number, is_line in enumerate(lines):
            if is_line:
                for found in tree.query(self._shapes[number]).tolist():
                    on = shapely.intersection(self._shapes[number], self._shapes[areas[found]])
                    if on.length > _LIES_ON_MM:
                        self._pairs.add((number, areas[found]))

    def __call__(self, one: _Group, other: _Group) -> bool:
        return any(pair in self._pairs for pair in product(one.numbers, other.numbers))


def _shape(element: Element) -> BaseGeometry:
    if isinstance(element, Line):
        return shapely.LineString(element.path)
    if isinstance(element, Column):
        # its middle: where that was cut, an area covers it, and the sides may yet reach over the area's edge
        rails = (shapely.LineString(rail) for rail in (element.rail_a, element.rail_b))
        one, other = (shapely.line_interpolate_point(rail, _MIDDLE, normalized=True) for rail in rails)
        return shapely.LineString((shapely.get_coordinates(one) + shapely.get_coordinates(other)) / 2)
    return element.polygon
