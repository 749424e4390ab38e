"""Rings: circles that interlock with their neighbours."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
import shapely

from stitchcraft.decoration.base import SHORTEST_MM, settle
from stitchcraft.decoration.lattice import Frame, node_rows
from stitchcraft.decoration.lines import LineDecoration
from stitchcraft.decoration.runs import Motif
from stitchcraft.defaults import DECORATION
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import circle
from stitchcraft.units import Length, length_between


@dataclass(frozen=True, slots=True, kw_only=True)
class Rings(LineDecoration):
    """Circles on a square lattice, each interlocking with its four neighbours.

    Attributes:
        pitch: Centre to centre; a length.
        diameter: Of a ring, from the pitch (rings that touch) to twice the pitch; a length. Taken from the
            pitch if None.
        angle: Direction of the rows, degrees.
        edge: ``"clip"`` cuts rings at the area's edge, ``"whole"`` keeps whole rings only.
        stitch: ``"running"`` or ``"triple"``.
        border: Whether the area's edge is sewn too.
        inset: How far the pattern stays inside the area's edges; a length.
    """

    kind: ClassVar[str] = "rings"

    pitch: Length = DECORATION["ring_pitch"].value
    diameter: Length | None = None

    def __post_init__(self) -> None:
        LineDecoration.__post_init__(self)
        pitch = length_between(self.pitch, name="pitch", low=4.0, high=200.0)
        if self.diameter is None:
            diameter = DECORATION["ring_share"].value * pitch
        else:
            diameter = length_between(self.diameter, name="diameter", low=4.0, high=400.0)
        if not pitch <= diameter <= 2 * pitch:
            raise ParameterError("diameter", self.diameter, f"from the pitch, {pitch:g} mm, to twice the pitch")
        settle(self, pitch=pitch, diameter=diameter)

    def _motifs(self, frame: Frame, area: list[shapely.Polygon]) -> list[Motif]:
        radius = float(self.diameter or 0.0) / 2
        rows = node_rows(frame.box(area, margin=radius), float(self.pitch), hexagonal=False)
        return [[circle(centre, radius)] for row in rows for centre in frame.out(np.asarray(row))]

    def _reach(self) -> float:
        return float(self.pitch)

    def _crumb(self) -> float:
        return max(SHORTEST_MM, 0.36 * float(self.pitch))
