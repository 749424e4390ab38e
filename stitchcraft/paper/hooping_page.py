"""One part's section of the worksheet: how to hoop it, its stops in order, what to do after."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from reportlab.platypus import CondPageBreak, Flowable, Spacer, Table, TableStyle

from stitchcraft.defaults import MACHINE
from stitchcraft.design import Kind
from stitchcraft.errors import Finding
from stitchcraft.machine import hands_on_minutes, minutes
from stitchcraft.paper import cautions
from stitchcraft.paper.drawing import MM
from stitchcraft.paper.flow import FieldPicture, StopPicture, Swatch, box, pairs, para, table, together
from stitchcraft.paper.materials import framed_mm
from stitchcraft.paper.sheet import Sheet, SheetPart, stop_stitches
from stitchcraft.paper.words import (
    count_words,
    needle_words,
    off_centre_words,
    sewn_words,
    size_words,
    times_words,
    title_of,
    turn_words,
)

_WIDTH = 180.0


def hooping_section(sheet: Sheet, one: SheetPart, number: int, findings: Sequence[Finding]) -> list[Flowable]:
    """Everything about one hooping.

    Args:
        sheet: The kit's values.
        one: The part.
        number: Its place in the order of the work, from 1.
        findings: What the checks say of it.
    """
    head = [para(f"{number}  {title_of(one.name)}: {times_words(one)}", style="part"), _overview(sheet, one)]
    if findings:
        head.append(Spacer(1, 1.5 * MM))
        head.append(box([_finding(finding) for finding in findings], _WIDTH, heavy=True))
    after = [
        para(one.part.after, lead="Afterwards."),
        para(_caution(one), style="small"),
    ]
    stops = _stops(sheet, one)
    section: list[Flowable] = [*head, Spacer(1, 2 * MM), stops, Spacer(1, 2 * MM), together(after), Spacer(1, 5 * MM)]
    # a part that does not fit under the one before begins a page of its own
    return [together(section)] if len(one.plan.stops) < 4 else [CondPageBreak(230 * MM), *section]


def _overview(sheet: Sheet, one: SheetPart) -> Flowable:
    facts = pairs(_facts(sheet, one), (27.0, 82.0))
    made = Table([[FieldPicture(one, (66.0, 84.0)), facts]], colWidths=[70 * MM, 110 * MM], hAlign="LEFT")
    made.setStyle(TableStyle([
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 0), ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
    ]))  # fmt: skip
    return made


def _facts(sheet: Sheet, one: SheetPart) -> list[tuple[str, str]]:
    if one.hoop is None:
        field = "no listed field takes it; the box below says what it needs"
    else:
        field = f"{one.hoop.name} mm sewing field ({size_words(one.hoop.width, one.hoop.height)})"
    x, y = one.placement.offset_mm
    centre = off_centre_words(x, y, "to the right of", "above")
    rows = [
        ("Field", field),
        ("Files", ", ".join(one.files)),
        ("In the field", _turn(one)),
        ("Crosshair", f"{centre} the middle of the field" if centre else "on the middle of the field"),
    ]
    rows += [(f"On the {place.panel}", _place(place.at_mm)) for place in one.part.placements]
    size = framed_mm(one)
    cloth = one.part.cloth[0][1] if one.part.cloth and not one.part.placements else "panel cloth with its fleece"
    if size is not None:
        rows.append(("Hoop", f"{cloth}, with stabilizer {size_words(*size)} under it"))
    rows += [
        ("Needle", needle_words(one.plan, sheet.family.style.fabric) + "; your machine's manual goes first"),
        ("Sews", f"{count_words(one.plan.stitches)} stitches, {len(one.plan.stops)} stops, {one.plan.trims} trims"),
        ("Time", (f"about {minutes(one.plan, sheet.machine):.0f} min by machine at {sheet.machine.speed:g} stitches a "
                 f"minute, {hands_on_minutes(one.plan, sheet.machine):.0f} min by hand")),
    ]  # fmt: skip
    return rows


def _turn(one: SheetPart) -> str:
    words = turn_words(one.placement.angle_deg)
    if words == "upright":
        return "upright: the arrow shows the part's upper side"
    return (
        f"{words}. The file holds the turn; turn the cloth in the frame the same way, its upper side as the arrow shows"
    )


def _place(at_mm: tuple[float, float]) -> str:
    x, y = at_mm
    words = off_centre_words(x, y, "right", "above")
    middle = "on the middle line, " if abs(x) < 0.05 else ""
    words = words.replace("left and", "left of the middle line and").replace(
        "right and", "right of the middle line and"
    )
    return f"crosshair {middle}{words} the top edge"


def _stops(sheet: Sheet, one: SheetPart) -> Table:
    rows: list[list[str | Flowable]] = []
    counts, screens = stop_stitches(one.plan), one.screen_colours
    for number, stop in enumerate(one.plan.stops):
        screen = screens[number]
        note = f"on screen {screen}" if screen != stop.thread.colour else ""
        rows.append([
            para(str(number + 1), style="strong"),
            para(stop.before or "Nothing by hand.", style="cell"),
            Swatch(stop.thread.colour, stop.thread.name, stop.thread.weight, 27.0, note),
            para(sewn_words(one.name, stop.purpose), style="cell"),
            StopPicture(one.plan, number, (24.0, 17.0)),
            count_words(counts[number]),
            f"{stop_minutes(sheet, one, number):.1f}",
        ])  # fmt: skip
    head = ["", "First, by hand", "Thread", "Then it sews", "In black", "Stitches", "Minutes"]
    return table(head, rows, [7, 53, 30, 31, 27, 16, 16], right=[5, 6])


def stop_minutes(sheet: Sheet, one: SheetPart, stop: int) -> float:
    """Minutes that the machine runs for one stop; over all stops they add up to the part's."""
    plan, machine = one.plan, sheet.machine
    trims = int(np.count_nonzero((plan.kind == Kind.TRIM) & (plan.stop == stop))) if machine.trims else 0
    return stop_stitches(plan)[stop] / machine.speed + trims * MACHINE["trim_seconds"].value / 60


def _finding(finding: Finding) -> Flowable:
    return para(f"{finding.message} {finding.remedy}", style="cell", lead=f"{finding.level.value.capitalize()}:")


def _caution(one: SheetPart) -> str:
    """What can hurt at this hooping."""
    words = [cautions.MACHINE]
    if one.name in ("tab-back", "tab-front", "connector-front", "snap-mark", "shaping-marks"):
        words.append(cautions.METAL)
    if one.name in ("tab-back", "connector-front", "snap-mark"):
        words += [cautions.CHISEL, cautions.MAGNETS]
    return " ".join(words)
