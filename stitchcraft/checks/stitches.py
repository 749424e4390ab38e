"""Checks of a stitch plan, whoever made it."""

from __future__ import annotations

import numpy as np

from stitchcraft.defaults import PLANNING
from stitchcraft.design import Kind, StitchPlan
from stitchcraft.errors import Finding, Findings, Level
from stitchcraft.machine import Hoop, smallest_fit, stitch_lengths


def check(plan: StitchPlan, *, hoop: Hoop | None = None, part: str | None = None) -> Findings:
    """Check a plan: does it fit, are its stitches of a length that sews, is it too dense somewhere.

    Args:
        plan: What is to be sewn.
        hoop: The field it has to fit, at any angle; None leaves the fit out.
        part: What the findings call it; the plan's own name if None.

    Returns:
        The findings, errors first.
    """
    name = plan.name if part is None else part
    found = [*_fit(plan, hoop, name), *_lengths(plan, name), *_density(plan, name)]
    order = list(Level)
    return Findings(sorted(found, key=lambda finding: order.index(finding.level)))


def _fit(plan: StitchPlan, hoop: Hoop | None, name: str) -> list[Finding]:
    if hoop is None or smallest_fit(plan.needle_points, [hoop]) is not None:
        return []
    left, bottom, right, top = plan.bounds
    return [
        Finding(
            Level.ERROR, "hoop-fit", name,
            f"Its stitching is {right - left:.1f} x {top - bottom:.1f} mm and fits {hoop.name} at no angle.",
            "Take a larger field, or make the part smaller.",
            round(max(right - left, top - bottom), 2), max(hoop.width, hoop.height),
        )
    ]  # fmt: skip


def _lengths(plan: StitchPlan, name: str) -> list[Finding]:
    lengths = stitch_lengths(plan)
    sewn = lengths.length[lengths.sewn]
    found = []
    limit = PLANNING["longest_move"].value
    longest = float(sewn.max(initial=0.0))
    if longest > limit + 0.1:
        found.append(
            Finding(
                Level.WARNING, "stitch-long", name, f"Its longest stitch is {longest:.1f} mm.",
                "Long stitches snag; split them.", round(longest, 2), limit,
            )
        )  # fmt: skip
    tiny = int(np.count_nonzero(sewn < PLANNING["shortest_stitch"].value - 0.1))
    if tiny:
        found.append(
            Finding(
                Level.WARNING, "stitch-short", name,
                f"{tiny} of its {len(sewn)} stitches are shorter than {PLANNING['shortest_stitch'].value:g} mm.",
                "Such stitches pile thread up and can break it.",
                float(tiny), 0.0,
            )
        )  # fmt: skip
    return found


def _density(plan: StitchPlan, name: str) -> list[Finding]:
    """Penetrations in a sliding window of 1 mm by 1 mm."""
    points = plan.xy[plan.kind == Kind.STITCH]
    if len(points) < 2:
        return []
    cell = 0.25
    low = points.min(axis=0)
    index = np.floor((points - low) / cell).astype(int)
    shape = index.max(axis=0) + 5
    counts = np.bincount(np.ravel_multi_index(tuple(index.T), tuple(shape)), minlength=int(shape.prod()))
    sums = counts.reshape(shape).cumsum(axis=0).cumsum(axis=1)
    sums = np.pad(sums, ((1, 0), (1, 0)))
    window = sums[4:, 4:] - sums[:-4, 4:] - sums[4:, :-4] + sums[:-4, :-4]
    worst = float(window.max())
    limit = PLANNING["density_stop"].value
    if worst <= limit:
        return []
    x, y = low + (np.array(np.unravel_index(window.argmax(), window.shape)) + 2) * cell
    return [
        Finding(
            Level.WARNING, "density", name,
            f"{worst:.0f} penetrations in one square millimetre near ({x:.0f}, {y:.0f}) mm.",
            "Thin the stitching there, or the needle will cut the cloth.", worst, limit,
        )
    ]  # fmt: skip
