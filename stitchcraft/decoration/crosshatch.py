"""Crosshatch: two families of straight parallel lines."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
import shapely

from stitchcraft.decoration.base import LINE_STITCHES, Decoration, Drawing, Point, checked_angle, one_of, settle
from stitchcraft.decoration.lattice import Frame, steps
from stitchcraft.decoration.runs import sewn_lines
from stitchcraft.defaults import DECORATION
from stitchcraft.design import FloatArray
from stitchcraft.errors import ParameterError
from stitchcraft.units import Length, length_between


@dataclass(frozen=True, slots=True, kw_only=True)
class Crosshatch(Decoration):
    """Two families of straight parallel lines; diamonds when they lean, squares when they don't.

    Attributes:
        spacing: Line to line within a family, measured across the lines; a length.
        angle: Direction of the first family, degrees.
        between: Angle from the first family to the second, degrees; 20 to 160.
        stitch: ``"running"`` or ``"triple"``.
        inset: How far the pattern stays inside the area's edges; a length.
    """

    kind: ClassVar[str] = "crosshatch"

    spacing: Length = DECORATION["hatch_spacing"].value
    angle: float = 45.0
    between: float = 90.0
    stitch: str = "running"

    def __post_init__(self) -> None:
        Decoration.__post_init__(self)
        between = checked_angle(self.between, name="between")
        if not 20 <= between <= 160:
            raise ParameterError("between", self.between, "an angle from 20 to 160 degrees")
        settle(
            self,
            spacing=length_between(self.spacing, name="spacing", low=2.0, high=200.0),
            angle=checked_angle(self.angle),
            between=between,
            stitch=one_of(self.stitch, name="stitch", choices=LINE_STITCHES),
        )

    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:
        spacing = float(self.spacing)
        lines = [
            line
            for angle in (self.angle, self.angle + self.between)
            for line in parallel_lines(Frame(anchor, angle), area, spacing)
        ]
        return sewn_lines(lines, area, stitch=self.stitch, reach=2.0 * spacing)


def parallel_lines(frame: Frame, area: list[shapely.Polygon], spacing: float) -> list[FloatArray]:
    """Lines along the frame's x axis, one through its origin, long enough to cross the area."""
    left, bottom, right, top = frame.box(area, margin=1.0)
    return [frame.out(np.array([[left, y], [right, y]])) for y in steps(bottom, top, spacing)]
