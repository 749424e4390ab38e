"""Where the arrow along the grain fits on a piece."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final, TypeAlias

import shapely

from stitchcraft.arrays import FloatArray

Arrow: TypeAlias = tuple[tuple[float, float], tuple[float, float]]

_SHARES_ACROSS: Final = (0.72, 0.28, 0.62, 0.38, 0.82, 0.18, 0.5)
_SHARES_UP: Final = (0.5, 0.6, 0.4, 0.72, 0.28, 0.85, 0.15)
_LABEL: Final = (11.0, 3.0)
_CLEAR_MM: Final = 2.0


def grain_arrow(shape: shapely.Polygon, lines: Iterable[FloatArray], taken: Sequence[shapely.Polygon]) -> Arrow | None:
    """Find a place for an upright arrow and its label, inside a piece and clear of what is drawn on it.

    Args:
        shape: The cut outline.
        lines: Lines on it, each (n, 2) mm; the arrow stays off them.
        taken: Areas that points and their labels take.

    Returns:
        The lower and the upper end of the arrow; None if the piece has no room for one.
    """
    left, bottom, right, top = shape.bounds
    inside = shapely.buffer(shape, -_CLEAR_MM)
    drawn = shapely.union_all([shapely.LineString(line) for line in lines] + list(taken))
    for half in (30.0, 20.0, 13.0, 8.0, 5.0):
        for up in _SHARES_UP:
            for across in _SHARES_ACROSS:
                x, y = left + across * (right - left), bottom + up * (top - bottom)
                need = shapely.union(
                    shapely.box(x - 1.2, y - half, x + 1.2, y + half),
                    shapely.box(x, y - _LABEL[1], x + _LABEL[0], y + _LABEL[1]),
                )
                if shapely.contains(inside, need) and shapely.distance(drawn, need) > _CLEAR_MM:
                    return ((x, y - half), (x, y + half))
    return None
