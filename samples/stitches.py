"""Draw every kind of stitch at large scale on one sheet: python samples/stitches.py [PICTURE.png].

Teal is thread that shows, orange underlay, red travel, violet a lock; dots are needle points, grey is what was drawn.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path

import numpy as np
import shapely
from PIL.Image import Quantize

from stitchcraft.decoration.lettering import set_text
from stitchcraft.design import (
    Area,
    Column,
    Design,
    Element,
    Fill,
    Line,
    Purpose,
    Role,
    Running,
    Satin,
    Stop,
    Thread,
    Triple,
)
from stitchcraft.geometry.borders import border_rails
from stitchcraft.geometry.curves import circle
from stitchcraft.stitching import plan
from stitchcraft.view.canvas import Canvas

CELL_MM, PIXELS_PER_MM, ACROSS = 30.0, 9.0, 7
COLOURS = {Role.TOP: "#2f5d62", Role.UNDERLAY: "#d98e2b", Role.TRAVEL: "#c8352b", Role.LOCK: "#7b3fa0"}
THREAD = Thread("#2f5d62")
FULL = {"pitch": 0.4}


def corner(degrees: float, arm: float = 12.0) -> np.ndarray:
    """A path of two arms that enclose an angle."""
    half = np.radians(degrees) / 2
    tip = np.array([0.0, arm * np.cos(half) / 2])
    side = arm * np.array([np.sin(half), -np.cos(half)])
    return np.array([tip + side * [-1, 1], tip, tip + side])


def wave(length: float = 24.0) -> np.ndarray:
    """A wave whose bends grow tighter."""
    t = np.linspace(0, 1, 400)
    return np.column_stack([length * (t - 0.5), 5 * np.sin(2 * np.pi * (0.6 * t + 2.4 * t**2))])


def beside(path: np.ndarray, width: float) -> Column:
    """A column of constant width along a path."""
    left, right = border_rails(path, width=width)
    return Column(left, right, Satin(**FULL))


def border(shape: shapely.Polygon, width: float = 3.5) -> Element:
    """A satin border on the outline of a shape."""
    return beside(shapely.get_coordinates(shape.exterior), width)


def star(points: int, outer: float, inner: float) -> shapely.Polygon:
    """A star."""
    turn = np.arange(2 * points) * np.pi / points + np.pi / 2
    radius = np.where(np.arange(2 * points) % 2 == 0, outer, inner)
    return shapely.Polygon(np.column_stack([radius * np.cos(turn), radius * np.sin(turn)]))


def scallop(radius: float, count: int) -> shapely.Polygon:
    """A round of bows that meet in points."""
    turn = np.arange(count) * 2 * np.pi / count
    bows = [shapely.Point(radius * np.cos(a), radius * np.sin(a)).buffer(radius * np.sin(np.pi / count)) for a in turn]
    return shapely.union_all([shapely.Point(0, 0).buffer(radius), *bows])


def leaf(length: float, width: float) -> shapely.Polygon:
    """Two arcs that meet in points."""
    radius = (length**2 / 4 + width**2 / 4) / width
    discs = [shapely.Point(0, side * (radius - width / 2)).buffer(radius, quad_segs=64) for side in (-1, 1)]
    return discs[0] & discs[1]


def letter_r() -> shapely.Polygon:
    """A bold R."""
    stem = shapely.box(-6, -9, -2.4, 9)
    bowl = shapely.Point(-0.5, 4.2).buffer(4.8) - shapely.Point(-0.5, 4.2).buffer(1.6) - shapely.box(-8, -9, -4, 10)
    leg = shapely.Polygon([(-1, 0), (2.4, 0), (7, -9), (3.4, -9)])
    return shapely.union_all([stem, bowl, leg]).buffer(0.2).buffer(-0.2)


def holed(side: float, holes: list[tuple[float, float, float]]) -> shapely.Polygon:
    """A square with round holes."""
    return shapely.box(-side / 2, -side / 2, side / 2, side / 2) - shapely.union_all(
        [shapely.Point(x, y).buffer(r) for x, y, r in holes]
    )


HOLES = [(-5.0, 5.0, 2.5), (5.0, 4.0, 3.0), (-4.0, -5.0, 3.0), (5.5, -5.5, 2.0)]
ROUND_SIZES = ((-9, 2.0), (-3, 1.2), (2, 0.6), (6, 0.35))
NECK = shapely.union_all([shapely.box(-11, -5, -2, 5), shapely.box(2, -5, 11, 5), shapely.box(-3, -0.7, 3, 0.7)])
ARC = circle((0, 0), 9.0)[: int(0.4 * len(circle((0, 0), 9.0)))]
ROUNDED = shapely.box(-7, -5, 7, 5).buffer(3)


def panels() -> list[tuple[str, list[Element]]]:
    """What stands in each field of the sheet: a title and elements."""
    found: list[tuple[str, list[Element]]] = [
        ("running: corner of 30", [Line(corner(30, 20), Running())]),
        ("running: tightening wave", [Line(wave(), Running())]),
        ("triple: corners", [Line(np.array([[-11, -8], [-6, 9], [-1, -8], [2, 9], [6, -2], [11, -2]]), Triple())]),
        ("triple: tightening wave", [Line(wave(), Triple())]),
        ("single-line letters", [Line(path, Triple(length=1.5)) for path in set_text("Rn&", height=8.5).paths]),
        ("running: lines that cross", [Line(np.array([[-11, y], [11, -y]]), Running()) for y in (-8, -3, 3, 8)]),
        ("dots, strung", [Area(shapely.Point(x, y).buffer(1.5), Satin()) for x in (-8, 0, 8) for y in (-7, 0, 7)]),
        ("satin: bend", [Column(ARC * 1.2, ARC * 0.8, Satin(**FULL))]),
        ("satin: tight bend", [Column(ARC * 0.55, ARC * 0.08, Satin(**FULL))]),
    ]
    found += [(f"satin: corner of {degrees}", [beside(corner(degrees), 3.5)]) for degrees in (150, 120, 90, 60, 30)]
    found += [
        ("satin: acute tips", [Area(leaf(24, 5), Satin(**FULL))]),
        ("satin: widening", [Column([[-11, -0.6], [11, -4]], [[-11, 0.6], [11, 4]], Satin(**FULL))]),
        ("satin: wide, split", [Column([[-10, -7], [10, -7]], [[-10, 7], [10, 7]], Satin(**FULL))]),
        (
            "satin: under 1.5, centre run",
            [Column([[-11, -0.6], [11, -0.6]], [[-11, 0.6], [11, 0.6]], Satin(pitch=0.8))],
        ),
        ("satin: edge run", [Column([[-11, -1.5], [11, -1.5]], [[-11, 1.5], [11, 1.5]], Satin(pitch=1.2))]),
        ("satin: edge run and zigzag", [Column([[-11, -3], [11, -3]], [[-11, 3], [11, 3]], Satin(pitch=2.0))]),
        ("border: rounded", [border(ROUNDED)]),
        ("border: star", [border(star(5, 11.5, 6.5), 2.5)]),
        ("border: scallop", [border(scallop(7.5, 8), 2.5)]),
        ("satin: leaf", [Area(leaf(24, 9), Satin(**FULL))]),
        ("satin: letter", [Area(letter_r(), Satin(**FULL))]),
        ("satin: ring", [Area(shapely.Point(0, 0).buffer(10) - shapely.Point(0, 0).buffer(6.5), Satin(**FULL))]),
        (
            "satin: tiny shapes",
            [Area(shapely.Point(x, 0).buffer(r), Satin()) for x, r in ((-9, 1.6), (-3, 1), (2, 0.6), (6, 0.3))],
        ),
    ]
    found += [(f"fill: holes, {angle} degrees", [Area(holed(22, HOLES), Fill(angle=angle))]) for angle in (0, 30, 90)]
    found += [
        ("fill: underlay shows", [Area(holed(22, HOLES[:2]), Fill(angle=0, row_spacing=1.6))]),
        ("fill: star", [Area(star(5, 12, 5.5), Fill(angle=20))]),
        ("fill: narrow neck", [Area(NECK, Fill(angle=0))]),
        ("fill: neck across", [Area(NECK, Fill(angle=90))]),
        ("fill: spaced rows", [Area(shapely.Point(0, 0).buffer(11), Fill(angle=45, row_spacing=1.2, underlay=False))]),
        ("fill: tiny shapes", [Area(shapely.Point(x, 0).buffer(r), Fill()) for x, r in ROUND_SIZES]),
        ("locks: short lines", [Line(np.array([[-3, y], [3, y]]), Running(length=2.0)) for y in (-6, 0, 6)]),
        ("locks: jumps, no trim", [Line(np.array([[x, -2], [x + 6, -2]]), Running()) for x in (-11, -2.5, 5)]),
    ]  # fmt: skip
    return found


def shapes_of(element: Element) -> list[np.ndarray]:
    """The lines that an element was drawn with."""
    if isinstance(element, Area):
        return [shapely.get_coordinates(ring) for ring in (element.polygon.exterior, *element.polygon.interiors)]
    return [element.rail_a, element.rail_b] if isinstance(element, Column) else [element.path]


def panel(canvas: Canvas, at: tuple[float, float], title: str, elements: list[Element]) -> None:
    """Draw one field, its middle at a place."""
    made = plan(Design(title, (Stop(Purpose.DECORATE, THREAD, tuple(elements)),)))
    centre = np.array(at)
    for element in elements:
        for path in shapes_of(element):
            canvas.line(path + centre, "#b9b3a8", width=0.12)
    moves = made.is_stitch[1:] & made.is_stitch[:-1]
    start, end, role = made.xy[:-1][moves] + centre, made.xy[1:][moves] + centre, made.role[1:][moves]
    for a, b, kind in zip(start, end, role.tolist(), strict=True):
        canvas.line([a, b], COLOURS[Role(kind)], width=0.14 if kind == Role.TOP else 0.2)
    canvas.dots(made.needle_points + centre, "#1c1c1c", diameter=0.26)
    canvas.text((at[0], at[1] + CELL_MM / 2 - 1.4), title, "#444444", height=1.3)


def sheet() -> bytes:
    """The whole sheet as PNG."""
    fields = panels()
    down = -(-len(fields) // ACROSS)
    canvas = Canvas((0, -down * CELL_MM, ACROSS * CELL_MM, 0), pixels_per_mm=PIXELS_PER_MM, ground="#fbfaf7")
    for number, (title, elements) in enumerate(fields):
        row, column = divmod(number, ACROSS)
        panel(canvas, ((column + 0.5) * CELL_MM, -(row + 0.5) * CELL_MM), title, elements)
    stream = io.BytesIO()
    canvas.image().quantize(96, method=Quantize.MAXCOVERAGE, dither=0).save(stream, format="PNG", optimize=True)
    return stream.getvalue()


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_suffix(".png")
    target.write_bytes(sheet())
