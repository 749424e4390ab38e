"""A monogram: one to three initials, the middle one larger, alone or in a frame."""

from __future__ import annotations

import os
import unicodedata
from dataclasses import dataclass, replace
from typing import ClassVar, Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.base import Decoration, Drawing, Point, Polygonal, held_length, one_of, settle
from stitchcraft.decoration.lettering import Lettering, set_text, stitch_length
from stitchcraft.decoration.letters import Letter, clustered
from stitchcraft.decoration.text_places import best_place, has_place, largest_scale
from stitchcraft.decoration.words import Written, written, written_findings
from stitchcraft.defaults import LETTERS
from stitchcraft.design import Column, Element, Line, Running, Satin, Triple
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.geometry.borders import border_rails
from stitchcraft.geometry.curves import circle, cubic, joined
from stitchcraft.ranges import RANGES
from stitchcraft.units import Length

FRAMES: Final = ("none", "ring", "shield")

_MOST: Final = 3
_TRIAL_MM: Final = 10.0
_LARGEST_MM: Final = 200.0
_NEAR_MM: Final = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Monogram(Decoration):
    """Initials side by side; of three the middle one is larger, and the outer ones stand at half its height.

    Attributes:
        text: One to three letters, in the order in which they stand.
        face: One of `FACE_NAMES`.
        font: A font file of the maker's own, in place of the face.
        height: Height of the largest letter; None is as large as the area holds. A length.
        frame: ``"none"``, ``"ring"`` or ``"shield"``.
        stitch: One of `LETTER_STITCHES`; a frame is satin around letters of satin or fill, else in their stitch.
        inset: How far it stays inside the area's edges; a length.
        shift: How far it is moved from its place, right and up; two lengths.

    Raises:
        ParameterError: On construction, if a value cannot be used or the face lacks a letter.
    """

    kind: ClassVar[str] = "monogram"

    text: str
    face: str = "serif"
    font: str | os.PathLike[str] | None = None
    height: Length | None = None
    frame: str = "none"
    stitch: str = "auto"

    def __post_init__(self) -> None:
        Decoration.__post_init__(self)
        if self.height is not None:
            settle(self, height=held_length(self.height, "height"))
        one_of(self.frame, name="frame", choices=FRAMES)
        if not isinstance(self.text, str) or not 1 <= len(_initials(self.text)) <= _MOST or " " in self.text:
            raise ParameterError("text", self.text, f"one to {_MOST} letters without blanks")
        self._laid(_TRIAL_MM).stitch(self.stitch)

    @property
    def runs_on(self) -> bool:
        """Never: it is read as a whole."""
        return False

    @property
    def opposite(self) -> Monogram:
        """The same letters, moved the other way: their mirror image could not be read."""
        return replace(self, shift=(-float(self.shift[0]), self.shift[1]))

    def findings(self, area: Polygonal, *, part: str = "") -> tuple[Finding, ...]:
        """Letters or a frame that have no room, and letters too small to read.

        Args:
            area: As for `elements`.
            part: The part that carries it, for the findings.
        """
        drawing = self._drawing(area)
        found = written_findings(drawing, self.text, self.stitch, key="height", part=part, scale=self._largest)
        if self.frame == "none" or not isinstance(drawing, Written) or drawing.lettering is None or drawing.framed:
            return found
        message = f"The {self.frame} around {self.text!r} does not lie inside its area and is left out."
        remedy = "Set a smaller height of the decoration, or leave it out: letters and frame then are as large as fits."
        if self.height is None:
            remedy = 'There is no room for a frame around letters of any size: take frame = "none", or a larger part.'
        return (*found, Finding(Level.WARNING, "frame-cut", part, message, remedy))

    @property
    def _largest(self) -> float:
        """Height of the largest letter, share of the smallest one's."""
        return 1 / LETTERS["monogram_outer"].value if len(_initials(self.text)) == _MOST else 1.0

    @property
    def _least(self) -> float:
        """Height at which the smallest letter is the smallest that is drawn, mm."""
        return RANGES["decoration.height"][0] * self._largest

    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:
        room = shapely.MultiPolygon(area)
        shapely.prepare(room)
        height = float(self.height) if self.height is not None else 0.0
        if self.height is None:
            height = _TRIAL_MM * largest_scale(room, self._shape(self._laid(_TRIAL_MM)), most=_LARGEST_MM / _TRIAL_MM)
            height = self._with_frame(room, height)
        if height < self._least:
            return Written()
        lettering = self._laid(height)
        at, _ = best_place(room, self._shape(lettering))
        at = at + np.array(anchor)
        return written(_at(lettering, at), self.stitch, room, self._framed(lettering, at, room))

    def _with_frame(self, room: shapely.MultiPolygon, height: float) -> float:
        """A height at which the frame has room too, if there is one: it does not become narrower with its letters."""
        if self.frame == "none" or height < self._least or has_place(room, self._shape(self._laid(height))):
            return height
        low, high = self._least, height
        if not has_place(room, self._shape(self._laid(low))):
            return height
        while high - low > _NEAR_MM:
            middle = (low + high) / 2
            fits = has_place(room, self._shape(self._laid(middle)))
            low, high = (middle, high) if fits else (low, middle)
        return low

    def _laid(self, height: float) -> Lettering:
        """The initials about the middle of their ink, the largest as high as asked."""
        initials = _initials(self.text)
        outer = LETTERS["monogram_outer"].value
        sizes = [height * (outer if len(initials) == _MOST and number != 1 else 1.0) for number in range(len(initials))]
        drawn = [
            set_text(letter, face=self.face, font=self.font, height=size, retrace=self.stitch == "running")
            for letter, size in zip(initials, sizes, strict=True)
        ]
        gap = LETTERS["monogram_gap"].value * height
        letters: list[Letter] = []
        x = 0.0
        for one, size in zip(drawn, sizes, strict=True):
            # the middles of the capitals are in line, whatever tails or accents they have
            letters += _at(one, np.array([x + one.width_mm / 2, -one.baseline_mm - size / 2])).letters
            x += one.width_mm + gap
        points = np.vstack([letter.points for letter in letters])
        low, high = points.min(axis=0), points.max(axis=0)
        middle = (low + high) / 2
        whole = replace(
            drawn[0], text=self.text, letters=tuple(letters), width_mm=float(high[0] - low[0]),
            straight_width_mm=float(high[0] - low[0]), height_mm=float(high[1] - low[1]), cap_height_mm=min(sizes),
            x_height_mm=min(one.x_height_mm for one in drawn), baseline_mm=float(-height / 2 - middle[1]),
        )  # fmt: skip
        return _at(whole, -middle)

    def _path(self, lettering: Lettering) -> FloatArray | None:
        """The middle of the frame, closed."""
        if self.frame == "none":
            return None
        w, h = lettering.width_mm / 2, lettering.height_mm / 2
        clear = LETTERS["frame_clear"].value * lettering.height_mm + LETTERS["frame_width"].value / 2
        if self.frame == "ring":
            far = np.vstack([letter.points for letter in lettering.letters])
            return circle((0.0, 0.0), float(np.hypot(*far.T).max()) + clear)
        return _shield(w + clear, h + clear)

    def _shape(self, lettering: Lettering) -> shapely.Polygon:
        """What has to lie inside the area."""
        path = self._path(lettering)
        if path is not None:
            # a border's mitred corners reach out further than its sides
            return shapely.Polygon(path).buffer(LETTERS["frame_width"].value, join_style="mitre")
        w, h = lettering.width_mm / 2, lettering.height_mm / 2
        return shapely.box(-w, -h, w, h)

    def _framed(self, lettering: Lettering, at: FloatArray, room: shapely.MultiPolygon) -> tuple[Element, ...]:
        path = self._path(lettering)
        if path is None or not room.covers(shapely.transform(self._shape(lettering), lambda xy: xy + at)):
            return ()
        kind = lettering.stitch(self.stitch)
        length = stitch_length(lettering.cap_height_mm)
        if kind in ("satin", "fill"):
            left, right = border_rails(path + at, width=LETTERS["frame_width"].value)
            return (Column(left, right, Satin()),)
        return (Line(path + at, Running(length=length) if kind == "running" else Triple(length=length)),)


def _at(lettering: Lettering, at: FloatArray) -> Lettering:
    return lettering.put(lambda xy: xy + at)


def _initials(text: str) -> list[str]:
    """The letters of a text, each with its accents."""
    return clustered(unicodedata.normalize("NFC", text))


def _shield(half_width: float, half_height: float) -> FloatArray:
    """A shield around a box: straight sides down to its middle, then round to a point below."""
    w, top = half_width, half_height
    low = -half_height - 0.55 * half_width
    knee = -half_height * 0.5
    right = cubic([w, knee], [w, knee + 0.55 * (low - knee)], [0.45 * w, low + 0.18 * w], [0.0, low])
    left = right[::-1] * [-1.0, 1.0]
    return joined([[-w, knee], [-w, top], [w, top], [w, knee]], right, left)
