"""The report: everything that was computed and measured, as plain values for JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np

from stitchcraft.decoration import DecorationCount
from stitchcraft.design import Kind
from stitchcraft.family import Family, Placed
from stitchcraft.family.decorated import decoration_counts
from stitchcraft.kit.build import Kit
from stitchcraft.kit.hooping_report import hoopings_of, plan_of
from stitchcraft.kit.sewn import SewnPart
from stitchcraft.machine import file_colours, hands_on_minutes, minutes, thread_metres
from stitchcraft.units import inch_text

REPORT_VERSION = 1


def report_of(kit: Kit) -> dict[str, Any]:
    """Make the report of a kit; lengths are mm unless a key says otherwise.

    No key is about straps: the report of a bag without them has the same keys, and lists a medallion or a mark under
    ``parts`` where a bag with straps has a bridge or a pair.
    """
    return {
        "report": REPORT_VERSION,
        "name": kit.family.name,
        "bag": _bag(kit.family),
        "closure": _closure(kit.family),
        "parts": _parts(kit),
        "hoopings": hoopings_of(kit),
        "hooping_plan": plan_of(kit),
        "cut_list": [
            asdict(piece) | {"width_in": inch_text(piece.width_mm), "height_in": inch_text(piece.height_mm)}
            for piece in kit.family.cut_list([one.part for one in kit.parts])
        ],
        "proofs": [proof.to_dict() for proof in kit.proofs],
        "findings": [finding.to_dict() for finding in kit.findings],
        **_costs(kit),
    }  # fmt: skip


def _costs(kit: Kit) -> dict[str, Any]:
    """What the kit costs, where the maker has given prices."""
    if kit.prices is None or not kit.prices.given:
        return {}
    # what the papers are made from loads the PDF library, which no other report needs
    from stitchcraft.kit.papers import sheet_of
    from stitchcraft.paper.costs import sheet_costs

    costs = sheet_costs(sheet_of(kit))
    return {} if costs is None else {"costs": costs.to_dict()}


def _bag(family: Family) -> dict[str, Any]:
    bag = family.bag
    return {
        "panel_cut_mm": _rounded(bag.panel_cut_mm),
        "standing_mm": _rounded(bag.standing_mm),
        "corner_cut_mm": _rounded(bag.corner_cut_mm),
        "base_mm": _rounded(bag.base_mm),
        "binding_mm": _rounded(bag.binding_mm),
        "lining_width_mm": _rounded(bag.lining_width_mm),
        "feet_mm": [_rounded(foot) for foot in bag.feet_mm],
        "shaped_top_mm": _rounded(bag.shaped_top_mm),
        "lean_deg": _rounded(bag.lean_deg),
        "width_mm": _rounded(bag.width_mm),
        "height_mm": _rounded(bag.height_mm),
        "depth_mm": _rounded(bag.depth_mm),
        "seam_mm": _rounded(bag.seam_mm),
        "wall_mm": _rounded(bag.wall_mm),
        "root_depth_mm": _rounded(bag.root_depth_mm),
        "insertion_mm": _rounded(bag.insertion_mm),
    }


def _closure(family: Family) -> dict[str, Any]:
    closure = family.closure
    return {
        "length_mm": _rounded(closure.length_mm),
        "inset_mm": _rounded(closure.inset_mm),
        "reach_mm": _rounded(closure.reach_mm),
        "drop_mm": _rounded(closure.drop_mm),
        "miss_mm": _rounded(closure.miss_mm),
        "tip_mm": _rounded(closure.tip_mm),
        "fastener": family.fastener.kind,
    }


def _parts(kit: Kit) -> list[dict[str, Any]]:
    counts = decoration_counts(kit.family)
    return [_part(kit, one) | {"decoration": _decoration(counts.get(one.name))} for one in kit.parts]


def _decoration(count: DecorationCount | None) -> dict[str, Any] | None:
    """How many motifs there are and how dense they lie; None for a part that has no decoration."""
    if count is None:
        return None
    return {
        "motifs": count.motifs,
        "runs": count.runs,
        "line_mm": round(count.line_mm, 1),
        "link_mm": round(count.link_mm, 1),
        "filled_mm2": round(count.filled_mm2, 1),
        "area_mm2": round(count.area_mm2, 1),
        "cover": round(count.cover, 4),
        "line_per_mm2": round(count.line_per_mm2, 4),
    }


def _part(kit: Kit, one: SewnPart) -> dict[str, Any]:
    thread = thread_metres(one.plan)
    hooped = one.hooped
    places = [_place(place) for place in one.part.placements]
    first = next(iter(one.files.values()))
    return {
        "name": one.name,
        "hoop": None if hooped.hoop is None else hooped.hoop.name,
        "angle_deg": round(hooped.placement.angle_deg, 9) + 0.0,
        "offset_mm": _rounded(hooped.placement.offset_mm),
        "size_mm": list(first.size),
        "slack_mm": _rounded(hooped.slack_mm),
        "placement": places[0] if places else None,
        "placements": places,
        "stitches": first.stitches,
        "jumps": one.plan.jumps,
        "trims": one.plan.trims,
        "minutes": round(minutes(one.plan, kit.machine), 2),
        "minutes_hands_on": round(hands_on_minutes(one.plan, kit.machine), 2),
        "thread_m": {"top": round(thread.top_m, 3), "bobbin": round(thread.bobbin_m, 3)},
        "stops": _stops(one),
        "after": one.part.after,
        "files": {fmt: one.file_name(fmt) for fmt in one.data},
        "proof": {fmt: proof.to_dict() for fmt, proof in one.proofs.items()},
    }


def _stops(one: SewnPart) -> list[dict[str, Any]]:
    used = thread_metres(one.plan).stops
    in_file = file_colours(one.plan.stops)
    counts = np.bincount(one.plan.stop[one.plan.kind == Kind.STITCH], minlength=len(one.plan.stops))
    return [
        {
            "n": number + 1,
            "purpose": stop.purpose.value,
            "colour": stop.thread.colour,
            "thread": stop.thread.name,
            "file_colour": in_file[number],
            "stitches": int(counts[number]),
            "thread_m": round(used[number].top_m, 3),
            "before": one.plan.hands_before(number),
        }
        for number, stop in enumerate(one.plan.stops)
    ]


def _place(place: Placed) -> dict[str, Any]:
    return {
        "panel": place.panel,
        "at_mm": _rounded(place.at_mm),
        "angle_deg": place.angle_deg,
        "mirror": place.mirror,
    }


def _rounded(value: Any) -> Any:
    """Numbers to four decimals; None and nesting pass through."""
    if value is None:
        return None
    if isinstance(value, tuple | list):
        return [_rounded(item) for item in value]
    return round(float(value), 4) + 0.0
