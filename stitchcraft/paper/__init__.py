"""Papers for the maker: the worksheet, templates and cut files at true scale."""

from stitchcraft.paper.cut_files import cut_files
from stitchcraft.paper.pages import PAPERS
from stitchcraft.paper.pieces import Piece, pieces_of
from stitchcraft.paper.sheet import Sheet, SheetPart
from stitchcraft.paper.templates import templates_pdf
from stitchcraft.paper.worksheet import worksheet_pdf

__all__ = [
    "PAPERS",
    "Piece",
    "Sheet",
    "SheetPart",
    "cut_files",
    "pieces_of",
    "templates_pdf",
    "worksheet_pdf",
]
