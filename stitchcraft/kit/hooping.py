"""Which field each part takes and how it lies there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stitchcraft.checks.fields import hoop_finding
from stitchcraft.design import StitchPlan
from stitchcraft.errors import Finding
from stitchcraft.family import Part
from stitchcraft.geometry.curves import mirrored
from stitchcraft.machine import Fit, Hoop, Placement, centred, fit_at, smallest_fit


@dataclass(frozen=True, slots=True)
class Hooped:
    """How a part lies in its field.

    Attributes:
        hoop: The field; None if no listed field takes the part.
        placement: Turn and shift.
        slack_mm: From the stitching to the nearest edge of the field; None without a field.
    """

    hoop: Hoop | None
    placement: Placement
    slack_mm: float | None


def hoop_parts(
    parts: Sequence[Part], plans: Mapping[str, StitchPlan], hoops: Sequence[Hoop], *, margin: float = 0.0
) -> dict[str, Hooped]:
    """Choose a field for each part.

    Two parts whose outlines are mirror images are laid as mirror images where both fit that way, so that
    their holes round to mirror-image holes.

    Args:
        parts: The parts.
        plans: Their stitch plans by name.
        hoops: The fields at hand.
        margin: Kept free inside the edge of the field, mm.

    Returns:
        How each part lies, by name.
    """
    hooped: dict[str, Hooped] = {}
    for part in parts:
        other = part.mirror_of
        if other is None or other not in plans:
            continue
        both = np.vstack([plans[other].needle_points, mirrored(plans[part.name].needle_points)])
        fit = smallest_fit(both, hoops, margin=margin)
        alone = smallest_fit(plans[other].needle_points, hoops, margin=margin)
        if fit is None or alone is None or alone[0] != fit[0] or _is_square(alone[1]) > _is_square(fit[1]):
            continue  # together they would need a larger field than alone, or lie off the grain
        for name, placement in ((other, fit[1].placement), (part.name, fit[1].placement.mirrored())):
            lies = fit_at(plans[name].needle_points, fit[0], placement, margin=margin)
            hooped[name] = Hooped(fit[0], placement, None if lies is None else lies.slack_mm)
    for part in parts:
        if part.name not in hooped:
            hooped[part.name] = _alone(plans[part.name], hoops, margin)
    return hooped


def _is_square(fit: Fit) -> bool:
    return fit.placement.angle_deg % 90 == 0


def _alone(plan: StitchPlan, hoops: Sequence[Hoop], margin: float) -> Hooped:
    fit = smallest_fit(plan.needle_points, hoops, margin=margin)
    if fit is None:
        return Hooped(None, centred(plan.needle_points), None)
    return Hooped(fit[0], fit[1].placement, fit[1].slack_mm)


def hoop_findings(name: str, plan: StitchPlan, hoops: Sequence[Hoop], *, margin: float = 0.0) -> list[Finding]:
    """Say what a part that fits no listed field would need; empty if it fits."""
    finding = hoop_finding(plan.needle_points, hoops, part=name, margin=margin)
    return [] if finding is None else [finding]
