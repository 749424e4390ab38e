"""Clamshell: overlapping scales, each row half hidden behind the next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.base import SHORTEST_MM, settle
from stitchcraft.decoration.lattice import Frame, numbers, steps
from stitchcraft.decoration.lines import LineDecoration
from stitchcraft.decoration.runs import Motif
from stitchcraft.defaults import DECORATION
from stitchcraft.geometry.curves import arc
from stitchcraft.units import Length, length_between


@dataclass(frozen=True, slots=True, kw_only=True)
class Clamshell(LineDecoration):
    """Scales of half circles: rows follow each other by a radius and are shifted by a radius.

    A scale of radius r has the area 2 r^2 and the outline 2 pi r, half of it shared with the row below. The
    origin is the middle of a scale's half circle.

    Attributes:
        pitch: Width of a scale, twice its radius; a length.
        angle: Direction of the rows, degrees; the scales point a quarter turn further.
        edge: ``"clip"`` cuts scales at the area's edge, ``"whole"`` keeps whole scales only.
        stitch: ``"running"`` or ``"triple"``.
        border: Whether the area's edge is sewn too.
        inset: How far the pattern stays inside the area's edges; a length.
    """

    kind: ClassVar[str] = "clamshell"

    pitch: Length = DECORATION["clamshell_pitch"].value

    def __post_init__(self) -> None:
        LineDecoration.__post_init__(self)
        settle(self, pitch=length_between(self.pitch, name="pitch", low=4.0, high=200.0))

    def _motifs(self, frame: Frame, area: list[shapely.Polygon]) -> list[Motif]:
        radius = float(self.pitch) / 2
        left, bottom, right, top = frame.box(area, margin=2 * radius)
        scales: list[Motif] = []
        for row in numbers(bottom, top, radius):
            middles = steps(left, right, 2 * radius, offset=radius * (row % 2))
            scales.extend(self._scale(frame, np.array([x, row * radius]), radius) for x in middles)
        return scales

    def _scale(self, frame: Frame, middle: FloatArray, radius: float) -> Motif:
        """The half circle of a scale; of a whole scale also the quarters that the row below draws.

        Whole scales are drawn in quarters, so that what two of them share is the same line.
        """
        if not self._whole():
            return [frame.out(arc(middle, radius, 180.0, 0.0))]
        right, left = middle + np.array([radius, -radius]), middle + np.array([-radius, -radius])
        quarters = [(middle, 180.0, 90.0), (middle, 90.0, 0.0), (right, 180.0, 90.0), (left, 90.0, 0.0)]
        return [frame.out(arc(centre, radius, start, end)) for centre, start, end in quarters]

    def _reach(self) -> float:
        return float(self.pitch)

    def _crumb(self) -> float:
        return max(SHORTEST_MM, 0.3 * float(self.pitch))
