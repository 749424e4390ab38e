"""The plan as lines, true to scale: stops in their colours and numbered, moves dashed."""

from __future__ import annotations

from stitchcraft.defaults import CLOTH
from stitchcraft.design import StitchPlan
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.sketch import Sketch
from stitchcraft.machine import Hoop, Placement


def plan_svg(
    plan: StitchPlan,
    *,
    hoop: Hoop | None = None,
    placement: Placement | None = None,
    margin: float = 5.0,
    needle_points: bool = False,
) -> str:
    """Draw a plan as SVG whose user unit is 1 mm.

    Args:
        plan: What is sewn.
        hoop: A field to draw around it; its centre is (0, 0).
        placement: How to lay it; None leaves it in its own frame.
        margin: Around everything, mm.
        needle_points: Whether each penetration gets a dot.

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
    plan.draw_on(sketch, xy=None if placement is None else placement.placed(plan.xy), needle_points=needle_points)
    title = f"{plan.name}: {plan.stitches} stitches, {len(plan.stops)} stops"
    return sketch.svg(title, margin=margin, ground=CLOTH)
