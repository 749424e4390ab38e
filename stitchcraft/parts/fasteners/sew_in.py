"""The sew-in snap: two discs with holes in their rims, sewn on by hand through those."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from stitchcraft.defaults import PARTS
from stitchcraft.design import Line, Running
from stitchcraft.errors import ParameterError
from stitchcraft.parts.fasteners.base import Danger, Point, Setting, Supply, ring
from stitchcraft.parts.fasteners.discs import DiscSnap
from stitchcraft.ranges import RANGES, keep_ranged
from stitchcraft.units import Length, both_text, number_between


@dataclass(frozen=True, slots=True, kw_only=True)
class SewInSnap(DiscSnap):
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
    usual_mm: ClassVar[float] = PARTS["sew_in_diameter"].value

    diameter: Length = PARTS["sew_in_diameter"].value
    inset: Length | None = None
    holes: int = int(PARTS["sew_in_holes"].value)

    def __post_init__(self) -> None:
        keep_ranged(self, "tab.fastener", "diameter", "inset")
        low, high = RANGES["tab.fastener.holes"]
        if number_between(self.holes, name="tab.fastener.holes", low=low, high=high) != int(self.holes):
            raise ParameterError("tab.fastener.holes", self.holes, f"a whole number from {low} to {high}")

    def target(self, at: Point) -> tuple[Line, ...]:
        """A circle of its size, and a short radial mark under each hole of its rim."""
        middle, radius = np.asarray(at, dtype=np.float64), self.diameter_mm / 2
        angles = np.radians(90.0 + 180.0 / self.holes + 360.0 / self.holes * np.arange(self.holes))
        ways = np.column_stack([np.cos(angles), np.sin(angles)])
        marks = [Line(np.array([middle + 0.55 * radius * way, middle + 0.9 * radius * way])) for way in ways]
        short = Running(length=1.5)
        return (ring(at, self.diameter_mm), *(Line(mark.path, short) for mark in marks))

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
