"""Whether two pieces can lie in one field at all: a proof that they cannot, or no proof.

Each piece is stood for by a convex part of it. At given angles two convex pieces with room to spare lie in
opposite corners: how far one may be shifted against the other is a rectangle, the shifts that bring them too near
are a convex set, and a rectangle that is not within a convex set has a corner outside it. So four distances
decide. In between, nothing moves faster than its radius lets it: whole stretches of angles are ruled out at once,
and halved where they are not.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.machine.packing.pieces import Piece

_FIRST_CELLS: Final = 60
_FINEST: Final = math.radians(0.02)
_SURE_MM: Final = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Core:
    """A piece as the proof sees it, about a centre of its own.

    Attributes:
        convex: Corners of a convex part of the piece, (k, 2) mm.
        hull: Corners of what must lie in the field, (m, 2) mm.
        radius: From the centre to the farthest of both, mm.
    """

    convex: FloatArray
    hull: FloatArray
    radius: float


def core_of(piece: Piece, *, inset: float = 0.0) -> Core:
    """Find a convex part of a piece: its hull where it is convex, else the hull shrunk until it lies within.

    Args:
        piece: The piece.
        inset: Draw that part in by so much, mm: two that are drawn in lie twice as much farther apart, which tells
            pieces that touch from pieces that overlap.
    """
    hull = shapely.convex_hull(piece.shape)
    centre = np.array([piece.shape.representative_point().x, piece.shape.representative_point().y])
    middle = np.array([hull.centroid.x, hull.centroid.y])
    if shapely.contains_xy(piece.shape, *middle):
        centre = middle
    corners = shapely.get_coordinates(shapely.simplify(hull, 0.0))[:-1] - centre
    inside = shapely.buffer(piece.shape, 1e-9)

    def within(scale: float) -> bool:
        return bool(shapely.covers(inside, shapely.Polygon(centre + scale * corners)))

    scale = 1.0
    if not within(1.0):
        low, high = 0.0, 1.0
        for _ in range(24):
            half = (low + high) / 2
            low, high = (half, high) if within(half) else (low, half)
        scale = low
    convex = scale * corners
    if inset > 0:
        drawn_in = shapely.buffer(shapely.Polygon(convex), -inset)
        convex = shapely.get_coordinates(drawn_in)[:-1] if not drawn_in.is_empty else convex[:1] * 0.0
    own_hull = piece.hull - centre
    radius = float(max(np.hypot(*convex.T).max(), np.hypot(*own_hull.T).max()))
    return Core(convex, own_hull, radius)


def never_together(
    one: Core,
    other: Core,
    relative: Sequence[float] | None,
    room: tuple[float, float],
    clearance: float,
    *,
    most_cells: int = 12_000,
) -> bool:
    """Prove that two pieces cannot lie in a field.

    Args:
        one: The first piece.
        other: The second.
        relative: The turns, degrees, that the second may have against the first; None for any.
        room: Width and height of the field, mm.
        clearance: Kept between the two, mm.
        most_cells: Give up after so many stretches of angles.

    Returns:
        True if it is proven; False if they can, or nothing was proven.
    """
    start = (np.arange(_FIRST_CELLS) + 0.5) * (math.pi / _FIRST_CELLS)
    half = math.pi / _FIRST_CELLS / 2
    if relative is None:
        # both are free: the second's angle runs round once, the first's half, for the field turned half is the same
        a, b = (mesh.ravel() for mesh in np.meshgrid(start[::3], np.concatenate([start, start + math.pi])[::3]))
        half, free = half * 3, True
    else:
        turns = np.unique(np.mod(np.radians(relative), 2 * math.pi))
        a, b, free = np.repeat(start, len(turns)), np.tile(turns, len(start)), False
        b = a + b
    # a centre moves by at most sqrt 2 radii, and what turns about it by one more
    speed = (1 + math.sqrt(2)) * (one.radius + other.radius)
    spent = 0
    while len(a):
        spent += len(a)
        if spent > most_cells or half < _FINEST:
            return False
        over = np.maximum(_excess(one.hull, a, room) - 2 * one.radius * half,
                          _excess(other.hull, b, room) - 2 * other.radius * half)  # fmt: skip
        a, b = a[over <= _SURE_MM], b[over <= _SURE_MM]
        far = _farthest(one, other, a, b, room)
        fits = np.maximum(_excess(one.hull, a, room), _excess(other.hull, b, room)) <= 0
        if (fits & (far >= clearance)).any():
            return False
        open_ = far + speed * half >= clearance - _SURE_MM
        a, b, half = a[open_], b[open_], half / 2
        signs = np.array([[-1, -1], [1, 1], [-1, 1], [1, -1]] if free else [[-1, -1], [1, 1]]) * half
        a, b = (a[:, None] + signs[:, 0]).ravel(), (b[:, None] + signs[:, 1]).ravel()
    return True


def _rotated(points: FloatArray, angles: FloatArray) -> FloatArray:
    """Points turned by each angle, (k, n, 2)."""
    cos, sin = np.cos(angles)[:, None], np.sin(angles)[:, None]
    return np.stack([points[:, 0] * cos - points[:, 1] * sin, points[:, 0] * sin + points[:, 1] * cos], axis=2)


def _excess(hull: FloatArray, angles: FloatArray, room: tuple[float, float]) -> FloatArray:
    """By how much what must lie in the field is too wide or too high, mm."""
    size = np.ptp(_rotated(hull, angles), axis=1)
    return np.maximum(size[:, 0] - room[0], size[:, 1] - room[1])


def _farthest(one: Core, other: Core, a: FloatArray, b: FloatArray, room: tuple[float, float]) -> FloatArray:
    """The largest distance that two pieces in opposite corners have, mm."""
    if not len(a):
        return np.empty(0)
    first, second = _rotated(one.hull, a), _rotated(other.hull, b)
    shapes = [_rotated(one.convex, a), _rotated(other.convex, b)]
    lows, highs = (first.min(axis=1), second.min(axis=1)), (first.max(axis=1), second.max(axis=1))
    low_ways = [-np.array(low) for low in lows]
    high_ways = [np.array(room) - high for high in highs]
    best = np.full(len(a), -np.inf)
    for right, up in ((False, False), (True, False), (False, True), (True, True)):
        mine = np.column_stack([(high_ways if right else low_ways)[0][:, 0], (high_ways if up else low_ways)[0][:, 1]])
        its = np.column_stack([(low_ways if right else high_ways)[1][:, 0], (low_ways if up else high_ways)[1][:, 1]])
        apart = shapely.distance(_shapes(shapes[0] + mine[:, None]), _shapes(shapes[1] + its[:, None]))
        best = np.maximum(best, apart)
    return best


def _shapes(corners: FloatArray) -> NDArray[np.object_]:
    """Polygons, or points where there is but one corner."""
    made = shapely.points(corners[:, 0]) if corners.shape[1] == 1 else shapely.polygons(corners)
    return np.asarray(made, dtype=np.object_)
