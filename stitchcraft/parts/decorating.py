"""The stops that decorate a part: one for each thread of its decoration."""

from __future__ import annotations

import shapely

from stitchcraft.decoration import Decoration
from stitchcraft.decoration.base import Layer
from stitchcraft.design import Purpose, Stop
from stitchcraft.parts.threads import Palette


def decorating_stops(
    decoration: Decoration, area: shapely.Polygon | shapely.MultiPolygon, palette: Palette, *, before: str
) -> tuple[Stop, ...]:
    """Decorate an area.

    Args:
        decoration: What fills it.
        area: What is filled, mm.
        palette: The threads; colours whose threads are the same share a stop.
        before: What the hands do before the first of the stops.

    Returns:
        A stop for each thread, in the order of the decoration's layers; an empty one if nothing is sewn, so that
        what the hands do is not lost.
    """
    layers = decoration.layers(area, alike=palette.drawn_thread) or (Layer(None, ()),)
    return tuple(
        Stop(Purpose.DECORATE, palette.drawn_thread(layer.colour), layer.elements, "" if number else before)
        for number, layer in enumerate(layers)
    )
