"""How much of everything a kit takes, to be priced."""

from __future__ import annotations

from stitchcraft.defaults import BAG
from stitchcraft.machine import hands_on_minutes, minutes, thread_metres
from stitchcraft.machine.costs import Amounts, Costs, costs_of
from stitchcraft.paper import materials
from stitchcraft.paper.sheet import Sheet


def amounts_of(sheet: Sheet) -> Amounts:
    """Add up what the hoopings of a kit take: thread with its margin for ends, cloth and stabilizer as cut.

    The time is that at the machine, running and waiting for hands; cutting out and sewing the bag are not in it.
    """
    uses = [(thread_metres(one.plan), one.times * sheet.bags) for one in sheet.parts]
    ends = 1 + BAG["thread_margin"].value
    pieces = (*materials.to_hoop(sheet), *materials.laid_on(sheet), *materials.for_bag(sheet))
    cloth = sum(cut.count * cut.width_mm * cut.height_mm for cut in pieces if cut.material.endswith("cloth"))
    backing = sum(cut.count * cut.width_mm * cut.height_mm for cut in materials.stabilizer(sheet))
    times = {one.name: one.times for one in sheet.parts}
    at_machine = sum(
        count * (minutes(stitches, sheet.machine) + hands_on_minutes(stitches, sheet.machine))
        for stitches, count in sheet.sewings()
    )
    return Amounts(
        thread=ends * sum(use.top_m * count for use, count in uses),
        bobbin=ends * sum(use.bobbin_m * count for use, count in uses),
        cloth=cloth / 1e6,
        stabilizer=backing / 1e6,
        fastener=sheet.bags * (float("tab-back" in times) + times.get("shaping-marks", 0) // 2),
        hour=at_machine / 60,
    )


def sheet_costs(sheet: Sheet) -> Costs | None:
    """What a kit costs; None if no price is given."""
    if sheet.prices is None or not sheet.prices.given:
        return None
    return costs_of(amounts_of(sheet), sheet.prices)
