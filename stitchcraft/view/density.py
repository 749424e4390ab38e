"""Where needle holes and thread lie closely: two maps side by side, with their scales."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.checks.density import LAYERS_WINDOW_MM, density_findings, density_map
from stitchcraft.defaults import PLANNING, FabricProfile, density_limit, fabric_profile
from stitchcraft.design import StitchPlan
from stitchcraft.errors import Finding, ParameterError
from stitchcraft.geometry.thread_cover import MOST_CELLS, averaged
from stitchcraft.machine import Placement
from stitchcraft.view.canvas import Canvas, rgb

_BANDS: Final = ("#ffffff", "#e3eef0", "#bcd7dc", "#8bb9c2", "#5a96a3", "#32707f", "#174a58", "#c8321f")
_INK: Final = "#303030"
_SHARES: Final = (1 / 12, 1 / 6, 1 / 3, 1 / 2, 3 / 4)
_LAYERS: Final = (0.25, 0.5, 1.0, 2.0, 4.0)
_GAP: Final = 0.08
_MOST_MM2: Final = MOST_CELLS * 0.2**2  # with a margin of 1 mm
_TRACE: Final = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class _Panel:
    """One map: its values, what of it is past the limit, where its bands end, its words, and what was found on it."""

    values: FloatArray
    over: NDArray[np.bool_]
    ends: tuple[float, ...]
    title: str
    past: str
    findings: tuple[Finding, ...]


def density_picture(
    plan: StitchPlan,
    *,
    fabric: str | FabricProfile | None = None,
    placement: Placement | None = None,
    width_px: int = 1600,
) -> bytes:
    """Draw how closely a plan's needle holes and its thread lie, as PNG.

    Left, penetrations to the square millimetre, those of other than 40-weight thread by their cross-section; right,
    layers of thread, red where their mean on 5 mm by 5 mm is past the limit. The places that the checks tell of are
    ringed.

    Args:
        plan: What is sewn.
        fabric: What it is sewn on, which says how dense it may be; None takes a woven one.
        placement: How it lies in the field; None leaves it in its own frame.
        width_px: Width of the picture; a plan much higher than wide gets a narrower one.

    Raises:
        ParameterError: If the plan has no stitch, or lies too far apart for a map.
    """
    cloth = None if fabric is None else fabric_profile(fabric)
    left, bottom, right, top = plan.bounds
    if (right - left + 2) * (top - bottom + 2) > _MOST_MM2:
        needs = f"stitching over at most {_MOST_MM2:,.0f} mm2 for a map of its density"
        raise ParameterError("plan", f"stitching over {right - left:.0f} x {top - bottom:.0f} mm", needs)
    maps = density_map(plan, placement=placement)
    found = tuple(density_findings(plan, plan.name, fabric=cloth, placement=placement))
    limit, thick = density_limit(cloth), PLANNING["layers_most"].value
    stiff = averaged(maps.layers, round(LAYERS_WINDOW_MM / maps.cell_mm)) > thick
    panels = (
        _Panel(maps.load, maps.load > limit, tuple(share * limit for share in _SHARES),
               "penetrations in a square millimetre", f"over {limit:g}", _of(found, "density")),
        _Panel(maps.layers, stiff, _LAYERS, "layers of thread", f"over {thick:g}", _of(found, "thread-thick")),
    )  # fmt: skip
    left, bottom, right, top = maps.extent_mm
    wide, high = right - left, top - bottom
    panel = max(wide, 0.45 * high, 30.0)
    letter, gap = 0.032 * panel, _GAP * panel
    bounds = (0.0, -(high + 5.5 * letter), 2 * panel + 3 * gap, 3 * letter)
    scale = min(width_px / (bounds[2] - bounds[0]), 1.5 * width_px / (bounds[3] - bounds[1]))
    canvas = Canvas(bounds, pixels_per_mm=scale)
    for number, one in enumerate(panels):
        x = gap + number * (panel + gap)
        corner = (x + (panel - wide) / 2, 0.0)
        canvas.text((x + panel / 2, 1.4 * letter), one.title, _INK, height=1.2 * letter)
        canvas.pixels(corner, _coloured(one), pixel=maps.cell_mm)
        box = np.array([(0, 0), (wide, 0), (wide, -high), (0, -high)]) + corner
        canvas.polygon(box, None, outline="#9a9a9a", width=0.004 * panel)
        for finding in one.findings:
            if finding.at_mm is not None:
                spot = np.array(finding.at_mm) - (left, top) + corner
                _ring(canvas, spot, radius=0.03 * panel, width=0.006 * panel)
        _scale(canvas, (x, -high - 2 * letter), panel, one, letter)
    return canvas.png()


def _of(found: Sequence[Finding], code: str) -> tuple[Finding, ...]:
    return tuple(finding for finding in found if finding.code == code)


def _coloured(panel: _Panel) -> NDArray[np.uint8]:
    """Values as colours, the top row first, (rows, columns, 3) from 0 to 255; white where there is nothing at all."""
    band = np.searchsorted(np.array([_TRACE, *panel.ends]), np.round(panel.values, 9), side="left").astype(np.uint8)
    band[panel.over] = len(_BANDS) - 1
    colours: NDArray[np.uint8] = np.array([rgb(colour) for colour in _BANDS], dtype=np.uint8)[band][::-1]
    return colours


def _ring(canvas: Canvas, spot: FloatArray, *, radius: float, width: float) -> None:
    angle = np.linspace(0, 2 * np.pi, 49)
    canvas.line(spot + radius * np.column_stack([np.cos(angle), np.sin(angle)]), _INK, width=width)


def _scale(canvas: Canvas, at: tuple[float, float], width: float, panel: _Panel, letter: float) -> None:
    """The bands with the numbers at which they end; what is past the limit stands apart."""
    x, y = at
    step = 0.72 * width / len(panel.ends)
    colours = _BANDS[1:-1]
    for k, colour in enumerate(colours):
        left, right = x + 0.86 * k * step, x + 0.86 * (k + 1) * step
        box = [(left, y), (right, y), (right, y - letter), (left, y - letter)]
        canvas.polygon(box, colour, outline="#9a9a9a", width=0.003 * width)
    for k, end in enumerate(panel.ends, 1):
        canvas.text((x + 0.86 * k * step, y - 2 * letter), f"{end:.3g}", _INK, height=letter)
    left, right = x + 0.80 * width, x + width
    box = [(left, y), (right, y), (right, y - letter), (left, y - letter)]
    canvas.polygon(box, _BANDS[-1], outline="#9a9a9a", width=0.003 * width)
    canvas.text(((left + right) / 2, y - 2 * letter), panel.past, _INK, height=letter)
