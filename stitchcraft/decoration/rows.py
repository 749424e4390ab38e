"""Rows of one profile: scallops, waves and chevrons."""

from __future__ import annotations

import math
from abc import abstractmethod
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.base import SHORTEST_MM, Drawing, Point, settle, yes_or_no
from stitchcraft.decoration.lattice import Frame, numbers, steps
from stitchcraft.decoration.lines import LineDecoration
from stitchcraft.decoration.runs import Motif
from stitchcraft.defaults import DECORATION
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import FLATNESS_MM, arc, joined, length_of
from stitchcraft.units import Length, length_between


@dataclass(frozen=True, slots=True, kw_only=True)
class RowDecoration(LineDecoration):
    """Rows of repeats that stand side by side; above and below the origin two repeats meet.

    Attributes:
        pitch: Width of one repeat, along the row; a length.
        depth: Of one repeat, across the row; a length. The kind's own share of the pitch if None.
        spacing: Row to row; a length. The kind's own share of the pitch if None, but never under 2 mm.
        joined: Whether whole rows hang together by a straight line from each to the next: it shows, but saves a cut
            after every row. Rows that the edge cuts are joined along it anyway.
    """

    depth_share: ClassVar[float] = 0.0
    spacing_share: ClassVar[float] = 0.0

    pitch: Length = 0.0
    depth: Length | None = None
    spacing: Length | None = None
    joined: bool = False

    def __post_init__(self) -> None:
        LineDecoration.__post_init__(self)
        pitch = length_between(self.pitch, name="pitch", low=3.0, high=400.0)
        depth = self.depth_share * pitch if self.depth is None else self.depth
        spacing = max(2.0, self.spacing_share * pitch) if self.spacing is None else self.spacing
        settle(
            self,
            pitch=pitch,
            depth=length_between(depth, name="depth", low=0.5, high=200.0),
            spacing=length_between(spacing, name="spacing", low=2.0, high=200.0),
            joined=yes_or_no(self.joined, name="joined"),
        )

    @property
    def sizes(self) -> tuple[float, float, float]:
        """Pitch, depth and spacing, mm."""
        return float(self.pitch), float(self.depth or 0.0), float(self.spacing or 0.0)

    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:
        drawing = self._in_runs(area, anchor)
        return replace(drawing, motifs=math.ceil(drawing.line_mm / length_of(self._repeat(0))))

    def _motifs(self, frame: Frame, area: list[shapely.Polygon]) -> list[Motif]:
        width, depth, spacing = self.sizes
        left, bottom, right, top = frame.box(area, margin=width + depth)
        rows: list[Motif] = []
        for row in numbers(bottom, top, spacing):
            starts = steps(left, right, width, offset=width / 2 if self._shifts(row) else 0.0)
            repeat = self._repeat(row)
            repeats = [repeat + np.array([start, row * spacing]) for start in starts]
            if repeats and self._whole():
                rows += [[frame.out(one)] for one in repeats]
            elif repeats:
                rows.append([frame.out(joined(*repeats))])
        return rows

    def _reach(self) -> float:
        width, _, spacing = self.sizes
        return max(1.5 * spacing, 0.55 * width)

    def _hop(self) -> float:
        width, _, spacing = self.sizes
        # a row may be shorter than the next by a repeat
        return 1.01 * math.hypot(spacing, width) if self.joined and self._whole() else 0.0

    def _crumb(self) -> float:
        return SHORTEST_MM if self._whole() else max(SHORTEST_MM, self.sizes[2])

    @abstractmethod
    def _repeat(self, row: int) -> FloatArray:
        """One repeat of a row, from where the one before it ends; its mirror image is itself."""

    def _shifts(self, row: int) -> bool:  # noqa: ARG002
        """Whether a row is shifted by half a repeat."""
        return False


@dataclass(frozen=True, slots=True, kw_only=True)
class Scallops(RowDecoration):
    """Rows of arcs side by side, every other row shifted by half an arc.

    Attributes:
        pitch: Width of an arc, cusp to cusp; a length.
        depth: Of an arc, at most half its width (a half circle); a length.
        spacing: Row to row; a length.
        staggered: Whether every other row is shifted by half an arc.
        angle: Direction of the rows, degrees.
        edge: ``"clip"`` cuts the rows at the area's edge, ``"whole"`` keeps whole repeats only.
        joined: Whether whole rows hang together by a straight line from each to the next.
        stitch: ``"running"`` or ``"triple"``.
        border: Whether the area's edge is sewn too.
        inset: How far the pattern stays inside the area's edges; a length.
    """

    kind: ClassVar[str] = "scallops"

    depth_share: ClassVar[float] = DECORATION["scallop_depth"].value
    spacing_share: ClassVar[float] = DECORATION["scallop_spacing"].value

    pitch: Length = DECORATION["scallop_pitch"].value
    staggered: bool = True

    def __post_init__(self) -> None:
        RowDecoration.__post_init__(self)
        settle(self, staggered=yes_or_no(self.staggered, name="staggered"))
        width, depth, _ = self.sizes
        if depth > width / 2:
            raise ParameterError("depth", self.depth, f"at most half the pitch, {width / 2:g} mm")

    def _repeat(self, row: int) -> FloatArray:  # noqa: ARG002
        width, depth, _ = self.sizes
        radius = (width**2 / 4 + depth**2) / (2 * depth)
        half = math.degrees(math.asin(min(1.0, width / (2 * radius))))
        bow = arc((width / 2, depth - radius), radius, 90 + half, 90 - half)
        bow[0], bow[-1] = (0.0, 0.0), (width, 0.0)
        return bow

    def _shifts(self, row: int) -> bool:
        return self.staggered and row % 2 == 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Waves(RowDecoration):
    """Rows of sine waves, all alike, or every other one opposed so that they make a net of ogees.

    The origin is below a crest, so that a seam through it mirrors the wave without a kink.

    Attributes:
        pitch: Length of a wave; a length.
        depth: Trough to crest; a length.
        spacing: Row to row; a length. Opposed rows touch when it equals the depth.
        opposed: Whether every other row is turned upside down.
        angle: Direction of the rows, degrees.
        edge: ``"clip"`` cuts the rows at the area's edge, ``"whole"`` keeps whole repeats only.
        joined: Whether whole rows hang together by a straight line from each to the next.
        stitch: ``"running"`` or ``"triple"``.
        border: Whether the area's edge is sewn too.
        inset: How far the pattern stays inside the area's edges; a length.
    """

    kind: ClassVar[str] = "waves"

    depth_share: ClassVar[float] = DECORATION["wave_depth"].value
    spacing_share: ClassVar[float] = DECORATION["wave_spacing"].value

    pitch: Length = DECORATION["wave_pitch"].value
    opposed: bool = False

    def __post_init__(self) -> None:
        RowDecoration.__post_init__(self)
        settle(self, opposed=yes_or_no(self.opposed, name="opposed"))
        width, depth, _ = self.sizes
        if depth > width:
            raise ParameterError("depth", self.depth, f"at most the pitch, {width:g} mm")

    def _repeat(self, row: int) -> FloatArray:
        width, depth, _ = self.sizes
        amplitude = depth / 2
        # a chord of dx strays dx^2 / 8 times the curvature, which is at most amplitude (2 pi / width)^2
        dx = math.sqrt(8 * FLATNESS_MM / (amplitude * (2 * math.pi / width) ** 2))
        x = np.linspace(0.0, width, max(9, math.ceil(width / dx) + 1))
        up = -1.0 if self.opposed and row % 2 else 1.0
        return np.column_stack([x, up * amplitude * np.cos(2 * math.pi * x / width)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Chevrons(RowDecoration):
    """Rows of zigzags, one above the other.

    Attributes:
        pitch: Width of a zigzag, foot to foot; a length.
        depth: Foot to peak; a length.
        spacing: Row to row; a length.
        angle: Direction of the rows, degrees.
        edge: ``"clip"`` cuts the rows at the area's edge, ``"whole"`` keeps whole repeats only.
        joined: Whether whole rows hang together by a straight line from each to the next.
        stitch: ``"running"`` or ``"triple"``.
        border: Whether the area's edge is sewn too.
        inset: How far the pattern stays inside the area's edges; a length.
    """

    kind: ClassVar[str] = "chevrons"

    depth_share: ClassVar[float] = DECORATION["chevron_depth"].value
    spacing_share: ClassVar[float] = DECORATION["chevron_spacing"].value

    pitch: Length = DECORATION["chevron_pitch"].value

    def _repeat(self, row: int) -> FloatArray:  # noqa: ARG002
        width, depth, _ = self.sizes
        return np.array([[0.0, 0.0], [width / 2, depth], [width, 0.0]])
