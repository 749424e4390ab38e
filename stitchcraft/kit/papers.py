"""A kit's papers: its values handed to the sheet, and the files that come back."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from stitchcraft.design import Purpose
from stitchcraft.errors import ParameterError
from stitchcraft.kit.build import Kit
from stitchcraft.kit.cloth_groups import Copy
from stitchcraft.kit.hooping_plan import Hooping
from stitchcraft.kit.hooping_report import fewest_words
from stitchcraft.kit.split_files import PieceFiles

if TYPE_CHECKING:
    from PIL.Image import Image

    from stitchcraft.paper import Sheet, SheetPart
    from stitchcraft.paper.sheet import SheetHooping, SheetPlan


def sheet_of(kit: Kit, *, bag: Image | None = None) -> Sheet:
    """Gather what the papers of a kit say.

    Args:
        kit: The kit.
        bag: Picture of the bag, PNG; none if empty.
    """
    # the PDF library is loaded with the first paper: checking and drawing need none
    from stitchcraft.paper import Sheet, SheetPart

    parts = tuple(
        SheetPart(
            one.part,
            one.plan,
            one.hooped.hoop,
            one.hooped.placement,
            tuple(one.file_name(fmt) for fmt in one.data),
            one.cloth,
        )
        for one in kit.parts
    )
    plan = _sheet_plan(kit, parts) if kit.hoopings.options.share or kit.hoopings.split else None
    promises = tuple(dict.fromkeys((*kit.proofs, *kit.hoopings.proofs)))
    return Sheet(kit.family, kit.machine, parts, tuple(kit.findings), promises, bag, plan, prices=kit.prices)


def _sheet_plan(kit: Kit, parts: tuple[SheetPart, ...]) -> SheetPlan:
    """The hoopings as the sheet tells of them."""
    from stitchcraft.paper.sheet import SheetPlan

    by_name = {one.name: one for one in parts}
    work = tuple(
        sheet_hooping(one)
        if one.shared is not None
        else (
            _placed(
                one, by_name[one.copies[0].part.name] if one.piece is None else sheet_piece(one.copies[0], one.piece)
            ),
            one.times,
        )
        for one in kit.hoopings.hoopings
    )
    plan = kit.hoopings
    return SheetPlan(work, plan.options.bags, fewest_words(plan), plan.reasons)


def _placed(hooping: Hooping, one: SheetPart) -> SheetPart:
    """A part that is sewn by itself, at the places that are left to this hooping."""
    return replace(one, part=replace(one.part, placements=hooping.places))


def sheet_piece(copy: Copy, files: PieceFiles) -> SheetPart:
    """A piece of a part that is sewn in several hoopings, as the sheet tells of it."""
    from stitchcraft.paper import SheetPart

    whole, piece = copy.part.part, files.piece
    last = files.number == files.count - 1
    after = f"Pick the crosses out. {whole.after}" if last else "Take the cloth out; leave the crosses in."
    crosses = "the crosses by which the hoopings are laid on one another; picked out at the end"
    sews = (
        *((purpose, words) for purpose, words in whole.sews if purpose is not Purpose.BASTE),
        (Purpose.BASTE, crosses),
    )
    part = replace(whole, design=replace(whole.design, name=files.name), after=after, sews=sews)
    names = tuple(f"{files.name}.{fmt}" for fmt in files.data)
    return SheetPart(part, piece.plan, piece.hoop, piece.placement, names, copy.part.cloth)


def sheet_hooping(one: Hooping) -> SheetHooping:
    """A shared hooping as the sheet tells of it.

    Raises:
        ParameterError: If no parts share it.
    """
    from stitchcraft.paper.sheet import SheetHooping, SheetPart

    if one.shared is None or one.hoop is None or one.gap_mm is None:
        raise ParameterError("hooping", one.name, "one that parts share")
    pieces = tuple(
        SheetPart(copy.part.part, copy.part.plan, one.hoop, placement, (), copy.part.cloth)
        for copy, placement in zip(one.copies, one.placements, strict=True)
    )
    together = one.shared.together
    files = tuple(one.file_name(fmt) for fmt in one.shared.data)
    return SheetHooping(
        one.name, one.hoop, together.plan, pieces, tuple(stop.members for stop in together.stops), one.times,
        one.panels, files, one.gap_mm, one.panel_move,
    )  # fmt: skip


def papers_of(kit: Kit, *, bag: Image | None = None, paper: str = "A4") -> dict[str, bytes]:
    """Make the worksheet, the templates and the cut files of a kit.

    Args:
        kit: The kit.
        bag: Picture of the bag for the worksheet; None for none.
        paper: ``"A4"`` or ``"Letter"``.

    Returns:
        The bytes of each file by its name in the kit's folder; the same kit gives the same bytes.

    Raises:
        ParameterError: If *paper* is neither.
    """
    from stitchcraft.paper import cut_files, templates_pdf, worksheet_pdf

    sheet = sheet_of(kit, bag=bag)
    files = {"worksheet.pdf": worksheet_pdf(sheet, paper=paper), "templates.pdf": templates_pdf(sheet, paper=paper)}
    return files | {f"cut/{name}": text.encode() for name, text in cut_files(sheet).items()}
