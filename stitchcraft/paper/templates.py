"""Templates at true scale, tiled over sheets with marks to join them by."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from reportlab.pdfgen.canvas import Canvas
from shapely.geometry.base import BaseGeometry

from stitchcraft.paper import cautions
from stitchcraft.paper.drawing import MM, fill, stroke
from stitchcraft.paper.fonts import BOLD, REGULAR, fitted, printable, use_fonts
from stitchcraft.paper.pages import packed, page_mm
from stitchcraft.paper.piece_drawing import LINES, draw_piece, words_at, wrapped
from stitchcraft.paper.pieces import Mark, Piece, pieces_of
from stitchcraft.paper.sheet import Sheet
from stitchcraft.paper.tiles import Tile, Tiling, tiling
from stitchcraft.units import lengths_said_in

EDGE_MM: Final = 8.0
"""Of the paper, left free: printers don't reach it."""

FOOT_MM: Final = 54.0
"""Strip at the foot of each page for the check squares and the page's own description."""

SQUARE_MM: Final = 50.0
SQUARE_IN_MM: Final = 50.8


@dataclass(frozen=True, slots=True, eq=False)
class _Sheet:
    """A page of a piece: which, laid how, and its number in the file."""

    piece: Piece
    plan: Tiling
    tile: Tile
    page: int
    first: int
    landscape: bool


def templates_pdf(sheet: Sheet, *, paper: str = "A4") -> bytes:
    """Draw every cut piece, both panels and every placement template at true scale.

    Pieces larger than a page are tiled, with 12 mm of overlap, lettered marks to join them by and a map of the pages.
    Each page has a check square of 50 mm and one of 2 in. The same values give the same bytes.

    Args:
        sheet: The kit's values.
        paper: ``"A4"`` or ``"Letter"``.

    Raises:
        ParameterError: If *paper* is neither.
    """
    use_fonts()
    wide, high = page_mm(paper)
    stream = io.BytesIO()
    with lengths_said_in(sheet.family.units), packed():
        pages = _pages(pieces_of(sheet), wide, high)
        canvas = Canvas(stream, pagesize=(wide * MM, high * MM), invariant=1, initialFontName=REGULAR)  # type: ignore[arg-type]  # the hints are wrong: it is a name
        canvas.setTitle(printable(f"{sheet.family.name}: templates")[:200])
        canvas.setAuthor("")
        canvas.setSubject("templates")
        canvas.setCreator("stitchcraft")
        canvas.setViewerPreference("PrintScaling", "None")
        _front_page(canvas, sheet, pages, wide, high)
        for page in pages:
            size = (high, wide) if page.landscape else (wide, high)
            _page(canvas, sheet, page, *size, last=len(pages) + 1)
        canvas.save()
    return stream.getvalue()


def _pages(pieces: Sequence[Piece], wide: float, high: float) -> list[_Sheet]:
    """Lay each piece over upright or lying pages, whichever takes fewer; upright where it makes no difference."""
    pages: list[_Sheet] = []
    for piece in pieces:
        left, bottom, right, top = piece.bounds
        bounds = (left - 1, bottom - 1, right + 1, top + 1)
        plans = [
            tiling(
                bounds,
                width - 2 * EDGE_MM,
                height - 2 * EDGE_MM - FOOT_MM - 2,
                keep_off=_drawn(piece),
            )
            for width, height in ((wide, high), (high, wide))
        ]
        landscape = len(plans[1].tiles) < len(plans[0].tiles)
        plan = plans[int(landscape)]
        first = len(pages) + 2
        pages += [_Sheet(piece, plan, tile, first + number, first, landscape) for number, tile in enumerate(plan.tiles)]
    return pages


def _drawn(piece: Piece) -> BaseGeometry:
    """What the marks that join sheets keep off: points, cut lines and seams."""
    strong = (Mark.CUT, Mark.SEAM, Mark.NOTCH)
    return shapely.union_all([
        *[shapely.LineString(line.path) for line in piece.lines if line.mark in strong],
        *[shapely.Point(spot.at_mm).buffer(6) for spot in piece.spots],
    ])  # fmt: skip


# -- pages ----------------------------------------------------------------------------------------------


def _page(canvas: Canvas, sheet: Sheet, page: _Sheet, width: float, height: float, *, last: int) -> None:
    canvas.setPageSize((width * MM, height * MM))
    canvas.saveState()
    canvas.scale(MM, MM)
    plan, tile = page.plan, page.tile
    x0, y0 = EDGE_MM, EDGE_MM + FOOT_MM + 2
    canvas.saveState()
    clip = canvas.beginPath()
    clip.rect(x0, y0, plan.width, plan.height)
    canvas.clipPath(clip, stroke=0, fill=0)
    canvas.translate(x0 - tile.left, y0 - tile.bottom)
    draw_piece(canvas, page.piece, tile, plan)
    canvas.restoreState()
    _joins(canvas, page, x0, y0)
    _foot(canvas, sheet, page, width, last)
    canvas.restoreState()
    canvas.showPage()


def _joins(canvas: Canvas, page: _Sheet, x0: float, y0: float) -> None:
    """The tile's frame, and the marks that it shares with its neighbours."""
    plan, tile = page.plan, page.tile
    stroke(canvas, [[[x0, y0], [x0 + plan.width, y0], [x0 + plan.width, y0 + plan.height], [x0, y0 + plan.height]]],
           width=0.12, colour="#8a8a8a", close=True)  # fmt: skip
    for name, x, y in plan.joins:
        px, py = x - tile.left + x0, y - tile.bottom + y0
        if not (x0 < px < x0 + plan.width and y0 < py < y0 + plan.height):
            continue
        around = [[px - 5, py], [px, py - 5], [px + 5, py], [px, py + 5]]
        fill(canvas, around, "#ffffff")
        stroke(canvas, [around], width=0.3, close=True)
        stroke(canvas, [[[px - 5, py], [px - 2.6, py]], [[px + 2.6, py], [px + 5, py]]], width=0.2)
        stroke(canvas, [[[px, py - 5], [px, py - 2.6]], [[px, py + 2.6], [px, py + 5]]], width=0.2)
        words_at(canvas, name, px, py - 1.1, 3.2, bold=True, centre=True)


def _foot(canvas: Canvas, sheet: Sheet, page: _Sheet, width: float, last: int) -> None:
    right = width - EDGE_MM
    squares = _squares(canvas, right)
    piece, plan = page.piece, page.plan
    map_wide = 0.0
    if len(plan.tiles) > 1:
        map_wide = 60.0 if page.landscape else 30.0
        _map(canvas, page, EDGE_MM, EDGE_MM, map_wide)
    x = EDGE_MM + (map_wide + 3 if map_wide else 0)
    room = squares - 3 - x
    lines = [(piece.title, 4.6, True)]
    lines += [(line, 3.0, False) for line in wrapped(piece.note, room, 3.0)]
    if len(plan.tiles) > 1:
        tile = page.tile
        lines.append(
            (
                (
                    f"sheet {page.page - page.first + 1} of {len(plan.tiles)}: row {tile.row + 1}, column "
                    f"{tile.column + 1}"
                ),
                3.0,
                False,
            )
        )
        lines += [(line, 3.0, False) for line in wrapped("Join the sheets by their lettered marks.", room, 3.0)]
    lines += [(line, 3.0, True) for line in wrapped("Print at 100 %, then measure the squares.", room, 3.0, bold=True)]
    lines.append((sheet.family.name, 2.6, False))
    lines.append((f"page {page.page} of {last}", 2.6, False))
    y = EDGE_MM + FOOT_MM - 5.0
    for words, size, bold in lines:
        canvas.setFont(BOLD if bold else REGULAR, size)
        canvas.setFillGray(0)
        canvas.drawString(x, y, fitted(words, room, size, bold=bold))
        y -= size * 1.32


def _squares(canvas: Canvas, right: float) -> float:
    """The two check squares at the foot's right end; gives their left edge."""
    inch_left = right - SQUARE_IN_MM
    mm_left = inch_left - 3.0 - SQUARE_MM
    canvas.setLineWidth(0.25)
    canvas.setStrokeGray(0)
    canvas.rect(mm_left, EDGE_MM, SQUARE_MM, SQUARE_MM, stroke=1, fill=0)
    canvas.rect(inch_left, EDGE_MM, SQUARE_IN_MM, SQUARE_IN_MM, stroke=1, fill=0)
    words_at(canvas, "50 mm", mm_left + SQUARE_MM / 2, EDGE_MM + SQUARE_MM - 5, 3.2, centre=True, bold=True)
    words_at(canvas, "2 in", inch_left + SQUARE_IN_MM / 2, EDGE_MM + SQUARE_IN_MM - 5, 3.2, centre=True, bold=True)
    y = EDGE_MM + SQUARE_IN_MM - 11
    for mark, (wide, colour, dash, words) in LINES.items():
        if mark is Mark.NOTCH:
            continue
        stroke(canvas, [[[inch_left + 2, y + 0.8], [inch_left + 13, y + 0.8]]], width=wide, colour=colour, dash=dash)
        for line in wrapped(words, SQUARE_IN_MM - 16, 2.4):
            words_at(canvas, line, inch_left + 14.5, y, 2.4)
            y -= 3.1
        y -= 1.2
    y = EDGE_MM + SQUARE_MM - 11
    for line in wrapped("Measure this square before you cut. If its sides are not 50 mm, print the page again at 100 "
                         "%, with no fitting to the paper.", SQUARE_MM - 6, 2.6):  # fmt: skip
        words_at(canvas, line, mm_left + 3, y, 2.6)
        y -= 3.5
    return mm_left


def _map(canvas: Canvas, page: _Sheet, x: float, y: float, wide: float) -> None:
    """The piece small, its sheets numbered, this one grey."""
    plan = page.plan
    whole_left = min(tile.left for tile in plan.tiles)
    whole_low = min(tile.bottom for tile in plan.tiles)
    whole_wide = max(tile.left for tile in plan.tiles) + plan.width - whole_left
    whole_high = max(tile.bottom for tile in plan.tiles) + plan.height - whole_low
    scale = min(wide / whole_wide, 48.0 / whole_high)
    canvas.saveState()
    canvas.translate(x, y)
    canvas.scale(scale, scale)
    canvas.translate(-whole_left, -whole_low)
    for tile in plan.tiles:
        ring = np.array([[0, 0], [plan.width, 0], [plan.width, plan.height], [0, plan.height]]) + [
            tile.left,
            tile.bottom,
        ]
        if tile == page.tile:
            fill(canvas, ring, "#d5d5d5")
        stroke(canvas, [ring], width=0.15 / scale, colour="#777777", close=True)
    cut = [line.path for line in page.piece.lines if line.mark is Mark.CUT]
    stroke(canvas, cut, width=0.25 / scale)
    for number, tile in enumerate(plan.tiles):
        size = min(4.0 / scale, 0.4 * plan.height)
        x, y = tile.left + plan.width / 2, tile.bottom + plan.height / 2 - size / 3
        words_at(canvas, str(page.first + number), x, y, size, centre=True, bold=tile == page.tile)
    canvas.restoreState()


def _front_page(canvas: Canvas, sheet: Sheet, pages: Sequence[_Sheet], wide: float, high: float) -> None:
    """What is in the file, and how to use it."""
    canvas.saveState()
    canvas.scale(MM, MM)
    left, room = EDGE_MM + 7, wide - 2 * EDGE_MM - 14
    y = high - EDGE_MM - 12
    canvas.setFillGray(0)
    canvas.setFont(BOLD, 7)
    canvas.drawString(left, y, fitted(sheet.family.name, room, 7, bold=True))
    y -= 8
    for words in (
        (
            "Templates at true scale. Print at 100 %, with no fitting to the page, and measure the squares below: 50 "
            "mm and 2 in."
        ),
        (
            "A piece larger than a page is spread over several. Cut off one page's edge, lay it over its neighbour so "
            "that the marks with the same letter lie on one another, and tape."
        ),
        (
            "Placement templates have a crosshair: it goes on the crosshair that you marked on the cloth. The "
            "long-dashed lines through it or beside it are the middle lines of the sewing field: they go on the marks "
            "of the frame."
        ),
        (
            "The applied pieces have two cut lines. Cut on the outer, loose one and trim in the hoop; or cut on the "
            "inner one and lay the piece inside its placement line."
        ),
        cautions.BLADES,
    ):
        for line in wrapped(words, room, 3.4):
            words_at(canvas, line, left, y, 3.4)
            y -= 4.6
        y -= 1.6
    y -= 3
    for words, x in (("Piece", left), ("Size and material", left + 42), ("Pages", left + room - 18)):
        words_at(canvas, words, x, y, 3.2, bold=True)
    y -= 1.6
    stroke(canvas, [[[left, y], [left + room, y]]], width=0.2)
    y -= 4.4
    for page in pages:
        if page.page != page.first:
            continue
        last = page.first + len(page.plan.tiles) - 1
        words_at(canvas, fitted(page.piece.title, 40, 3.0), left, y, 3.0)
        words_at(canvas, str(page.first) if last == page.first else f"{page.first} to {last}", left + room - 18, y, 3.0)
        for line in wrapped(page.piece.note, room - 64, 3.0):
            words_at(canvas, line, left + 42, y, 3.0)
            y -= 4.1
        y -= 0.8
    _squares(canvas, wide - EDGE_MM)
    words_at(canvas, f"page 1 of {len(pages) + 1}", left, EDGE_MM + 2, 2.6)
    canvas.restoreState()
    canvas.showPage()
