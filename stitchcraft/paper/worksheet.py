"""The worksheet: everything the kit knows, in the order of the work, to lie beside the machine."""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import partial

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageBreak, PageTemplate, Spacer

from stitchcraft.defaults import BAG
from stitchcraft.errors import Finding, Level
from stitchcraft.family import Family
from stitchcraft.machine import FORMATS, hands_on_minutes, minutes
from stitchcraft.paper import cautions, materials
from stitchcraft.paper.assembly import Step, assembly, preparation
from stitchcraft.paper.costs import sheet_costs
from stitchcraft.paper.drawing import MM
from stitchcraft.paper.flow import INK, RULE, Picture, Swatch, box, care, pairs, para, table, together
from stitchcraft.paper.fonts import REGULAR, fitted, lacking, printable, use_fonts
from stitchcraft.paper.handling import care_of, handled
from stitchcraft.paper.hooping_page import hooping_section
from stitchcraft.paper.pages import packed, page_size
from stitchcraft.paper.shared_page import apart_section, fewest_section, shared_section
from stitchcraft.paper.sheet import Sheet, SheetHooping, SheetPart
from stitchcraft.paper.words import (
    bolt_words,
    count_words,
    loaded_words,
    measured_words,
    minute_words,
    pieces_title,
    promise_words,
    reel_words,
    times_words,
    title_of,
    turn_words,
)
from stitchcraft.parts import Danger
from stitchcraft.units import both_sizes, both_text, lengths_said_in

WIDTH_MM = 180.0
"""Of the text: it fits A4 and Letter alike."""

_COUNT_FORM = "last-page"


def worksheet_pdf(sheet: Sheet, *, paper: str = "A4") -> bytes:
    """Make the worksheet of a kit.

    Cover, materials and cut lists, one section a hooping with its numbered stops, assembly. The same values give
    the same bytes.

    Args:
        sheet: The kit's values.
        paper: ``"A4"`` or ``"Letter"``.

    Raises:
        ParameterError: If *paper* is neither.
    """
    use_fonts()
    size = page_size(paper)
    stream = io.BytesIO()
    side = (size[0] / MM - WIDTH_MM) / 2
    document = BaseDocTemplate(
        stream, pagesize=size, leftMargin=side * MM, rightMargin=side * MM, topMargin=16 * MM, bottomMargin=15 * MM,
        title=printable(sheet.family.name)[:200], subject="worksheet", author="", creator="stitchcraft", invariant=1,
        displayDocTitle=1, initialFontName=REGULAR,
    )  # fmt: skip
    frame = Frame(
        side * MM, 15 * MM, WIDTH_MM * MM, size[1] - 31 * MM, leftPadding=0, rightPadding=0, topPadding=0,
        bottomPadding=0,
    )  # fmt: skip
    document.addPageTemplates([PageTemplate("page", [frame], onPageEnd=partial(_foot, sheet.family.name))])
    with lengths_said_in(sheet.family.units), packed():
        document.build([*_story(sheet), _LastPage()])
    return stream.getvalue()


class _LastPage(Flowable):
    """Writes the number of the last page once it is known, where every page's foot refers to it."""

    def wrap(self, *_room: float) -> tuple[float, float]:
        """It takes no room."""
        return (0.0, 0.0)

    def draw(self) -> None:
        """Fill in the form that the feet of all pages use."""
        self.canv.beginForm(_COUNT_FORM, 0, 0, 20 * MM, 5 * MM)
        self.canv.setFillColor(HexColor(INK))
        self.canv.setFont(REGULAR, 7.5)
        self.canv.drawString(0, 1 * MM, str(self.canv.getPageNumber()))
        self.canv.endForm()


def _foot(name: str, canvas: Canvas, document: BaseDocTemplate) -> None:
    left, right = document.leftMargin, float(document.pagesize[0]) - document.rightMargin
    canvas.setStrokeColor(HexColor(RULE))
    canvas.setLineWidth(0.4)
    canvas.line(left, 12 * MM, right, 12 * MM)
    canvas.setFillColor(HexColor(INK))
    canvas.setFont(REGULAR, 7.5)
    canvas.drawString(left, 8.5 * MM, fitted(name, 120 * MM, 7.5))
    canvas.drawRightString(right - 6 * MM, 8.5 * MM, f"page {canvas.getPageNumber()} of")
    canvas.saveState()
    canvas.translate(right - 5.2 * MM, 7.5 * MM)
    canvas.doForm(_COUNT_FORM)
    canvas.restoreState()


def _story(sheet: Sheet) -> list[Flowable]:
    story = [*_cover(sheet), PageBreak(), *_materials(sheet), PageBreak()]
    for number, one in enumerate(_work(sheet), start=1):
        if isinstance(one, SheetHooping):
            names = {piece.name for piece in one.pieces}
            found = [finding for finding in sheet.findings if finding.part in names]
            story += shared_section(sheet, one, number, found)
        else:
            part, times = one
            found = [finding for finding in sheet.findings if finding.part == part.name]
            story += hooping_section(sheet, part, number, found, times=times)
    story += [PageBreak(), *_assembly(sheet), *_promises(sheet)]
    if sheet.plan is not None:
        story += apart_section(sheet.plan)
    return story


def _work(sheet: Sheet) -> Sequence[SheetHooping | tuple[SheetPart, int]]:
    """The hoopings in the order of the work: shared ones, and parts alone with how often each is sewn."""
    return sheet.plan.work if sheet.plan is not None else [(part, part.times) for part in sheet.parts]


# -- cover ----------------------------------------------------------------------------------------------


def _cover(sheet: Sheet) -> list[Flowable]:
    family = sheet.family
    name = family.name if len(family.name) <= 240 else family.name[:239] + "…"
    story: list[Flowable] = [para(name, style="title")]
    lacks = lacking(family.name)
    if lacks:
        codes = ", ".join(f"U+{ord(char):04X}" for char in lacks[:12])
        more = f" and {len(lacks) - 12} more" if len(lacks) > 12 else ""
        story.append(para(f"□ stands for a character that this sheet's letters lack: {codes}{more}.", style="small"))
    errors = [finding for finding in sheet.findings if finding.level is Level.ERROR]
    if errors:
        head = para("An error stands. Put it right in the spec and make the kit anew before you sew.", style="strong")
        story += [box([head, *_finding_lines(errors)], WIDTH_MM, heavy=True), Spacer(1, 2 * MM)]
    if sheet.bag_image is not None:
        story.append(Picture(sheet.bag_image, WIDTH_MM, max(50.0, 88.0 - 8.0 * len(errors))))
    story.append(pairs(_facts(family), (38.0, WIDTH_MM - 38.0)))
    story += [para("The hoopings", style="head"), _overview(sheet)]
    if sheet.plan is not None:
        bags = "" if sheet.bags == 1 else f" This sheet is for {sheet.bags} bags alike."
        story += [Spacer(1, 2 * MM), *fewest_section(sheet.plan, bags)]
    # shaping snaps are magnets as often as not
    magnets = Danger.MAGNETS in family.fastener.bag_setting.dangers or family.bag.shaping is not None
    general = [finding for finding in sheet.findings if not finding.part and finding.level is not Level.ERROR]
    if general:
        story += [Spacer(1, 2 * MM), box(_finding_lines(general), WIDTH_MM)]
    story += [Spacer(1, 3 * MM), box([
        para(cautions.FIRST, style="cell", lead="Before you start."),
        para(cautions.MACHINE, style="cell"),
        *(para(cautions.MAGNETS, style="cell") for _ in range(magnets)),
        para(cautions.SMALL_PARTS, style="cell"),
    ], WIDTH_MM)]  # fmt: skip
    return story


def _facts(family: Family) -> list[tuple[str, str]]:
    bag, closure = family.bag, family.closure
    width, depth, height = bag.standing_mm
    facts = [
        ("Panel, seam to seam", both_sizes(bag.width_mm, bag.height_mm) + ", side seams × top edge to bottom seam"),
        ("Panel, as cut", f"{both_sizes(*bag.panel_cut_mm)}, with {both_text(bag.seam_mm)} seam allowances"),
    ]
    if bag.depth_mm:
        facts.append(("Standing", f"{both_sizes(width, depth)} at the base, {both_text(height)} high"))
    straps = f"; straps {both_text(bag.strap_spacing_mm)} apart, centre to centre" if bag.has_straps else ""
    facts.append(("Top", f"{bag.top}{straps}"))
    facts.append((
        "Closure",
        (f"tab {both_text(closure.length_mm)} long from its root line, {family.fastener.title} "
         f"{both_text(closure.inset_mm)} from the "
         f"tip; target {both_text(closure.drop_mm)} below the top edge"),
    ))  # fmt: skip
    style = family.style
    profile = style.profile if isinstance(style.profile, str) else "own"
    facts.append((
        "Family",
        f"decoration {style.decoration.kind}, {style.edge.kind} edge, {profile} corners; for {style.fabric.name}",
    ))  # fmt: skip
    return facts


def _overview(sheet: Sheet) -> Flowable:
    rows: list[list[str]] = []
    machine_total = hands_total = 0.0
    hoopings = 0
    for number, one in enumerate(_work(sheet), start=1):
        if isinstance(one, SheetHooping):
            plan, times, title = one.plan, one.times, pieces_title(one)
            often, field, turn = loaded_words(one), one.hoop.name, "together"
        else:
            part, times = one
            plan, title, turn = part.plan, title_of(part.name), turn_words(part.placement.angle_deg)
            often = times_words(part, times, sheet.bags)
            field = "none" if part.hoop is None else part.hoop.name
        machine, hands = minutes(plan, sheet.machine), hands_on_minutes(plan, sheet.machine)
        machine_total, hands_total, hoopings = (
            machine_total + machine * times,
            hands_total + hands * times,
            hoopings + times,
        )
        title = title[:1].upper() + title[1:]
        words = f"{minute_words(machine)} + {minute_words(hands)}"
        rows.append([str(number), title, often, field, turn, count_words(plan.stitches), words])
    rows.append(["", "In all", f"{hoopings} hoopings", "", "", "", f"{machine_total:.0f} + {hands_total:.0f}"])
    head = ["", "Part", "How often", "Field, mm", "In the field", "Stitches", "Minutes, machine + hands"]
    return table(head, rows, [7, 27, 51, 17, 35, 17, 26], right=[5, 6])


# -- materials ------------------------------------------------------------------------------------------


def _materials(sheet: Sheet) -> list[Flowable]:
    story: list[Flowable] = [para("Materials and cutting", style="part")]
    for title, words, cuts in (
        ("Cloth to hoop", "Cut larger than the frames, so that they hold it all round.", materials.to_hoop(sheet)),
        ("Cloth to lay on in the hoop", "", materials.laid_on(sheet)),
        ("For the bag", "", materials.for_bag(sheet)),
        ("Stabilizer", "", materials.stabilizer(sheet)),
    ):
        if not cuts:
            continue
        rows = [
            [
                cut.name,
                cut.material,
                str(cut.count),
                both_sizes(cut.width_mm, cut.height_mm),
                handled(cut.note, sheet.family.style.fabric),
            ]
            for cut in cuts
        ]
        block: list[Flowable] = [para(title, style="head")]
        if words:
            block.append(para(words, style="cell"))
        block.append(table(["Piece", "From", "Cut", "Width × height", "Mind"], rows, [30, 23, 9, 59, 59], right=[2]))
        story.append(together(block))
    story += [*_to_buy(sheet), _threads(sheet), *_fasteners(sheet), *_costs(sheet)]
    story.append(Spacer(1, 3 * MM))
    fabric_care = care_of(sheet.family.style.fabric)
    if fabric_care is not None:
        lead = f"Sewing {sheet.family.style.fabric.name}."
        story += [together([box([para(fabric_care.words, style="cell", lead=lead)], WIDTH_MM)]), Spacer(1, 3 * MM)]
    story.append(together([box([
        para(cautions.BLADES, style="cell"), para(cautions.IRON, style="cell"), para(cautions.CHISEL, style="cell"),
    ], WIDTH_MM)]))  # fmt: skip
    story += [
        para("Before the first hooping", style="head"),
        *_steps(preparation(sheet.family, bags=sheet.bags), sheet.family),
    ]
    return story


def _costs(sheet: Sheet) -> list[Flowable]:
    costs = sheet_costs(sheet)
    if costs is None:
        return []
    rows = [
        [line.what, f"{line.amount:.2f} {line.unit}" if line.unit else f"{line.amount:.0f}", f"{line.price:g}",
         f"{line.cost:,.2f}"]
        for line in costs.lines
    ]  # fmt: skip
    total = f"{costs.total:,.2f} {costs.currency}".strip()
    return [together([
        para("Cost", style="head"),
        para("Of what the hoopings and the cut pieces take, at your prices; cutting out and sewing the bag are not in "
             "it.", style="cell"),
        table(["For", "Amount", "Price", "Cost"], [*rows, ["In all", "", "", total]], [60, 40, 40, 40],
              right=[1, 2, 3]),
    ])]  # fmt: skip


def _to_buy(sheet: Sheet) -> list[Flowable]:
    lengths = materials.cloth_lengths(sheet)
    if not lengths:
        return []
    usable = both_text(sheet.bolt_mm)
    rows = [[material, f"{both_text(long)}, or {bolt_words(long)}"] for material, long in lengths]
    return [together([
        para("Cloth to buy", style="head"),
        para(f"Enough to lay the pieces out in rows, upright, across {usable} of usable width.", style="cell"),
        table(["Cloth", "At least"], rows, [38, 142]),
    ])]  # fmt: skip


def _threads(sheet: Sheet) -> Flowable:
    rows: list[list[str | Flowable]] = []
    for need in materials.threads(sheet):
        thread = need.thread
        swatch = Swatch(thread.colour, thread.name, thread.weight, 32.0)
        rows.append([swatch, reel_words(need.metres), materials.part_titles(need.parts)])
    bobbin, margin = materials.bobbin_metres(sheet), BAG["thread_margin"].value
    rows.append(["bobbin thread", reel_words(bobbin), "all parts"])
    return together([
        para("Thread", style="head"),
        para(
            f"For every hooping of the kit, with {100 * margin:.0f} % added for ends that are cut off.",
            _on_screen(sheet),
            style="cell",
        ),
        table(["Colour", "At least", "For"], rows, [38, 34, 108]),
    ])  # fmt: skip


def _on_screen(sheet: Sheet) -> str:
    """Why the colours on the machine's screen may be others than the threads'."""
    kept = {fmt: FORMATS[fmt].colours for fmt in sheet.machine.formats}
    nearest = [fmt for fmt, colours in kept.items() if colours == "palette"]
    lacking = [fmt for fmt, colours in kept.items() if colours == "none"]
    words = ""
    if nearest:
        words += (
            f" A {' or '.join(nearest)} file names for each thread the nearest colour of a fixed list: what the "
            "machine shows may be another shade."
        )
    if lacking:
        words += f" A {' or '.join(lacking)} file holds no colours: what the machine shows says nothing."
    return f"{words} Go by the stops on this sheet." if words else ""


def _fasteners(sheet: Sheet) -> list[Flowable]:
    rows = [list(row) for row in materials.fasteners(sheet)]
    if not rows:
        return []
    head = "Fasteners and straps" if sheet.family.bag.has_straps else "Fasteners"
    return [together([para(head, style="head"), table(["What", "How many", "Mind"], rows, [38, 20, 122])])]


# -- assembly -------------------------------------------------------------------------------------------


def _assembly(sheet: Sheet) -> list[Flowable]:
    names = frozenset(one.name for one in sheet.parts)
    return [para("Putting the bag together", style="part"), *_steps(assembly(sheet.family, names), sheet.family)]


def _steps(steps: Sequence[Step], family: Family) -> list[Flowable]:
    story: list[Flowable] = []
    for number, step in enumerate(steps, start=1):
        block: list[Flowable] = [para(handled(step.text, family.style.fabric), lead=f"{number}  {step.title}.")]
        if step.caution:
            block.append(care(step.caution))
        story.append(together(block))
    return story


def _promises(sheet: Sheet) -> list[Flowable]:
    if not sheet.promises:
        return []
    rows = [
        [promise_words(promise.code), materials.part_titles(promise.parts), *measured_words(promise),
         "holds" if promise.ok else "FAILS"]
        for promise in sheet.promises
    ]  # fmt: skip
    return [together([
        para("Measured on the files", style="head"),
        para("Each file was read back from its bytes; this is what was found there.", style="cell"),
        table(["Promise", "On", "Measured", "At most", ""], rows, [68, 52, 26, 20, 14], right=[2, 3]),
    ])]  # fmt: skip


def _finding_lines(findings: Sequence[Finding]) -> list[Flowable]:
    lines: list[Flowable] = []
    for finding in findings:
        where = f" ({title_of(finding.part).lower()})" if finding.part else ""
        lead = f"{finding.level.value.capitalize()}{where}:"
        lines.append(para(f"{finding.message} {finding.remedy}", style="cell", lead=lead))
    return lines
