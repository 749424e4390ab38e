"""Rings: circles that interlock with their neighbours."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Final

import numpy as np
import shapely

from stitchcraft.decoration.base import LINE_STITCHES, Decoration, Drawing, Point, checked_angle, one_of, settle
from stitchcraft.decoration.lattice import Frame, node_rows
from stitchcraft.decoration.runs import sewn_lines
from stitchcraft.defaults import DECORATION
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import circle
from stitchcraft.units import Length, length_between

EDGES: Final = ("clip", "whole")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rings(Decoration):
    """Circles on a square lattice, each interlocking with its four neighbours.

    Attributes:
        pitch: Centre to centre; a length.
        diameter: Of a ring, from the pitch (rings that touch) to twice the pitch; a length. Taken from the
            pitch if None.
        angle: Direction of the rows, degrees.
        edge: ``"clip"`` cuts rings at the area's edge, ``"whole"`` keeps whole rings only.
        stitch: ``"running"`` or ``"triple"``.
        inset: How far the pattern stays inside the area's edges; a length.
    """

    kind: ClassVar[str] = "rings"

    pitch: Length = DECORATION["ring_pitch"].value
    diameter: Length | None = None
    angle: float = 0.0
    edge: str = "clip"
    stitch: str = "running"

    def __post_init__(self) -> None:
        Decoration.__post_init__(self)
        pitch = length_between(self.pitch, name="pitch", low=4.0, high=200.0)
        if self.diameter is None:
            diameter = DECORATION["ring_share"].value * pitch
        else:
            diameter = length_between(self.diameter, name="diameter", low=4.0, high=400.0)
        if not pitch <= diameter <= 2 * pitch:
            raise ParameterError("diameter", self.diameter, f"from the pitch, {pitch:g} mm, to twice the pitch")
        settle(
            self,
            pitch=pitch,
            diameter=diameter,
            angle=checked_angle(self.angle),
            edge=one_of(self.edge, name="edge", choices=EDGES),
            stitch=one_of(self.stitch, name="stitch", choices=LINE_STITCHES),
        )

    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:
        pitch, radius = float(self.pitch), float(self.diameter or 0.0) / 2
        frame = Frame(anchor, self.angle)
        rows = node_rows(frame.box(area, margin=radius), pitch, hexagonal=False)
        centres = frame.out(np.vstack(rows)) if rows else np.empty((0, 2))
        return sewn_lines(
            [circle(centre, radius) for centre in centres],
            area,
            stitch=self.stitch,
            reach=1.5 * pitch,
            whole=self.edge == "whole",
            crossing=True,
        )
