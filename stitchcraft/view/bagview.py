"""The bag, front and back, to scale, with every part in its place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.bag.panel_outline import panel_outline
from stitchcraft.defaults import CLOTH
from stitchcraft.design import StitchPlan
from stitchcraft.geometry.curves import closed
from stitchcraft.machine import Placement
from stitchcraft.view.canvas import Canvas
from stitchcraft.view.thread import draw_thread

if TYPE_CHECKING:
    from PIL.Image import Image

_LINE: Final = "#8c8375"


@dataclass(frozen=True, slots=True, eq=False)
class PlacedPlan:
    """A part on a panel.

    Attributes:
        plan: Its stitches in its own frame.
        panel: ``"front"`` or ``"back"``.
        at_mm: Where its origin lies in the panel frame.
        angle_deg: How it is turned.
        cloth: Outline of its own cloth in its own frame, drawn under the stitches; None for none.
        colour: Colour of that cloth.
        on_top: Drawn after the others: a tab that hangs over the front.
    """

    plan: StitchPlan
    panel: str
    at_mm: tuple[float, float]
    angle_deg: float = 0.0
    cloth: shapely.Polygon | None = None
    colour: str = "#d8cfc0"
    on_top: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class BagPicture:
    """What a picture of the bag shows.

    Attributes:
        width_mm: Panel width.
        height_mm: Panel height.
        notch_mm: Side of the square that the boxed base takes from each lower corner, to its seam lines.
        binding_mm: Depth of the binding on each panel; 0 for a turned top.
        parts: The parts in place.
        straps_mm: Strap centre from the middle of the panel, and its width; zeros without straps.
        landing_mm: How far below the top edge the straps end.
        cloth: Colour of the panels.
        trim: Colour of binding and straps.
    """

    width_mm: float
    height_mm: float
    notch_mm: float = 0.0
    binding_mm: float = 0.0
    parts: Sequence[PlacedPlan] = field(default_factory=tuple)
    straps_mm: tuple[float, float] = (0.0, 0.0)
    landing_mm: float = 0.0
    cloth: str = CLOTH
    trim: str = "#a89f91"

    @property
    def gap_mm(self) -> float:
        """Between the panels."""
        return 0.14 * self.width_mm

    @property
    def strap_top_mm(self) -> float:
        """How far the straps rise above the top edge; 0 without straps."""
        return 0.42 * self.width_mm if self.straps_mm[1] else 0.0

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top of the picture, mm."""
        gap = self.gap_mm
        return (
            -self.width_mm / 2 - gap,
            -self.height_mm - gap,
            1.5 * self.width_mm + 2 * gap,
            self.strap_top_mm + 0.4 * gap,
        )


def bag_picture(bag: BagPicture, *, width_px: int = 1600) -> Image:
    """Draw front and back side by side, laid flat.

    Args:
        bag: What to show.
        width_px: Width of the picture; a bag much higher than wide gets a narrower one, twice as high as that.
    """
    gap, strap_top, bounds = bag.gap_mm, bag.strap_top_mm, bag.bounds
    scale = min(width_px / (bounds[2] - bounds[0]), 2 * width_px / (bounds[3] - bounds[1]))
    canvas = Canvas(bounds, pixels_per_mm=scale, ground="#ffffff")
    for number, panel in enumerate(("front", "back")):
        middle = number * (bag.width_mm + gap)
        _panel(canvas, bag, middle, strap_top)
        parts = [part for part in bag.parts if part.panel == panel]
        for part in parts:
            if not part.on_top:
                _part(canvas, part, middle)
        _cut_to_size(canvas, bag, middle)
        _strap_ends(canvas, bag, middle)
        for part in parts:
            if part.on_top:
                _part(canvas, part, middle)
        canvas.text((middle, -bag.height_mm - 0.5 * gap), panel, "#404040", height=0.018 * bag.width_mm)
    return canvas.image()


def _panel(canvas: Canvas, bag: BagPicture, middle: float, strap_top: float) -> None:
    half, edge = bag.width_mm / 2, _edge(bag)
    centre, strap = bag.straps_mm
    if strap:
        _strap(canvas, bag, middle, centre, strap, strap_top)
    canvas.polygon(_panel_outline(bag) + [middle, 0], bag.cloth, outline=_LINE, width=edge)
    if bag.binding_mm:
        b = bag.binding_mm
        strip = np.array([(-half, 0), (half, 0), (half, -b), (-half, -b)]) + [middle, 0]
        canvas.polygon(strip, bag.trim, outline=_LINE, width=edge)


def _panel_outline(bag: BagPicture) -> FloatArray:
    return panel_outline(bag.width_mm, bag.height_mm, bag.notch_mm)


def _cut_to_size(canvas: Canvas, bag: BagPicture, middle: float) -> None:
    """Take away what lies past the panel's seam lines: stitches that vanish into the seams."""
    half, low, notch, past = bag.width_mm / 2, -bag.height_mm, bag.notch_mm, 0.065 * bag.width_mm
    for side in (-1, 1):
        away = [(half, -1), (half, low + notch), (half - notch, low + notch), (half - notch, low), (0, low)]
        away += [(0, low - past), (half + past, low - past), (half + past, -1)]
        canvas.polygon(np.array(away) * [side, 1] + [middle, 0], "#ffffff")
    canvas.line(closed(_panel_outline(bag) + [middle, 0]), _LINE, width=_edge(bag))


def _strap_ends(canvas: Canvas, bag: BagPicture, middle: float) -> None:
    centre, strap = bag.straps_mm
    if not strap:
        return
    low = -bag.landing_mm
    end = np.array([(-strap / 2, 0), (strap / 2, 0), (strap / 2, low), (-strap / 2, low)])
    for side in (-1, 1):
        canvas.polygon(end + [middle + side * centre, 0], bag.trim, outline=_LINE, width=_edge(bag))


def _edge(bag: BagPicture) -> float:
    return 0.0025 * bag.width_mm


def _strap(canvas: Canvas, bag: BagPicture, middle: float, centre: float, strap: float, top: float) -> None:
    """The loop above the panel: two half ellipses a strap's width apart."""
    t = np.linspace(0, np.pi, 90)
    for radius, colour in ((centre + strap / 2, bag.trim), (centre - strap / 2, "#ffffff")):
        if radius <= 0:
            continue
        rise = top * 0.92 + (radius - centre)
        loop = np.column_stack([middle + radius * np.cos(t), rise * np.sin(t)])
        canvas.polygon(loop, colour, outline=_LINE, width=_edge(bag))


def _part(canvas: Canvas, part: PlacedPlan, middle: float) -> None:
    spot = (part.at_mm[0] + middle, part.at_mm[1])
    if part.cloth is not None:
        canvas.polygon(_ring(part.cloth, part.angle_deg, spot), part.colour, outline=_LINE, width=0.4)
    draw_thread(canvas, part.plan, placement=Placement(part.angle_deg, spot))


def _ring(shape: shapely.Polygon, angle_deg: float, offset: tuple[float, float]) -> FloatArray:
    return turned(np.asarray(shape.exterior.coords), angle_deg, offset)
