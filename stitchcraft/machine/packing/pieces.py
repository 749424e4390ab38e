"""What is packed into sewing fields, and what comes of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.errors import ParameterError
from stitchcraft.machine.fields import Hoop
from stitchcraft.machine.placement import Placement
from stitchcraft.units import MACHINE_UNIT_MM

GRAIN_TURNS = (0.0, 180.0)
"""Turns to each other that keep the grain of the cloth along the pieces."""

QUARTER_TURNS = (0.0, 90.0, 180.0, 270.0)
"""Turns that lay straight grain along or across, and round mirror images to mirror images."""

ANY_TURN = tuple(float(angle) for angle in range(0, 360, 15))
"""Turns that are tried where nothing speaks against any."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A piece to be laid into a field beside others.

    Attributes:
        shape: What neighbours keep clear of: stitches and cut edges, mm, in the piece's own frame.
        reach: (n, 2) points that must lie within the field, mm; the corners of *shape* if None.
        turns: Degrees by which it may be turned against the others.
        hull: Corners of the convex hull of *reach*, (m, 2) mm.

    Raises:
        ParameterError: If the shape covers nothing, or there are no turns.
    """

    shape: shapely.Polygon | shapely.MultiPolygon
    reach: FloatArray | None = None
    turns: tuple[float, ...] = GRAIN_TURNS
    hull: FloatArray = field(init=False)

    def __post_init__(self) -> None:
        if not isinstance(self.shape, shapely.Polygon | shapely.MultiPolygon) or not self.shape.area > 0:
            raise ParameterError("shape", self.shape, "a polygon that covers something")
        if not self.turns or not all(math.isfinite(turn) for turn in self.turns):
            raise ParameterError("turns", self.turns, "angles in degrees, at least one")
        points = shapely.get_coordinates(self.shape) if self.reach is None else np.asarray(self.reach, dtype=float)
        if points.ndim != 2 or points.shape[1] != 2 or not len(points):
            raise ParameterError("reach", points, "points (x, y) in mm, at least one")
        hull = shapely.convex_hull(shapely.MultiPoint(points))
        object.__setattr__(self, "hull", shapely.get_coordinates(hull))

    def laid(self, placement: Placement) -> shapely.Geometry:
        """The shape where a placement puts it."""
        return shapely.transform(self.shape, lambda xy: turned(xy, placement.angle_deg, placement.offset_mm))


@dataclass(frozen=True, slots=True)
class Laid:
    """A piece in its place.

    Attributes:
        piece: Which one, by index.
        placement: Turn and shift in the field.
    """

    piece: int
    placement: Placement


@dataclass(frozen=True, slots=True)
class PackedField:
    """A field and what lies in it.

    Attributes:
        hoop: The field.
        laid: The pieces in it, by index.
        gap_mm: The smallest distance between two of them; None for a single one.
    """

    hoop: Hoop
    laid: tuple[Laid, ...]
    gap_mm: float | None


@dataclass(frozen=True, slots=True)
class Packing:
    """How pieces are dealt to fields.

    Attributes:
        fields: The fields in use.
        bound: No way of laying the pieces takes fewer fields than this, whatever the angle of the cloth.
        square_bound: The same for pieces laid square to the field only, where a solver has shown more; else as
            *bound*.
    """

    fields: tuple[PackedField, ...]
    bound: int
    square_bound: int

    @property
    def proven(self) -> bool:
        """Whether it is proven that fewer fields do not do."""
        return len(self.fields) == self.bound


def room_of(hoop: Hoop, margin: float) -> tuple[float, float]:
    """Width and height of what a field takes, mm: in whole 0.1 mm from its middle, as positions in a file are."""
    width, height = (
        2 * math.floor((side / 2 - margin) / MACHINE_UNIT_MM + 1e-6) * MACHINE_UNIT_MM
        for side in (hoop.width, hoop.height)
    )
    return (width, height)


def largest_fields(hoops: Sequence[Hoop]) -> tuple[Hoop, ...]:
    """Leave out the fields that lie within another one, upright or turned by a quarter."""

    def within(one: Hoop, other: Hoop) -> bool:
        small, large = sorted((one.width, one.height)), sorted((other.width, other.height))
        return small[0] <= large[0] and small[1] <= large[1]

    kept: list[Hoop] = []
    for hoop in sorted(hoops, key=lambda hoop: -hoop.area):
        if not any(within(hoop, other) for other in kept):
            kept.append(hoop)
    return tuple(kept)
