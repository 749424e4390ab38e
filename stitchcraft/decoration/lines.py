"""What the decorations made of lines have in common."""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import dataclass

import shapely

from stitchcraft.decoration.base import (
    CUT_OR_WHOLE,
    LINE_STITCHES,
    SHORTEST_MM,
    Decoration,
    Drawing,
    Point,
    checked_angle,
    one_of,
    settle,
    yes_or_no,
)
from stitchcraft.decoration.lattice import Frame
from stitchcraft.decoration.runs import Motif, sewn_lines


@dataclass(frozen=True, slots=True, kw_only=True)
class LineDecoration(Decoration):
    """A pattern of lines, cut at the area's edge and joined along it into few runs.

    Attributes:
        angle: Direction of the pattern's rows, degrees.
        edge: ``"clip"`` cuts the pattern at the area's edge, ``"whole"`` keeps whole motifs only.
        stitch: ``"running"`` or ``"triple"``.
        border: Whether the area's edge is sewn too, as a frame that the lines end on.
    """

    angle: float = 0.0
    edge: str = "clip"
    stitch: str = "running"
    border: bool = True

    def __post_init__(self) -> None:
        Decoration.__post_init__(self)
        settle(
            self,
            angle=checked_angle(self.angle),
            edge=one_of(self.edge, name="edge", choices=CUT_OR_WHOLE),
            stitch=one_of(self.stitch, name="stitch", choices=LINE_STITCHES),
            border=yes_or_no(self.border, name="border"),
        )

    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:
        return self._in_runs(area, anchor)

    def _in_runs(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:
        frame = Frame(anchor, self.angle)
        motifs = self._motifs(frame, area)
        return sewn_lines(
            motifs,
            area,
            stitch=self.stitch,
            reach=self._reach(),
            crumb=self._crumb(),
            whole=self._whole(),
            border=self.border,
            hop=self._hop(),
        )

    @abstractmethod
    def _motifs(self, frame: Frame, area: list[shapely.Polygon]) -> list[Motif]:
        """The pattern's motifs that may touch the area, in an order in which neighbours follow each other."""

    @abstractmethod
    def _reach(self) -> float:
        """Longest way along the edge from the end of one line to the next, mm."""

    def _crumb(self) -> float:
        """A run shorter than this is not worth its two thread ends, mm."""
        return SHORTEST_MM

    def _hop(self) -> float:
        """Longest straight way from line to line that is sewn to save a cut, mm; 0 for none."""
        return 0.0

    def _whole(self) -> bool:
        """Whether motifs that the edge would cut are left out."""
        return self.edge == "whole"
