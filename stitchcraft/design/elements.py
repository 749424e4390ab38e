"""What a part is before it is stitched: colour stops of lines, columns and areas, each with a stitch style.

All positions are mm, x right, y up, as seen with the right side of the cloth up in the hoop. A style field
that is None takes its value from the fabric profile when the design is planned.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray, frozen_path
from stitchcraft.errors import ParameterError


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """One penetration after another along a line.

    Attributes:
        length: Stitch length, mm; shortened, never stretched, to fit the line.
        tolerance: How far a stitch may cut a curve, mm.
    """

    length: float | None = None
    tolerance: float = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Triple:
    """A line whose every stitch is sewn *passes* times: forward, back, forward.

    Attributes:
        length: Stitch length, mm.
        passes: An odd number, so that the line advances.
        tolerance: How far a stitch may cut a curve, mm.
    """

    length: float | None = None
    passes: int = 3
    tolerance: float = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubleRun:
    """A seam sewn from one end to the other and back through the same holes, locked at both ends.

    Every hole, those of the locks included, is used exactly twice.

    Attributes:
        length: Stitch length, mm.
        tolerance: How far a stitch may cut a curve, mm.
    """

    length: float | None = None
    tolerance: float = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Satin:
    """Close zigzag between two rails.

    Attributes:
        pitch: Needle point to needle point on the same side, mm: there and back, twice the step.
        split: Width past which a line is split by staggered penetrations, mm.
        compensation: Widening at each end of a line against the pull of the thread, constant part, mm.
        compensation_share: Further widening at each end, as a share of the line's length.
        underlay: Whether stitches go under it; which ones follows from the width.
    """

    pitch: float | None = None
    split: float | None = None
    compensation: float | None = None
    compensation_share: float | None = None
    underlay: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """Rows of stitches that cover an area.

    Attributes:
        row_spacing: Line to line, mm.
        length: Stitch length along a row, mm.
        angle: Direction of the rows, degrees counter-clockwise from x; None picks the one that falls into
            fewest sections.
        repeat: After how many rows the penetrations line up again.
        compensation: Widening at each end of a row against the pull of the thread, mm.
        underlay: Whether stitches go under it.
    """

    row_spacing: float | None = None
    length: float | None = None
    angle: float | None = None
    repeat: int = 4
    compensation: float | None = None
    underlay: bool = True


LineStitch: TypeAlias = Running | Triple | DoubleRun


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A path to sew, closed if its first point is also its last.

    Attributes:
        path: (n, 2) positions in mm.
        stitch: How it is sewn.
    """

    path: FloatArray
    stitch: LineStitch = Running()

    def __post_init__(self) -> None:
        object.__setattr__(self, "path", frozen_path(self.path))

    @property
    def closed(self) -> bool:
        """Whether the path ends where it starts."""
        return len(self.path) > 2 and bool(np.allclose(self.path[0], self.path[-1], atol=1e-6))


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """A satin column between two rails that run the same way.

    Attributes:
        rail_a: (n, 2) positions in mm along one side.
        rail_b: (m, 2) positions in mm along the other side.
        stitch: How it is sewn.
    """

    rail_a: FloatArray
    rail_b: FloatArray
    stitch: Satin = Satin()

    def __post_init__(self) -> None:
        object.__setattr__(self, "rail_a", frozen_path(self.rail_a, name="rail_a"))
        object.__setattr__(self, "rail_b", frozen_path(self.rail_b, name="rail_b"))

    @property
    def closed(self) -> bool:
        """Whether both rails end where they start."""
        return all(
            len(rail) > 2 and bool(np.allclose(rail[0], rail[-1], atol=1e-6)) for rail in (self.rail_a, self.rail_b)
        )


@dataclass(frozen=True, slots=True, eq=False)
class Area:
    """An area to fill.

    Attributes:
        polygon: Polygon or MultiPolygon in mm, holes allowed.
        stitch: How it is sewn: `Fill` rows, or `Satin` columns found by its medial axis.
        start: Where rows of a `Fill` begin, (x, y) mm: in that place, or at the nearest one well inside; each part of
            a MultiPolygon likewise. None leaves it to the order of sewing.
        end: Where they end: in the corner of a section that is nearest, as far as the way there stays hidden. None as
            above.
    """

    polygon: shapely.Polygon | shapely.MultiPolygon
    stitch: Fill | Satin = Fill()
    start: tuple[float, float] | None = None
    end: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        for name, point in (("start", self.start), ("end", self.end)):
            if point is None:
                continue
            if isinstance(self.stitch, Satin):
                raise ParameterError(name, point, "left out for satin: its columns begin where they end up best")
            x, y = frozen_path([point], name=name, at_least=1)[0].tolist()
            object.__setattr__(self, name, (x, y))


Element: TypeAlias = Line | Column | Area
