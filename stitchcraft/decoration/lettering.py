"""Single-line letters to be sewn in running or triple stitch.

The letters' shapes go back to the Hershey fonts; the acknowledgement that goes with their data is in
`stitchcraft.decoration.letter_shapes`. Text runs from left to right on one line.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from stitchcraft.decoration.letter_shapes import CAP, FACES, glyph, moved
from stitchcraft.decoration.letter_spacing import kern
from stitchcraft.defaults import PARTS
from stitchcraft.design import Line, LineStitch, Running, Triple
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.chains import continuous_paths
from stitchcraft.geometry.curves import FloatArray
from stitchcraft.units import Length, length_between

FACE_NAMES: Final = tuple(FACES)

LONGEST_TEXT: Final = 120

_TOUCHING: Final = 0.4
"""Lines nearer than this touch, in letter units: the data are on a grid of 1, so the bar of an A misses its leg."""


@dataclass(frozen=True, slots=True, eq=False)
class Lettering:
    """Lines of letters about (0, 0), the middle of their ink. All lengths mm.

    Attributes:
        text: The text.
        face: One of `FACE_NAMES`.
        paths: The lines to sew, (n, 2) each, read-only, in reading order.
        width_mm: From the leftmost to the rightmost point.
        height_mm: From the lowest to the highest point, tails and accents included.
        cap_height_mm: Height of a capital without accent.
        x_height_mm: Height of a small x.
        baseline_mm: y of the line that the letters stand on.
    """

    text: str
    face: str
    paths: tuple[FloatArray, ...]
    width_mm: float
    height_mm: float
    cap_height_mm: float
    x_height_mm: float
    baseline_mm: float

    @property
    def smallest_height(self) -> float:
        """The lowest capital that still reads, mm."""
        return PARTS["lettering_lowest"].value

    @property
    def reads(self) -> bool:
        """Whether the capitals are at least `smallest_height` high."""
        return self.cap_height_mm >= self.smallest_height - 1e-9


def text_paths(
    text: str,
    *,
    height: Length | None = None,
    width: Length | None = None,
    face: str = "plain",
    retrace: bool = False,
) -> Lettering:
    """Lay a line of text.

    Args:
        text: 1 to `LONGEST_TEXT` printable characters: ASCII, accented Latin letters, common punctuation.
        height: Height of a capital; a length.
        width: Width of the whole text; a length. With both, the text is as large as both allow.
        face: One of `FACE_NAMES`.
        retrace: Let a letter's line go over short stretches twice, so that each connected shape is one path.

    Returns:
        The lines, centred on (0, 0).

    Raises:
        ParameterError: If a letter is not in the face (it is named), the text is blank or has no size.

    Example:
        >>> name = text_paths("Zoë", height=10)
        >>> round(name.cap_height_mm, 6), len(name.paths)
        (10.0, 5)
    """
    if face not in FACES:
        raise ParameterError("face", face, "one of " + ", ".join(FACE_NAMES))
    strokes = _laid(_clusters(text, face), face, retrace)
    points = np.vstack(strokes)
    low, high = points.min(axis=0), points.max(axis=0)
    scale = _scale(float(high[0] - low[0]), height, width)
    middle = (low + high) / 2
    paths = []
    for stroke in strokes:
        path = (stroke - middle) * scale
        path.setflags(write=False)
        paths.append(path)
    extent = (high - low) * scale
    return Lettering(
        text=text,
        face=face,
        paths=tuple(paths),
        width_mm=float(extent[0]),
        height_mm=float(extent[1]),
        cap_height_mm=CAP * scale,
        x_height_mm=FACES[face].x_height * scale,
        baseline_mm=float(-middle[1] * scale),
    )


def letters_of(
    text: str,
    *,
    height: Length | None = None,
    width: Length | None = None,
    face: str = "plain",
    stitch: str | LineStitch = "triple",
) -> list[Line]:
    """Make a line of text ready to sew.

    Running stitch goes over short stretches twice, so that a letter is one line. Triple stitch does not: a
    stretch of six threads would show.

    Args:
        text: As in `text_paths`.
        height: As in `text_paths`.
        width: As in `text_paths`.
        face: As in `text_paths`.
        stitch: ``"running"`` or ``"triple"``, in a length that suits the size of the letters, or a style.

    Returns:
        Lines in reading order, centred on (0, 0), mm.

    Raises:
        ParameterError: As in `text_paths`, or if the stitch is neither.
    """
    if not isinstance(stitch, Running | Triple) and stitch not in ("running", "triple"):
        raise ParameterError("stitch", stitch, "one of running, triple")
    retrace = stitch == "running" or isinstance(stitch, Running)
    lettering = text_paths(text, height=height, width=width, face=face, retrace=retrace)
    if isinstance(stitch, Running | Triple):
        style: LineStitch = stitch
    else:
        length = stitch_length(lettering.cap_height_mm)
        style = Running(length=length) if stitch == "running" else Triple(length=length)
    return [Line(path, style) for path in lettering.paths]


def stitch_length(cap_height_mm: float) -> float:
    """A stitch that suits letters of a size: a sixth of a capital, 1.0 to 2.5 mm (common practice, no source)."""
    return round(min(2.5, max(1.0, cap_height_mm / 6)), 2)


def _scale(width_units: float, height: Length | None, width: Length | None) -> float:
    if height is None and width is None:
        raise ParameterError("height", None, "given, or else the width")
    scales = []
    if height is not None:
        scales.append(length_between(height, name="height", low=1.0, high=300.0) / CAP)
    if width is not None:
        scales.append(length_between(width, name="width", low=1.0, high=1000.0) / max(width_units, 1.0))
    return min(scales)


def _clusters(text: str, face: str) -> list[str]:
    """Split a text into base letters with their marks, all of which the face has."""
    if not isinstance(text, str) or not text.strip() or len(text) > LONGEST_TEXT:
        raise ParameterError("text", text, f"1 to {LONGEST_TEXT} characters, not all of them blank")
    clusters: list[str] = []
    for letter in unicodedata.normalize("NFD", text):
        if unicodedata.combining(letter) and clusters:
            clusters[-1] += letter
        else:
            clusters.append(letter)
    for cluster in clusters:
        try:
            glyph(cluster, face)
        except ParameterError:
            named = " ".join(f"U+{ord(letter):04X}" for letter in cluster)
            shown = unicodedata.normalize("NFC", cluster)
            raise ParameterError(
                "text", text, f"without {shown!r} ({named}), for which the {face} face has no lines"
            ) from None
    return clusters


def _laid(clusters: Sequence[str], face: str, retrace: bool) -> list[FloatArray]:
    """The joined strokes of all letters, in letter units."""
    laid: list[FloatArray] = []
    word: list[FloatArray] = []
    for cluster, x in _placed(clusters, face):
        if not FACES[face].joined:
            laid.extend(moved(path, x, 0.0) for path in _joined_letter(cluster, face, retrace))
            continue
        if cluster == " ":
            laid.extend(_joined(word, retrace))
            word = []
        word.extend(moved(stroke, x, 0.0) for stroke in glyph(cluster, face).strokes)
    laid.extend(_joined(word, retrace))
    return laid


def _placed(clusters: Sequence[str], face: str) -> Iterator[tuple[str, float]]:
    """Each letter and the x of its left edge."""
    x = 0.0
    for i, cluster in enumerate(clusters):
        if i and not FACES[face].joined:
            x -= kern(clusters[i - 1], cluster, face)
        yield cluster, x
        x += glyph(cluster, face).width


@lru_cache(maxsize=4096)
def _joined_letter(cluster: str, face: str, retrace: bool) -> tuple[FloatArray, ...]:
    return tuple(_joined(glyph(cluster, face).strokes, retrace))


def _joined(strokes: Sequence[FloatArray], retrace: bool) -> list[FloatArray]:
    if not strokes:
        return []
    paths = continuous_paths(strokes, tolerance=_TOUCHING, split_crossings=True, allow_double=retrace)
    return sorted((_forward(path) for path in paths), key=lambda path: float(path[:, 0].min()))


def _forward(path: FloatArray) -> FloatArray:
    """Turn an open path so that it starts at its left end, or at its upper one if it stands upright."""
    (x0, y0), (x1, y1) = path[0], path[-1]
    backward = x1 < x0 - 0.5 or (abs(x1 - x0) <= 0.5 and y1 > y0)
    return path[::-1] if backward else path
