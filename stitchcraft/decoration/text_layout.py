"""A line of letters in its place: sized, spaced, and laid straight or along an arc."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.letters import Letter
from stitchcraft.errors import ParameterError
from stitchcraft.ranges import RANGES
from stitchcraft.units import Length, length_between

SIDES: Final = ("above", "below")

_MOST_OF_A_CIRCLE: Final = 0.92
_TOUCHING_MM: Final = 0.02
_LEVEL: Final = {"above": 0.15, "below": 0.75}
"""At which height of a capital letters on an arc have the room that they have on a straight line: on one side the
feet are crowded, on the other the heads."""
_LONG: Final = 0.35
_STEP_MM: Final = 0.4


@dataclass(frozen=True, slots=True, kw_only=True)
class TextLine:
    """How a line of text is laid.

    Attributes:
        height: Height of a capital; a length, or None.
        width: Width of the whole text before it is bent; a length, or None. With both, the text is as large as
            both allow.
        spacing: Room put between letters beside what the face gives them; below 0 they are closer. A length.
        arc: Radius of the baseline; None for a straight line. A length.
        side: ``"above"``: the text arches over the middle of the circle. ``"below"``: it hangs under it.
    """

    height: Length | None = None
    width: Length | None = None
    spacing: Length = 0.0
    arc: Length | None = None
    side: str = "above"

    def __post_init__(self) -> None:
        if self.height is None and self.width is None:
            raise ParameterError("height", None, "given, or else the width")
        for name in ("height", "width", "spacing", "arc"):
            low, high = RANGES[f"decoration.{'letter_spacing' if name == 'spacing' else name}"]
            value = getattr(self, name)
            if value is not None:
                object.__setattr__(self, name, length_between(value, name=name, low=low, high=high))
        if self.side not in SIDES:
            raise ParameterError("side", self.side, "one of " + ", ".join(SIDES))


def placed(letters: Sequence[Letter], line: TextLine, *, cap_height: float) -> tuple[tuple[Letter, ...], float, float]:
    """Lay letters on a baseline.

    Args:
        letters: From left to right, in any unit.
        line: How.
        cap_height: Height of a capital in the letters' unit.

    Returns:
        The letters in mm, blanks left out, the baseline's middle at (0, 0); those whose ink touches are one letter.
        Then how many mm a unit has become, and how wide the ink is before it is bent, mm.

    Raises:
        ParameterError: If the text does not fit its width or its arc.
    """
    scale = _scale(letters, line, cap_height)
    spacing = float(line.spacing)
    spread = [_spread(letter, scale, number * spacing) for number, letter in enumerate(letters)]
    begin, end = spread[0].start, spread[-1].start + spread[-1].advance
    middle = (begin + end) / 2
    inked = _merged([letter.at(-middle) for letter in spread if not letter.blank])
    ink = np.vstack([letter.points[:, 0:1] for letter in inked])
    straight = float(np.ptp(ink))
    if line.arc is None:
        return tuple(inked), scale, straight
    cap_mm = cap_height * scale
    _check_arc(line, end - begin, cap_mm)
    bent = [_bent(letter, float(line.arc), line.side, cap_mm) for letter in inked]
    if len(_merged(bent)) < len(bent):
        raise ParameterError("arc", float(line.arc), "wider, or the spacing more: on this arc letters touch")
    return tuple(bent), scale, straight


def _spread(letter: Letter, scale: float, at: float) -> Letter:
    offset = np.array([at, 0.0])
    start, advance = letter.start * scale + at, letter.advance * scale
    return letter.put(lambda xy: xy * scale + offset, start=start, advance=advance)


def _scale(letters: Sequence[Letter], line: TextLine, cap_height: float) -> float:
    inked = [(number, letter.points) for number, letter in enumerate(letters) if not letter.blank]
    left = min(float(points[:, 0].min()) for _, points in inked)
    right = max(float(points[:, 0].max()) for _, points in inked)
    room = float(line.spacing) * (inked[-1][0] - inked[0][0])
    scales = []
    if line.height is not None:
        scales.append(float(line.height) / cap_height)
    if line.width is not None:
        if float(line.width) - room < 1.0:
            raise ParameterError("spacing", float(line.spacing), f"less, for a text {float(line.width):g} mm wide")
        # a letter that is a single upright stroke has no width to go by
        scales.append((float(line.width) - room) / max(right - left, cap_height / 21))
    return min(scales)


def _merged(letters: Sequence[Letter]) -> list[Letter]:
    """Make letters in outline that touch one another into one, as those of a joined script do."""
    merged: list[Letter] = []
    for letter in letters:
        before = merged[-1] if merged else None
        if before is None or not letter.polygons or not _touch(before.polygons, letter.polygons):
            merged.append(letter)
            continue
        whole = shapely.union_all([*before.polygons, *letter.polygons])
        parts = tuple(part for part in shapely.get_parts(whole) if isinstance(part, shapely.Polygon))
        advance = letter.start + letter.advance - before.start
        merged[-1] = Letter(before.text + letter.text, before.start, advance, parts)
    return merged


def _touch(some: Sequence[shapely.Polygon], others: Sequence[shapely.Polygon]) -> bool:
    return bool(shapely.distance(shapely.MultiPolygon(some), shapely.MultiPolygon(others)) < _TOUCHING_MM)


def _check_arc(line: TextLine, length: float, cap_mm: float) -> None:
    radius = float(line.arc or 0.0)
    most = 2 * math.pi * _MOST_OF_A_CIRCLE
    least = length / most + (_LEVEL["below"] * cap_mm if line.side == "below" else 0.0)
    if radius < least:
        needs = f"at least {math.ceil(10 * least) / 10:g} mm for this text at this size"
        raise ParameterError("arc", radius, needs)


def _bent(letter: Letter, radius: float, side: str, cap_mm: float) -> Letter:
    """Turn a letter on to its place on the arc; one that is as long as a word is bent along it."""
    outward = 1.0 if side == "above" else -1.0
    spaced = radius + outward * _LEVEL[side] * cap_mm
    centre = letter.start + letter.advance / 2
    joined = len(letter.text) > 1 and letter.advance > _LONG * radius

    def bend(xy: FloatArray) -> FloatArray:
        angle = (xy[:, 0] if joined else np.full(len(xy), centre)) / spaced
        along = np.zeros(len(xy)) if joined else xy[:, 0] - centre
        out = radius + outward * xy[:, 1]
        x = out * np.sin(angle) + along * np.cos(angle)
        y = outward * (out * np.cos(angle) - radius - along * np.sin(angle))
        return np.column_stack([x, y])

    if joined:
        fine = tuple(shapely.segmentize(polygon, _STEP_MM) for polygon in letter.polygons)
        lines = (shapely.segmentize(shapely.LineString(path), _STEP_MM) for path in letter.paths)
        letter = replace(letter, polygons=fine, paths=tuple(shapely.get_coordinates(line) for line in lines))
    return letter.put(bend, start=letter.start, advance=letter.advance)
