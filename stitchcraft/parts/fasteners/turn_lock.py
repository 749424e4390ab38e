"""The turn lock: a plate with an oval hole on the tab, and on the bag a post that is turned across it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Self

import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import BAG, PARTS
from stitchcraft.design import Line, Running
from stitchcraft.errors import ParameterError
from stitchcraft.parts.fasteners.base import Danger, Fastener, Point, Setting, Supply, box_middle, oval, slits
from stitchcraft.ranges import keep_ranged
from stitchcraft.units import Length, both_sizes, both_text, mm_text


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnLock(Fastener):
    """A turn lock, its hole across the tab. Lengths in (a number is mm), mm stored; measure the one you have.

    Attributes:
        width: The plate, across the tab.
        height: The plate, along the tab.
        hole_width: Its oval hole, across the tab.
        hole_height: Its oval hole, along the tab.
        inset: Tip of the tab to the hole's middle; None leaves it to the closure.
        prongs: Prong to prong of the plate, left and right of the hole, centre to centre; None lies half way between
            hole and rim.
        post_prongs: Prong to prong of the post on the bag.
        slit: Length of each prong's slit.

    Raises:
        ParameterError: If a value is out of range or two contradict each other.
    """

    kind: ClassVar[str] = "turn-lock"
    title: ClassVar[str] = "turn lock"
    word: ClassVar[str] = "lock"
    spot: ClassVar[str] = "turn lock"
    across: ClassVar[str] = "width"

    width: Length = PARTS["lock_width"].value
    height: Length = PARTS["lock_height"].value
    hole_width: Length = PARTS["lock_hole_width"].value
    hole_height: Length = PARTS["lock_hole_height"].value
    inset: Length | None = None
    prongs: Length | None = None
    post_prongs: Length = PARTS["lock_post_prongs"].value
    slit: Length = PARTS["lock_slit"].value

    def __post_init__(self) -> None:
        keep_ranged(
            self, "tab.fastener",
            "width", "height", "hole_width", "hole_height", "inset", "prongs", "post_prongs", "slit",
        )  # fmt: skip
        rim = PARTS["lock_rim"].value
        for key, side in (("hole_width", "width"), ("hole_height", "height")):
            most = float(getattr(self, side)) - 2 * rim
            if float(getattr(self, key)) > most:
                needs = f"at most its plate's {side} less {mm_text(2 * rim)} ({mm_text(most)})"
                raise ParameterError(f"tab.fastener.{key}", getattr(self, key), needs)
        if self.prongs is None:
            object.__setattr__(self, "prongs", round((float(self.width) + float(self.hole_width)) / 2, 2))
        if not float(self.hole_width) < float(self.prongs or 0) < float(self.width):
            raise ParameterError(
                "tab.fastener.prongs", self.prongs, f"between the hole's width and the plate's "
                f"({mm_text(float(self.hole_width))} and {mm_text(float(self.width))})",
            )  # fmt: skip
        for key, most in (("post_prongs", float(self.width)), ("slit", float(self.height))):
            if float(getattr(self, key)) >= most:
                needs = f"less than its plate ({mm_text(most)})"
                raise ParameterError(f"tab.fastener.{key}", getattr(self, key), needs)

    @classmethod
    def suited(cls, width_mm: float, **given: Any) -> Self:  # noqa: ARG003 - a lock is bought, not scaled
        """The usual one; whether a narrow tab holds it the tab says."""
        return cls(**given)

    @property
    def usual_inset_mm(self) -> float:
        """Farther from the tip than a snap, which is narrower."""
        return PARTS["lock_inset"].value

    def _plate(self, at: Point, inside: float = 0.0) -> FloatArray:
        return oval(at, float(self.width) - 2 * inside, float(self.height) - 2 * inside)

    def on_tab(self, at: Point) -> shapely.Polygon:
        """The plate."""
        return shapely.Polygon(self._plate(at))

    def on_bag(self, at: Point) -> shapely.Polygon:
        """The post's plate, which the tab's covers."""
        return self.on_tab(at)

    @property
    def seam_clearance_mm(self) -> float:
        """The allowance that is turned in along the tab's edge: over it the plate would lie uneven."""
        return BAG["allowance"].value

    @property
    def seam_reason(self) -> str:
        """Why."""
        return "its plate would lie over the allowance that is turned in"

    def front_keepout(self, at: Point) -> shapely.Polygon:
        """The plate and the rim of cloth around it."""
        return shapely.Polygon(self._plate(at, -PARTS["decoration_clearance"].value))

    def _tab_marks(self, at: Point) -> tuple[Line, ...]:
        short = Running(length=1.5)
        rings = (
            self._plate(at, PARTS["mark_hidden"].value),
            oval(at, float(self.hole_width), float(self.hole_height)),
        )
        prongs = slits(at, float(self.prongs or 0), float(self.slit))
        round_it = Running(length=2.0, tolerance=0.05)
        return (*(Line(path, round_it) for path in rings), *(Line(path, short) for path in prongs))

    def target(self, at: Point) -> tuple[Line, ...]:
        """An oval that the plate hides, and two slits for the post's prongs."""
        outline = Line(self._plate(at, PARTS["mark_hidden"].value), Running(length=2.0, tolerance=0.05))
        prongs = slits(at, float(self.post_prongs), float(self.slit))
        return (outline, *(Line(path, Running(length=1.5)) for path in prongs))

    def back_marks(self, at: Point) -> tuple[Line, ...]:
        """Plate, hole and slits, where the washer goes."""
        return self._tab_marks(at)

    def front_marks(self, at: Point) -> tuple[Line, ...]:
        """Plate, hole and slits; the plate hides them."""
        return self._tab_marks(at)

    def target_at(self, points: FloatArray) -> FloatArray:
        """The middle of the oval."""
        return box_middle(points)

    @property
    def target_words(self) -> str:
        """An oval and two slits."""
        return "the lock's target: an oval and two slits for the post's prongs"

    @property
    def tab_words(self) -> str:
        """Two ovals and two slits."""
        return "the lock's place: its plate, its oval hole and two slits for its prongs, all hidden once it is set"

    @property
    def back_setting(self) -> Setting:
        """Nothing is cut before both halves are one."""
        return Setting(text="Cut nothing for the lock yet: it goes through both halves once the tab is turned.")

    @property
    def tab_setting(self) -> Setting:
        """The hole and the slits through both halves."""
        return Setting(
            text="Press. Push a pin through the hole's middle: it must come out in the middle of the stitched hole on "
            "the back. Cut out the inner oval along its stitches and the two slits, through both halves; dab liquid "
            "seam sealant on the cut edge. Set the plate on the front, its prongs through the slits, and close them "
            "over its washer on the back.",
            dangers=(Danger.BLADES, Danger.CHISEL),
        )

    @property
    def bag_setting(self) -> Setting:
        """The post, before the lining goes in."""
        return Setting(
            title="Turn lock, the post, in the front",
            text="cut the two slits, push the prongs of the post through from the right side, and close them over its "
            "washer and a scrap of stiffener. Turned one way the post passes the hole, turned the other it holds.",
            brief="Set the lock's post at the target after the last hooping of the panel, before the lining goes in.",
            dangers=(Danger.METAL, Danger.CHISEL),
        )

    @property
    def supplies(self) -> tuple[Supply, ...]:
        """The set."""
        plate = both_sizes(float(self.width), float(self.height))
        hole = both_sizes(float(self.hole_width), float(self.hole_height))
        prongs, post = (both_text(float(value or 0)) for value in (self.prongs, self.post_prongs))
        note = (
            f"plate {plate}, its hole {hole}, its prongs {prongs} and the post's {post} apart, "
            "with two washers; measure yours before you sew"
        )
        return (Supply(self.title, "1 set", note), Supply("seam sealant", "a drop", "for the cut edge of the hole"))

    @property
    def backings_mm(self) -> tuple[tuple[str, float], ...]:
        """A square behind the post."""
        return (("behind the lock in the front", max(PARTS["snap_backing"].value, float(self.width) + 5)),)
