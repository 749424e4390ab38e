"""What every decoration is: a filling of an area, with a phase and a count.

A decoration is a frozen value. It fills any area, holes included, with elements; whatever must stay free of
thread has been cut out of the area before. All positions are mm; angles are degrees counter-clockwise.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Hashable
from contextlib import nullcontext
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, ClassVar, Final, TypeAlias

import shapely

from stitchcraft.defaults import DECORATION
from stitchcraft.design import Element, LineStitch, Running, Triple
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.geometry.curves import grown, polygons_of
from stitchcraft.plugins import fenced
from stitchcraft.ranges import RANGES
from stitchcraft.units import Length, length_between, number_between

Polygonal: TypeAlias = shapely.Polygon | shapely.MultiPolygon
Point: TypeAlias = tuple[float, float]

SHORTEST_MM: Final = DECORATION["shortest_piece"].value
"""No piece of a pattern shorter than this is sewn."""

GRAZING_MM: Final = DECORATION["grazing"].value
"""A clipped line that nowhere gets farther from the edge than this is left out: it would read as a doubled edge."""

TOUCH_MM: Final = 1e-7
"""A motif that touches the edge counts as inside it, whatever the last bits of its coordinates say."""

_ROOM_MM2: Final = 100.0
_ROOM_REPEATS: Final = 4.0
"""An area under 1 cm2, or under four repeats, may well stay plain."""


@dataclass(frozen=True, slots=True)
class DecorationCount:
    """How much of a decoration is in an area.

    Attributes:
        motifs: Dots, rings, scales, petals or lines, whole or cut.
        line_mm: Length of the pattern's lines, mm, without what joins them along the edge.
        link_mm: Length sewn along the edge to join lines into runs, mm.
        filled_mm2: Area of the motifs that are filled with thread, mm2.
        area_mm2: The area decorated, mm2.
        runs: How many elements it takes.
    """

    motifs: int = 0
    line_mm: float = 0.0
    link_mm: float = 0.0
    filled_mm2: float = 0.0
    area_mm2: float = 0.0
    runs: int = 0

    @property
    def cover(self) -> float:
        """Share of the area inside filled motifs, 0 to 1."""
        return self.filled_mm2 / self.area_mm2 if self.area_mm2 else 0.0

    @property
    def line_per_mm2(self) -> float:
        """Length of pattern line per area, mm/mm2."""
        return self.line_mm / self.area_mm2 if self.area_mm2 else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """What one decoration puts into one area: the elements, and what there is to count.

    Attributes:
        elements: In an order in which neighbours follow each other.
        motifs: As in `DecorationCount`.
        line_mm: As in `DecorationCount`.
        link_mm: As in `DecorationCount`.
        filled_mm2: As in `DecorationCount`.
    """

    elements: tuple[Element, ...] = ()
    motifs: int = 0
    line_mm: float = 0.0
    link_mm: float = 0.0
    filled_mm2: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """What of a decoration is sewn in one thread.

    Attributes:
        colour: ``"#rrggbb"`` of a drawing; None for the thread of all decorations.
        elements: What is sewn in it.
    """

    colour: str | None
    elements: tuple[Element, ...]


Shift: TypeAlias = tuple[Length, Length]


@dataclass(frozen=True, slots=True, kw_only=True)
class Decoration(ABC):
    """A pattern that fills an area.

    A node of the pattern lies on the origin of the area's frame, so that areas in one frame carry parts of one
    pattern, which runs on across a seam between them.

    Attributes:
        inset: How far the pattern stays inside the area's edges; a length.
        shift: How far the pattern is moved from there, right and up; two lengths.
    """

    kind: ClassVar[str] = ""

    inset: Length = 0.0
    shift: Shift = (0.0, 0.0)

    def __post_init__(self) -> None:
        settle(self, inset=held_length(self.inset, "inset"), shift=checked_shift(self.shift))

    @property
    def runs_on(self) -> bool:
        """Whether a seam may cut it, so that it runs on across; what is kept whole, or is read, ends at the seam."""
        return str(getattr(self, "edge", "clip")) == "clip"

    @property
    def opposite(self) -> Decoration | None:
        """What fills the mirror image of an area instead; None if its own mirror image does, as of all patterns."""
        return None

    def elements(self, area: Polygonal) -> tuple[Element, ...]:
        """Fill an area.

        Args:
            area: What to fill, mm; holes stay free.

        Returns:
            The elements, all of them inside the area to 1e-6 mm; none if the area is too small for any.

        Raises:
            ParameterError: If the area is no valid polygon.
        """
        return self._drawing(area).elements

    def layers(self, area: Polygonal, *, alike: Callable[[str], Hashable] = str) -> tuple[Layer, ...]:  # noqa: ARG002
        """The elements by thread, in order of sewing; no layer if there are none.

        Args:
            area: As for `elements`.
            alike: Says for a colour of a drawing what it is sewn in; of no effect on patterns.

        Raises:
            ParameterError: As for `elements`.
        """
        elements = self.elements(area)
        return (Layer(None, elements),) if elements else ()

    def findings(self, area: Polygonal, *, part: str = "") -> tuple[Finding, ...]:
        """What the maker should know: an area that has room for a pattern and gets none of it.

        Args:
            area: As for `elements`.
            part: The part that carries it, for the findings.
        """
        pitch = float(getattr(self, "pitch", None) or math.sqrt(_ROOM_MM2 / _ROOM_REPEATS))
        if self.kind == "none" or area.area < max(_ROOM_MM2, _ROOM_REPEATS * pitch**2) or self.elements(area):
            return ()
        whole = getattr(self, "edge", "clip") != "clip"
        remedy = ('Set its edge to "clip", or a' if whole else "Set a") + " smaller pitch or inset."
        message = f"Nothing of its {self.kind} fits into its {area.area / 100:.0f} cm2."
        return (Finding(Level.WARNING, "decoration-empty", part, message, remedy),)

    def describe(self, area: Polygonal) -> DecorationCount:
        """Count what `elements` puts into an area.

        Raises:
            ParameterError: As for `elements`.
        """
        drawing = self._drawing(area)
        return DecorationCount(
            motifs=drawing.motifs,
            line_mm=drawing.line_mm,
            link_mm=drawing.link_mm,
            filled_mm2=drawing.filled_mm2,
            area_mm2=float(area.area),
            runs=len(drawing.elements),
        )

    def _drawing(self, area: Polygonal) -> Drawing:
        written = shapely.to_wkb(shapely.normalize(_checked_area(area)))
        try:
            return _remembered(self, getattr(self, "drawing", None), written)
        except TypeError:  # an option of a kind from elsewhere that has no hash
            return self._drawn(_polygonal(written))

    def _drawn(self, area: Polygonal) -> Drawing:
        usable = usable_part(area, float(self.inset))
        _hold_repeats(getattr(self, "pitch", None), usable)
        x, y = self.shift
        if not usable:
            return Drawing()
        own = type(self).__module__.partition(".")[0] == "stitchcraft"
        with nullcontext() if own else fenced(f"decoration {self.kind!r} of {type(self).__module__}", "fails"):
            return self._draw(usable, (float(x), float(y)))

    @abstractmethod
    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:
        """Fill separate polygons, in the order given, with the pattern whose node is at *anchor*."""


@lru_cache(maxsize=64)
def _remembered(decoration: Decoration, drawing: object, area: bytes) -> Drawing:  # noqa: ARG001
    """What was drawn for the same area: a part is drawn, counted and checked, and each asks anew.

    A drawing that was read from a file is part of what is remembered: the file may have changed since.
    """
    return decoration._drawn(_polygonal(area))  # noqa: SLF001


def _polygonal(written: bytes) -> Polygonal:
    shape: Any = shapely.from_wkb(written)
    return shape


def _hold_repeats(pitch: object, usable: list[shapely.Polygon]) -> None:
    """Refuse a pattern of so many repeats that it would take hours to plan, and days to sew."""
    most = DECORATION["most_repeats"].value
    area = sum(polygon.area for polygon in usable)
    if isinstance(pitch, int | float) and area > most * float(pitch) ** 2:
        least = math.ceil(10 * (area / most) ** 0.5) / 10
        raise ParameterError(
            "decoration.pitch", round(float(pitch), 3), f"at least {least:g} mm on an area of "
            f"{area / 100:.0f} cm2, which is {most:g} repeats",
        )  # fmt: skip


def settle(value: object, **fields: object) -> None:
    """Store checked fields of a frozen dataclass while it is being made."""
    for name, field in fields.items():
        object.__setattr__(value, name, field)


def one_of(value: object, *, name: str, choices: tuple[str, ...]) -> str:
    """Hold a word to a list of words.

    Raises:
        ParameterError: If it is not one of them.
    """
    if not isinstance(value, str) or value not in choices:
        raise ParameterError(name, value, "one of " + ", ".join(choices))
    return value


def checked_angle(value: float, *, name: str = "angle") -> float:
    """Hold an angle to -360 to 360 degrees.

    Raises:
        ParameterError: If it is out of range or no number.
    """
    low, high = RANGES["decoration.angle"]
    return float(number_between(value, name=name, low=low, high=high))


def yes_or_no(value: object, *, name: str) -> bool:
    """Hold a switch to true or false.

    Raises:
        ParameterError: If it is anything else.
    """
    if not isinstance(value, bool):
        raise ParameterError(name, value, "true or false")
    return value


def whole_number(value: object, *, name: str, low: int, high: int) -> int:
    """Hold a count to a range.

    Raises:
        ParameterError: If it is no whole number from *low* to *high*.
    """
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        raise ParameterError(name, value, f"a whole number from {low} to {high}")
    return value


LINE_STITCHES: Final = ("running", "triple")
CUT_OR_WHOLE: Final = ("clip", "whole")


def line_stitch(word: str) -> LineStitch:
    """The stitch style that a word names; its length follows from the fabric."""
    return Triple() if word == "triple" else Running()


def usable_part(area: Polygonal, inset: float) -> list[shapely.Polygon]:
    """The parts of an area that are left inside an inset, in a stable order, however its rings were written."""
    shape = shapely.normalize(area)
    return polygons_of(grown(shape, -inset) if inset > 0 else shape, smallest_mm2=SHORTEST_MM**2)


def _checked_area(area: Polygonal) -> Polygonal:
    if not isinstance(area, shapely.Polygon | shapely.MultiPolygon) or not area.is_valid:
        raise ParameterError("area", area, "a valid Polygon or MultiPolygon in mm")
    return area


def held_length(value: Length, name: str) -> float:
    """Turn a length into mm and hold it to what all decorations allow under that name.

    Raises:
        ParameterError: If it is no length or out of range.
    """
    low, high = RANGES[f"decoration.{name}"]
    return length_between(value, name=name, low=low, high=high)


def checked_shift(value: object) -> tuple[float, float]:
    """Hold a shift to two lengths from -1000 to 1000 mm.

    Raises:
        ParameterError: If it is anything else.
    """
    if not isinstance(value, tuple | list) or len(value) != 2:
        raise ParameterError("shift", value, "two lengths, right and up, such as (3, 0)")
    x, y = (held_length(way, "shift") for way in value)
    return (x, y)
