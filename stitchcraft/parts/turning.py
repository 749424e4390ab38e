"""Whether a tab can be turned right side out: how tight its curves are, and how narrow the way it has to pass."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import grown, lines_of

_MATTERS_MM: Final = 0.1
"""A corner that rounding moves by less is none."""

_SLICE_MM: Final = 1.0


def tightest_inner_mm(body: shapely.Polygon, limit_mm: float) -> float:
    """Radius of the tightest curve that bends inward, up to a limit, mm.

    A disc of the limit's radius is rolled along the outside: where it does not touch, the curve is tighter.

    Args:
        body: The shape; it is taken to go on past its upper end.
        limit_mm: Tighter curves than this are looked for.

    Returns:
        The limit if there is none.
    """
    return _tightest(body, limit_mm, 1.0)


def tightest_outer_mm(body: shapely.Polygon, limit_mm: float) -> float:
    """Radius of the tightest curve that bends outward, its upper corners apart; as `tightest_inner_mm`."""
    left, _, right, top = body.bounds
    return _tightest(shapely.union(body, shapely.box(left, top - 0.01, right, top + 4 * limit_mm)), limit_mm, -1.0)


def _tightest(body: BaseGeometry, limit_mm: float, sign: float) -> float:
    top = body.bounds[3] - (4 * limit_mm if sign < 0 else 0.0)

    def moved(radius: float) -> float:
        """How far rounding by a radius moves the outline, below its upper end."""
        rounded = grown(grown(body, sign * radius), -sign * radius)
        changed = shapely.symmetric_difference(rounded, body)
        changed = shapely.intersection(changed, shapely.box(-1e4, -1e4, 1e4, top - 0.02))
        points = shapely.get_coordinates(changed)
        if not len(points):
            return 0.0
        kept = body.boundary if sign > 0 else rounded.boundary
        shapely.prepare(kept)
        return float(shapely.distance(shapely.points(points), kept).max())

    if moved(limit_mm) <= _MATTERS_MM:
        return limit_mm
    low, high = 0.0, limit_mm
    while high - low > 0.05:
        middle = (low + high) / 2
        low, high = (middle, high) if moved(middle) <= _MATTERS_MM else (low, middle)
    return low


def passage_mm(outline: FloatArray, thickness_mm: float, packing: float, rigid_mm: float) -> tuple[float, float]:
    """The narrowest place on a tab's way through its own mouth, and how wide it would have to be.

    A tab n wide and sewn flat is a tube of girth 2n, which opens to a circle of area n^2 / pi. What is turned
    through it is no thicker than the widest of what still lies beyond, w wide and as thick as the finished tab,
    packed as loosely as cloth packs: n^2 / pi >= w * thickness / packing.

    Args:
        outline: From one end of the mouth round the tip to the other, mm.
        thickness_mm: The finished tab.
        packing: Share of a bundle that is cloth.
        rigid_mm: Width of what cannot be folded and passes the mouth too; 0 for nothing.

    Returns:
        Its width, and the width that is needed, of the place where it is worst: where the first is the smaller, the
        tab cannot be turned.
    """
    body = shapely.Polygon(outline)
    left, low, right, high = body.bounds
    levels = np.arange(high - 0.01, low, -_SLICE_MM)
    cuts = shapely.intersection(
        body, shapely.linestrings([[(left - 1, level), (right + 1, level)] for level in levels])
    )
    widths = np.array([max((float(np.ptp(path[:, 0])) for path in lines_of(cut)), default=0.0) for cut in cuts])
    beyond = np.maximum.accumulate(widths[::-1])[::-1]
    needed = np.maximum(np.sqrt(math.pi * beyond * thickness_mm / packing), rigid_mm)
    # towards the tip everything grows narrower together: only the mouth and true narrows count
    narrow = beyond > widths + 0.5
    narrow[0] = True
    worst = int(np.argmax(np.where(narrow, needed - widths, -np.inf)))
    return float(widths[worst]), float(needed[worst])
