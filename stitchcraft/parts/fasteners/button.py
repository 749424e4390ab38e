"""The button and its stitched buttonhole.

The buttonhole is sewn through the finished tab, in a hooping of its own: an outline on bare stabilizer says where
the tab is laid. Along the tab, the button comes to rest at the end of the hole that is nearer to the tip: the bag
pulls the tab towards its root.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Literal, Self

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import BAG, PARTS
from stitchcraft.design import Column, Line, Running, Satin
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import circle, grown, polygons_of
from stitchcraft.parts.fasteners.base import Danger, Fastener, Point, Setting, Supply, box_middle, ring
from stitchcraft.ranges import keep_ranged
from stitchcraft.units import Length, both_text

_SMALLEST_MM = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Button(Fastener):
    """A button on the bag, a stitched buttonhole in the tab. Lengths in (a number is mm), mm stored.

    Attributes:
        diameter: Of the button.
        thickness: Of the button.
        inset: Tip of the tab to the button's middle; None leaves it to the closure.
        direction: ``"along"`` the tab or ``"across"`` it.
        bead: Width of the satin on each side of the cut.

    Raises:
        ParameterError: If a value is out of range.
    """

    kind: ClassVar[str] = "button"
    title: ClassVar[str] = "button"
    word: ClassVar[str] = "buttonhole"
    spot: ClassVar[str] = "button"

    diameter: Length = PARTS["button_diameter"].value
    thickness: Length = PARTS["button_thickness"].value
    inset: Length | None = None
    direction: Literal["along", "across"] = "along"
    bead: Length = PARTS["buttonhole_bead"].value

    def __post_init__(self) -> None:
        keep_ranged(self, "tab.fastener", "diameter", "thickness", "inset", "bead")
        if self.direction not in ("along", "across"):
            raise ParameterError("tab.fastener.direction", self.direction, '"along" or "across"')

    @classmethod
    def suited(cls, width_mm: float, **given: Any) -> Self:
        """The usual button, or a smaller one that suits a narrow tab."""
        most = max(_SMALLEST_MM, round(width_mm / 3, 1))
        return cls(**{"diameter": min(PARTS["button_diameter"].value, most), **given})

    @property
    def diameter_mm(self) -> float:
        """Diameter of the button, mm."""
        return float(self.diameter)

    @property
    def slit_mm(self) -> float:
        """Length of the cut: diameter and thickness of the button, mm."""
        return self.diameter_mm + float(self.thickness)

    @property
    def length_mm(self) -> float:
        """The buttonhole from bar to bar, both included, mm."""
        return self.slit_mm + 2 * PARTS["buttonhole_bar"].value

    @property
    def width_mm(self) -> float:
        """The buttonhole over both beads, mm."""
        return 2 * float(self.bead) + PARTS["buttonhole_gap"].value

    @property
    def _ahead_mm(self) -> float:
        """From where the button rests to the middle of the cut, mm along the hole."""
        return self.slit_mm / 2 - PARTS["buttonhole_rest"].value if self.direction == "along" else 0.0

    def _placed(self, at: Point, *paths: FloatArray) -> tuple[FloatArray, ...]:
        """Paths drawn about the cut's middle, the cut along y, put in their place."""
        if self.direction == "along":
            return tuple(path + [at[0], at[1] + self._ahead_mm] for path in paths)
        return tuple(path[:, ::-1] * [-1.0, 1.0] + np.asarray(at) for path in paths)

    def on_tab(self, at: Point) -> shapely.Polygon:
        """The stitched buttonhole."""
        half = np.array([self.width_mm, self.length_mm]) / 2
        (corners,) = self._placed(at, np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * half)
        return shapely.orient_polygons(shapely.Polygon(corners))

    def on_bag(self, at: Point) -> shapely.Polygon:
        """The button."""
        return shapely.Polygon(circle(at, self.diameter_mm / 2))

    @property
    def seam_clearance_mm(self) -> float:
        """The allowance that is turned in along the tab's edge."""
        return BAG["allowance"].value

    @property
    def seam_reason(self) -> str:
        """Why."""
        return "it would be sewn and cut through the allowance that is turned in"

    def front_keepout(self, at: Point) -> shapely.Polygon:
        """The buttonhole and a rim of plain cloth."""
        return polygons_of(grown(self.on_tab(at), PARTS["buttonhole_clear"].value, mitre=True))[0]

    def target(self, at: Point) -> tuple[Line, ...]:
        """A circle that the button hides, and a cross at its middle, where it is sewn on."""
        x, y = at
        arm = 0.15 * self.diameter_mm
        short = Running(length=1.5)
        return (
            ring(at, self.diameter_mm - 2 * PARTS["mark_hidden"].value),
            Line(np.array([[x - arm, y], [x + arm, y]]), short),
            Line(np.array([[x, y - arm], [x, y + arm]]), short),
        )

    def through_tab(self, at: Point) -> tuple[Line | Column, ...]:
        """The cut line, then one bead, a bar, the other bead, a bar: round the hole as it is sewn by hand."""
        half, bar = self.slit_mm / 2, PARTS["buttonhole_bar"].value
        inner, outer = PARTS["buttonhole_gap"].value / 2, self.width_mm / 2
        (cut,) = self._placed(at, np.array([[0.0, -half + 0.5], [0.0, half - 0.5]]))
        columns = []
        for rail_a, rail_b in (
            ([[-outer, -half], [-outer, half]], [[-inner, -half], [-inner, half]]),
            ([[-outer, half], [-outer, half + bar]], [[outer, half], [outer, half + bar]]),
            ([[outer, half], [outer, -half]], [[inner, half], [inner, -half]]),
            ([[outer, -half], [outer, -half - bar]], [[-outer, -half], [-outer, -half - bar]]),
        ):
            a, b = self._placed(at, np.array(rail_a), np.array(rail_b))
            columns.append(Column(a, b, Satin()))
        return (Line(cut, Running(length=1.5)), *columns)

    def closes_at(self, points: FloatArray) -> FloatArray:
        """Where the button rests: short of the tip's end of the cut, or its middle where it lies across."""
        middle = box_middle(points)
        if self.direction == "across":
            return middle
        end = points[:, 1].min() + PARTS["buttonhole_bar"].value
        return np.array([middle[0], end + PARTS["buttonhole_rest"].value])

    @property
    def target_words(self) -> str:
        """A circle and a cross."""
        return "the button's place: a circle that it hides, and a cross where it is sewn on"

    @property
    def tab_words(self) -> str:
        """The cut line and the satin round it."""
        return "the buttonhole: its cut line, then satin up one side, a bar, down the other side, a bar"

    @property
    def rest_words(self) -> str:
        """The end of the hole along the pull."""
        along = self.direction == "along"
        return "The button rests at the end of its hole that is nearer to the tip." if along else ""

    @property
    def tab_setting(self) -> Setting:
        """It goes into the hoop once more."""
        return Setting(text="Press it flat: it goes into the hoop once more for its buttonhole.")

    @property
    def through_setting(self) -> Setting:
        """The cut."""
        return Setting(
            text="Take the tab out of the hoop and tear the stabilizer away. Put a pin across each bar, inside it, and "
            "cut along the line between the beads from both ends towards the middle, on a block of wood; the pins "
            f"stop the blade. The cut is {both_text(self.slit_mm)} long. Dab liquid seam sealant on it.",
            dangers=(Danger.BLADES, Danger.CHISEL),
        )

    @property
    def bag_setting(self) -> Setting:
        """Sewn on with a shank."""
        shank = both_text(PARTS["tab_thickness"].value)
        return Setting(
            title="Button on the front",
            text="lay a scrap of stiffener behind the panel and sew the button onto its cross by hand with doubled "
            f"thread. Leave a shank of {shank}, as thick as the tab, and wind it; a button with a shank of its own is "
            "sewn on close.",
            brief="Sew the button onto its cross after the last hooping of the panel, before the lining goes in.",
            dangers=(Danger.NEEDLES, Danger.SMALL_PARTS),
        )

    @property
    def supplies(self) -> tuple[Supply, ...]:
        """The button, its thread and what seals the cut."""
        note = (
            f"{both_text(self.diameter_mm)} across, {both_text(float(self.thickness))} thick, for a cut of "
            f"{both_text(self.slit_mm)}; with strong thread to sew it on"
        )
        return (Supply(self.title, "1", note), Supply("seam sealant", "a drop", "for the buttonhole's cut"))

    @property
    def backings_mm(self) -> tuple[tuple[str, float], ...]:
        """A square behind the button."""
        return (("behind the button in the front", min(PARTS["snap_backing"].value, 2 * self.diameter_mm)),)
