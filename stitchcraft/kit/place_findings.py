"""Whether what is sewn lies where it has to: marks on the panel, ticks where trimming takes them away."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.bag import Bag
from stitchcraft.design import Purpose, StitchPlan
from stitchcraft.errors import Finding, Level
from stitchcraft.family import Part, Placed
from stitchcraft.kit.sewn import SewnPart
from stitchcraft.units import both_text

_MARKS = ("shaping-marks", "snap-mark")


def place_findings(bag: Bag, sewn: Sequence[SewnPart]) -> Iterator[Finding]:
    """Marks off the standing panel, and ticks that would stay on a piece that is turned.

    Args:
        bag: The bag.
        sewn: Its parts.
    """
    for one in sewn:
        if one.name in _MARKS:
            yield from mark_findings(bag, one.part, one.plan)
        if not one.part.placements and one.part.cloth:
            yield from trimming_findings(one.plan, one.part.cloth[0][2], one.name)


def mark_findings(bag: Bag, part: Part, plan: StitchPlan) -> Iterator[Finding]:
    """A mark that reaches over a side seam, into the top edge's stitching, or down into the base."""
    half, top, low = bag.width_mm / 2, -bag.root_depth_mm, -bag.standing_mm[2]
    worst: tuple[float, str, Placed] | None = None
    for place in part.placements:
        points = turned(plan.needle_points * ([-1, 1] if place.mirror else [1, 1]), place.angle_deg, place.at_mm)
        for where, over in (
            ("the side seam", float(np.abs(points[:, 0]).max()) - half),
            ("the top edge's stitching", float(points[:, 1].max()) - top),
            ("the base", low - float(points[:, 1].min())),
        ):
            if over > 1e-6 and (worst is None or over > worst[0]):
                worst = (over, where, place)
    if worst is None:
        return
    over, where, place = worst
    key = "bag.shaping" if part.design.name == "shaping-marks" else "closure.drop"
    yield Finding(
        Level.ERROR, "mark-off-panel", part.design.name,
        f"A mark reaches {both_text(over)} past {where} of the {place.panel}.",
        f"Move it by that much or more ({key}).", math.ceil(1000 * over) / 1000, 0.0, place.at_mm,
    )  # fmt: skip


def trimming_findings(plan: StitchPlan, trimmed: shapely.Polygon, name: str) -> Iterator[Finding]:
    """Alignment ticks inside the line to which a piece is trimmed: they would show on it, or be turned in with it.

    Args:
        plan: What is sewn.
        trimmed: What is left of the piece, in the plan's frame.
        name: What the finding calls it.
    """
    ticks = [k for k, stop in enumerate(plan.stops) if stop.purpose is Purpose.TICKS]
    points: FloatArray = plan.xy[plan.is_stitch & np.isin(plan.stop, ticks)]
    inside = points[shapely.contains_xy(trimmed, points)] if len(points) else points
    if len(inside):
        depth = shapely.distance(shapely.points(inside), trimmed.exterior)
        x, y = inside[int(depth.argmax())].tolist()
        yield Finding(
            Level.ERROR, "ticks-inside", name,
            f"An alignment tick reaches {both_text(float(depth.max()))} inside the line to which the piece is trimmed.",
            "Draw its ticks wholly outside the trimmed allowance, so that they go with the trimmings.",
            round(float(depth.max()), 3), 0.0, (round(x, 2), round(y, 2)), tuple(k + 1 for k in ticks),
        )  # fmt: skip
