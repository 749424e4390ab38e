"""Where a box of text lies best in an area, and how large it may be there."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
import shapely.affinity

from stitchcraft.arrays import FloatArray

_ACROSS: Final = 9
_HEIGHTS: Final = 41
_HALVINGS: Final = 12


def best_place(room: shapely.MultiPolygon, shape: shapely.Polygon) -> tuple[FloatArray, float]:
    """Find where a shape lies inside an area, or mostly inside.

    Args:
        room: The area.
        shape: The shape about (0, 0).

    Returns:
        Where its (0, 0) goes, (2,): of the places where all of it lies inside the one nearest to the middle of the
        area's box, else the one where most of it does. And the share of the shape that lies inside.
    """
    places = _places(room)
    moved = np.array([shapely.affinity.translate(shape, *at) for at in places])
    # places are sorted by how far from the middle they lie
    inside = shapely.covers(room, moved)
    if inside.any():
        return places[int(np.argmax(inside))], 1.0
    shares = np.round(shapely.area(shapely.intersection(moved, room)) / shape.area, 9)
    best = int(np.argmax(shares))
    return places[best], float(shares[best])


def has_place(room: shapely.MultiPolygon, shape: shapely.Polygon) -> bool:
    """Whether all of a shape about (0, 0) lies inside an area somewhere.

    Args:
        room: The area.
        shape: The shape.
    """
    moved = np.array([shapely.affinity.translate(shape, *at) for at in _places(room)])
    return bool(shapely.covers(room, moved).any())


def largest_scale(room: shapely.MultiPolygon, shape: shapely.Polygon, *, most: float) -> float:
    """How many times larger a shape about (0, 0) may be and still lie inside an area; 0 if no size does.

    Args:
        room: The area.
        shape: The shape.
        most: Look no further than this.
    """
    low, high = 0.0, most
    for _ in range(_HALVINGS):
        scale = (low + high) / 2
        if has_place(room, shapely.affinity.scale(shape, scale, scale, origin=(0.0, 0.0))):
            low = scale
        else:
            high = scale
    return low


def _places(room: shapely.MultiPolygon) -> FloatArray:
    left, bottom, right, top = room.bounds
    middle = np.array([(left + right) / 2, (bottom + top) / 2])
    x, y = np.meshgrid(np.linspace(left, right, _ACROSS + 2)[1:-1], np.linspace(bottom, top, _HEIGHTS + 2)[1:-1])
    places = np.column_stack([x.ravel(), y.ravel()])
    # a text off the middle line looks like a mistake, one above or below the middle does not
    away = np.round(np.abs(places - middle) @ np.array([10.0, 1.0]), 6)
    return np.asarray(places[np.lexsort((places[:, 1], away))])
