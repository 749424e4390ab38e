"""The magnetic snap whose prongs go through slits: the thin half in the tab's back, the thick half in the front."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Self

import shapely

from stitchcraft.defaults import PARTS
from stitchcraft.design import FloatArray, Line, Running
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import circle
from stitchcraft.parts.fasteners.base import Danger, Fastener, Point, Setting, Supply, circle_middle, ring, slits
from stitchcraft.ranges import RANGES, keep_ranged
from stitchcraft.units import Length, both_text, mm_text

_SMALLEST_MM, _ = RANGES["tab.snap.diameter"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Snap(Fastener):
    """A magnetic snap whose prongs go through slits. Lengths in (a number is mm), mm stored.

    Attributes:
        diameter: Outer diameter.
        inset: Tip of the tab to the snap's centre; None leaves it to the closure.
        prongs: Prong to prong, centre to centre.
        slit: Length of each prong's slit; None takes the usual, less on a small snap.

    Raises:
        ParameterError: If a value is out of range or two contradict each other.
    """

    kind: ClassVar[str] = "snap"
    title: ClassVar[str] = "magnetic snap"
    word: ClassVar[str] = "snap"
    spot: ClassVar[str] = "snap"
    key: ClassVar[str] = "tab.snap"

    diameter: Length = PARTS["snap_diameter"].value
    inset: Length | None = None
    prongs: Length | None = None
    slit: Length | None = None

    def __post_init__(self) -> None:
        keep_ranged(self, "tab.snap", "diameter", "inset", "prongs", "slit")
        for key, usual, share in (("prongs", PARTS["snap_prongs"].value, 0.6), ("slit", PARTS["snap_slit"].value, 0.5)):
            if getattr(self, key) is None:
                object.__setattr__(self, key, min(usual, round(self.diameter_mm * share, 1)))
            if getattr(self, key) >= self.diameter_mm:
                needs = f"less than the snap's diameter ({mm_text(self.diameter_mm)})"
                raise ParameterError(f"tab.snap.{key}", getattr(self, key), needs)

    @classmethod
    def suited(cls, width_mm: float, **given: Any) -> Self:
        """The usual snap, or a smaller one that a narrow tab holds."""
        most = max(_SMALLEST_MM, round(width_mm / 3, 1))
        return cls(**{"diameter": min(PARTS["snap_diameter"].value, most), **given})

    @property
    def diameter_mm(self) -> float:
        """Outer diameter, mm."""
        return float(self.diameter)

    @property
    def keepout_mm(self) -> float:
        """No needle nearer to the snap's centre than this once the metal is in, mm."""
        return self.diameter_mm / 2 + PARTS["snap_keepout"].value

    def on_tab(self, at: Point) -> shapely.Polygon:
        """The thin half's disc."""
        return shapely.Polygon(circle(at, self.diameter_mm / 2))

    def on_bag(self, at: Point) -> shapely.Polygon:
        """The thick half's disc."""
        return self.on_tab(at)

    @property
    def rigid_mm(self) -> float:
        """Its disc, flat, with the cloth folded round it."""
        return self.diameter_mm + PARTS["turned_thickness"].value

    def keepout(self, at: Point) -> shapely.Polygon:
        """The disc that later stitching stays out of."""
        return shapely.Polygon(circle(at, self.keepout_mm))

    def target(self, at: Point) -> tuple[Line, ...]:
        """A circle of the snap's size, then the two slits for its prongs."""
        return (ring(at, self.diameter_mm), *(Line(slit, Running(length=1.5)) for slit in self.slits(at)))

    def back_marks(self, at: Point) -> tuple[Line, ...]:
        """The same for the thin half."""
        return self.target(at)

    def slits(self, at: Point) -> tuple[FloatArray, FloatArray]:
        """The two slits, each from bottom to top, (2, 2) mm."""
        return slits(at, float(self.prongs or 0), float(self.slit or 0))

    def closes_at(self, points: FloatArray) -> FloatArray:
        """The middle of the circle."""
        return circle_middle(points)

    @property
    def target_words(self) -> str:
        """A circle and two slits."""
        return "the snap's target: a circle and two slits"

    @property
    def back_setting(self) -> Setting:
        """The prongs through the slits, from the right side."""
        return Setting(
            text="Cut the two slits, push the prongs of the thin half through from the right side and close them over "
            "a backing plate and a scrap of stiffener.",
            dangers=(Danger.METAL, Danger.CHISEL, Danger.MAGNETS),
        )

    @property
    def tab_setting(self) -> Setting:
        """Heat and magnets."""
        return Setting(
            text="Press beside the snap, never on it: heat weakens the magnet.",
            dangers=(Danger.METAL,),
        )

    @property
    def bag_setting(self) -> Setting:
        """The thick half, before the lining goes in."""
        return Setting(
            title="Magnetic snap, thick half, in the front",
            text="cut the two slits, push the prongs through from the right side, and close them over a backing plate "
            "and a scrap of stiffener. The thin half is in the tab's back already.",
            brief="Set the thick half of the snap at the target after the last hooping of the panel, "
            "before the lining goes in.",
            dangers=(Danger.METAL, Danger.CHISEL, Danger.MAGNETS),
        )

    @property
    def supplies(self) -> tuple[Supply, ...]:
        """The set."""
        note = (
            f"{both_text(self.diameter_mm)} across, prongs {both_text(float(self.prongs or 0))} apart, with two "
            "backing plates; the thin half for the tab, the thick half for the front"
        )
        return (Supply(self.title, "1 set", note),)

    @property
    def backings_mm(self) -> tuple[tuple[str, float], ...]:
        """A square behind the prongs of each half."""
        side = min(PARTS["snap_backing"].value, 2 * self.diameter_mm)
        return (("behind the snap in the tab", side), ("behind the snap in the front", side))
