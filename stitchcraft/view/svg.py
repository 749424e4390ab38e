"""The plan as lines, true to scale: stops in their colours and numbered, moves dashed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from stitchcraft.defaults import CLOTH
from stitchcraft.design import StitchPlan
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.sketch import Sketch
from stitchcraft.machine import Hoop, Placement
from stitchcraft.view.thread import cloth_for

_CLOTH_MM: Final = 3.0
"""Cloth that shows around the stitching."""


@dataclass(frozen=True, slots=True)
class ClothPatch:
    """Cloth under some stops of a plan.

    Attributes:
        bounds: Left, bottom, right, top, mm, where the plan is drawn.
        colour: ``"#rrggbb"``.
        stops: The stops that are sewn on it, by index.
    """

    bounds: tuple[float, float, float, float]
    colour: str
    stops: range


def patch_under(plan: StitchPlan, colour: str | None) -> ClothPatch:
    """Cloth around all that a plan sews.

    Args:
        plan: The plan.
        colour: Of the cloth; None takes one on which every thread can be seen.
    """
    left, bottom, right, top = plan.bounds
    around = (left - _CLOTH_MM, bottom - _CLOTH_MM, right + _CLOTH_MM, top + _CLOTH_MM)
    return ClothPatch(around, cloth_for(plan) if colour is None else colour, range(len(plan.stops)))


def plan_svg(
    plan: StitchPlan,
    *,
    hoop: Hoop | None = None,
    placement: Placement | None = None,
    margin: float = 5.0,
    needle_points: bool = False,
    cloth: Sequence[ClothPatch] = (),
    widest: float = math.inf,
) -> str:
    """Draw a plan as SVG whose user unit is 1 mm.

    Args:
        plan: What is sewn.
        hoop: A field to draw around it; its centre is (0, 0).
        placement: How to lay it; None leaves it in its own frame.
        margin: Around everything, mm.
        needle_points: Whether each penetration gets a dot.
        cloth: Pieces of cloth below it.
        widest: Width on the page, mm, past which it is shown smaller; the user unit stays 1 mm.

    Returns:
        The text of the file.

    Raises:
        ParameterError: If the plan has no stitch.
    """
    if not plan.stitches:
        raise ParameterError("plan", plan, "a plan with at least one stitch")
    sketch = Sketch()
    if hoop is not None:
        across, up = hoop.width / 2, hoop.height / 2
        sketch.rectangle((-across, -up, across, up), stroke="#9a9a9a", width=0.3)
    grounds = [CLOTH] * len(plan.stops)
    for patch in cloth:
        sketch.rectangle(patch.bounds, fill=patch.colour)
        for stop in patch.stops:
            grounds[stop] = patch.colour
    xy = None if placement is None else placement.placed(plan.xy)
    plan.draw_on(sketch, xy=xy, needle_points=needle_points, grounds=grounds)
    title = f"{plan.name}: {plan.stitches} stitches, {len(plan.stops)} stops"
    return sketch.svg(title, margin=margin, ground=CLOTH, widest=widest)
