"""Tips of a closure tab: the line from one shoulder round to the other.

A tip is a function of a width and a depth. It returns (n, 2) points in mm from the left shoulder
(-width/2, 0) to the right shoulder (width/2, 0), its lowest point about *depth* below the shoulders; the tab
rounds the corners and sets the lowest point exactly.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

import numpy as np

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import arc, cubic, joined, mirrored
from stitchcraft.plugins import Registry, guarded

TipMaker: TypeAlias = Callable[[float, float], FloatArray]


@dataclass(frozen=True, slots=True)
class Tip:
    """One kind of tip.

    Attributes:
        make: Width and depth to the line.
        depth_share: Usual depth as a share of the width.
        corner_mm: Usual rounding of its outer corners, so that they turn cleanly.
        inner_share: Usual rounding of its inner corners as a share of the width, up to the seam allowance, which
            cannot be turned in a tighter one.
    """

    make: TipMaker
    depth_share: float
    corner_mm: float
    inner_share: float = 0.0


def _both_sides(right: FloatArray) -> FloatArray:
    """A symmetric tip from its right half, which runs from the tip's middle up to the right shoulder."""
    return joined(mirrored(right)[::-1], right)


def _round(width: float, depth: float) -> FloatArray:
    return arc((0.0, 0.0), 1.0, 180.0, 360.0, flatness=0.01 / max(width, depth)) * np.array([width / 2, depth])


def _point(width: float, depth: float) -> FloatArray:
    return np.array([[-width / 2, 0.0], [0.0, -depth], [width / 2, 0.0]])


def _ogee(width: float, depth: float) -> FloatArray:
    half = width / 2
    turn = (0.52 * half, -0.58 * depth)
    upper = cubic(turn, (0.80 * half, -0.47 * depth), (half, -0.30 * depth), (half, 0.0))
    lower = cubic((0.0, -depth), (0.10 * half, -0.84 * depth), (0.24 * half, -0.69 * depth), turn)
    return _both_sides(joined(lower, upper))


def _square(width: float, depth: float) -> FloatArray:
    half = width / 2
    return np.array([[-half, 0.0], [-half, -depth], [half, -depth], [half, 0.0]])


def _clipped(width: float, depth: float) -> FloatArray:
    half = width / 2
    flat = max(half - depth, half * 0.3)
    return np.array([[-half, 0.0], [-flat, -depth], [flat, -depth], [half, 0.0]])


def _scallop(width: float, depth: float) -> FloatArray:
    # three lobes: the middle one hangs lower, all meet in soft notches
    side, middle = width * 0.30, width * 0.40
    share = np.linspace(-1.0, 1.0, 61)
    lobe = np.column_stack([share / 2, share**2 - 1])
    left = lobe * [side, depth * 0.50] + np.array([-(middle + side) / 2, -depth * 0.3])
    centre = lobe * [middle, depth * 0.70] + np.array([0.0, -depth * 0.3])
    right = left[::-1] * [-1.0, 1.0]
    return joined([[-width / 2, 0.0]], left, centre, right, [[width / 2, 0.0]])


def _notch(width: float, depth: float) -> FloatArray:
    half = width / 2
    return np.array([[-half, 0.0], [-half, -depth], [0.0, -0.45 * depth], [half, -depth], [half, 0.0]])


def _leaf(width: float, depth: float) -> FloatArray:
    half = width / 2
    return _both_sides(cubic((0.0, -depth), (0.55 * half, -0.78 * depth), (half, -0.42 * depth), (half, 0.0)))


def _shield(width: float, depth: float) -> FloatArray:
    half = width / 2
    return _both_sides(cubic((0.0, -depth), (0.62 * half, -0.84 * depth), (half, -0.72 * depth), (half, 0.0)))


def _wave(width: float, depth: float) -> FloatArray:
    x = np.linspace(-width / 2, width / 2, 97)
    edge = np.column_stack([x, -0.6 * depth - 0.4 * depth * np.sin(2 * np.pi * x / width)])
    return joined([[-width / 2, 0.0]], edge, [[width / 2, 0.0]])


def _keyhole(width: float, depth: float) -> FloatArray:
    # a bulb hangs from a neck: the right half runs up round the bulb, out of the neck and on to the shoulder
    half = width / 2
    bulb = min(0.74 * half, 0.42 * depth)
    centre = (0.0, bulb - depth)
    rim = arc(centre, bulb, -90.0, 38.0)
    leave = np.array([-np.sin(np.radians(38.0)), np.cos(np.radians(38.0))])
    reach = 0.42 * (depth - bulb)
    sweep = cubic(rim[-1], rim[-1] + reach * leave, (half, -0.62 * (depth - bulb)), (half, 0.0))
    return _both_sides(joined(rim, sweep))


_TIPS: Final[dict[str, Tip]] = {
    "round": Tip(_round, 0.5, 0.0),
    "point": Tip(_point, 0.5, 2.0),
    "ogee": Tip(_ogee, 0.62, 1.5),
    "square": Tip(_square, 0.2, 5.0),
    "clipped": Tip(_clipped, 0.28, 2.5),
    "scallop": Tip(_scallop, 0.36, 2.0, 0.12),
    "notch": Tip(_notch, 0.36, 2.0, 0.12),
    "leaf": Tip(_leaf, 0.85, 1.5),
    "shield": Tip(_shield, 0.6, 1.5),
    "wave": Tip(_wave, 0.3, 4.0),
    "keyhole": Tip(_keyhole, 1.0, 1.5, 0.12),
}
"""Our own tips by name; shares and roundings are our own choice, set by eye."""

TIPS: Final = Registry(
    "tips", _TIPS, takes=lambda value: isinstance(value, Tip), needs="a stitchcraft.parts.tips.Tip",
    guard=lambda label, tip: replace(tip, make=guarded(label, tip.make)),
)  # fmt: skip
"""Every tip by name, those of other packages included."""


def middle_rise(tip: str, width: float, depth: float | None = None) -> float:
    """How far a tip's edge on the tab's middle line lies above its lowest point, mm: 0 for one that ends in the middle.

    Args:
        tip: A name from `TIPS`.
        width: Of the tab, mm.
        depth: Of the tip, mm; None for its usual one.

    Example:
        >>> round(middle_rise("wave", 80.0, 30.0), 2), middle_rise("ogee", 80.0)
        (12.0, 0.0)
    """
    kind = TIPS[tip]
    x, y = kind.make(width, kind.depth_share * width if depth is None else depth).T
    across = np.flatnonzero((x[:-1] <= 0) & (x[1:] >= 0) & (x[1:] > x[:-1]))
    share = -x[across] / (x[across + 1] - x[across])
    edge = y[across] + share * (y[across + 1] - y[across])
    return float(edge.min(initial=0.0) - y.min())
