"""The shape of a tab: sides, waist and tip, its corners rounded so that they turn."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray, frozen_path
from stitchcraft.defaults import BAG
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import grown, joined, polygons_of
from stitchcraft.parts.tips import TIPS, TipMaker
from stitchcraft.units import mm_text

_OWN_CORNER_MM: Final = 1.5
_INNER_MM: Final = BAG["allowance"].value + 0.15
"""An inner corner rounded by so much can be turned with the usual allowance; rounder need it not be."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Silhouette:
    """A tab's shape; all lengths mm. The attributes are those of `ClosureTab`, each with its value.

    Attributes:
        width: Finished width at the root.
        length: Root line to tip.
        insertion: What it carries beyond the root line.
        waist: Width half way down its sides.
        tip: Name of a tip, a line, or a function that makes one.
        tip_depth: Shoulders to tip; None takes what suits the kind.
        tip_radius: Rounding of all the tip's corners; None takes what suits the kind.
        slant: Degrees by which the tip leans.
    """

    width: float
    length: float
    insertion: float
    waist: float
    tip: str | FloatArray | TipMaker
    tip_depth: float | None = None
    tip_radius: float | None = None
    slant: float = 0.0

    @property
    def outline(self) -> FloatArray:
        """From the left end of the mouth round the tip to the right end, (n, 2) mm; the mouth stays open.

        Raises:
            ParameterError: If the tip does not fit.
        """
        top = self.insertion
        body = self.body
        boundary = np.asarray(shapely.orient_polygons(body).exterior.coords)[:-1]
        above = boundary[:, 1] > top + 1e-9
        first_below = next(i for i in range(len(boundary)) if above[i - 1] and not above[i] and boundary[i, 0] < 0)
        path = np.roll(boundary, -first_below, axis=0)
        path = path[: int(np.argmax(path[:, 1] > top + 1e-9))]
        half = self.width / 2
        return joined([[-half, top]], path[path[:, 1] < top - 1e-9], [[half, top]])

    @property
    def body(self) -> shapely.Polygon:
        """The shape, carried well past the mouth so that rounding the tip's corners leaves the mouth be.

        Raises:
            ParameterError: If the tip does not fit.
        """
        tip, inner, outer = self._tip_line()
        high = self.insertion + 3 * max(inner, outer) + 10.0
        lowest = 0.0
        for _ in range(20):  # rounding a corner lifts it: let the shoulders down by what is missing
            shoulders = -self.length - tip[:, 1].min() - lowest
            body = self._rounded(tip + np.array([0.0, shoulders]), inner, outer, high)
            missing = float(body.bounds[1]) + self.length
            if abs(missing) < 1e-6:
                break
            lowest += missing
        return body

    def _tip_line(self) -> tuple[FloatArray, float, float]:
        """The tip's line in mm, and by how much its inner and its outer corners are rounded."""
        inner, outer = 0.0, _OWN_CORNER_MM
        if isinstance(self.tip, str):
            kind = TIPS[self.tip]
            line = kind.make(self.width, self._depth(kind.depth_share))
            inner, outer = min(kind.inner_share * self.width, _INNER_MM), kind.corner_mm
        elif callable(self.tip):
            made = self.tip(self.width, self._depth(0.5))
            line = self._own_tip(frozen_path(made, name="tab.tip", at_least=3))
        else:
            line = self._own_tip(self.tip)
            if self.tip_depth is not None:
                line = line * [1.0, self.tip_depth / max(1e-9, -line[:, 1].min())]
        if self.tip_radius is not None:
            inner = outer = self.tip_radius
        lean = math.tan(math.radians(self.slant))
        return line + np.column_stack([np.zeros(len(line)), line[:, 0] * lean]), max(inner, outer), outer

    def _depth(self, share: float) -> float:
        return share * self.width if self.tip_depth is None else self.tip_depth

    def _own_tip(self, own: FloatArray) -> FloatArray:
        return (own - (own[0] + own[-1]) / 2) * (self.width / (own[-1, 0] - own[0, 0] or math.inf))

    def _rounded(self, tip: FloatArray, inner: float, outer: float, high: float) -> shapely.Polygon:
        if max(tip[0, 1], tip[-1, 1]) > 0:
            depth = -tip[:, 1].min() + max(tip[0, 1], tip[-1, 1])
            raise ParameterError("tab.length", self.length, f"at least the tip's own depth ({mm_text(depth)})")
        left, right = self._side(tip[0], -1.0), self._side(tip[-1], 1.0)[::-1]
        half = self.width / 2
        shape = shapely.Polygon(joined([[-half, high]], left, tip, right, [[half, high]]))
        if not shape.is_valid:
            raise ParameterError("tab.tip", "a line that crosses itself", "a simple line from shoulder to shoulder")
        # inner corners first, then outer ones; both keep straight sides where they are
        parts = polygons_of(grown(grown(grown(shape, inner), -inner - outer), outer)) if inner > 0 else [shape]
        if len(parts) != 1:
            raise ParameterError("tab.tip_radius", outer, "small enough to leave the tab in one piece")
        return parts[0]

    def _side(self, shoulder: FloatArray, sign: float) -> FloatArray:
        """One side from the root line down to the shoulder, drawn in at its middle by the waist."""
        y = np.linspace(0.0, float(shoulder[1]), 49 if self.waist < self.width else 2)
        share = np.sin(np.pi * np.linspace(0.0, 1.0, len(y))) ** 2
        return np.column_stack([sign * (self.width - (self.width - self.waist) * share) / 2, y])
