"""The stops that decorate a part: one for each thread of its decoration."""

from __future__ import annotations

import shapely

from stitchcraft.decoration import Decoration
from stitchcraft.design import Element, Purpose, Stop, Thread
from stitchcraft.parts.threads import Palette


def decorating_stops(
    decoration: Decoration, area: shapely.Polygon | shapely.MultiPolygon, palette: Palette, *, before: str
) -> tuple[Stop, ...]:
    """Decorate an area.

    Args:
        decoration: What fills it.
        area: What is filled, mm.
        palette: The threads; layers whose threads are the same share a stop.
        before: What the hands do before the first of the stops.

    Returns:
        A stop for each thread, in the order of the decoration's layers; an empty one if nothing is sewn, so that
        what the hands do is not lost.
    """
    sewn: dict[Thread, list[Element]] = {}
    for layer in decoration.layers(area):
        sewn.setdefault(palette.drawn_thread(layer.colour), []).extend(layer.elements)
    if not sewn:
        sewn[palette.thread("accent")] = []
    return tuple(
        Stop(Purpose.DECORATE, thread, tuple(elements), "" if number else before)
        for number, (thread, elements) in enumerate(sewn.items())
    )
