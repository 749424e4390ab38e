"""Crosshatch: two families of straight parallel lines."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.base import checked_angle, settle
from stitchcraft.decoration.lattice import Frame, numbers, steps
from stitchcraft.decoration.lines import LineDecoration
from stitchcraft.decoration.runs import Motif
from stitchcraft.defaults import DECORATION
from stitchcraft.errors import ParameterError
from stitchcraft.units import Length, length_between


@dataclass(frozen=True, slots=True, kw_only=True)
class Crosshatch(LineDecoration):
    """Two families of straight parallel lines; diamonds when they lean, squares when they don't.

    Attributes:
        pitch: Line to line within a family, measured across the lines; a length.
        angle: Direction of the first family, degrees.
        between: Angle from the first family to the second, degrees; 20 to 160.
        edge: ``"clip"`` cuts the lines at the area's edge, ``"whole"`` keeps whole diamonds only.
        stitch: ``"running"`` or ``"triple"``.
        border: Whether the area's edge is sewn too.
        inset: How far the pattern stays inside the area's edges; a length.

    Example:
        >>> count = Crosshatch(pitch=10, angle=0).describe(shapely.box(5, 5, 105, 105))
        >>> count.motifs, round(count.line_mm)
        (20, 2000)
    """

    kind: ClassVar[str] = "crosshatch"

    pitch: Length = DECORATION["hatch_pitch"].value
    angle: float = 45.0
    between: float = 90.0

    def __post_init__(self) -> None:
        LineDecoration.__post_init__(self)
        between = checked_angle(self.between, name="between")
        if not 20 <= between <= 160:
            raise ParameterError("between", self.between, "an angle from 20 to 160 degrees")
        settle(self, pitch=length_between(self.pitch, name="pitch", low=2.0, high=200.0), between=between)

    def _motifs(self, frame: Frame, area: list[shapely.Polygon]) -> list[Motif]:
        second = Frame(frame.anchor, frame.angle + self.between)
        if self._whole():
            return self._diamonds(frame, second, area)
        return [line for family in (frame, second) for line in parallel_lines(family, area, float(self.pitch))]

    def _diamonds(self, first: Frame, second: Frame, area: list[shapely.Polygon]) -> list[Motif]:
        """The cells of the hatch that may lie inside, each of four lines, which its neighbours share."""
        pitch = float(self.pitch)
        rows, columns = (numbers(box[1], box[3], pitch) for box in (f.box(area, margin=pitch) for f in (first, second)))
        # the corner (i, j) lies i pitches across the first family and j across the second
        across = np.array([first.out(np.array([[0.0, 1.0]]))[0], second.out(np.array([[0.0, 1.0]]))[0]])
        inverse = np.linalg.inv(across - first.anchor) * pitch

        def corner(i: int, j: int) -> FloatArray:
            return first.anchor + inverse @ np.array([i, j])

        cells = [
            (corner(i, j), corner(i, j + 1), corner(i + 1, j + 1), corner(i + 1, j)) for i in rows for j in columns
        ]
        return [[np.array(side) for side in pairwise((*cell, cell[0]))] for cell in cells]

    def _reach(self) -> float:
        return 1.5 * float(self.pitch)


def parallel_lines(frame: Frame, area: list[shapely.Polygon], spacing: float) -> list[Motif]:
    """Lines along the frame's x axis, one through its origin, long enough to cross the area."""
    left, bottom, right, top = frame.box(area, margin=1.0)
    return [[frame.out(np.array([[left, y], [right, y]]))] for y in steps(bottom, top, spacing)]
