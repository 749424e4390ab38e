"""A stop that the machine spends cutting its thread rather than sewing."""

from __future__ import annotations

import numpy as np

from stitchcraft.defaults import MACHINE, PLANNING
from stitchcraft.design import Kind, Purpose, StitchPlan
from stitchcraft.errors import Finding, Level
from stitchcraft.machine import stop_minutes


def trim_findings(plan: StitchPlan, part: str) -> list[Finding]:
    """Find the stop on whose trims most time goes, if that is more than on its stitches.

    Args:
        plan: What is to be sewn.
        part: What the finding calls it.
    """
    count = len(plan.stops)
    trims = np.bincount(plan.stop[plan.kind == Kind.TRIM], minlength=count)
    cutting = trims * MACHINE["trim_seconds"].value / 60
    both = np.array(stop_minutes(plan))
    share = np.divide(cutting, both, out=np.zeros(count), where=both > 0)
    limit = PLANNING["trims_share"].value
    # letters are as many as the text has
    share[[stop.purpose is Purpose.LETTER for stop in plan.stops]] = 0.0
    share[trims < PLANNING["trims_fewest"].value] = 0.0
    index = int(np.argmax(np.where(share > limit, cutting, 0.0)))
    if share[index] <= limit:
        return []
    return [
        Finding(
            Level.NOTE, "many-trims", part,
            f"The {trims[index]} trims of stop {index + 1} ({plan.stops[index].purpose}) take about "
            f"{cutting[index]:.0f} of its {both[index]:.0f} minutes.",
            "Let its dots or whole rows hang together (joined = true), or make its motifs fewer and larger.",
            round(float(share[index]), 3), limit,
        )
    ]  # fmt: skip
