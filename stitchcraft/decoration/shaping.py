"""Text becomes glyphs in their places: ligatures, kerning, accents, and writing from right to left.

Shaping is the font library's: it applies the font's own substitutions and positions. What is left to do here is to
divide a line into stretches of one direction, and to name a character that the font lacks.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from itertools import accumulate, groupby
from typing import Final

import shapely

from stitchcraft.decoration.letters import Letter
from stitchcraft.decoration.typefaces import Typeface
from stitchcraft.errors import ParameterError

LONGEST_TEXT: Final = 120

_RIGHT_TO_LEFT: Final = ("R", "AL")
_EMBEDDING: Final = ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")


def shaped(text: str, face: Typeface) -> tuple[Letter, ...]:
    """Shape a line of text.

    Args:
        text: 1 to `LONGEST_TEXT` printable characters, not all of them blank.
        face: The typeface.

    Returns:
        The letters from left to right in font units, blanks among them without polygons.

    Raises:
        ParameterError: If the text is too long, blank or holds control characters, or the face lacks one of its
            characters (it is named).
    """
    letters: list[Letter] = []
    x = 0.0
    for run, backward in _runs(checked_text(text)):
        letters += [letter.at(x) for letter in _shaped_run(run, backward, face, text)]
        x = letters[-1].start + letters[-1].advance if letters else x
    if not any(letter.polygons for letter in letters):
        raise ParameterError("text", text, f"a text of which the {face.name} face draws something")
    return tuple(letters)


def checked_text(text: object) -> str:
    """Hold a text to one line of printable characters.

    Raises:
        ParameterError: If it is anything else.
    """
    if not isinstance(text, str) or not text.strip() or len(text) > LONGEST_TEXT:
        raise ParameterError("text", text, f"1 to {LONGEST_TEXT} characters, not all of them blank")
    for letter in text:
        if unicodedata.category(letter) in ("Cc", "Cs", "Co", "Cn", "Zl", "Zp"):
            raise ParameterError("text", text, f"one line of characters, without U+{ord(letter):04X}")
        if unicodedata.bidirectional(letter) in _EMBEDDING:
            raise ParameterError("text", text, f"without U+{ord(letter):04X}, which turns the order of writing about")
    return text


def _runs(text: str) -> list[tuple[str, bool]]:
    """Stretches of one direction in the order in which they stand from left to right, each in its own order."""
    runs: list[tuple[str, int]] = []
    for letter, level in zip(text, _levels(text), strict=True):
        if runs and runs[-1][1] == level:
            runs[-1] = (runs[-1][0] + letter, level)
        else:
            runs.append((letter, level))
    for lowest in (2, 1):  # rule L2: whatever lies at a level or above is turned about, from the highest down
        turned: list[tuple[str, int]] = []
        for deep, group in groupby(runs, key=lambda run, lowest=lowest: run[1] >= lowest):  # type: ignore[misc]
            stretch = list(group)
            turned += stretch[::-1] if deep else stretch
        runs = turned
    return [(run, level == 1) for run, level in runs]


def _levels(text: str) -> list[int]:
    """How deep each character is embedded: odd levels are written from right to left.

    The Unicode bidirectional algorithm (UAX 9) for a line without explicit embeddings: P2, W1, W2, W4 to W7, N1, N2,
    I1, I2. A number counts as written from right to left after such a letter, but its own digits are not.
    """
    kinds = [unicodedata.bidirectional(letter) for letter in text]
    base = next((int(kind in _RIGHT_TO_LEFT) for kind in kinds if kind in ("L", *_RIGHT_TO_LEFT)), 0)
    for i, kind in enumerate(kinds):
        if kind == "NSM":
            kinds[i] = kinds[i - 1] if i else "ON"
    strong = ""
    for i, kind in enumerate(kinds):
        strong = kind if kind in ("L", *_RIGHT_TO_LEFT) else strong
        kinds[i] = "AN" if kind == "EN" and strong == "AL" else kind
    for i in range(1, len(kinds) - 1):
        between = kinds[i - 1] if kinds[i - 1] == kinds[i + 1] else ""
        if (kinds[i] in ("ES", "CS") and between == "EN") or (kinds[i] == "CS" and between == "AN"):
            kinds[i] = between
    for order in (range(len(kinds)), reversed(range(len(kinds)))):
        beside = ""
        for i in order:
            kinds[i] = "EN" if kinds[i] == "ET" and beside == "EN" else kinds[i]
            beside = kinds[i]
    sides: list[int | None] = []
    side = base
    for kind in kinds:
        side = 0 if kind == "L" else 1 if kind in _RIGHT_TO_LEFT else side
        known = kind in ("L", "EN", "AN", *_RIGHT_TO_LEFT)
        sides.append((1 if kind == "AN" else side) if known else None)
    digits = [kind in ("EN", "AN") and side == 1 for kind, side in zip(kinds, sides, strict=True)]
    before = list(accumulate(sides, lambda last, side: last if side is None else side, initial=base))[1:]
    after = list(accumulate(sides[::-1], lambda last, side: last if side is None else side, initial=base))[:0:-1]
    levels = []
    for known_side, left, right, digit in zip(sides, before, after, digits, strict=True):
        way = known_side if known_side is not None else (left if left == right else base)
        levels.append(2 if digit or (base and way == 0) else int(way or 0))
    return levels


def _shaped_run(run: str, backward: bool, face: Typeface, whole: str) -> Iterator[Letter]:
    import uharfbuzz as hb  # as in `typefaces`

    buffer = hb.Buffer()
    buffer.add_str(run)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if backward else "ltr"
    buffer.language = "und"  # else the shaping would go by the language of the machine
    hb.shape(face.font, buffer)
    infos, places = buffer.glyph_infos, buffer.glyph_positions or []
    starts = sorted({info.cluster for info in infos})
    ends = dict(zip(starts, [*starts[1:], len(run)], strict=True))
    x = start = 0.0
    polygons: list[shapely.Polygon] = []
    for i, (info, place) in enumerate(zip(infos, places, strict=True)):
        text = run[info.cluster : ends[info.cluster]]
        if info.codepoint == 0:
            raise lacking(whole, text, face.name)
        polygons += [_moved(part, x + place.x_offset, place.y_offset) for part in face.outline(info.codepoint)]
        x += place.x_advance
        if i + 1 == len(infos) or infos[i + 1].cluster != info.cluster:
            yield Letter(text, start, x - start, tuple(polygons))
            start, polygons = x, []


def lacking(text: str, letters: str, face: str) -> ParameterError:
    """The error for characters that a face does not have."""
    named = " ".join(f"U+{ord(letter):04X}" for letter in letters)
    shown = unicodedata.normalize("NFC", letters)
    return ParameterError("text", text, f"without {shown!r} ({named}), which the {face} face does not have")


def _moved(polygon: shapely.Polygon, x: float, y: float) -> shapely.Polygon:
    return shapely.transform(polygon, lambda xy: xy + [x, y]) if x or y else polygon
