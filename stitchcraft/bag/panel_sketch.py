"""The front panel as it lies flat: what is cut, sewn and set, with its sizes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stitchcraft.arrays import FloatArray
from stitchcraft.bag.panel_outline import panel_outline
from stitchcraft.defaults import CLOTH
from stitchcraft.geometry.curves import arc
from stitchcraft.geometry.sketch import PAGE_MM, Sketch, words_width
from stitchcraft.units import both_text

_GROUND: Final = "#ffffff"
_TRIM: Final = "#c9c0b1"
_LINE: Final = "#57503f"
_MARK: Final = "#2f5d62"
_SIZE: Final = "#303030"


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelSketch:
    """What the sketch of a front panel shows; mm, in the panel frame.

    Attributes:
        width: Side seam to side seam.
        height: Top edge to bottom seam.
        depth: Boxed base; 0 for a flat bag.
        seam: Allowance at the sides and the bottom.
        top_seam: Allowance of a turned top; 0 for a bound one.
        binding: Depth of a binding; 0 for a turned top.
        strap_spacing: Strap centre to strap centre; 0 without straps.
        strap_width: Width of a strap; 0 without straps.
        snap: Top edge to the snap's centre, and its diameter.
        shaping: Centres of the shaping snaps.
        feet: Centres of the feet that lie on this panel.
    """

    width: float
    height: float
    depth: float
    seam: float
    top_seam: float
    binding: float
    strap_spacing: float
    strap_width: float
    snap: tuple[float, float]
    shaping: tuple[tuple[float, float], ...] = ()
    feet: tuple[tuple[float, float], ...] = ()

    def svg(self, title: str) -> str:
        """Draw it as SVG whose user unit is 1 mm, shown no wider than a notebook's page."""
        sketch = Sketch()
        unit = max(self.width, self.height) / 100
        if self.strap_width:
            self._straps(sketch, unit)
        sketch.area([self._outline(self.seam, self.top_seam)], fill=CLOTH, stroke=_LINE, width=0.25 * unit)
        if self.binding:
            half = self.width / 2 + self.seam
            band = (-half, -self.binding, half, 0.0)
            sketch.rectangle(band, fill=_TRIM, stroke=_LINE, width=0.2 * unit)
        sketch.lines([self._outline(0.0, 0.0)], stroke=_LINE, width=0.25 * unit, dash=f"{unit:g} {unit:g}", closed=True)
        if self.depth:
            fold = self.width / 2 - self.depth / 2
            y = -self.height + self.depth / 2
            line = np.array([[-fold, y], [fold, y]])
            sketch.lines([line], stroke=_LINE, width=0.15 * unit, dash=f"{0.4 * unit:g} {unit:g}")
        if self.strap_width:
            self._strap_ends(sketch, unit)
        self._fasteners(sketch, unit)
        self._sizes(sketch, unit)
        return sketch.svg(title, margin=2 * unit, ground=_GROUND, widest=PAGE_MM)

    def _outline(self, past: float, past_top: float) -> FloatArray:
        """The panel, *past* its seams by so much."""
        return panel_outline(self.width, self.height, self.depth / 2, past_mm=past, past_top_mm=past_top)

    # -- straps and fasteners ---------------------------------------------------------------------------

    def _straps(self, sketch: Sketch, unit: float) -> None:
        """The loop above the top edge, as two arcs a strap's width apart; how long a strap is, the bag does not say."""
        outer = (self.strap_spacing + self.strap_width) / 2
        inner = outer - self.strap_width
        base = self.top_seam
        band = np.vstack([arc((0.0, base), outer, 0.0, 180.0), arc((0.0, base), inner, 180.0, 0.0)])
        sketch.area([band], fill=_TRIM, stroke=_LINE, width=0.2 * unit)

    def _strap_ends(self, sketch: Sketch, unit: float) -> None:
        for side in (-1, 1):
            middle = side * self.strap_spacing / 2
            left, right, low = middle - self.strap_width / 2, middle + self.strap_width / 2, -self.snap[0]
            sketch.lines(
                [np.array([[left, 0.0], [left, low], [right, low], [right, 0.0]])],
                stroke=_LINE, width=0.2 * unit, dash=f"{0.5 * unit:g} {0.5 * unit:g}",
            )  # fmt: skip

    def _fasteners(self, sketch: Sketch, unit: float) -> None:
        drop, diameter = self.snap
        _target(sketch, (0.0, -drop), diameter, unit)
        for at in self.shaping:
            _target(sketch, at, 0.7 * diameter, unit)
        for at in self.feet:
            sketch.circle(at, 2.4 * unit, fill=_MARK, stroke=_LINE, width=0.1 * unit)

    # -- sizes ------------------------------------------------------------------------------------------

    def _sizes(self, sketch: Sketch, unit: float) -> None:
        half, low, drop = self.width / 2, -self.height, self.snap[0]
        below = low - self.seam - 6 * unit
        _across(sketch, -half, half, below, unit)
        side = half + self.seam + 6 * unit
        _upright(sketch, low, 0.0, side, unit)
        _upright(sketch, -drop, 0.0, 4 * unit + self.snap[1] / 2, unit)
        if self.depth:
            base = f"half the base: {both_text(self.depth / 2)}" + (", two of four feet" if self.feet else "")
            sketch.words((0.0, low + self.depth / 4), base, size=2.4 * unit, colour=_SIZE)
        if self.strap_width:
            apart = self.strap_spacing / 2
            _across(sketch, -apart, apart, self.top_seam + self._loop_middle(), unit)

    def _loop_middle(self) -> float:
        """A place for the straps' size: inside their loop, above the top edge."""
        return (self.strap_spacing - self.strap_width) / 5


def _target(sketch: Sketch, at: tuple[float, float], diameter: float, unit: float) -> None:
    x, y = at
    sketch.circle(at, diameter, fill="#ffffff", stroke=_MARK, width=0.3 * unit)
    reach = 0.65 * diameter
    cross = [np.array([[x - reach, y], [x + reach, y]]), np.array([[x, y - reach], [x, y + reach]])]
    sketch.lines(cross, stroke=_MARK, width=0.2 * unit)


def _across(sketch: Sketch, left: float, right: float, y: float, unit: float) -> None:
    """A size from left to right."""
    ends = [np.array([[x, y - unit], [x, y + unit]]) for x in (left, right)]
    sketch.lines([np.array([[left, y], [right, y]]), *ends], stroke=_SIZE, width=0.15 * unit)
    sketch.words((0.0, y - 2.4 * unit), both_text(right - left), size=2.6 * unit, colour=_SIZE)


def _upright(sketch: Sketch, bottom: float, top: float, x: float, unit: float) -> None:
    """A size from bottom to top."""
    ends = [np.array([[x - unit, y], [x + unit, y]]) for y in (bottom, top)]
    sketch.lines([np.array([[x, bottom], [x, top]]), *ends], stroke=_SIZE, width=0.15 * unit)
    text, size = both_text(top - bottom), 2.6 * unit
    # words longer than their line hang down from its top, where nothing else is in their way
    y = min((bottom + top) / 2, top - unit - words_width(text, size) / 2)
    sketch.words((x + 2.4 * unit, y), text, size=size, colour=_SIZE, angle_deg=90)
