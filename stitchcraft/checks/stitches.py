"""Checks of a stitch plan, whoever made it."""

from __future__ import annotations

import numpy as np

from stitchcraft.defaults import PLANNING, STANDARD_WEIGHT
from stitchcraft.design import Kind, Role, StitchPlan
from stitchcraft.errors import Finding, Findings, Level
from stitchcraft.geometry.nearness import may_reach, near_pairs, window_sums
from stitchcraft.machine import Hoop, smallest_fit, stitch_lengths
from stitchcraft.units import MACHINE_UNIT_MM, to_units


def check(plan: StitchPlan, *, hoop: Hoop | None = None, part: str | None = None) -> Findings:
    """Check a plan: does it fit, are its stitches of a length that sews, is it too dense, do its holes crowd.

    Args:
        plan: What is to be sewn.
        hoop: The field it has to fit, at any angle; None leaves the fit out.
        part: What the findings call it; the plan's own name if None.

    Returns:
        The findings, errors first.
    """
    name = plan.name if part is None else part
    found = [*_fit(plan, hoop, name), *_lengths(plan, name), *_density(plan, name), *_crowds(plan, name)]
    return Findings(found).errors_first()


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
    """Penetrations in a sliding window of 1 mm by 1 mm, each counted by the cross-section of its thread."""
    sewn = plan.kind == Kind.STITCH
    points, stop = plan.xy[sewn], plan.stop[sewn]
    if len(points) < 2:
        return []
    share = np.array([STANDARD_WEIGHT / one.thread.weight for one in plan.stops])
    limit = PLANNING["density_stop"].value
    if not may_reach(points, share[stop], limit):
        return []
    low, sums = window_sums(points, share[stop])
    if sums.max() <= limit + 1e-9:
        return []
    x, y = low + np.array(np.unravel_index(sums.argmax(), sums.shape)) * 0.25 + 0.5
    inside = (np.abs(points - (x, y)) <= 0.5 + 1e-9).all(axis=1)
    most = int(np.bincount(stop[inside], weights=share[stop[inside]]).argmax())
    weight = plan.stops[most].thread.weight
    thread = (
        "" if weight == STANDARD_WEIGHT else f", as much as {sums.max():.0f} of {STANDARD_WEIGHT:.0f}-weight thread"
    )
    return [
        Finding(
            Level.WARNING, "density", name,
            f"{np.count_nonzero(inside)} penetrations in one square millimetre near ({x:.0f}, {y:.0f}) mm{thread}, "
            f"most of them in stop {most + 1} ({plan.stops[most].purpose}).",
            "Thin the stitching of that stop there, or the needle will cut the cloth.",
            round(float(sums.max()), 1), limit,
        )
    ]  # fmt: skip


def _crowds(plan: StitchPlan, name: str) -> list[Finding]:
    """Stops many of whose holes all but touch others, of the same stop or of another.

    A hole that is used again does not count, nor does one of underlay beside the top of its own element.
    """
    sewn = np.flatnonzero((plan.kind == Kind.STITCH) & (plan.role != Role.LOCK))
    gap = PLANNING["shared_hole"].value
    units = np.asarray(to_units(plan.xy[sewn]), dtype=np.float64)
    pairs = near_pairs(units, gap / MACHINE_UNIT_MM - 1e-6)
    counts = (units[pairs[:, 0]] != units[pairs[:, 1]]).any(axis=1)
    one, other = sewn[pairs].T
    hidden = np.isin(plan.role, (Role.UNDERLAY, Role.TRAVEL))
    own = (plan.stop[one] == plan.stop[other]) & (plan.element[one] == plan.element[other])
    counts &= ~(own & (hidden[one] != hidden[other]))
    crowded = np.zeros(len(plan.kind), dtype=bool)
    crowded[one[counts]] = crowded[other[counts]] = True
    found = []
    limit, fewest = PLANNING["needles_close_share"].value, PLANNING["needles_close_fewest"].value
    for index, stop in enumerate(plan.stops):
        mine = sewn[plan.stop[sewn] == index]
        near = mine[crowded[mine]]
        if len(near) >= fewest and len(near) > limit * len(mine):
            x, y = plan.xy[near[0]]
            found.append(
                Finding(
                    Level.WARNING, "needles-close", name,
                    f"{100 * len(near) / len(mine):.0f} % of the penetrations of stop {index + 1} ({stop.purpose}) are "
                    f"nearer than {gap:g} mm to another, such as near ({x:.0f}, {y:.0f}) mm.",
                    "Move its lines apart, or onto one another.", round(len(near) / len(mine), 3), limit,
                )
            )  # fmt: skip
    return found
