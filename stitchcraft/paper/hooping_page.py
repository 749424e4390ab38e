"""One part's section of the worksheet: how to hoop it, its stops in order, what to do after."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import Flowable, Spacer, Table, TableStyle

from stitchcraft.design import StitchPlan
from stitchcraft.errors import Finding
from stitchcraft.machine import Hoop, hands_on_minutes, minutes, stop_minutes, uncut_moves
from stitchcraft.paper import cautions
from stitchcraft.paper.drawing import MM
from stitchcraft.paper.flow import FieldPicture, StopPicture, Swatch, box, care, pairs, para, table, together
from stitchcraft.paper.handling import handled
from stitchcraft.paper.materials import hooped_words
from stitchcraft.paper.sheet import Sheet, SheetPart, stop_stitches
from stitchcraft.paper.words import (
    count_words,
    minute_words,
    needle_words,
    off_centre_words,
    sewn_words,
    times_words,
    title_of,
    turn_words,
)
from stitchcraft.parts import Danger
from stitchcraft.units import inch_text

_WIDTH = 180.0


def hooping_section(
    sheet: Sheet, one: SheetPart, number: int, findings: Sequence[Finding], *, times: int | None = None
) -> list[Flowable]:
    """Everything about one hooping.

    Args:
        sheet: The kit's values.
        one: The part.
        number: Its place in the order of the work, from 1.
        findings: What the checks say of it.
        times: How often it is sewn alone; None for as often as the bag has places for it.
    """
    often = times_words(one, one.times if times is None else times, sheet.bags)
    head = [para(f"{number}  {title_of(one.name)}: sew {often}", style="part"), _overview(sheet, one)]
    if findings:
        head.append(Spacer(1, 1.5 * MM))
        head.append(box([finding_line(finding) for finding in findings], _WIDTH, heavy=True))
    section: list[Flowable] = [
        *head,
        Spacer(1, 2 * MM),
        stops_table(sheet, one),
        *screen_note(one),
        Spacer(1, 2 * MM),
        together([para(handled(one.part.after, sheet.family.style.fabric), lead="Afterwards."), care(_caution(one))]),
    ]
    # what does not fit under the part before begins a page of its own
    return [together(section)]


def _overview(sheet: Sheet, one: SheetPart) -> Flowable:
    facts = pairs(_facts(sheet, one), (27.0, 82.0))
    caption = para(
        "Seen from above, the far side of the frame up. Dash-dotted: the middle of the field. Arrow: the part's upper "
        "side. Crosshair: the part's own point.", style="small",
    )  # fmt: skip
    size = (66.0, 80.0) if len(one.plan.stops) > 2 else (66.0, 52.0)
    return side_by_side([FieldPicture(one, size), caption], facts)


def side_by_side(left: list[Flowable], right: Flowable) -> Table:
    """A picture with its caption, and facts beside it."""
    made = Table([[left, right]], colWidths=[70 * MM, 110 * MM], hAlign="LEFT")
    made.setStyle(TableStyle([
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (0, 0), 10), ("RIGHTPADDING", (1, 0), (1, 0), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 0), ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
    ]))  # fmt: skip
    return made


def _facts(sheet: Sheet, one: SheetPart) -> list[tuple[str, str]]:
    field = "no listed field takes it; the box below says what it needs"
    x, y = one.placement.offset_mm
    centre = off_centre_words(x, y, "to the right of", "above")
    rows = [
        ("Field", field if one.hoop is None else field_words(one.hoop)),
        ("Files", files_words(one.files)),
        ("In the field", _turn(one)),
        ("Crosshair", f"{centre} the middle of the field" if centre else "on the middle of the field"),
    ]
    rows += places_words(one)
    rows.append(("Hoop", hooped_words(sheet, one)))
    machine, hands = (minute_words(value(one.plan, sheet.machine)) for value in (minutes, hands_on_minutes))
    rows += [
        ("Needle", needle_words(one.plan, sheet.family.style.fabric) + "; your machine's manual goes first"),
        ("Sews", sews_words(sheet, one.plan)),
        ("Time", f"{machine} min by machine at {sheet.machine.speed:g} stitches a minute, about {hands} min by hand"),
    ]  # fmt: skip
    return rows


def field_words(hoop: Hoop) -> str:
    """A field in both units."""
    inches = f"{inch_text(hoop.width).removesuffix(' in')} × {inch_text(hoop.height).removesuffix(' in')}"
    return f"{hoop.name} mm sewing field, {inches} in"


def files_words(files: Sequence[str]) -> str:
    """Names of files of which one is taken."""
    return ", ".join(files) + ("; take the one that your machine reads" if len(files) > 1 else "")


def sews_words(sheet: Sheet, plan: StitchPlan) -> str:
    """How much is sewn."""
    stops = "1 stop" if len(plan.stops) == 1 else f"{len(plan.stops)} stops"
    trims = "1 trim" if plan.trims == 1 else f"{plan.trims} trims"
    if not sheet.machine.trims:
        loose = plan.trims + len(uncut_moves(plan, sheet.machine))
        trims = f"{loose} thread{'' if loose == 1 else 's'} between stitches to cut by hand"
    return f"{count_words(plan.stitches)} stitches, {stops}, {trims}"


def _turn(one: SheetPart) -> str:
    words = turn_words(one.placement.angle_deg)
    if words == "upright":
        return "upright: the arrow shows the part's upper side"
    how = "The file holds the turn; turn the cloth in the frame the same way, its upper side as the arrow shows"
    if one.placement.angle_deg % 90:
        how += ". No listed field takes it square: draw a line along the grain and measure the angle from it"
    return f"{words}. {how}"


def places_words(one: SheetPart) -> list[tuple[str, str]]:
    """Where the crosshair goes on the panels; places that both panels share are said once."""
    panels: dict[tuple[float, float], list[str]] = {}
    for place in one.part.placements:
        panels.setdefault(place.at_mm, []).append(place.panel)
    return [(f"On {' and '.join(names)}", _place(at_mm)) for at_mm, names in panels.items()]


def _place(at_mm: tuple[float, float]) -> str:
    x, y = at_mm
    words = off_centre_words(x, y, "right", "above")
    middle = "on the middle line, " if abs(x) < 0.05 else ""
    words = words.replace("left and", "left of the middle line and").replace(
        "right and", "right of the middle line and"
    )
    return f"crosshair {middle}{words} the top edge"


def stops_table(sheet: Sheet, one: SheetPart, words: Sequence[str] | None = None) -> Table:
    """The stops in order; *words* say what each sews, None as the part does."""
    rows: list[list[str | Flowable]] = []
    counts, screens = stop_stitches(one.plan), one.screen_colours
    times = stop_minutes(one.plan, sheet.machine)
    for number, stop in enumerate(one.plan.stops):
        screen = screens[number]
        note = f"on screen {screen}" if screen != stop.thread.colour else ""
        rows.append([
            para(str(number + 1), style="strong"),
            para(one.plan.hands_before(number), style="cell"),
            Swatch(stop.thread.colour, stop.thread.name, stop.thread.weight, 27.0, note),
            para(sewn_words(one.part, stop.purpose) if words is None else words[number], style="cell"),
            StopPicture(one.plan, number, (24.0, 17.0)),
            count_words(counts[number]),
            f"{times[number]:.1f}",
        ])  # fmt: skip
    head = ["", "First, by hand", "Thread", "Then it sews", "In black", "Stitches", "Minutes"]
    return table(head, rows, [7, 53, 30, 31, 27, 16, 16], right=[5, 6])


def screen_note(one: SheetPart) -> list[Flowable]:
    """What a colour on screen means that is not the thread's, if there is one."""
    if all(screen == stop.thread.colour for screen, stop in zip(one.screen_colours, one.plan.stops, strict=True)):
        return []
    words = (
        "On screen: the colour in the file, another than the thread's, so that the machine waits before the stop. Sew "
        "with the thread named here."
    )
    return [para(words, style="small")]


def finding_line(finding: Finding) -> Flowable:
    """A finding with its remedy."""
    return para(f"{finding.message} {finding.remedy}", style="cell", lead=f"{finding.level.value.capitalize()}:")


def _caution(one: SheetPart) -> str:
    """What can hurt at this hooping."""
    dangers = (Danger.METAL,) if one.name == "shaping-marks" else one.part.dangers
    return " ".join((cautions.MACHINE, *cautions.about(dangers)))
