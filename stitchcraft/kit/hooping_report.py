"""The hoopings in the report."""

from __future__ import annotations

from typing import Any

from stitchcraft.kit.build import Kit
from stitchcraft.kit.hooping_plan import Hooping, HoopingPlan, SharedFiles
from stitchcraft.kit.split_files import PieceFiles
from stitchcraft.machine import Placement, hands_on_minutes, minutes, thread_metres


def hoopings_of(kit: Kit) -> list[dict[str, Any]]:
    """One entry for each loading of the frame, alike ones once; lengths are mm."""
    return [_hooping(kit, one) for one in kit.hoopings.hoopings]


def plan_of(kit: Kit) -> dict[str, Any]:
    """How many loadings there are, how many would do, and which parts cannot share one."""
    plan = kit.hoopings
    return {
        "bags": plan.options.bags,
        "shared": plan.options.share,
        "loadings": plan.loadings,
        "alone": plan.alone,
        "fewest": plan.fewest,
        "bound": plan.bound,
        "proven": plan.proven,
        "words": fewest_words(plan),
        "gap_mm": plan.options.gap_mm,
        "apart": [{"parts": [one, other], "why": why} for one, other, why in plan.reasons],
        "proofs": [proof.to_dict() for proof in plan.proofs],
    }  # fmt: skip


def fewest_words(plan: HoopingPlan) -> str:
    """What is known of the number of hoopings, in a sentence."""
    if plan.fewest == plan.bound:
        return f"{plan.fewest} hoopings; fewer cannot do, whatever the angle of the cloth"
    if plan.fewest == plan.square_bound:
        return (
            f"{plan.fewest} hoopings; fewer cannot do with every part square to the field, and at other angles at "
            f"least {plan.bound} are needed"
        )
    return f"{plan.fewest} hoopings; at least {plan.bound} are needed; whether fewer than {plan.fewest} do is open"


def _hooping(kit: Kit, one: Hooping) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "hoop": None if one.hoop is None else one.hoop.name,
        "parts": [copy.part.name for copy in one.copies],
        "times": one.times,
        "panels": list(one.panels),
    }
    if one.piece is not None:
        return entry | _piece(one, one.piece)
    if one.shared is None:
        entry["files"] = {fmt: one.copies[0].part.file_name(fmt) for fmt in one.copies[0].part.data}
        return entry
    return entry | _shared(kit, one, one.shared)


def _piece(one: Hooping, files: PieceFiles) -> dict[str, Any]:
    placement = files.piece.placement
    return {
        "name": one.name,
        "piece": {"n": files.number + 1, "of": files.count},
        "files": {fmt: one.file_name(fmt) for fmt in files.data},
        "proof": {fmt: proof.to_dict() for fmt, proof in files.proofs.items()},
        **_lies(placement),
        "crosses_mm": [[round(float(x), 1), round(float(y), 1)] for x, y in files.crosses],
        "stitches": files.piece.plan.stitches,
        "added_stitches": int((files.piece.whole < 0).sum()),
    }


def _lies(placement: Placement) -> dict[str, Any]:
    """How a piece lies in the field."""
    return {
        "angle_deg": round(placement.angle_deg, 9) + 0.0,
        "offset_mm": [round(value, 4) + 0.0 for value in placement.offset_mm],
    }


def _shared(kit: Kit, one: Hooping, files: SharedFiles) -> dict[str, Any]:
    plan = files.together.plan
    thread = thread_metres(plan)
    counts = [len(plan.points_of(number)) for number in range(len(plan.stops))]
    return {
        "name": one.name,
        "files": {fmt: one.file_name(fmt) for fmt in files.data},
        "proof": {fmt: proof.to_dict() for fmt, proof in files.proofs.items()},
        "gap_mm": None if one.gap_mm is None else round(one.gap_mm, 3),
        "pieces": [
            {
                "n": number,
                "part": copy.part.name,
                **_lies(placement),
                "proof": {fmt: proof.to_dict() for fmt, proof in member.proofs.items()},
            }
            for number, (copy, placement, member) in enumerate(
                zip(one.copies, one.placements, files.members, strict=True), start=1
            )
        ],
        "stitches": plan.stitches,
        "jumps": plan.jumps,
        "trims": plan.trims,
        "minutes": round(minutes(plan, kit.machine), 2),
        "minutes_hands_on": round(hands_on_minutes(plan, kit.machine), 2),
        "thread_m": {"top": round(thread.top_m, 3), "bobbin": round(thread.bobbin_m, 3)},
        "stops": [
            {
                "n": number + 1,
                "purpose": stop.purpose.value,
                "colour": stop.thread.colour,
                "thread": stop.thread.name,
                "stitches": counts[number],
                "before": plan.hands_before(number),
                "pieces": [member + 1 for member, _ in files.together.stops[number].members],
            }
            for number, stop in enumerate(plan.stops)
        ],
    }
