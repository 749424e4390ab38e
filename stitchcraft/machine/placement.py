"""Where a part lies in the sewing field."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.errors import ParameterError
from stitchcraft.units import LARGEST_MM, MACHINE_UNIT_MM


@dataclass(frozen=True, slots=True)
class Placement:
    """A turn and then a shift: a point p of the part lies at R(angle) p + offset, with (0, 0) the field's centre.

    Attributes:
        angle_deg: Counter-clockwise, degrees.
        offset_mm: (x, y), mm.

    Raises:
        ParameterError: If a number is not finite or an offset is past 5 m.
    """

    angle_deg: float = 0.0
    offset_mm: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        if not math.isfinite(self.angle_deg):
            raise ParameterError("angle_deg", self.angle_deg, "a finite number of degrees")
        offset = tuple(float(value) for value in self.offset_mm)
        if len(offset) != 2 or not all(abs(value) <= LARGEST_MM for value in offset):
            raise ParameterError("offset_mm", self.offset_mm, f"two numbers within {LARGEST_MM:g} mm")
        object.__setattr__(self, "angle_deg", float(self.angle_deg))
        object.__setattr__(self, "offset_mm", offset)

    def placed(self, xy: ArrayLike) -> FloatArray:
        """Carry positions of the part, (n, 2) mm, into the field, (n, 2) mm; quarter turns are exact."""
        return turned(xy, self.angle_deg, self.offset_mm)

    def taken_back(self, xy: ArrayLike) -> FloatArray:
        """Carry positions in the field, (n, 2) mm, back into the part's own frame."""
        return turned(np.asarray(xy, dtype=np.float64) - np.asarray(self.offset_mm), -self.angle_deg)

    def mirrored(self) -> Placement:
        """The placement of the mirror image, which rounds it to the mirrored units."""
        x, y = self.offset_mm
        return Placement(0.0 - self.angle_deg, (0.0 - x, y))


def centred(points: ArrayLike) -> Placement:
    """Put the middle of the points' bounding box on the field's centre, to the nearest whole unit, without turning.

    Args:
        points: (n, 2) positions, mm.

    Raises:
        ParameterError: If there are none.
    """
    xy = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    if not len(xy):
        raise ParameterError("points", "nothing", "at least one point")
    middle = (xy.min(axis=0) + xy.max(axis=0)) / 2
    x, y = (-round(float(value) / MACHINE_UNIT_MM) / 10 + 0.0 for value in middle)
    return Placement(0.0, (x, y))
