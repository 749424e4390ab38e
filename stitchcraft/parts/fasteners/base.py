"""What every fastener of a tab has: its two halves, their marks and room, and the words for setting them.

A fastener has a half on the tab and one on the bag. It says what is stitched for each, what each covers, and how to
read off the holes of those stitches where the two come together: from that the kit proves that they do.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, ClassVar, Self, TypeAlias

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PARTS
from stitchcraft.design import Column, Line, Running
from stitchcraft.geometry.curves import arc, circle, closed, grown, polygons_of
from stitchcraft.units import Length

Point: TypeAlias = tuple[float, float]


class Danger(StrEnum):
    """What can hurt while a fastener is sewn round or set; the papers have the words."""

    METAL = "metal"
    CHISEL = "chisel"
    BLADES = "blades"
    MAGNETS = "magnets"
    NEEDLES = "needles"
    SMALL_PARTS = "small parts"


@dataclass(frozen=True, slots=True)
class Supply:
    """A line of the materials list.

    Attributes:
        what: What to have at hand.
        count: How many.
        note: What to mind when buying it.
    """

    what: str
    count: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """How one half is set.

    Attributes:
        title: What the step is called; empty where it is no step of its own.
        text: What to do.
        brief: The same in one sentence, for the sheet of the part that is marked for it.
        dangers: What can hurt.
    """

    title: str = ""
    text: str = ""
    brief: str = ""
    dangers: tuple[Danger, ...] = ()


class Fastener(ABC):
    """What closes a tab. A new kind is a module of its own with a subclass, and a row of `FASTENERS`.

    Attributes:
        kind: What the spec calls it.
        title: What it is, for people.
        word: One word for its half on the tab; findings are named by it.
        spot: What a template calls its place on the bag.
        key: The table of the spec that describes it.
        across: The key that makes it wide.
        inset: Tip of the tab to where it closes, mm; None leaves it to the closure.
    """

    __slots__ = ()

    kind: ClassVar[str]
    title: ClassVar[str]
    word: ClassVar[str]
    spot: ClassVar[str]
    key: ClassVar[str] = "tab.fastener"
    across: ClassVar[str] = "diameter"
    inset: Length | None

    @classmethod
    @abstractmethod
    def suited(cls, width_mm: float, **given: Any) -> Self:
        """One of a usual size that a tab of some width holds; what is *given* stands.

        Raises:
            ParameterError: If what is given cannot be used.
        """

    @property
    def usual_inset_mm(self) -> float:
        """Tip of the tab to where it closes, where nothing asks for another place, mm."""
        return PARTS["snap_inset"].value

    # -- what it covers and how near stitches may come --------------------------------------------------

    @abstractmethod
    def on_tab(self, at: Point) -> shapely.Polygon:
        """What its half on the tab covers where it closes at a point of the front's frame, mm."""

    @abstractmethod
    def on_bag(self, at: Point) -> shapely.Polygon:
        """What its half on the bag covers, mm."""

    @property
    def seam_clearance_mm(self) -> float:
        """How far the tab's seam stays from its half, mm; by default as far as a needle from metal."""
        return PARTS["snap_keepout"].value

    @property
    def seam_reason(self) -> str:
        """Why."""
        return "the needle would come too near the metal"

    @property
    def rigid_mm(self) -> float:
        """Width of the mouth through which the half that is set before the tab is turned still passes, mm."""
        return 0.0

    def keepout(self, at: Point) -> shapely.Polygon:
        """What later stitching on the bag stays out of."""
        return polygons_of(grown(self.on_bag(at), PARTS["snap_keepout"].value))[0]

    def front_keepout(self, at: Point) -> shapely.Polygon | None:  # noqa: ARG002 - most sit on the tab's back alone
        """What the decoration of the tab's front leaves free; None for nothing."""
        return None

    # -- what is stitched -------------------------------------------------------------------------------

    @abstractmethod
    def target(self, at: Point) -> tuple[Line, ...]:
        """The stitched target on the bag."""

    def back_marks(self, at: Point) -> tuple[Line, ...]:  # noqa: ARG002 - none by default
        """What is stitched on the tab's back, in that piece's own frame, before the halves are joined."""
        return ()

    def front_marks(self, at: Point) -> tuple[Line, ...]:  # noqa: ARG002 - none by default
        """What is stitched on the tab's front before the halves are joined."""
        return ()

    def through_tab(self, at: Point) -> tuple[Line | Column, ...]:  # noqa: ARG002 - none by default
        """What is stitched through the finished tab, in a hooping of its own, in order of sewing."""
        return ()

    # -- where the halves come together, from the holes -------------------------------------------------

    def closes_at(self, points: FloatArray) -> FloatArray:
        """Where its half on the tab closes, read off the needle holes of its marks.

        Args:
            points: (n, 2) mm, in the frame of the tab's front.

        Returns:
            (2,) mm, in that frame.
        """
        return box_middle(points)

    def target_at(self, points: FloatArray) -> FloatArray:
        """The middle of its target, read off the needle holes, (2,) mm in the target's frame."""
        return circle_middle(points)

    # -- words ------------------------------------------------------------------------------------------

    @property
    @abstractmethod
    def target_words(self) -> str:
        """What its target on the bag looks like."""

    @property
    def tab_words(self) -> str:
        """What its marks on the tab look like."""
        return self.target_words

    @property
    def rest_words(self) -> str:
        """Where the bag's half comes to rest in the tab's, a sentence; empty where the middles meet."""
        return ""

    @property
    def back_setting(self) -> Setting:
        """How its half is set in the tab's back before the halves are joined."""
        return Setting()

    @property
    def tab_setting(self) -> Setting:
        """What is done to the tab once it is turned."""
        return Setting()

    @property
    def through_setting(self) -> Setting:
        """What is done once the finished tab has been stitched through."""
        return Setting()

    @property
    @abstractmethod
    def bag_setting(self) -> Setting:
        """How its half is set in the bag's front."""

    @property
    @abstractmethod
    def supplies(self) -> tuple[Supply, ...]:
        """What to have at hand."""

    @property
    def backings_mm(self) -> tuple[tuple[str, float], ...]:
        """Squares of stiffener to cut, what for and their side, mm."""
        return ()


def ring(at: Point, diameter_mm: float) -> Line:
    """A circle in short stitches, as targets have."""
    return Line(circle(at, diameter_mm / 2), Running(length=2.0, tolerance=0.05))


def oval(at: Point, width_mm: float, height_mm: float) -> FloatArray:
    """An ellipse, closed, (n, 2) mm."""
    fine = 0.01 / max(width_mm, height_mm)
    unit = arc((0.0, 0.0), 1.0, 0.0, 360.0, flatness=fine)[:-1]
    return closed(unit * [width_mm / 2, height_mm / 2] + np.asarray(at, dtype=np.float64))


def slits(at: Point, apart_mm: float, length_mm: float) -> tuple[FloatArray, FloatArray]:
    """Two upright slits left and right of a point, each from bottom to top, (2, 2) mm."""
    x, y = at
    left, right = (
        np.array([[x + side * apart_mm / 2, y - length_mm / 2], [x + side * apart_mm / 2, y + length_mm / 2]])
        for side in (-1, 1)
    )
    return left, right


def circle_middle(points: FloatArray) -> FloatArray:
    """Centre of the circle through the outermost points, by least squares, (2,) mm."""
    hull = shapely.get_coordinates(shapely.convex_hull(shapely.MultiPoint(points)))[:-1]
    system = np.column_stack([2 * hull, np.ones(len(hull))])
    solved, *_ = np.linalg.lstsq(system, (hull**2).sum(axis=1), rcond=None)
    return np.asarray(solved[:2], dtype=np.float64)


def box_middle(points: FloatArray) -> FloatArray:
    """Middle of the box around points, (2,) mm."""
    return np.asarray((points.min(axis=0) + points.max(axis=0)) / 2, dtype=np.float64)
