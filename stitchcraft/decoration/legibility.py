"""How small letters may be: their thinnest stroke and narrowest opening against the thread that sews them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import shapely

from stitchcraft.decoration.letters import Letter
from stitchcraft.defaults import LETTERS, PLANNING
from stitchcraft.geometry.curves import polygons_of

SATIN_LEAST_MM: Final = PLANNING["satin_narrowest"].value + 0.05
"""A stroke of a satin letter is drawn no narrower; a column as narrow as the narrowest satin is sewn as a line."""

_LOST: Final = 0.04
"""A stroke is as wide as a disc that, rolled through all of a letter, leaves out no more than this share of it."""

_HALVINGS: Final = 9
_SIDES: Final = 4
_SPECK: Final = 0.02
_MOUTHS: Final = tuple(0.015 * 1.3**number for number in range(15))
"""Widths of mouths to try, share of a letter's height: from 1.5 % to 60 %."""


@dataclass(frozen=True, slots=True)
class Weight:
    """How heavy letters are drawn, mm.

    Attributes:
        stroke_mm: Width of the thinnest stroke that counts for the look of a letter.
        widest_mm: Width of the widest place.
        gap_mm: Width of the narrowest opening: a counter, or the mouth of a letter; infinite if there is none.
    """

    stroke_mm: float
    widest_mm: float
    gap_mm: float


def weight_of(letters: tuple[Letter, ...]) -> Weight:
    """Measure letters in outline, signs and accents smaller than a third of the largest left out of the strokes."""
    polygons = [polygon for letter in letters for polygon in letter.polygons]
    tallest = max(polygon.bounds[3] - polygon.bounds[1] for polygon in polygons)
    bodies = [polygon for polygon in polygons if polygon.bounds[3] - polygon.bounds[1] > tallest / 3]
    widest = max(_inscribed(polygon) for polygon in polygons)
    return Weight(min(_stroke(polygon) for polygon in bodies), widest, min(_gap(polygon) for polygon in bodies))


def lowest_capital(weight: Weight, cap_height_mm: float, stitch: str) -> float:
    """How high a capital has to be for letters of this weight to read.

    Args:
        weight: Measured at *cap_height_mm*.
        cap_height_mm: Height of a capital.
        stitch: ``"running"``, ``"triple"``, ``"satin"`` or ``"fill"``.

    Returns:
        mm.
    """
    stroke, gap = LETTERS[f"{stitch}_stroke"].value, LETTERS[f"{stitch}_gap"].value
    times = max(stroke / weight.stroke_mm, gap / weight.gap_mm)
    if stitch == "satin" and times * weight.stroke_mm < SATIN_LEAST_MM:
        # thin strokes are widened, at the cost of what they enclose
        times = max(
            times, min((gap + SATIN_LEAST_MM) / (weight.gap_mm + weight.stroke_mm), SATIN_LEAST_MM / weight.stroke_mm)
        )
    return cap_height_mm * times


def _inscribed(polygon: shapely.Polygon) -> float:
    return 2 * float(shapely.maximum_inscribed_circle(polygon, tolerance=0.01).length)


def _stroke(polygon: shapely.Polygon) -> float:
    low, high = 0.0, _inscribed(polygon)
    for _ in range(_HALVINGS):
        width = (low + high) / 2
        opened = polygon.buffer(-width / 2, quad_segs=_SIDES).buffer(width / 2 * 1.02, quad_segs=_SIDES)
        if shapely.intersection(opened, polygon).area >= (1 - _LOST) * polygon.area:
            low = width
        else:
            high = width
    return high


def _gap(polygon: shapely.Polygon) -> float:
    """The least width of thread that would close a counter or a mouth of a letter."""
    holes = [shapely.Polygon(ring) for ring in polygon.interiors]
    counter = min((_inscribed(hole) for hole in holes), default=float("inf"))
    height = polygon.bounds[3] - polygon.bounds[1]
    widths = [height * share for share in _MOUTHS if height * share < counter]
    closed = next((number for number, width in enumerate(widths) if _closes(polygon, holes, width)), None)
    if closed is None:
        return counter
    low, high = (widths[closed - 1] if closed else 0.0), widths[closed]
    for _ in range(_HALVINGS):
        width = (low + high) / 2
        if _closes(polygon, holes, width):
            high = width
        else:
            low = width
    return min(high, counter)


def _closes(polygon: shapely.Polygon, holes: Sequence[shapely.Polygon], width: float) -> bool:
    """Whether letters grown by half a width on every side enclose something that they did not enclose before."""
    grown = polygon.buffer(width / 2, quad_segs=_SIDES)
    speck = _SPECK * width**2
    rings = [shapely.Polygon(ring) for ring in grown.interiors]
    left = [
        part for hole in holes for part in polygons_of(hole.buffer(-width / 2, quad_segs=_SIDES), smallest_mm2=speck)
    ]
    return len([ring for ring in rings if ring.area > speck]) > len(left)
