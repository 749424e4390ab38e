"""Single letters of a face: their lines, their width, and the letters made up from a base and marks.

The faces come from the Hershey fonts, which were originally created by Dr. A. V. Hershey while working at the
U.S. National Bureau of Standards; the format of the data in this distribution was originally created by James
Hurt of Cognition, Inc. The data may be used and passed on for any purpose, with this acknowledgement, in any
format but that of the NTIS. They are read through the package Hershey-Fonts.

Units: a capital is `CAP` high, the baseline is at 0, x right, y up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration import letter_marks as marks
from stitchcraft.errors import ParameterError

CAP: Final = 21.0
_GAP: Final = 2.6
"""Clear space between a letter and an accent above it."""
_CORNER_DEG: Final = 50.0
"""A line that turns by more than this has a corner there; below, its points lie on a curve."""
_STRAIGHT: Final = 2.5
"""A step this many times as long as its neighbour is a straight line, not a part of the curve."""
_STRAIGHT_FROM: Final = 5.0
"""Two steps longer than this are straight lines that meet."""
_CURVE_STEPS: Final = 6


@dataclass(frozen=True, slots=True)
class Face:
    """A way of drawing letters.

    Attributes:
        font: Its name in the font data.
        slant: How far it leans: x per y.
        joined: Whether its small letters run into one another.
        x_height: Height of a small x.
    """

    font: str
    slant: float = 0.0
    joined: bool = False
    x_height: float = 14.0


FACES: Final[dict[str, Face]] = {
    "plain": Face("futural"),
    "bold": Face("futuram"),
    "script": Face("scripts", slant=1 / 3, joined=True, x_height=9.0),
    "roman": Face("timesr"),
    "italic": Face("timesi", slant=0.27),
}


@dataclass(frozen=True, slots=True, eq=False)
class Glyph:
    """A letter.

    Attributes:
        strokes: Its lines, (n, 2) each, x from its left edge; every line has at least two points.
        width: What it takes along the baseline.
    """

    strokes: tuple[FloatArray, ...]
    width: float

    @property
    def points(self) -> FloatArray:
        """All points, (n, 2)."""
        return np.vstack(self.strokes) if self.strokes else np.empty((0, 2))


@lru_cache(maxsize=8)
def _plain_glyphs(face: str) -> dict[str, Glyph]:
    """The letters that the font data have: ASCII."""
    from HersheyFonts import HersheyFonts  # 40 ms that only lettering needs

    kind = FACES[face]
    font = HersheyFonts()
    font.load_default_font(kind.font)
    baseline = font.render_options["base_line"]
    found: dict[str, Glyph] = {}
    for letter, data in font.all_glyphs.items():
        if " " <= letter <= "~":
            strokes = [np.array(stroke, dtype=np.float64) for stroke in data.strokes if len(stroke) > 1]
            placed = tuple((stroke - [data.left_offset, baseline]) * [1.0, -1.0] for stroke in strokes)
            found[letter] = Glyph(placed, float(data.char_width))
    return found


@lru_cache(maxsize=2048)
def glyph(cluster: str, face: str) -> Glyph:
    """Draw one letter.

    Args:
        cluster: A base letter and its combining marks, as canonical decomposition orders them.
        face: One of `FACES`.

    Raises:
        ParameterError: If the face has no lines for the letter or for a mark.
    """
    base, accents = cluster[0], cluster[1:]
    drawn = _base(base, face)
    if drawn is None or any(accent not in marks.MARKS for accent in accents) or (accents and not drawn.strokes):
        raise ParameterError("letter", cluster, f"one that the {face} face has: ASCII and accented Latin letters")
    if accents and base in "ij" and any(marks.MARKS[accent].place == "above" for accent in accents):
        drawn = _without_dot(drawn)
    kind = FACES[face]
    upright = _sheared(drawn, -kind.slant)
    for accent in accents:
        upright = _marked(upright, base, accent, face)
    return Glyph(tuple(smooth(stroke) for stroke in _sheared(upright, kind.slant).strokes), drawn.width)


def _base(letter: str, face: str) -> Glyph | None:
    letter = marks.SAME_AS.get(letter, letter)
    plain = _plain_glyphs(face)
    if letter in plain:
        return plain[letter]
    if letter == "ı":
        return _without_dot(plain["i"])
    if letter == "…":
        return _beside(plain["."], plain["."], plain["."])
    if letter == "·":
        return Glyph(tuple(moved(stroke, 0.0, 7.0) for stroke in plain["."].strokes), plain["."].width)
    if letter in marks.OWN:
        upright = Glyph(tuple(np.array(stroke) for stroke in marks.OWN[letter]), marks.OWN_WIDTHS[letter])
        return _sheared(upright, FACES[face].slant)
    if letter in marks.JOINED:
        return _touching(*(plain[part] for part in marks.JOINED[letter]))
    if letter in marks.STRUCK:
        return _struck(plain[marks.STRUCK[letter]], letter, FACES[face])
    if letter in marks.TURNED:
        turned = plain[marks.TURNED[letter]]
        middle = np.array([turned.width, FACES[face].x_height])
        return Glyph(tuple(middle - stroke for stroke in turned.strokes), turned.width)
    return None


def moved(stroke: FloatArray, x: float, y: float) -> FloatArray:
    """Shift a line."""
    return stroke + np.array([x, y])


def _sheared(letter: Glyph, slant: float) -> Glyph:
    if slant == 0.0:
        return letter
    lean = np.array([[1.0, 0.0], [slant, 1.0]])
    return Glyph(tuple(stroke @ lean for stroke in letter.strokes), letter.width)


def _without_dot(letter: Glyph) -> Glyph:
    """An i or j without what stands wholly above the rest of it."""
    tallest = max(letter.strokes, key=lambda stroke: float(np.ptp(stroke[:, 1])))
    top = float(tallest[:, 1].max())
    return Glyph(tuple(stroke for stroke in letter.strokes if float(stroke[:, 1].min()) <= top), letter.width)


def _beside(*letters: Glyph) -> Glyph:
    strokes: list[FloatArray] = []
    width = 0.0
    for letter in letters:
        strokes.extend(moved(stroke, width, 0.0) for stroke in letter.strokes)
        width += letter.width
    return Glyph(tuple(strokes), width)


def _touching(first: Glyph, second: Glyph) -> Glyph:
    right, left = float(first.points[:, 0].max()), float(second.points[:, 0].min())
    shift = right - left
    beside = tuple(moved(stroke, shift, 0.0) for stroke in second.strokes)
    return Glyph((*first.strokes, *beside), shift + second.width)


def _struck(letter: Glyph, sign: str, face: Face) -> Glyph:
    """A letter with a stroke through it: across all of an o, level or slanting across a stem."""
    upright = _sheared(letter, -face.slant)
    (left, bottom), (right, top) = upright.points.min(axis=0), upright.points.max(axis=0)
    if sign in "øØ":
        stroke = [(left - 0.5, bottom - 1.5), (right + 0.5, top + 1.5)]
    elif sign == "Ħ":
        stroke = [(left - 1.0, 16.0), (right + 1.0, 16.0)]
    else:
        level = {"đ": 17.0, "ħ": 17.0, "Đ": CAP / 2, "Ð": CAP / 2}.get(sign, (bottom + top) / 2)
        crossed = _crossings(upright, level)
        stem = {"đ": max(crossed), "ł": sum(crossed) / len(crossed)}.get(sign, min(crossed))
        rise = 2.0 if sign in "łŁ" else 0.0
        stroke = [(stem - 3.3, level - rise), (stem + 3.3, level + rise)]
    return _sheared(Glyph((*upright.strokes, np.array(stroke)), letter.width), face.slant)


def _crossings(letter: Glyph, height: float) -> list[float]:
    """Where the lines of a letter cross a height, x each."""
    (left, _), (right, _) = letter.points.min(axis=0), letter.points.max(axis=0)
    level = shapely.LineString([(left - 1.0, height), (right + 1.0, height)])
    crossing = shapely.intersection(shapely.MultiLineString(list(letter.strokes)), level)
    return [float(x) for x in shapely.get_coordinates(crossing)[:, 0]]


def _marked(letter: Glyph, base: str, accent: str, face: str) -> Glyph:
    """Set a mark on an upright letter, above or below what is there already."""
    mark = marks.MARKS[accent]
    if accent == "\u0327" and base in marks.COMMA_FOR_CEDILLA:
        mark = marks.MARKS["\u0326"]
        if base == "g":
            mark = marks.Mark("above", tuple(tuple((-x, -y) for x, y in stroke) for stroke in mark.strokes))
    strokes = [np.array(stroke) for stroke in mark.strokes]
    dot = _plain_glyphs(face)["."].points
    strokes.extend(dot - [float(dot[:, 0].mean()) - x, float(dot[:, 1].min())] for x in mark.dots)
    points = letter.points
    (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
    middle = (left + right) / 2
    if accent == "\u030c" and base in marks.APOSTROPHE_FOR_CARON:
        comma = np.array([(0.0, 0.0), (0.0, -1.5), (-1.5, -4.5)])
        wide = max(letter.width, right + 3.5)
        return Glyph((*letter.strokes, moved(comma, right + 2.5, CAP)), wide)
    lowest = min(float(stroke[:, 1].min()) for stroke in strokes)
    highest = max(float(stroke[:, 1].max()) for stroke in strokes)
    if mark.place == "above":
        place = np.array([middle, top + _GAP - lowest])
    elif mark.place == "below":
        place = np.array([middle, min(0.0, bottom) - _GAP - highest])
    else:
        feet = points[points[:, 1] <= bottom + 1.0]
        place = np.array([middle if mark.place == "foot" else float(feet[:, 0].max()), bottom])
    return Glyph((*letter.strokes, *(stroke + place for stroke in strokes)), letter.width)


def smooth(stroke: FloatArray) -> FloatArray:
    """Round the bends of a line that was digitized as a polygon of few points; corners stay.

    Between two points the line becomes a cubic that leaves each in the direction of its neighbours, so every
    given point stays on the line and long straights stay nearly straight.
    """
    steps = np.diff(stroke, axis=0)
    lengths = np.hypot(*steps.T)
    steps, lengths = steps[lengths > 0], lengths[lengths > 0]
    points = np.vstack([stroke[:1], stroke[:1] + np.cumsum(steps, axis=0)])
    if len(points) < 3:
        return points
    closed = bool(np.allclose(points[0], points[-1]))
    bends = [_is_bend(step, after) for step, after in zip(steps, np.roll(steps, -1, axis=0), strict=True)]
    bends[-1] = bends[-1] and closed
    pieces = [points[:1]]
    for i, (step, length) in enumerate(zip(steps, lengths, strict=True)):
        leaving = _tangent(steps[i - 1], step, length) if bends[i - 1] else step
        arriving = _tangent(step, steps[(i + 1) % len(steps)], length) if bends[i] else step
        t = np.linspace(0.0, 1.0, _CURVE_STEPS + 1)[1:, None]
        start, end = points[i], points[i + 1]
        if np.allclose(leaving, step) and np.allclose(arriving, step):
            pieces.append(end[None, :])
            continue
        # cubic Hermite: at t = 1 it is the given point exactly
        curve = start * (2 * t**3 - 3 * t**2 + 1) + leaving * (t**3 - 2 * t**2 + t)
        curve += end * (3 * t**2 - 2 * t**3) + arriving * (t**3 - t**2)
        pieces.append(curve)
    return np.vstack(pieces)


def _is_bend(before: FloatArray, after: FloatArray) -> bool:
    """Whether a line bends between two steps; otherwise it has a corner there, as the fork of a Y has."""
    cross, dot = float(before[0] * after[1] - before[1] * after[0]), float(before @ after)
    both_straight = min(float(np.hypot(*before)), float(np.hypot(*after))) > _STRAIGHT_FROM
    return abs(math.degrees(math.atan2(cross, dot))) < _CORNER_DEG and not both_straight


def _tangent(before: FloatArray, after: FloatArray, length: float) -> FloatArray:
    """Direction at the point between two steps, as long as *length*.

    It is that from the point before to the point after, unless one step is a straight that the other leaves.
    """
    l_before, l_after = float(np.hypot(*before)), float(np.hypot(*after))
    if l_before > _STRAIGHT * l_after:
        direction = before
    elif l_after > _STRAIGHT * l_before:
        direction = after
    else:
        direction = before + after
    return direction * (length / float(np.hypot(*direction)))
