"""Echo: parallels of the area's own outline, one inside the other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.base import (
    GRAZING_MM,
    LINE_STITCHES,
    Decoration,
    Drawing,
    Point,
    line_stitch,
    one_of,
    settle,
    whole_number,
)
from stitchcraft.defaults import DECORATION
from stitchcraft.design import Line
from stitchcraft.geometry.curves import grown, length_of, polygons_of
from stitchcraft.units import Length, length_between


@dataclass(frozen=True, slots=True, kw_only=True)
class Echo(Decoration):
    """Parallels of the area's outline and of its holes, until the area is full.

    The pattern follows the area, so a shift has no effect on it.

    Attributes:
        pitch: Parallel to parallel; a length.
        first: The area's edge to the first parallel; a length. The pitch if None; 0 sews the edge itself.
        lines: How many parallels at most; None for as many as there is room for.
        stitch: ``"running"`` or ``"triple"``.
        inset: How far the pattern stays inside the area's edges; a length.
    """

    kind: ClassVar[str] = "echo"

    pitch: Length = DECORATION["echo_pitch"].value
    first: Length | None = None
    lines: int | None = None
    stitch: str = "running"

    def __post_init__(self) -> None:
        Decoration.__post_init__(self)
        pitch = length_between(self.pitch, name="pitch", low=1.5, high=200.0)
        first = pitch if self.first is None else length_between(self.first, name="first", low=0.0, high=200.0)
        if self.lines is not None:
            whole_number(self.lines, name="lines", low=1, high=1000)
        settle(self, pitch=pitch, first=first, stitch=one_of(self.stitch, name="stitch", choices=LINE_STITCHES))

    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:  # noqa: ARG002
        whole = shapely.MultiPolygon(area)
        lines: list[Line] = []
        depth, count = float(self.first or 0.0), 0
        while self.lines is None or count < self.lines:
            inner = polygons_of(grown(whole, -depth) if depth > 0 else whole)
            if not inner:
                break
            rings = [np.asarray(ring.coords)[:, :2] for part in inner for ring in (part.exterior, *part.interiors)]
            lines.extend(Line(ring, line_stitch(self.stitch)) for ring in rings if _worth_sewing(ring))
            depth += float(self.pitch)
            count += 1
        return Drawing(tuple(lines), len(lines), sum(length_of(line.path) for line in lines))


def _worth_sewing(ring: FloatArray) -> bool:
    """Whether a ring is wide enough to be a ring: the innermost parallel may be a mere slit."""
    return not shapely.Polygon(ring).buffer(-GRAZING_MM).is_empty
