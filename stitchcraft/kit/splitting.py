"""A part that fits no field, sewn in several hoopings that are laid on one another by stitched crosses."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import RowNumbers
from stitchcraft.defaults import PARTS
from stitchcraft.design import PlanStop, Purpose, Role, StitchPlan
from stitchcraft.kit.cutting import ARM_MM, OVERLAP_MM, Cuts, cuts_of
from stitchcraft.machine import Hoop, Placement, smallest_fit, stitch_lengths
from stitchcraft.stitching.assembly import assembled
from stitchcraft.stitching.locks import locked
from stitchcraft.stitching.spacing import SHORTEST_MM
from stitchcraft.stitching.strands import Strand

_JOIN_MM = PARTS["cut_join"].value


@dataclass(frozen=True, slots=True, eq=False)
class SplitPiece:
    """What is sewn of a part in one hooping.

    Attributes:
        plan: Its stitches, in the part's frame; the first stop sews the crosses.
        whole: int32 (n,), for each penetration the one of the whole part that it is, -1 for what was added: crosses,
            and locks where a thread was cut.
        crosses: int32 (n,), for each penetration the cut whose cross it belongs to, -1 for none.
        hoop: The field.
        placement: How the part lies in it.
    """

    plan: StitchPlan
    whole: RowNumbers
    crosses: RowNumbers
    hoop: Hoop
    placement: Placement


@dataclass(frozen=True, slots=True, eq=False)
class Split:
    """A part sewn in several hoopings.

    Attributes:
        cuts: Where it is cut.
        pieces: The pieces in order of sewing.
    """

    cuts: Cuts
    pieces: tuple[SplitPiece, ...]


def split_plan(
    plan: StitchPlan, hoops: Sequence[Hoop], *, margin: float, trim_over: float, trims: bool
) -> Split | None:
    """Divide the stitches of a part over several hoopings.

    Every penetration of the part is in one of them at least. What shows is sewn past a cut by a millimetre and a
    stitch from either side, so that lines and columns overlap and rows of a fill interlock; underlay is not, for the
    later piece would lay it on what is finished. Where a thread is cut, it is locked.

    Args:
        plan: The part's stitches.
        hoops: The fields.
        margin: Kept free inside the edge of a field, mm.
        trim_over: A jump longer than this is trimmed, mm.
        trims: Whether the machine cuts threads.

    Returns:
        The pieces, or None if no straight cuts make the part fit.
    """
    cuts = cuts_of(plan, hoops, margin=margin)
    if cuts is None:
        return None
    pieces = []
    for number in range(len(cuts.at_mm) + 1):
        made, whole, crosses = _piece(plan, cuts, number, trim_over=trim_over, trims=trims)
        fit = smallest_fit(made.needle_points, hoops, margin=margin)
        if fit is None:
            return None
        pieces.append(SplitPiece(made, whole, crosses, fit[0], fit[1].placement))
    return Split(cuts, tuple(pieces))


def _piece(
    plan: StitchPlan, cuts: Cuts, number: int, *, trim_over: float, trims: bool
) -> tuple[StitchPlan, RowNumbers, RowNumbers]:
    count = len(cuts.at_mm) + 1
    own_cuts = [cut for cut in (number - 1, number) if 0 <= cut < count - 1]
    stops: list[tuple[PlanStop, list[Strand]]] = [
        (PlanStop(Purpose.BASTE, plan.stops[0].thread, _words(plan, number, count)), _cross_strands(cuts, own_cuts))
    ]
    waiting: list[str] = []
    for index, stop in enumerate(plan.stops):
        # what the hands do before the part's first stop is said before the crosses
        waiting += [stop.before] if stop.before and index else []
        strands = _strands(plan, index, cuts, number)
        if strands:
            stops.append((replace(stop, before=_of_piece(" ".join(waiting), number)), strands))
            waiting = []
    made = assembled(f"{plan.name}-{letter(number)}", stops, trim_over=trim_over, trims=trims, origin=plan.origin)
    label = made.element[made.is_stitch]
    points = plan.needle_points
    known = label >= 0
    same = known & (np.abs(made.needle_points - points[np.where(known, label, 0)]).max(axis=1) < 1e-9)
    # a lock that was added lies on the run, its holes elsewhere; one that was copied is the part's own
    whole = np.where(same, label, -1).astype(np.int32)
    crosses = np.where(label < -1, -2 - label, -1).astype(np.int32)
    sewn = np.flatnonzero(made.is_stitch)
    element = made.element.copy()
    element[sewn] = np.where(known, _elements(plan)[np.where(known, label, 0)], -1)
    return replace(made, element=element), whole, crosses


def letter(number: int) -> str:
    """The letter of a piece: ``"a"`` for the first."""
    return "abcdefghij"[number]


def _elements(plan: StitchPlan) -> RowNumbers:
    return plan.element[plan.is_stitch]


def _words(plan: StitchPlan, number: int, count: int) -> str:
    """What the hands do before the crosses are sewn."""
    if number == 0:
        return (
            f"{plan.stops[0].before} This is the first of {count} hoopings: the file begins with crosses, by which the "
            "next one is laid. Leave them in until the last is sewn."
        )
    return (
        "Hoop the same cloth anew with fresh stabilizer, the crosses of the last hooping in the field. Bring "
        "the needle to where the file begins and lower it by hand: it must meet the middle of the first cross. Step on "
        "to the second cross and check its middle in the same way; shift and turn the cloth until both meet. Fold back "
        "and tape down cloth that was laid on before, until the placement line is sewn."
    )


def _of_piece(words: str, number: int) -> str:
    """The words of a whole part's stop as they hold for one piece: cloth is laid once, and trimmed where it is sewn."""
    words = words.replace("tack-down all round", "tack-down, along this piece only")
    words = words.replace("tack-down along the free edge", "tack-down along the free edge, on this piece only")
    return re.sub(r"^Lay the (.+?) cloth right side up", r"Smooth the \1 cloth back", words) if number else words


def _cross_strands(cuts: Cuts, own: Sequence[int]) -> list[Strand]:
    """The crosses of a piece: the needle first goes down in the middle of the first."""
    strands = []
    for cut in own:
        for centre in cuts.crosses[cut]:
            x, y = np.array([ARM_MM, 0.0]), np.array([0.0, ARM_MM])
            for xy in (np.array([centre, centre - x, centre + x]), np.array([centre - y, centre + y])):
                label = np.full(len(xy), -2 - cut, dtype=np.int32)
                strands.append(
                    Strand(xy, np.full(len(xy), Role.TOP, dtype=np.uint8), label, exact=True, own_locks=True)
                )
    return strands


def _strands(plan: StitchPlan, stop: int, cuts: Cuts, number: int) -> list[Strand]:
    """What one stop sews of a piece; each needle point is labelled with its index in the whole."""
    numbers = np.flatnonzero(plan.stop[plan.is_stitch] == stop)
    sewn = stitch_lengths(plan).sewn[numbers]
    strands: list[Strand] = []
    for run in np.split(numbers, np.flatnonzero(~sewn[1:]) + 1):
        taken = _taken(plan, run, cuts, number)
        if len(run) > 1 and taken.any():
            strands += _joined(plan, run, taken)
    return strands


def _taken(plan: StitchPlan, run: NDArray[np.intp], cuts: Cuts, number: int) -> NDArray[np.bool_]:
    """Which needle points of a run a piece sews."""
    strip, shows = cuts.strip[run], plan.role[plan.is_stitch][run] == Role.TOP
    own = strip == number
    if not own.any():
        return own
    edges = (-np.inf, *cuts.at_mm, np.inf)
    along = cuts.along_mm[run]
    near = (along > edges[number] - OVERLAP_MM) & (along < edges[number + 1] + OVERLAP_MM)
    own |= near & shows & cuts.divided[run]
    taken = own.copy()
    # a stitch that a cut runs through: what shows in both pieces, what lies under it in the earlier one
    later = strip > number
    taken[1:] |= own[:-1] & (shows[1:] | later[1:])
    taken[:-1] |= own[1:] & (shows[1:] | later[:-1])
    return taken


def _joined(plan: StitchPlan, run: NDArray[np.intp], taken: NDArray[np.bool_]) -> list[Strand]:
    """The stretches of a run that belong to a piece, joined where the next begins near the end of the last."""
    xy, role, element = plan.needle_points, plan.role[plan.is_stitch], _elements(plan)
    places = np.flatnonzero(taken)
    stretches = [run[part] for part in np.split(places, np.flatnonzero(np.diff(places) > 1) + 1)]
    groups: list[list[NDArray[np.intp]]] = []
    for stretch in stretches:
        last = groups[-1][-1] if groups else None
        if last is not None and element[last[-1]] == element[stretch[0]]:
            gap = float(np.hypot(*(xy[stretch[0]] - xy[last[-1]])))
            if gap < SHORTEST_MM and len(stretch) > 1:
                groups[-1].append(stretch[1:])  # one hole for the end of the one and the start of the other
                continue
            if SHORTEST_MM <= gap <= _JOIN_MM:
                groups[-1].append(stretch)
                continue
        groups.append([stretch])
    strands = []
    for group in groups:
        chosen = np.concatenate(group)
        if len(chosen) < 2:
            continue
        points, roles, labels = locked(
            xy[chosen], role[chosen], chosen.astype(np.int32), start=chosen[0] != run[0], end=chosen[-1] != run[-1]
        )
        strands.append(Strand(points, roles, labels, exact=True, own_locks=True))
    return strands
