"""The papers' letters: an embedded font, and what becomes of characters that it lacks."""

from __future__ import annotations

import io
import unicodedata
from functools import cache
from importlib.resources import files
from typing import Final

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

REGULAR: Final = "Sheet"
BOLD: Final = "Sheet-Bold"
MISSING: Final = "□"

_FILES: Final = {REGULAR: "DejaVuSansCondensed.ttf", BOLD: "DejaVuSansCondensed-Bold.ttf"}


@cache
def use_fonts() -> frozenset[int]:
    """Make the fonts known to the PDF library.

    Returns:
        The characters that both have.
    """
    covered: list[frozenset[int]] = []
    for name, file in _FILES.items():
        font = TTFont(name, io.BytesIO(files("stitchcraft.paper").joinpath("data", file).read_bytes()))
        pdfmetrics.registerFont(font)
        covered.append(frozenset(font.face.charToGlyph))
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD)
    return frozenset.intersection(*covered)


def printable(text: str) -> str:
    """Turn text into what the font can show: composed letters, spaces for controls, a box for what it lacks."""
    return "".join(map(_shown, unicodedata.normalize("NFC", text)))


@cache
def _shown(char: str) -> str:
    # line breaks, tabs and other controls, but not the invisible marks that turn the order of writing about
    if unicodedata.category(char) == "Cc" or char.isspace():
        return " "
    return char if ord(char) in use_fonts() else MISSING


def lacking(text: str) -> tuple[str, ...]:
    """The characters of a text that the font lacks, each once, in order of appearance."""
    chars = unicodedata.normalize("NFC", text)
    return tuple(dict.fromkeys(char for char in chars if _shown(char) == MISSING and char != MISSING))


def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a line of printable text, points."""
    use_fonts()
    return float(pdfmetrics.stringWidth(text, BOLD if bold else REGULAR, size))


def fitted(text: str, room: float, size: float, *, bold: bool = False) -> str:
    """A line of printable text cut off with an ellipsis where it is wider than *room* points."""
    line = printable(text[:400])
    if width_of(line, size, bold=bold) <= room and len(text) <= 400:
        return line
    while line and width_of(line + "…", size, bold=bold) > room:
        line = line[:-1]
    return line.rstrip() + "…"
