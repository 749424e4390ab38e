"""The stitch that covers an applique's cut edge."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PARTS
from stitchcraft.design import Column, Element, Line, Satin, Triple
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.borders import border_rails
from stitchcraft.ranges import keep_ranged
from stitchcraft.units import Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """How a cut edge is covered. Lengths in (a number is mm), mm stored.

    Attributes:
        kind: ``"satin"`` hides the edge; ``"triple"`` holds it down and lets it show.
        width: Width of the satin.
    """

    kind: Literal["satin", "triple"] = "satin"
    width: Length = PARTS["cover_width"].value

    def __post_init__(self) -> None:
        if self.kind not in ("satin", "triple"):
            raise ParameterError("edge.kind", self.kind, '"satin" or "triple"')
        keep_ranged(self, "edge", "width")

    @property
    def half_mm(self) -> float:
        """How far the cover reaches to each side of the edge, mm."""
        return float(self.width) / 2 if self.kind == "satin" else 0.5

    def cover(self, path: FloatArray) -> tuple[Element, ...]:
        """Cover stitches along an edge, open or closed, centred on it."""
        if self.kind == "triple":
            return (Line(path, Triple()),)
        return (Column(*border_rails(path, width=float(self.width)), Satin()),)
