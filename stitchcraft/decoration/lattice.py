"""Where the nodes and lines of a repeating pattern lie: a frame with an anchor and an angle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.decoration.base import Point


@dataclass(frozen=True, slots=True)
class Frame:
    """The pattern's own axes: origin at the anchor, x turned by the angle.

    Attributes:
        anchor: Where the pattern's origin lies, mm.
        angle: Direction of its x axis, degrees.
    """

    anchor: Point
    angle: float

    def out(self, points: FloatArray) -> FloatArray:
        """Positions of the pattern as positions of the area, (n, 2)."""
        return turned(points, self.angle, self.anchor)

    def box(self, area: list[shapely.Polygon], *, margin: float) -> tuple[float, float, float, float]:
        """The area's extent along the pattern's axes, grown by *margin*: (left, bottom, right, top), mm."""
        points = np.vstack([np.asarray(part.exterior.coords)[:, :2] for part in area])
        inside = turned(points - np.asarray(self.anchor), -self.angle)
        (left, bottom), (right, top) = inside.min(axis=0) - margin, inside.max(axis=0) + margin
        return (float(left), float(bottom), float(right), float(top))


def steps(low: float, high: float, step: float, *, offset: float = 0.0) -> FloatArray:
    """The multiples of *step*, shifted by *offset*, that lie from *low* to *high*."""
    first, last = math.ceil((low - offset) / step), math.floor((high - offset) / step)
    return offset + step * np.arange(first, last + 1, dtype=np.float64)


def numbers(low: float, high: float, step: float) -> range:
    """The whole numbers n for which n * step lies from *low* to *high*."""
    return range(math.ceil(low / step), math.floor(high / step) + 1)


def node_rows(box: tuple[float, float, float, float], pitch: float, *, hexagonal: bool) -> list[FloatArray]:
    """Rows of lattice nodes in a box, bottom to top, every other row from right to left, with a node at the origin.

    Args:
        box: (left, bottom, right, top) in the pattern's frame, mm.
        pitch: Node to nearest node, mm.
        hexagonal: Six nearest nodes (rows pitch * sqrt(3) / 2 apart, alternate ones shifted by half) instead
            of four.
    """
    left, bottom, right, top = box
    rise = pitch * math.sqrt(3) / 2 if hexagonal else pitch
    rows: list[FloatArray] = []
    for row in numbers(bottom, top, rise):
        x = steps(left, right, pitch, offset=pitch / 2 if hexagonal and row % 2 else 0.0)
        if len(x):
            x = x[::-1] if len(rows) % 2 else x
            rows.append(np.column_stack([x, np.full(len(x), row * rise)]))
    return rows


def neighbours(pitch: float, *, hexagonal: bool) -> list[Point]:
    """The nodes nearest to the origin, one of each two that lie opposite."""
    if hexagonal:
        rise = pitch * math.sqrt(3) / 2
        return [(pitch, 0.0), (pitch / 2, rise), (-pitch / 2, rise)]
    return [(pitch, 0.0), (0.0, pitch), (pitch, pitch), (-pitch, pitch)]


def faded(distance: ArrayLike, pitch: float) -> FloatArray:
    """The size, as a share, of a motif that shrinks towards the area's edge, by its distance from it, mm."""
    return np.clip(0.3 + 0.7 * np.asarray(distance, dtype=np.float64) / (1.5 * pitch), 0.0, 1.0)
