"""A line of lettering as decoration."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from typing import ClassVar, Final

import numpy as np
import shapely

from stitchcraft.arrays import turned
from stitchcraft.decoration.base import Decoration, Drawing, Point, Polygonal, checked_angle, settle
from stitchcraft.decoration.letter_findings import small_letters
from stitchcraft.decoration.lettering import Lettering, set_text
from stitchcraft.decoration.text_layout import TextLine
from stitchcraft.decoration.text_places import best_place, has_place, largest_scale
from stitchcraft.design import Area, Element, Line
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.geometry.curves import length_of
from stitchcraft.units import Length

_TRIAL_MM: Final = 10.0
_LARGEST_MM: Final = 200.0
_HEIGHTS: Final = 128


@dataclass(frozen=True, slots=True, eq=False)
class Written(Drawing):
    """Letters in an area.

    Attributes:
        lettering: As placed; None if there is no room for any.
        lost: How many letters do not lie inside the area.
        framed: Whether something is sewn around them.
    """

    lettering: Lettering | None = None
    lost: int = 0
    framed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Words(Decoration):
    """A line of text, whole letters only.

    It lies where all of it lies inside the area, as near to the middle as may be. Without a size it is as large as
    the area holds.

    Attributes:
        text: One line.
        face: One of `FACE_NAMES`.
        font: A font file of the maker's own, in place of the face.
        height: Height of a capital; a length.
        width: Width of the text before it is bent; a length.
        letter_spacing: Room between letters beside what the face gives them; a length.
        arc: Radius of the baseline; None for a straight line. A length.
        side: ``"above"``: the text arches over the circle's middle; ``"below"``: it hangs under it.
        angle: Turn about its middle, degrees counter-clockwise.
        stitch: One of `LETTER_STITCHES`.
        inset: How far it stays inside the area's edges; a length.
        shift: How far it is moved from its place, right and up; two lengths.

    Raises:
        ParameterError: On construction, if a value cannot be used or the face lacks a letter.
    """

    kind: ClassVar[str] = "lettering"

    text: str
    face: str = "plain"
    font: str | os.PathLike[str] | None = None
    height: Length | None = None
    width: Length | None = None
    letter_spacing: Length = 0.0
    arc: Length | None = None
    side: str = "above"
    angle: float = 0.0
    stitch: str = "auto"

    def __post_init__(self) -> None:
        Decoration.__post_init__(self)
        height = self._trial if self.height is None and self.width is None else self.height
        line = TextLine(height=height, width=self.width, spacing=self.letter_spacing, arc=self.arc, side=self.side)
        settle(self, letter_spacing=line.spacing, arc=line.arc, width=line.width, angle=checked_angle(self.angle))
        if self.height is not None:
            settle(self, height=line.height)
        self._laid(height).stitch(self.stitch)

    @property
    def runs_on(self) -> bool:
        """Never: it is read as a whole."""
        return False

    @property
    def opposite(self) -> Words:
        """The same text, turned and moved the other way: its mirror image could not be read."""
        return replace(self, angle=-self.angle, shift=(-float(self.shift[0]), self.shift[1]))

    @property
    def _trial(self) -> float:
        """A height to begin with: on an arc one at which any text fits."""
        return _TRIAL_MM if self.arc is None else 1.0

    def _laid(self, height: Length | None) -> Lettering:
        return set_text(
            self.text, face=self.face, font=self.font, height=height, width=self.width, spacing=self.letter_spacing,
            arc=self.arc, side=self.side, retrace=self.stitch == "running",
        )  # fmt: skip

    def findings(self, area: Polygonal, *, part: str = "") -> tuple[Finding, ...]:
        """Letters that have no room, and letters too small to read.

        Args:
            area: As for `elements`.
            part: The part that carries it, for the findings.
        """
        return written_findings(self._drawing(area), self.text, self.stitch, key=self._key, part=part)

    @property
    def _key(self) -> str:
        return "width" if self.height is None and self.width is not None else "height"

    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:
        room = shapely.MultiPolygon(area)
        shapely.prepare(room)
        if self.height is None and self.width is None:
            trial = self._laid(self._trial)
            scale = largest_scale(room, _box(trial, self.angle), most=_LARGEST_MM / self._trial)
            height = scale * self._trial if self.arc is None else self._on_arc(room)
            if height < 1.0:
                return Written()
            lettering = self._laid(height)
        else:
            lettering = self._laid(self.height)
        at, _ = best_place(room, _box(lettering, self.angle))
        at = at + np.array(anchor)
        return written(lettering.put(lambda xy: turned(xy, self.angle, at)), self.stitch, room)

    def _on_arc(self, room: shapely.MultiPolygon) -> float:
        """On an arc of a given radius the text's box does not grow in proportion: try heights."""
        heights = np.geomspace(1.0, _LARGEST_MM, _HEIGHTS)
        low, high = -1, len(heights)
        while high - low > 1:
            middle = (low + high) // 2
            try:
                fits = has_place(room, _box(self._laid(float(heights[middle])), self.angle))
            except ParameterError:  # it no longer fits the circle
                fits = False
            low, high = (middle, high) if fits else (low, middle)
        return float(heights[low]) if low >= 0 else 0.0


def written(lettering: Lettering, stitch: str, room: shapely.MultiPolygon, frame: tuple[Element, ...] = ()) -> Written:
    """Sew the letters that lie inside an area.

    Args:
        lettering: In its place.
        stitch: One of `LETTER_STITCHES`.
        room: The area.
        frame: What is sewn around them.
    """
    inside = tuple(
        letter
        for letter in lettering.letters
        if room.covers(shapely.union_all([*letter.polygons, *(shapely.LineString(path) for path in letter.paths)]))
    )
    kept = lettering.of(inside)
    elements = (*(kept.elements(lettering.stitch(stitch)) if inside else ()), *frame)
    return Written(
        elements,
        len(inside),
        sum(length_of(element.path) for element in elements if isinstance(element, Line)),
        filled_mm2=float(sum(element.polygon.area for element in elements if isinstance(element, Area))),
        lettering=lettering,
        lost=len(lettering.letters) - len(inside),
        framed=bool(frame),
    )


def _box(lettering: Lettering, angle: float) -> shapely.Polygon:
    w, h = lettering.width_mm / 2, lettering.height_mm / 2
    return shapely.Polygon(turned(np.array([[-w, -h], [w, -h], [w, h], [-w, h]]), angle))


def written_findings(
    drawing: Drawing, text: str, wish: str, *, key: str, part: str, scale: float = 1.0
) -> tuple[Finding, ...]:
    """Letters that have no room, that are too small to read, or that are left out.

    Args:
        drawing: What was drawn of the text.
        text: The text.
        wish: The stitch that was asked for.
        key: The decoration's key for its size, ``"width"`` or ``"height"``.
        part: The part that carries it.
        scale: As for `small_letters`.
    """
    if not isinstance(drawing, Written) or drawing.lettering is None:
        return (_no_room_finding(text, part),)
    found = small_letters(
        drawing.lettering, wish, code="lettering-small", part=part, key=f"decoration.{key}", scale=scale
    )
    return (*found, *((_cut_finding(text, drawing.lost, key, part),) if drawing.lost else ()))


def _no_room_finding(text: str, part: str) -> Finding:
    """Text of which nothing is sewn."""
    message = f"Nothing of {text!r} is sewn: its area has no room for letters."
    return Finding(Level.WARNING, "lettering-cut", part, message, "Set a smaller inset, or a larger part.")


def _cut_finding(text: str, lost: int, key: str, part: str) -> Finding:
    """Letters that are left out."""
    message = f"{lost} of the letters of {text!r} do not lie inside their area and are left out."
    remedy = f"Set a smaller {key} of the decoration, or leave it out: the text then is as large as the area holds."
    return Finding(Level.WARNING, "lettering-cut", part, message, remedy, float(lost), 0.0)
