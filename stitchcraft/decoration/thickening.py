"""Strokes that are too thin for satin are drawn as wide as satin needs."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import polygons_of
from stitchcraft.geometry.spines import strokes_of

_THIN_SHARE: Final = 0.01
_SHORTEST_MM: Final = 0.3


def thickened(polygon: shapely.Polygon, least: float) -> shapely.Polygon:
    """Widen the thin strokes of a letter about their middles; the others stay as they are.

    Args:
        polygon: A letter, mm.
        least: Width that every stroke gets at least, mm.

    Returns:
        The letter, in one piece.
    """
    opened = polygon.buffer(-least / 2).buffer(1.02 * least / 2)
    if shapely.difference(polygon, opened).area < _THIN_SHARE * polygon.area:
        return polygon
    thin = [
        shapely.LineString(path)
        for stroke in strokes_of(polygon)
        for path in _stretches(stroke.path, 2 * stroke.radius < least)
    ]
    widened = shapely.union_all(
        [polygon, *(line.buffer(least / 2, cap_style="flat") for line in thin if line.length > _SHORTEST_MM)]
    )
    return max(polygons_of(widened), key=lambda part: part.area, default=polygon)


def _stretches(path: FloatArray, wanted: NDArray[np.bool_]) -> list[FloatArray]:
    """The stretches of a path whose points are wanted, two points at least each."""
    marks = np.flatnonzero(np.diff(np.concatenate([[False], wanted, [False]]).astype(int)))
    return [path[start:stop] for start, stop in zip(marks[::2], marks[1::2], strict=True) if stop - start > 1]
