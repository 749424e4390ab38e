"""Checks of a stitch plan, whoever made it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray, distinct
from stitchcraft.checks.colours import colour_findings
from stitchcraft.checks.density import density_findings, thinned
from stitchcraft.checks.fields import hoop_finding
from stitchcraft.checks.formats import format_findings
from stitchcraft.checks.trims import trim_findings
from stitchcraft.defaults import PARTS, PLANNING, FabricProfile, fabric_profile, thread_width
from stitchcraft.design import Kind, Purpose, Role, StitchPlan
from stitchcraft.errors import Finding, Findings, Level
from stitchcraft.geometry.nearness import near_pairs
from stitchcraft.machine import Hoop, Placement, stitch_lengths, threads_of
from stitchcraft.units import MACHINE_UNIT_MM, to_units


def check(
    plan: StitchPlan,
    *,
    hoop: Hoop | None = None,
    part: str | None = None,
    fabric: str | FabricProfile | None = None,
    cloth: str | None = None,
    formats: Sequence[str] = (),
    placement: Placement | None = None,
) -> Findings:
    """Check a plan: fit, stitch lengths, locks, density, crowded holes, decoration in a seam, trims, colours, formats.

    Args:
        plan: What is to be sewn.
        hoop: The field it has to fit, at any angle; None leaves the fit out.
        part: What the findings call it; the plan's own name if None.
        fabric: What it is sewn on, which says how dense it may be; None takes a woven one.
        cloth: Colour of the cloth under it, ``"#rrggbb"``; None for unknown.
        formats: The files to be written of it, to say what they would lose.
        placement: How it lies in the field: places are told from the field's centre then, else in its own frame.

    Returns:
        The findings, errors first.

    Raises:
        ParameterError: If no fabric or format has that name, or *cloth* is no colour.
    """
    name = plan.name if part is None else part
    profile = None if fabric is None else fabric_profile(fabric)
    found = [
        *_fit(plan, hoop, name),
        *_lengths(plan, name, placement),
        *_locks(plan, name, placement),
        *density_findings(plan, name, fabric=profile, placement=placement),
        *_crowds(plan, name, placement),
        *_in_seam(plan, name, placement),
        *trim_findings(plan, name),
        *colour_findings(plan, name, cloth=cloth),
        *format_findings(plan, name, formats),
    ]
    return Findings(found).errors_first()


def _fit(plan: StitchPlan, hoop: Hoop | None, name: str) -> list[Finding]:
    finding = None if hoop is None else hoop_finding(plan.needle_points, [hoop], part=name)
    return [] if finding is None else [finding]


def _spot(placement: Placement | None, xy: FloatArray) -> tuple[float, float]:
    """A place of the plan as a finding tells it, mm."""
    x, y = (xy if placement is None else placement.placed(xy[None])[0]).tolist()
    return round(x, 2) + 0.0, round(y, 2) + 0.0


def _numbers(stops: NDArray[np.int32]) -> tuple[int, ...]:
    """Stops by number, from 1, each once."""
    return tuple((distinct(stops) + 1).tolist())


def _lengths(plan: StitchPlan, name: str, placement: Placement | None) -> list[Finding]:
    lengths, points = stitch_lengths(plan), plan.needle_points
    sewn = np.flatnonzero(lengths.sewn)
    found = []
    limit = PLANNING["longest_move"].value
    long = sewn[lengths.length[sewn] > limit + 0.1]
    if len(long):
        worst = int(long[lengths.length[long].argmax()])
        x, y = _spot(placement, points[worst])
        found.append(
            Finding(
                Level.WARNING, "stitch-long", name,
                f"Its longest stitch is {lengths.length[worst]:.1f} mm, in stop {lengths.stop[worst] + 1} near "
                f"({x:z.0f}, {y:z.0f}) mm.",
                "Split them: long stitches snag.", round(float(lengths.length[worst]), 2), limit, (x, y),
                _numbers(lengths.stop[long]),
            )
        )  # fmt: skip
    tiny = sewn[lengths.length[sewn] < PLANNING["shortest_stitch"].value - 0.1]
    if len(tiny):
        x, y = _spot(placement, points[int(tiny[0])])
        found.append(
            Finding(
                Level.WARNING, "stitch-short", name,
                f"{len(tiny)} of its {len(sewn)} stitches are shorter than {PLANNING['shortest_stitch'].value:g} mm, "
                f"such as in stop {lengths.stop[tiny[0]] + 1} near ({x:z.0f}, {y:z.0f}) mm.",
                "Join them with their neighbours, or sew it larger: short stitches pile thread up and can break it.",
                float(len(tiny)), 0.0, (x, y), _numbers(lengths.stop[tiny]),
            )
        )  # fmt: skip
    return found


def _locks(plan: StitchPlan, name: str, placement: Placement | None) -> list[Finding]:
    """Ends of thread that nothing holds."""
    threads = threads_of(plan)
    ends = np.concatenate([threads.first[~threads.held_first], threads.last[~threads.held_last]])
    if not len(ends):
        return []
    stop = np.concatenate([threads.stop[~threads.held_first], threads.stop[~threads.held_last]])
    first = int(ends.argmin())
    x, y = _spot(placement, plan.needle_points[ends[first]])
    return [
        Finding(
            Level.WARNING, "lock-missing", name,
            f"{len(ends)} of {2 * len(threads.first)} ends of its threads are not locked, such as in stop "
            f"{stop[first] + 1} near ({x:z.0f}, {y:z.0f}) mm.",
            "Let the machine lock where it begins and cuts, if it can, or plan it with locks.",
            float(len(ends)), 0.0, (x, y), _numbers(stop),
        )
    ]  # fmt: skip


def _in_seam(plan: StitchPlan, name: str, placement: Placement | None) -> list[Finding]:
    """Decoration so near to a seam that it is caught in it, or makes its allowance thick."""
    stops = {purpose: [k for k, stop in enumerate(plan.stops) if stop.purpose is purpose] for purpose in Purpose}
    seam = np.isin(plan.stop, stops[Purpose.SEAM]) & plan.is_stitch
    decorated = np.flatnonzero(np.isin(plan.stop, stops[Purpose.DECORATE]) & plan.is_stitch)
    lines = [stroke for k in stops[Purpose.SEAM] for stroke in plan.strokes(k) if len(stroke) > 1]
    if not seam.any() or not len(decorated) or not lines:
        return []
    import shapely  # a machine file tells of no seam, and its check starts quicker without

    line = shapely.MultiLineString([shapely.LineString(stroke) for stroke in lines])
    shapely.prepare(line)
    limit = PARTS["decoration_clearance"].value
    spots = plan.xy[decorated]
    near = decorated[shapely.dwithin(shapely.points(spots), line, limit - 1e-6)]
    if not len(near):
        return []
    apart = shapely.distance(shapely.points(plan.xy[near]), line)
    worst = int(near[apart.argmin()])
    x, y = _spot(placement, plan.xy[worst])
    return [
        Finding(
            Level.WARNING, "decoration-in-seam", name,
            f"{len(near)} penetrations of the decoration lie nearer than {limit:g} mm to the seam, such as near "
            f"({x:z.0f}, {y:z.0f}) mm.",
            f"Keep the decoration at least {limit:g} mm off the seam: draw it smaller, or give it a larger inset.",
            round(float(apart.min()), 2), limit, (x, y), _numbers(plan.stop[near]),
        )
    ]  # fmt: skip


def _crowds(plan: StitchPlan, name: str, placement: Placement | None) -> list[Finding]:
    """Stops many of whose holes all but touch others, of the same stop or of another.

    Holes touch when they are nearer than half the width of their thread, or half the mean of two. A hole that is used
    again does not count, nor does one of underlay beside the top of its own element.
    """
    sewn = np.flatnonzero((plan.kind == Kind.STITCH) & (plan.role != Role.LOCK))
    reach = np.array([thread_width(stop.thread.weight) / 2 for stop in plan.stops])[plan.stop[sewn]]
    units = np.asarray(to_units(plan.xy[sewn]), dtype=np.float64)
    pairs = near_pairs(units, float(reach.max(initial=0.1)) / MACHINE_UNIT_MM - 1e-6)
    gap = units[pairs[:, 0]] - units[pairs[:, 1]]
    counts = gap.any(axis=1) & (np.hypot(*gap.T) < reach[pairs].mean(axis=1) / MACHINE_UNIT_MM - 1e-6)
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
            least = thread_width(stop.thread.weight) / 2
            x, y = _spot(placement, plan.xy[near[0]])
            found.append(
                Finding(
                    Level.WARNING, "needles-close", name,
                    f"{100 * len(near) / len(mine):.0f} % of the penetrations of stop {index + 1} ({stop.purpose}) are "
                    f"nearer than {least:.2g} mm to another, such as near ({x:z.0f}, {y:z.0f}) mm.",
                    thinned(plan, (index + 1,), "Move its lines apart, or onto one another."),
                    round(len(near) / len(mine), 3), limit, (x, y),
                    (index + 1,),
                )
            )  # fmt: skip
    return found
