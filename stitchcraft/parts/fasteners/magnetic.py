"""The magnetic snap whose prongs go through slits: the thin half in the tab's back, the thick half in the front."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PARTS
from stitchcraft.design import Line, Running
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import circle
from stitchcraft.parts.fasteners.base import Danger, Point, Setting, Supply, ring, slits
from stitchcraft.parts.fasteners.discs import DiscSnap
from stitchcraft.ranges import keep_ranged
from stitchcraft.units import Length, both_text, mm_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Snap(DiscSnap):
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
    usual_mm: ClassVar[float] = PARTS["snap_diameter"].value
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

    @property
    def keepout_mm(self) -> float:
        """No needle nearer to the snap's centre than this once the metal is in, mm."""
        return self.diameter_mm / 2 + PARTS["snap_keepout"].value

    def keepout(self, at: Point) -> shapely.Polygon:
        """The disc that later stitching stays out of."""
        return shapely.Polygon(circle(at, self.keepout_mm))

    def target(self, at: Point) -> tuple[Line, ...]:
        """A circle of the snap's size, then the two slits for its prongs."""
        return (ring(at, self.diameter_mm), *(Line(slit, Running(length=1.5)) for slit in self.slits(at)))

    def slits(self, at: Point) -> tuple[FloatArray, FloatArray]:
        """The two slits, each from bottom to top, (2, 2) mm."""
        return slits(at, float(self.prongs or 0), float(self.slit or 0))

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
