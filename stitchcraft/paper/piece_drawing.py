"""A piece drawn at true scale, with what is written on it."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from reportlab.pdfgen.canvas import Canvas

from stitchcraft.arrays import turned
from stitchcraft.geometry.curves import circle
from stitchcraft.paper.drawing import fill, stroke
from stitchcraft.paper.fonts import BOLD, REGULAR, printable, width_of
from stitchcraft.paper.pieces import Mark, Piece
from stitchcraft.paper.tiles import Tile, Tiling

LINES: Final[dict[Mark, tuple[float, str, tuple[float, ...], str]]] = {
    Mark.CUT: (0.45, "#000000", (), "cut line"),
    Mark.LOOSE: (0.3, "#000000", (7.0, 2.0), "loose cut: to lay on, trimmed in the hoop"),
    Mark.SEAM: (0.25, "#000000", (2.5, 1.5), "seam line"),
    Mark.EDGE: (0.25, "#000000", (6.0, 1.2, 0.6, 1.2), "fold, or stitch line of the top edge"),
    Mark.STITCH: (0.25, "#555555", (0.6, 1.0), "sewn by the machine: placement, ticks, targets"),
    Mark.HOOP: (0.2, "#555555", (9.0, 1.5, 1.5, 1.5), "middle lines of the sewing field"),
    Mark.NOTCH: (0.45, "#000000", (), "notch"),
}
"""Width in mm, colour and dashes of each kind of line, and its words in the legend."""


def draw_piece(canvas: Canvas, piece: Piece, tile: Tile, plan: Tiling) -> None:
    """Draw a piece in its own frame; labels that a tile's edge would cut are left to the next tile."""
    for mark, (wide, colour, dash, _) in LINES.items():
        paths = [line.path for line in piece.lines if line.mark is mark]
        if paths:
            stroke(canvas, paths, width=wide, colour=colour, dash=dash)
    for spot in piece.spots:
        at = np.asarray(spot.at_mm)
        arm = 5.0 if spot.kind == "crosshair" else 3.0
        stroke(canvas, [[at - [arm, 0], at + [arm, 0]], [at - [0, arm], at + [0, arm]]], width=0.25)
        if spot.kind == "crosshair":
            stroke(canvas, [circle(at, 2.5)], width=0.25)
        if spot.kind == "foot":
            stroke(canvas, [circle(at, 1.5)], width=0.25)
    for words, x, y in _label_places(piece):
        _label(canvas, words, x, y, tile, plan)
    _grain(canvas, piece, tile, plan)


def _label_places(piece: Piece) -> list[tuple[str, float, float]]:
    """Each label of a piece with where it starts: beside its point, off the other labels and points."""
    placed: list[tuple[str, float, float]] = []
    taken = [shapely.Point(spot.at_mm).buffer(5.2) for spot in piece.spots]
    room = shapely.box(*piece.bounds)
    for number, spot in enumerate(piece.spots):
        if not spot.label:
            continue
        long = width_of(printable(spot.label), 3.0)
        off = 11.0 if spot.kind == "snap" else 6.0
        choices = []
        for side in (spot.side, -spot.side):
            start = spot.at_mm[0] + (off if side > 0 else -off - long)
            choices += [(start, spot.at_mm[1] + up) for up in (1.4, -4.2, 5.4, -8.2)]
        others = shapely.union_all(taken[:number] + taken[number + 1 :])
        boxes = [shapely.box(x - 0.4, y - 1, x + long + 0.4, y + 2.8) for x, y in choices]
        free = [k for k, box in enumerate(boxes) if room.contains(box) and not others.intersects(box)]
        best = free[0] if free else 0
        taken.append(boxes[best])
        placed.append((spot.label, *choices[best]))
    return placed


def _grain(canvas: Canvas, piece: Piece, tile: Tile, plan: Tiling) -> None:
    arrow = piece.grain
    if arrow is None:
        return
    start, end = np.asarray(arrow[0]), np.asarray(arrow[1])
    angle = float(np.degrees(np.arctan2(*(end - start)[::-1])))
    stroke(canvas, [[start, end]], width=0.3)
    for tip, way in ((start, angle + 180), (end, angle)):
        fill(canvas, turned(np.array([[-3, -1.1], [0, 0], [-3, 1.1]]), way, np.asarray(tip)), "#000000")
    x, y = (start + end) / 2 + ([1.6, -1.0] if abs(end[0] - start[0]) < 1 else [0.0, 1.5])
    _label(canvas, "grain", float(x), float(y), tile, plan)


def _label(canvas: Canvas, words: str, x: float, y: float, tile: Tile, plan: Tiling) -> None:
    """A label at a point of the drawing, unless the tile's edge would cut it."""
    far = x + width_of(printable(words), 3.0)
    if tile.left <= x and far <= tile.left + plan.width and tile.bottom <= y <= tile.bottom + plan.height - 3:
        words_at(canvas, words, x, y, 3.0, halo=True)


def words_at(
    canvas: Canvas, words: str, x: float, y: float, size: float, *, bold: bool = False, centre: bool = False,
    halo: bool = False,
) -> None:  # fmt: skip
    """A line of words at a place, its letters *size* mm high with their room; a halo keeps lines out of them."""
    text = printable(words)
    long = width_of(text, size, bold=bold)
    start = x - long / 2 if centre else x
    if halo:
        canvas.setFillGray(1)
        canvas.rect(start - 0.4, y - 0.25 * size, long + 0.8, 1.1 * size, stroke=0, fill=1)
    canvas.setFillGray(0)
    canvas.setFont(BOLD if bold else REGULAR, size)
    canvas.drawString(start, y, text)


def wrapped(words: str, room: float, size: float, *, bold: bool = False) -> list[str]:
    """Words broken into lines no wider than *room*."""
    lines: list[str] = []
    line = ""
    for word in printable(words).split():
        longer = f"{line} {word}".strip()
        if line and width_of(longer, size, bold=bold) > room:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line else lines
