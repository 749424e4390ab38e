"""Outlines of a strap connector, centred on the origin."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import arc, closed, cubic, grown, joined, polygons_of
from stitchcraft.plugins import Registry, guarded


def _rounded(width: float, height: float) -> FloatArray:
    radius = 0.499 * min(width, height)
    core = shapely.box(-width / 2 + radius, -height / 2 + radius, width / 2 - radius, height / 2 - radius)
    return np.asarray(polygons_of(grown(core, radius))[0].exterior.coords)


def _oval(width: float, height: float) -> FloatArray:
    fine = 0.01 / max(width, height)
    return closed(arc((0.0, 0.0), 1.0, 0.0, 360.0, flatness=fine)[:-1] * [width / 2, height / 2])


def _four_fold(quarter: FloatArray) -> FloatArray:
    """An outline from its upper right quarter, which runs from (width/2, 0) up to (0, height/2)."""
    upper = joined(quarter, (quarter * [-1.0, 1.0])[::-1])
    return closed(joined(upper, (upper * [1.0, -1.0])[::-1])[:-1])


def _ogee(width: float, height: float) -> FloatArray:
    a, b = width / 2, height / 2
    c = min(a, b)
    shoulder = a - 0.9 * c
    side = cubic((a, 0.0), (a - 0.28 * c, 0.26 * b), (a - 0.52 * c, 0.34 * b), (a - 0.62 * c, 0.66 * b))
    top = cubic((a - 0.62 * c, 0.66 * b), (a - 0.68 * c, 0.86 * b), (a - 0.74 * c, b), (shoulder, b))
    return _four_fold(joined(side, top, [[0.0, b]]))


def _scallop(width: float, height: float) -> FloatArray:
    a, b = width / 2, height / 2
    c = min(a, b)
    radius = 0.45 * c
    corner = arc((a - radius, b - radius), radius, -40.0, 130.0)
    return _four_fold(joined([[a - 0.32 * c, 0.0]], corner, [[0.0, corner[-1, 1]]]))


def _clipped(width: float, height: float) -> FloatArray:
    a, b = width / 2, height / 2
    cut = 0.45 * min(a, b)
    return _four_fold(np.array([[a, 0.0], [a, b - cut], [a - cut, b], [0.0, b]]))


_OUTLINES: Final[dict[str, Callable[[float, float], FloatArray]]] = {
    "rounded": _rounded,
    "oval": _oval,
    "ogee": _ogee,
    "scallop": _scallop,
    "clipped": _clipped,
}
"""Our own outlines by name, a closed counter-clockwise path; their proportions are our own choice, set by eye."""

OUTLINES: Final = Registry(
    "outlines", _OUTLINES, takes=callable, needs="a function of width and height that returns points", guard=guarded
)
"""Every outline by name, those of other packages included."""
