"""What snaps have in common: two flat round halves of one size, sewn or pushed on in the middle of their target."""

from __future__ import annotations

from typing import Any, ClassVar, Self

import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PARTS
from stitchcraft.design import Line
from stitchcraft.geometry.curves import circle
from stitchcraft.parts.fasteners.base import Fastener, Point, circle_middle
from stitchcraft.ranges import RANGES
from stitchcraft.units import Length


class DiscSnap(Fastener):
    """A snap of two round halves, one on the tab's back and one on the bag.

    Attributes:
        usual_mm: Diameter of the usual one.
        diameter: Outer diameter.
    """

    __slots__ = ()

    word: ClassVar[str] = "snap"
    spot: ClassVar[str] = "snap"
    usual_mm: ClassVar[float]
    diameter: Length

    @classmethod
    def suited(cls, width_mm: float, **given: Any) -> Self:
        """The usual snap, or a smaller one that a narrow tab holds."""
        smallest, _ = RANGES[f"{cls.key}.diameter"]
        most = max(smallest, round(width_mm / 3, 1))
        return cls(**{"diameter": min(cls.usual_mm, most), **given})

    @property
    def diameter_mm(self) -> float:
        """Outer diameter, mm."""
        return float(self.diameter)

    def on_tab(self, at: Point) -> shapely.Polygon:
        """The disc of the one half."""
        return shapely.Polygon(circle(at, self.diameter_mm / 2))

    def on_bag(self, at: Point) -> shapely.Polygon:
        """The disc of the other."""
        return self.on_tab(at)

    @property
    def rigid_mm(self) -> float:
        """Its disc, flat, with the cloth folded round it."""
        return self.diameter_mm + PARTS["turned_thickness"].value

    def back_marks(self, at: Point) -> tuple[Line, ...]:
        """The same as its target."""
        return self.target(at)

    def closes_at(self, points: FloatArray) -> FloatArray:
        """The middle of the circle."""
        return circle_middle(points)

    @property
    def backings_mm(self) -> tuple[tuple[str, float], ...]:
        """A square behind each half."""
        side = min(PARTS["snap_backing"].value, 2 * self.diameter_mm)
        return (("behind the snap in the tab", side), ("behind the snap in the front", side))
