"""Building blocks of a sheet: paragraphs, tables, boxes, swatches, pictures."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final
from xml.sax.saxutils import escape

import numpy as np
import shapely
from reportlab.lib.colors import HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable, KeepTogether, Paragraph, Table, TableStyle

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.design import StitchPlan
from stitchcraft.design.sketches import casing
from stitchcraft.geometry.curves import polygons_of
from stitchcraft.paper.drawing import MM, fill, inked, stroke
from stitchcraft.paper.fonts import BOLD, REGULAR, fitted, printable
from stitchcraft.paper.sheet import SheetPart

if TYPE_CHECKING:
    from PIL.Image import Image

INK: Final = "#1c1c1c"
GREY: Final = "#6b6b6b"
RULE: Final = "#b9b9b9"
HEAD: Final = "#ececec"


def _style(name: str, size: float, *, bold: bool = False, before: float = 0.0, after: float = 0.0) -> ParagraphStyle:
    return ParagraphStyle(
        name, fontName=BOLD if bold else REGULAR, fontSize=size, leading=size * 1.28, textColor=HexColor(INK),
        spaceBefore=before, spaceAfter=after, splitLongWords=1, uriWasteReduce=0,
    )  # fmt: skip


def _care_style() -> ParagraphStyle:
    style = _style("care", 7.5, after=4)
    style.leftIndent, style.rightIndent = 6 * MM, 3.0
    style.borderWidth, style.borderColor, style.borderPadding = 0.5, HexColor(GREY), 2.5
    style.spaceBefore = 2.5
    return style


STYLES: Final = {
    "title": _style("title", 20, bold=True, after=3),
    "part": _style("part", 14, bold=True, before=6 * MM, after=2),
    "head": _style("head", 11, bold=True, before=9, after=3),
    "body": _style("body", 9, after=3),
    "cell": _style("cell", 8),
    "strong": _style("strong", 8, bold=True),
    "small": _style("small", 7),
    "care": _care_style(),
}


def para(*pieces: str, style: str = "body", lead: str = "") -> Paragraph:
    """A paragraph of plain text: markup in it is shown, never obeyed. *lead* comes first, in bold."""
    text = escape(printable("".join(pieces)))
    if lead:
        text = f'<font name="{BOLD}">{escape(printable(lead))}</font> {text}'
    return Paragraph(text, STYLES[style])


def care(words: str) -> Paragraph:
    """A caution, set in from the text that it belongs to."""
    text = f'<font name="{BOLD}">Take care.</font> {escape(printable(words))}'
    return _Whole(text, STYLES["care"])


class _Whole(Paragraph):
    """A paragraph in a frame, which is never broken over two pages."""

    def split(self, *_room: float) -> list[Flowable]:
        """It goes to the next page as it is."""
        return []


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[str | Flowable]],
    widths_mm: Sequence[float],
    *,
    right: Sequence[int] = (),
) -> Table:
    """A table with a head that is repeated on each page; the columns named in *right* are set to the right."""
    cells: list[list[str | Flowable]] = [[para(word, style="strong") for word in head]]
    cells += [[para(cell, style="cell") if isinstance(cell, str) else cell for cell in row] for row in rows]
    for row in cells:
        for column in right:
            cell = row[column]
            if isinstance(cell, Paragraph):
                cell.style = ParagraphStyle(f"{cell.style.name}-right", parent=cell.style, alignment=2)
    made = Table(cells, colWidths=[width * MM for width in widths_mm], repeatRows=1, hAlign="LEFT")
    made.setStyle(
        TableStyle([
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("BACKGROUND", (0, 0), (-1, 0), HexColor(HEAD)),
            # no page begins with a table's last row alone
            *([("NOSPLIT", (0, len(cells) - 2), (-1, len(cells) - 1))] if len(cells) > 2 else []),
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, HexColor(RULE)),
            ("LEFTPADDING", (0, 0), (-1, -1), 3),
            ("RIGHTPADDING", (0, 0), (-1, -1), 3),
            ("TOPPADDING", (0, 0), (-1, -1), 2.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
        ])
    )  # fmt: skip
    return made


def pairs(rows: Sequence[tuple[str, str]], widths_mm: tuple[float, float]) -> Table:
    """Facts: a name in bold and what it is."""
    cells = [[para(name, style="strong"), para(value, style="cell")] for name, value in rows]
    made = Table(cells, colWidths=[width * MM for width in widths_mm], hAlign="LEFT")
    made.setStyle(
        TableStyle([
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 2),
            ("TOPPADDING", (0, 0), (-1, -1), 1.2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.2),
        ])
    )  # fmt: skip
    return made


def box(content: Sequence[Flowable], width_mm: float, *, heavy: bool = False) -> Table:
    """A framed box; a heavy frame for what must not be overlooked, legible without colour.

    Up to a dozen paragraphs stay together on a page.
    """
    made = Table([[flowable] for flowable in content], colWidths=[width_mm * MM], hAlign="LEFT")
    made.setStyle(
        TableStyle([
            ("BOX", (0, 0), (-1, -1), 1.6 if heavy else 0.6, HexColor(INK)),
            *([("NOSPLIT", (0, 0), (-1, -1))] if len(content) <= 12 else []),
            ("LEFTPADDING", (0, 0), (-1, -1), 6),
            ("RIGHTPADDING", (0, 0), (-1, -1), 6),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
        ])
    )  # fmt: skip
    return made


def together(content: Sequence[Flowable]) -> KeepTogether:
    """Content that stays on one page where it fits on one."""
    return KeepTogether(list(content))


class Picture(Flowable):
    """A picture at a width, or narrower if it would be too high."""

    def __init__(self, image: Image, width_mm: float, most_high_mm: float) -> None:
        super().__init__()
        wide, high = image.size
        width = min(width_mm, most_high_mm * wide / high)
        self.image, self.width, self.height = image, width * MM, width * high / wide * MM
        self.hAlign = "CENTER"

    def draw(self) -> None:
        """Lay the pixels down as they are: packed once, by the paper itself."""
        self.canv.drawImage(ImageReader(self.image), 0, 0, self.width, self.height)


class Swatch(Flowable):
    """A thread's colour with its name and number, so that it is told apart without colour."""

    def __init__(self, colour: str, name: str, weight: float, width_mm: float, note: str = "") -> None:
        super().__init__()
        self.colour, self.name, self.weight, self.note = colour, name, weight, note
        self.width, self.height = width_mm * MM, 10.5 * MM + (3.2 * MM if note else 0)

    def wrap(self, *_room: float) -> tuple[float, float]:
        """Its size, points."""
        return (self.width, self.height)

    def draw(self) -> None:
        """Draw the patch, and the words beside it."""
        canvas = self.canv
        canvas.setStrokeColor(HexColor(INK))
        canvas.setLineWidth(0.6)
        canvas.setFillColor(HexColor(self.colour))
        canvas.rect(0, self.height - 9 * MM, 6 * MM, 8.5 * MM, stroke=1, fill=1)
        canvas.setFillColor(HexColor(INK))
        room = self.width - 8 * MM
        for row, (words, size, bold) in enumerate(
            ((self.name, 8.0, True), (self.colour, 7.0, False), (f"weight {self.weight:g}", 7.0, False))
        ):
            canvas.setFont(BOLD if bold else REGULAR, size)
            canvas.drawString(7.5 * MM, self.height - (3 + 3 * row) * MM, fitted(words, room, size, bold=bold))
        if self.note:
            canvas.setFont(REGULAR, 6.5)
            canvas.drawString(0, 0.8 * MM, fitted(self.note, self.width, 6.5))


class StopPicture(Flowable):
    """One stop of a part in black over the rest of the part in grey, in the part's own frame."""

    def __init__(self, plan: StitchPlan, stop: int, size_mm: tuple[float, float]) -> None:
        super().__init__()
        self.plan, self.stop = plan, stop
        left, bottom, right, top = plan.bounds
        self.scale = min(size_mm[0] / max(right - left, 1e-6), size_mm[1] / max(top - bottom, 1e-6), 1.0)
        self.width, self.height = size_mm[0] * MM, (top - bottom) * self.scale * MM + 1.5 * MM

    def wrap(self, *_room: float) -> tuple[float, float]:
        """Its size, points."""
        return (self.width, self.height)

    def draw(self) -> None:
        """Draw the outlines of the other stops, then this one."""
        plan, canvas = self.plan, self.canv
        left, bottom, right, _ = plan.bounds
        canvas.saveState()
        canvas.translate(self.width / 2, 0.75 * MM)
        canvas.scale(self.scale * MM, self.scale * MM)
        canvas.translate(-(left + right) / 2, -bottom)
        for number in range(len(plan.stops)):
            if number != self.stop and len(plan.points_of(number)) < 400:
                stroke(canvas, list(plan.strokes(number)), width=0.15 / self.scale, colour="#b0b0b0")
        stroke(canvas, list(plan.strokes(self.stop)), width=max(0.3, 0.2 / self.scale))
        canvas.restoreState()


class FieldPicture(Flowable):
    """A part as it lies in its field: the field's edge and middle, the stitches, the crosshair, which way is up."""

    def __init__(self, one: SheetPart, size_mm: tuple[float, float]) -> None:
        super().__init__()
        self.one = one
        placed = one.placement.placed(one.plan.needle_points)
        if one.hoop is None:
            half = np.abs(placed).max(axis=0) + 4
        else:
            half = np.array([one.hoop.width / 2, one.hoop.height / 2])
        self.half: FloatArray = half
        self.scale = min((size_mm[0] - 4) / (2 * half[0]), (size_mm[1] - 8) / (2 * half[1]))
        self.width, self.height = size_mm[0] * MM, (2 * half[1] * self.scale + 8) * MM

    def wrap(self, *_room: float) -> tuple[float, float]:
        """Its size, points."""
        return (self.width, self.height)

    def draw(self) -> None:
        """Draw it, the far side of the hoop up."""
        canvas, one = self.canv, self.one
        x, y = self.half
        thin = 0.25 / self.scale
        canvas.saveState()
        canvas.translate(self.width / 2, self.height / 2)
        canvas.scale(self.scale * MM, self.scale * MM)
        grounds = self._lay_cloth()
        stroke(canvas, [[[-x, 0], [x, 0]], [[0, -y], [0, y]]], width=thin * 0.6, colour="#9a9a9a",
               dash=(3 / self.scale, 1 / self.scale, 0.4 / self.scale, 1 / self.scale))  # fmt: skip
        xy = one.placement.placed(one.plan.xy)
        for number, stop in enumerate(one.plan.stops):
            strands, colour = list(one.plan.strokes(number, xy=xy)), stop.thread.colour
            edge = next((edge for ground in grounds if (edge := casing(colour, ground)) is not None), None)
            if edge is not None:
                stroke(canvas, strands, width=0.5, colour=edge)
            stroke(canvas, strands, width=0.3, colour=colour if grounds else inked(colour))
        if one.hoop is not None:
            stroke(canvas, [[[-x, -y], [x, -y], [x, y], [-x, y]]], width=2.2 * thin, close=True)
        else:
            stroke(canvas, [[[-x, -y], [x, -y], [x, y], [-x, y]]], width=thin, close=True, dash=(2, 2))
        self._crosshair(thin)
        canvas.restoreState()
        self._up_arrow()

    def _pieces(self) -> Sequence[SheetPart]:
        """The parts in the field."""
        return (self.one,)

    def _lay_cloth(self) -> list[str]:
        """Draw the cloth of which the colour is known; the colours of all that threads then lie on, paper included."""
        grounds: list[str] = []
        field = shapely.box(*-self.half, *self.half)
        for piece in self._pieces():
            if piece.cloth is None:
                continue
            # a part without cloth of its own is sewn on what is hooped
            cut = shapely.transform(piece.part.cloth[0][2], piece.placement.placed) if piece.part.cloth else field
            for shape in polygons_of(shapely.intersection(cut, field)):
                fill(self.canv, np.asarray(shape.exterior.coords), piece.cloth)
            grounds += [piece.cloth, *(["#ffffff"] if piece.part.cloth else [])]
        return list(dict.fromkeys(grounds))

    def _crosshair(self, thin: float) -> None:
        middle, arm = np.asarray(self.one.placement.offset_mm), 3.2 / self.scale
        if np.any(np.abs(middle) > self.half + 0.1):
            return
        angle = self.one.placement.angle_deg
        arms = [turned([[-arm, 0], [arm, 0]], angle, middle), turned([[0, -arm], [0, arm]], angle, middle)]
        t = np.linspace(0, 2 * np.pi, 25)
        ring = middle + 0.55 * arm * np.column_stack([np.cos(t), np.sin(t)])
        stroke(self.canv, [*arms, ring], width=3.2 * thin, colour="#ffffff")
        stroke(self.canv, [*arms, ring], width=1.2 * thin)

    def _up_arrow(self) -> None:
        """An arrow in a corner of the field that points to the part's own upper side."""
        canvas, reach = self.canv, 7.0
        corner = np.array([self.half[0] * self.scale - reach, self.half[1] * self.scale - reach])
        canvas.saveState()
        canvas.translate(self.width / 2, self.height / 2)
        canvas.scale(MM, MM)
        angle = self.one.placement.angle_deg
        shaft = turned([[0, -4], [0, 4]], angle, corner)
        tip = turned([[-1.3, 1.8], [0, 4.6], [1.3, 1.8]], angle, corner)
        stroke(canvas, [shaft], width=1.6, colour="#ffffff")
        stroke(canvas, [shaft], width=0.45)
        fill(canvas, tip, "#000000")
        canvas.restoreState()
