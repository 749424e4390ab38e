"""The sew-in snap: two discs with holes in their rims, sewn on by hand through those."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Self

import numpy as np
import shapely

from stitchcraft.defaults import PARTS
from stitchcraft.design import FloatArray, Line, Running
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import circle
from stitchcraft.parts.fasteners.base import Danger, Fastener, Point, Setting, Supply, circle_middle, ring
from stitchcraft.ranges import RANGES, keep_ranged
from stitchcraft.units import Length, both_text, number_between

_SMALLEST_MM, _ = RANGES["tab.fastener.diameter"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SewInSnap(Fastener):
    """A snap, magnetic or not, that is sewn on by hand. Lengths in (a number is mm), mm stored.

    Attributes:
        diameter: Outer diameter.
        inset: Tip of the tab to the snap's centre; None leaves it to the closure.
        holes: How many holes its rim has.

    Raises:
        ParameterError: If a value is out of range.
    """

    kind: ClassVar[str] = "sew-in-snap"
    title: ClassVar[str] = "sew-in snap"
    word: ClassVar[str] = "snap"
    spot: ClassVar[str] = "snap"

    diameter: Length = PARTS["sew_in_diameter"].value
    inset: Length | None = None
    holes: int = int(PARTS["sew_in_holes"].value)

    def __post_init__(self) -> None:
        keep_ranged(self, "tab.fastener", "diameter", "inset")
        if number_between(self.holes, name="tab.fastener.holes", low=2, high=8) != int(self.holes):
            raise ParameterError("tab.fastener.holes", self.holes, "a whole number from 2 to 8")

    @classmethod
    def suited(cls, width_mm: float, **given: Any) -> Self:
        """The usual one, or a smaller one that a narrow tab holds."""
        most = max(_SMALLEST_MM, round(width_mm / 3, 1))
        return cls(**{"diameter": min(PARTS["sew_in_diameter"].value, most), **given})

    @property
    def diameter_mm(self) -> float:
        """Outer diameter, mm."""
        return float(self.diameter)

    def on_tab(self, at: Point) -> shapely.Polygon:
        """The one disc."""
        return shapely.Polygon(circle(at, self.diameter_mm / 2))

    def on_bag(self, at: Point) -> shapely.Polygon:
        """The other."""
        return self.on_tab(at)

    @property
    def rigid_mm(self) -> float:
        """Its disc, flat, with the cloth folded round it."""
        return self.diameter_mm + PARTS["turned_thickness"].value

    def target(self, at: Point) -> tuple[Line, ...]:
        """A circle of its size, and a short radial mark under each hole of its rim."""
        middle, radius = np.asarray(at, dtype=np.float64), self.diameter_mm / 2
        angles = np.radians(90.0 + 180.0 / self.holes + 360.0 / self.holes * np.arange(self.holes))
        ways = np.column_stack([np.cos(angles), np.sin(angles)])
        marks = [Line(np.array([middle + 0.55 * radius * way, middle + 0.9 * radius * way])) for way in ways]
        short = Running(length=1.5)
        return (ring(at, self.diameter_mm), *(Line(mark.path, short) for mark in marks))

    def back_marks(self, at: Point) -> tuple[Line, ...]:
        """The same on the tab's back."""
        return self.target(at)

    def closes_at(self, points: FloatArray) -> FloatArray:
        """The middle of the circle."""
        return circle_middle(points)

    @property
    def target_words(self) -> str:
        """A circle and marks for the holes."""
        return f"the snap's target: a circle and {self.holes} marks for the holes of its rim"

    @property
    def back_setting(self) -> Setting:
        """Sewn on before the halves are joined, so that the knots end up inside."""
        return Setting(
            text="Sew one half of the snap onto its target by hand, on the right side, with doubled thread over a "
            "scrap of stiffener: several stitches through each hole, none past the rim. So its knots end up inside "
            "the tab.",
            dangers=(Danger.METAL, Danger.NEEDLES),
        )

    @property
    def tab_setting(self) -> Setting:
        """Metal is in the way of needle and iron."""
        return Setting(text="Press beside the snap, never on it.", dangers=(Danger.METAL,))

    @property
    def bag_setting(self) -> Setting:
        """Sewn on before the lining goes in."""
        return Setting(
            title="Sew-in snap, other half, on the front",
            text="lay a scrap of stiffener behind the panel and sew the other half on by hand with doubled thread, "
            "several stitches through each hole, before the lining hides their back. Close the two halves once: they "
            "must mate face to face. The other half is on the tab's back already.",
            brief="Sew the other half of the snap onto the target by hand after the last hooping of the panel, "
            "before the lining goes in.",
            dangers=(Danger.NEEDLES, Danger.MAGNETS),
        )

    @property
    def supplies(self) -> tuple[Supply, ...]:
        """The set and its thread."""
        note = f"{both_text(self.diameter_mm)} across, {self.holes} holes in its rim; with strong thread to sew it on"
        return (Supply(self.title, "1 set", note),)

    @property
    def backings_mm(self) -> tuple[tuple[str, float], ...]:
        """A square behind each half."""
        side = min(PARTS["snap_backing"].value, 2 * self.diameter_mm)
        return (("behind the snap in the tab", side), ("behind the snap in the front", side))
