"""A kit's papers: its values handed to the sheet, and the files that come back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stitchcraft.kit.build import Kit

if TYPE_CHECKING:
    from stitchcraft.paper import Sheet


def sheet_of(kit: Kit, *, bag: bytes = b"") -> Sheet:
    """Gather what the papers of a kit say.

    Args:
        kit: The kit.
        bag: Picture of the bag, PNG; none if empty.
    """
    # the PDF library is loaded with the first paper: checking and drawing need none
    from stitchcraft.paper import Sheet, SheetPart

    parts = tuple(
        SheetPart(
            one.part, one.plan, one.hooped.hoop, one.hooped.placement, tuple(one.file_name(fmt) for fmt in one.data)
        )
        for one in kit.parts
    )
    return Sheet(kit.family, kit.machine, parts, tuple(kit.findings), kit.proofs, bag)


def papers_of(kit: Kit, *, bag: bytes = b"", paper: str = "A4") -> dict[str, bytes]:
    """Make the worksheet, the templates and the cut files of a kit.

    Args:
        kit: The kit.
        bag: Picture of the bag for the worksheet, PNG.
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
