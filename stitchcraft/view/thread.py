"""Thread as it lies on the cloth: each stitch a round strand whose sheen follows its direction."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import CLOTH, thread_width
from stitchcraft.design import StitchPlan
from stitchcraft.design.sketches import contrast
from stitchcraft.machine import Placement, stitch_lengths
from stitchcraft.view.canvas import Canvas, Colour, rgb

_CLOTHS: Final = (CLOTH, "#868c92", "#3b4147")
_SEEN: Final = 1.3  # contrast under which thread and cloth run together in a picture
_LIGHT_DEG: Final = 60.0  # thread that runs across this direction catches the light


def cloth_for(plan: StitchPlan) -> str:
    """A cloth on which every thread of a plan can be seen: the usual one, or a darker one under pale thread."""
    threads = {stop.thread.colour for stop in plan.stops}

    def least(cloth: str) -> float:
        return min((contrast(cloth, colour) for colour in threads), default=21.0)

    return CLOTH if least(CLOTH) >= _SEEN else max(_CLOTHS, key=least)


def thread_picture(
    plan: StitchPlan,
    *,
    cloth: str | None = None,
    pixels_per_mm: float = 8.0,
    margin: float = 4.0,
    placement: Placement | None = None,
) -> bytes:
    """Draw a plan as sewn, as PNG.

    Args:
        plan: What is sewn.
        cloth: Colour of the cloth, ``"#rrggbb"``; None takes one on which every thread can be seen.
        pixels_per_mm: Scale.
        margin: Cloth around the stitching, mm.
        placement: How to lay it; None leaves it in its own frame.
    """
    points = _laid(plan.xy, placement)
    stitched = points[plan.is_stitch]
    (left, bottom), (right, top) = stitched.min(axis=0), stitched.max(axis=0)
    canvas = Canvas(
        (left - margin, bottom - margin, right + margin, top + margin),
        pixels_per_mm=pixels_per_mm,
        ground=cloth_for(plan) if cloth is None else cloth,
    )
    draw_thread(canvas, plan, placement=placement)
    return canvas.png()


def draw_thread(
    canvas: Canvas, plan: StitchPlan, *, placement: Placement | None = None, last: int | None = None
) -> None:
    """Lay a plan's thread on a canvas.

    Args:
        canvas: Where to.
        plan: What is sewn.
        placement: How to lay it; None leaves it in its own frame.
        last: Only the stops up to this one (by index from 0); None for all.
    """
    points = _laid(plan.xy, placement)[plan.is_stitch]
    lengths = stitch_lengths(plan)
    shown = lengths.sewn & (lengths.stop <= (len(plan.stops) if last is None else last))
    ends = np.flatnonzero(shown)
    for number, stop in enumerate(plan.stops):
        mine = ends[lengths.stop[ends] == number]
        if not len(mine):
            continue
        start, end = points[mine - 1], points[mine]
        width = thread_width(stop.thread.weight)
        dark, light, gleam = _shades(stop.thread.colour, _sheen(start, end))
        # a strand is three strokes: its shadow, its body, and a line of light along it
        for strand in range(0, len(mine), 4000):
            part = slice(strand, strand + 4000)
            canvas.segments(start[part], end[part], dark[part], width=width * 1.25)
            canvas.segments(start[part], end[part], light[part], width=width)
            canvas.segments(start[part], end[part], gleam[part], width=width * 0.35)


def _laid(xy: FloatArray, placement: Placement | None) -> FloatArray:
    return xy if placement is None else placement.placed(xy)


def _sheen(start: FloatArray, end: FloatArray) -> FloatArray:
    """How much light each stitch throws back, 0 to 1: most where it lies across the light."""
    step = end - start
    angle = np.arctan2(step[:, 1], step[:, 0]) - np.radians(_LIGHT_DEG)
    return np.abs(np.sin(angle))


def _shades(colour: str, sheen: FloatArray) -> tuple[list[Colour], list[Colour], list[Colour]]:
    base = np.array(rgb(colour), dtype=np.float64)
    body = base * (0.80 + 0.20 * sheen)[:, None]
    gleam = body + (255 - body) * (0.10 + 0.28 * sheen)[:, None]
    return _colours(body * 0.55), _colours(body), _colours(gleam)


def _colours(values: NDArray[np.float64]) -> list[Colour]:
    return [(r, g, b) for r, g, b in np.clip(np.rint(np.round(values, 6)), 0, 255).astype(int).tolist()]
