"""How stops are drawn as lines: in their thread's colour, numbered, with a key below."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import CLOTH
from stitchcraft.design.elements import Area, Column, DoubleRun, Element, Line, Running, Triple
from stitchcraft.geometry.sketch import Sketch, simplified
from stitchcraft.units import size_text

_INK: Final = "#303030"
_CASING: Final = "#6b6458"
_PALE_CASING: Final = "#f4f1ea"
_LEAST_CONTRAST: Final = 1.35
"""A thread nearer to the ground than this gets a darker edge; set by eye. White on white is 1 (WCAG 2.2)."""

_PEN: Final[dict[type, float]] = {Running: 0.35, DoubleRun: 0.5, Triple: 0.7}
_LARGE_MM: Final = 140.0


def draw_elements(sketch: Sketch, elements: Iterable[Element], colour: str) -> None:
    """Draw what a stop is made of before it is stitched: lines as lines, columns and areas filled."""
    faint = casing(colour, CLOTH)
    edge = colour if faint is None else faint
    lines: dict[float, list[FloatArray]] = {}
    for element in elements:
        if isinstance(element, Line):
            lines.setdefault(_PEN[type(element.stitch)], []).append(simplified(element.path))
        elif isinstance(element, Column):
            sketch.area(_column(element), fill=colour, stroke=edge, width=0.15)
        elif isinstance(element, Area):
            sketch.area(element.polygon, fill=colour, stroke=edge, width=0.15)
    for width, paths in lines.items():
        if faint is not None:
            sketch.lines(paths, stroke=faint, width=width + 0.25)
        sketch.lines(paths, stroke=colour, width=width)


def _column(column: Column) -> list[FloatArray]:
    rail_a, rail_b = simplified(column.rail_a), simplified(column.rail_b)
    return [rail_a, rail_b] if column.closed else [np.vstack([rail_a, rail_b[::-1]])]


def draw_stitches(
    sketch: Sketch, sewn: Sequence[FloatArray], moved: Sequence[FloatArray], colour: str, *, ground: str = CLOTH
) -> None:
    """Draw what a stop is once it is stitched: what is sewn, and moves without sewing as dashes."""
    faint = casing(colour, ground)
    sketch.lines(moved, stroke=colour if faint is None else faint, width=0.12, dash="0.6 0.6")
    if faint is not None:
        sketch.lines(sewn, stroke=faint, width=0.4)
    sketch.lines(sewn, stroke=colour, width=0.25)


def number_stops(sketch: Sketch, starts: Sequence[FloatArray]) -> None:
    """Put each stop's number where it begins, beside it where another number is in the way.

    Args:
        sketch: What was drawn so far; its size says how large the numbers are.
        starts: Where each stop begins, (2,) mm.
    """
    scale = _scale(sketch)
    taken: list[FloatArray] = []
    for start in starts:
        spots = _spots(start, 4.2 * scale)
        taken.append(next(spot for spot in spots if all(math.dist(spot, other) > 4.0 * scale for other in taken)))
    leads = [np.array(lead) for lead in zip(starts, taken, strict=True) if math.dist(*lead) > 0]
    sketch.lines(leads, stroke=_INK, width=0.2 * scale)
    for number, spot in enumerate(taken, 1):
        _badge(sketch, (float(spot[0]), float(spot[1])), number, scale)


def _spots(start: FloatArray, step: float) -> Iterable[FloatArray]:
    """A place, then places around it, ever farther out."""
    yield start
    ring = 0
    while True:  # only so many numbers can be in the way
        ring += 1
        for eighth in range(8):
            angle = eighth * math.pi / 4
            yield start + ring * step * np.array([math.cos(angle), math.sin(angle)])


def _badge(sketch: Sketch, at: tuple[float, float], number: int, scale: float) -> None:
    sketch.circle(at, 3.6 * scale, fill="#ffffff", stroke=_INK, width=0.2 * scale)
    sketch.words(at, str(number), size=2.6 * scale, colour=_INK)


def key(sketch: Sketch, rows: Sequence[tuple[str, str]], size_mm: tuple[float, float]) -> None:
    """Write below a drawing what its numbers mean, and how large it is.

    Args:
        sketch: What was drawn so far.
        rows: Colour and words of each stop.
        size_mm: Width and height that the last line names.
    """
    scale, bounds = _scale(sketch), sketch.bounds
    if bounds is None:
        return
    x, y = bounds[0] + 1.8 * scale, bounds[1] - 5.0 * scale
    for number, (colour, words) in enumerate(rows, 1):
        _badge(sketch, (x, y), number, scale)
        sketch.rectangle(
            (x + 3.2 * scale, y - 1.1 * scale, x + 9.2 * scale, y + 1.1 * scale),
            fill=colour, stroke=_CASING, width=0.15 * scale,
        )  # fmt: skip
        sketch.words((x + 11 * scale, y), words, size=2.8 * scale, colour=_INK, align="start")
        y -= 4.6 * scale
    width, height = size_mm
    sketch.words((x - 1.8 * scale, y), size_text(width, height), size=2.8 * scale, colour=_INK, align="start")


def start_of(element: Element) -> FloatArray:
    """Where the number of an element that comes first is put, (2,) mm."""
    if isinstance(element, Line):
        return element.path[0]
    if isinstance(element, Column):
        return (element.rail_a[0] + element.rail_b[0]) / 2
    inside = shapely.point_on_surface(element.polygon)
    return np.array([inside.x, inside.y])


def _scale(sketch: Sketch) -> float:
    """Numbers and words grow with large drawings, which are shown smaller."""
    left, bottom, right, top = sketch.bounds or (0.0, 0.0, 0.0, 0.0)
    return max(1.0, max(right - left, top - bottom) / _LARGE_MM)


def contrast(one: str, other: str) -> float:
    """Contrast of two colours ``"#rrggbb"``, from 1 to 21 (WCAG 2.2, "contrast ratio")."""
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def casing(colour: str, ground: str) -> str | None:
    """Colour of the edge by which a thread shows on a ground of nearly its own colour; None if it needs none."""
    if contrast(colour, ground) >= _LEAST_CONTRAST:
        return None
    return max((_CASING, _PALE_CASING), key=lambda edge: contrast(edge, ground))


def _luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, from 0 to 1 (WCAG 2.2, "relative luminance")."""
    channels = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
