"""The planner: a design becomes stitches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PARTS, PLANNING, STANDARD_WEIGHT, FabricProfile, density_limit, fabric_profile
from stitchcraft.design import Design, Line, PlanStop, Purpose, Running, StitchPlan, Stop, Thread
from stitchcraft.errors import ParameterError
from stitchcraft.stitching.assembly import assembled
from stitchcraft.stitching.crowding import kept_off
from stitchcraft.stitching.elements_to_pieces import Part, parts_of
from stitchcraft.stitching.layers import shape_of
from stitchcraft.stitching.ordering import in_order
from stitchcraft.stitching.shared_holes import with_shared_holes
from stitchcraft.stitching.sheet_outlines import drawn_against_strain
from stitchcraft.stitching.strands import Strand, tidied
from stitchcraft.units import LARGEST_MM, number_between

MENDED: Final = (Purpose.DECORATE, Purpose.LETTER)
"""Stops whose lines may share holes; in all others the place of every hole is a measure for what comes later."""


def plan(
    design: Design,
    *,
    fabric: str | FabricProfile = "quilting cotton",
    trim_over: float = PLANNING["trim_over"].value,
    trims: bool = True,
    basting: bool | float = False,
    start: ArrayLike | None = None,
    end: ArrayLike | None = None,
    seed: int = 0,
) -> StitchPlan:
    """Turn a design into stitches in order of sewing.

    Style fields that are None take their value from the fabric. Within a stop the elements are sewn in the order
    that jumps least, but what overlaps keeps the order drawn, and a stop that is `ordered` is left as it is; lines
    that touch are sewn in one go, and decorating lines that nearly meet share holes. Needle points of underlay, travel
    and decorating lines keep off the others where they can. Each stop starts near where
    the last one ended. Threads are locked at both ends, cut where a jump is longer than *trim_over* and at the end
    of each stop. On a cloth with a *strain* the outlines of filled areas are changed first, so that they come out as
    drawn. Stops without elements, and elements too small for one stitch, are left out.

    Args:
        design: What to sew.
        fabric: Name of a fabric, or a profile.
        trim_over: A jump longer than this is trimmed, mm.
        trims: Whether the machine cuts threads; if not, the plan has no trims, and the maker cuts the jumps.
        basting: Sew a box around everything before the design's first stop (or the one that it names), in that
            stop's thread; a number is its margin in mm.
        start: Where the needle comes from, (x, y) mm; None if that does not matter.
        end: Where it goes afterwards, (x, y) mm; None if that does not matter. An area filled in rows keeps to a start
            and an end of its own, if it has them.
        seed: Of the ordering; the same arguments give the same plan.

    Returns:
        The plan. No stitch or jump is longer than 12 mm, however the part is turned in its hoop.

    Raises:
        ParameterError: If there is nothing to sew, or an argument or a number of a stitch style is out of range.
    """
    profile = fabric_profile(fabric)
    design = drawn_against_strain(design, profile)
    number_between(trim_over, name="trim_over", low=0, high=LARGEST_MM)
    margin = _basting_margin(basting)
    begin, goal = (None if point is None else _point(name, point) for name, point in (("start", start), ("end", end)))
    final = max((number for number, stop in enumerate(design.stops) if stop.elements), default=0)
    sewn: list[tuple[PlanStop, list[Strand]]] = []
    waiting: list[str] = []  # what the hands do before a stop of which nothing is left to sew
    here = begin
    basted_at = 0
    for number, stop in enumerate(design.stops):
        if number == design.basted_at:
            basted_at = len(sewn)
        strands = _strands(stop, profile, here, goal if number == final else None, seed)
        waiting += [stop.before] if stop.before else []
        if strands:
            sewn.append((PlanStop(stop.purpose, stop.thread, " ".join(waiting)), strands))
            here = strands[-1].xy[-1]
            waiting = []
    sewn = _kept_off(sewn, density_limit(profile))
    if not sewn:
        raise ParameterError("design", design, "a design with something to sew")
    if margin is not None:
        _baste(sewn, min(basted_at, len(sewn) - 1), margin, profile, begin, seed)
    return assembled(design.name, sewn, trim_over=trim_over, trims=trims, origin=design.origin)


def _baste(
    sewn: list[tuple[PlanStop, list[Strand]]],
    at: int,
    margin: float,
    profile: FabricProfile,
    begin: FloatArray | None,
    seed: int,
) -> None:
    """Put a basting box before one of the stops; what the hands do before that stop is done before the box."""
    held, strands = sewn[at]
    box = basting_box([strand.xy for _, own in sewn for strand in own], held.thread, margin)
    came_from = sewn[at - 1][1][-1].xy[-1] if at else begin
    basted = _strands(box, profile, came_from, strands[0].xy[0], seed)
    sewn[at] = (replace(held, before=""), strands)
    sewn.insert(at, (PlanStop(box.purpose, box.thread, held.before), basted))


def basting_box(runs: Sequence[FloatArray], thread: Thread, margin: float) -> Stop:
    """Make the stop that bastes the cloth down: a box of long stitches around everything else.

    Args:
        runs: Needle points of the rest, (n, 2) mm each, one at least.
        thread: Thread to use.
        margin: The box outside the needle points by this, mm.
    """
    points = np.vstack(runs)
    (left, bottom), (right, top) = points.min(axis=0) - margin, points.max(axis=0) + margin
    box = np.array([[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom]])
    return Stop(Purpose.BASTE, thread, (Line(box, Running(length=PARTS["basting_length"].value)),))


def _strands(
    stop: Stop, profile: FabricProfile, start: FloatArray | None, end: FloatArray | None, seed: int
) -> list[Strand]:
    parts = parts_of(stop.elements, profile, ordered=stop.ordered, weight=stop.thread.weight)
    if not parts:
        return []
    strands = []
    for part, way in in_order(parts, start=start, end=end, seed=seed):
        run = part.piece.sew(way)
        loose = part.free_line and stop.purpose in MENDED
        strand = tidied(Strand(run.xy, run.role, _labels(part, stop, run.xy), part.exact, part.own_locks, loose))
        if len(strand.xy) > 1:
            strands.append(strand)
    lines = iter(with_shared_holes([strand for strand in strands if strand.loose]))
    return [next(lines) if strand.loose else strand for strand in strands]


def _kept_off(sewn: list[tuple[PlanStop, list[Strand]]], densest: float) -> list[tuple[PlanStop, list[Strand]]]:
    """Free needle points of every stop kept off those of all others, and thinned where the cloth would be cut."""
    weights = [STANDARD_WEIGHT / stop.thread.weight for stop, own in sewn for _ in own]
    strands = iter(kept_off([strand for _, own in sewn for strand in own], weights, densest=densest))
    return [(stop, [next(strands) for _ in own]) for stop, own in sewn]


def _labels(part: Part, stop: Stop, xy: FloatArray) -> NDArray[np.int32]:
    """Which element each needle point belongs to: the one that the stitch that ends there runs along."""
    if len(part.members) == 1 or len(xy) < 2:
        return np.full(len(xy), part.members[0], dtype=np.int32)
    tree = shapely.STRtree([shape_of(stop.elements[index]) for index in part.members])
    nearest = np.asarray(tree.nearest(shapely.points((xy[:-1] + xy[1:]) / 2)))
    return np.array(part.members, dtype=np.int32)[np.concatenate([nearest[:1], nearest])]


def _basting_margin(basting: bool | float) -> float | None:
    if basting is False:
        return None
    if basting is True:
        return PARTS["basting_margin"].value
    return number_between(basting, name="basting", low=0, high=LARGEST_MM)


def _point(name: str, given: ArrayLike) -> FloatArray:
    point = np.asarray(given, dtype=np.float64)
    if point.shape != (2,) or not np.isfinite(point).all():
        raise ParameterError(name, given, "a point (x, y) in mm")
    return point
