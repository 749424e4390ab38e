"""Lines of text to be sewn, in the faces that are drawn in lines and in those that have outlines.

The single-line letters' shapes go back to the Hershey fonts; the acknowledgement that goes with their data is in
`stitchcraft.decoration.letter_shapes`. Where the outlines come from is told in `stitchcraft.decoration.typefaces`.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.legibility import SATIN_LEAST_MM, Weight, lowest_capital, weight_of
from stitchcraft.decoration.letter_shapes import CAP, FACES
from stitchcraft.decoration.letters import Letter
from stitchcraft.decoration.shaping import LONGEST_TEXT, shaped
from stitchcraft.decoration.single_line import line_letters
from stitchcraft.decoration.text_layout import TextLine, placed
from stitchcraft.decoration.thickening import thickened
from stitchcraft.decoration.typefaces import OUTLINE_FACES, Typeface, face_from_file, face_named
from stitchcraft.defaults import LETTERS, PARTS
from stitchcraft.design import Area, Element, Fill, Line, LineStitch, Running, Satin, Triple
from stitchcraft.errors import ParameterError
from stitchcraft.units import Length

__all__ = [
    "FACE_NAMES", "LETTER_STITCHES", "LINE_FACES", "LONGEST_TEXT", "Lettering", "set_text", "stitch_length",
]  # fmt: skip

LINE_FACES: Final = tuple(FACES)
"""Faces drawn in lines, for running and triple stitch."""

FACE_NAMES: Final = (*LINE_FACES, *OUTLINE_FACES)

LETTER_STITCHES: Final = ("auto", "running", "triple", "satin", "fill")


@dataclass(frozen=True, slots=True, eq=False)
class Lettering:
    """Letters about (0, 0), the middle of their ink. All lengths mm.

    Attributes:
        text: The text.
        face: One of `FACE_NAMES`, or the name of the maker's font file.
        letters: What is drawn, from left to right; letters that touch are one.
        width_mm: From the leftmost to the rightmost point.
        straight_width_mm: The same before the line was bent.
        height_mm: From the lowest to the highest point, tails and accents included.
        cap_height_mm: Height of a capital without accent.
        x_height_mm: Height of a small x.
        baseline_mm: y of the line that the letters stand on; of an arc, of its middle.
    """

    text: str
    face: str
    letters: tuple[Letter, ...]
    width_mm: float
    straight_width_mm: float
    height_mm: float
    cap_height_mm: float
    x_height_mm: float
    baseline_mm: float

    @property
    def outlined(self) -> bool:
        """Whether the letters are areas, not lines."""
        return any(letter.polygons for letter in self.letters)

    @property
    def paths(self) -> tuple[FloatArray, ...]:
        """The letters' lines, or their outlines, (n, 2) each, in reading order."""
        return tuple(path for letter in self.letters for path in (letter.paths or _rings(letter)))

    @property
    def weight(self) -> Weight | None:
        """How heavy the letters are drawn; None for lines."""
        return weight_of(self.letters) if self.outlined else None

    def stitch(self, wish: str) -> str:
        """The stitch that a wish comes to.

        Letters of lines are sewn in triple stitch unless running is asked for. Letters in outline are sewn as
        satin, and as fill where a stroke is too wide for it.

        Args:
            wish: One of `LETTER_STITCHES`.

        Raises:
            ParameterError: If the letters cannot be sewn so.
        """
        if wish not in LETTER_STITCHES:
            raise ParameterError("stitch", wish, "one of " + ", ".join(LETTER_STITCHES))
        weight = self.weight
        if weight is None:
            if wish in ("satin", "fill"):
                faces = ", ".join(OUTLINE_FACES)
                raise ParameterError(
                    "stitch",
                    wish,
                    f"running or triple for the {self.face} face, which has lines; {faces} have outlines",
                )
            return "triple" if wish == "auto" else wish
        if wish != "auto":
            return wish
        return "satin" if weight.widest_mm <= LETTERS["satin_widest"].value else "fill"

    def lowest(self, stitch: str) -> float:
        """How high a capital of this text has to be to read in a stitch, mm.

        Args:
            stitch: As `stitch` gives it.
        """
        weight = self.weight
        least = PARTS["lettering_lowest"].value
        return least if weight is None else max(least, lowest_capital(weight, self.cap_height_mm, stitch))

    def put(self, move: Callable[[FloatArray], FloatArray]) -> Lettering:
        """The same letters elsewhere: every point moved, the sizes as they are."""
        letters = (letter.put(move, start=letter.start, advance=letter.advance) for letter in self.letters)
        return replace(self, letters=tuple(letters))

    def of(self, letters: tuple[Letter, ...]) -> Lettering:
        """The lettering with some of its letters only."""
        return replace(self, letters=letters)

    def elements(self, stitch: str | LineStitch = "auto") -> list[Element]:
        """Make the letters ready to sew.

        Args:
            stitch: One of `LETTER_STITCHES`, or a line stitch; running and triple stitches get a length that suits
                the size of the letters, and follow the outline of letters that have one.

        Returns:
            Elements in reading order, mm; a letter's body before its accents.

        Raises:
            ParameterError: If the letters cannot be sewn so.
        """
        if isinstance(stitch, Running | Triple):
            return [Line(path, stitch) for path in self.paths]
        kind = self.stitch(stitch) if isinstance(stitch, str) else ""
        if not kind:
            raise ParameterError("stitch", stitch, "one of " + ", ".join(LETTER_STITCHES))
        if kind in ("satin", "fill"):
            return [self._area(polygon, kind) for letter in self.letters for polygon in _largest_first(letter)]
        length = stitch_length(self.cap_height_mm)
        line = Running(length=length) if kind == "running" else Triple(length=length)
        return [Line(path, line) for path in self.paths]

    def _area(self, polygon: shapely.Polygon, kind: str) -> Area:
        """A letter in satin, its thin strokes as wide as satin needs, or in fill."""
        return Area(thickened(polygon, SATIN_LEAST_MM), Satin()) if kind == "satin" else Area(polygon, Fill())


def set_text(
    text: str,
    *,
    face: str = "plain",
    font: str | os.PathLike[str] | None = None,
    height: Length | None = None,
    width: Length | None = None,
    spacing: Length = 0.0,
    arc: Length | None = None,
    side: str = "above",
    retrace: bool = False,
) -> Lettering:
    """Lay a line of text.

    Args:
        text: 1 to `LONGEST_TEXT` printable characters that the face has.
        face: One of `FACE_NAMES`.
        font: A font file of the maker's own, in place of the face.
        height: Height of a capital; a length.
        width: Width of the whole text before it is bent; a length. With both, the text is as large as both allow.
        spacing: Room between letters beside what the face gives them; a length.
        arc: Radius of the baseline; None for a straight line. A length.
        side: ``"above"``: the text arches over the middle of the circle. ``"below"``: it hangs under it.
        retrace: Let the line of a single-line letter go over short stretches twice, so that each connected shape is
            one path. That suits running stitch; in triple stitch a stretch of six threads would show.

    Returns:
        The letters, their ink centred on (0, 0).

    Raises:
        ParameterError: If a letter is not in the face (it is named), the font cannot be used, the text is blank, or
            has no size, or does not fit its arc.

    Example:
        >>> name = set_text("Zoë", height=10)
        >>> round(name.cap_height_mm, 6), len(name.paths)
        (10.0, 5)
    """
    line = TextLine(height=height, width=width, spacing=spacing, arc=arc, side=side)
    typeface = _typeface(face, font)
    if typeface is None:
        drawn, cap, x_height = line_letters(text, face, retrace=retrace), CAP, FACES[face].x_height
    else:
        drawn, cap, x_height = shaped(text, typeface), typeface.cap_height, typeface.x_height
    laid, scale, straight = placed(drawn, line, cap_height=cap)
    points = np.vstack([letter.points for letter in laid])
    low, high = points.min(axis=0), points.max(axis=0)
    middle = (low + high) / 2
    centred = [
        letter.put(lambda xy: xy - middle, start=letter.start - middle[0], advance=letter.advance) for letter in laid
    ]
    for letter in centred:
        for path in letter.paths:
            path.setflags(write=False)
    return Lettering(
        text=text,
        face=face if typeface is None else typeface.name,
        letters=tuple(centred),
        width_mm=float(high[0] - low[0]),
        straight_width_mm=straight,
        height_mm=float(high[1] - low[1]),
        cap_height_mm=cap * scale,
        x_height_mm=x_height * scale,
        baseline_mm=float(-middle[1]),
    )


def stitch_length(cap_height_mm: float) -> float:
    """A stitch that suits letters of a size: a sixth of a capital, 1.0 to 2.5 mm (common practice, no source)."""
    return round(min(2.5, max(1.0, cap_height_mm / 6)), 2)


def _typeface(face: str, font: str | os.PathLike[str] | None) -> Typeface | None:
    """The outlines to use; None for a face of lines."""
    if font is not None:
        return face_from_file(font)
    if face not in FACE_NAMES:
        raise ParameterError("face", face, "one of " + ", ".join(FACE_NAMES))
    return face_named(face) if face in OUTLINE_FACES else None


def _largest_first(letter: Letter) -> list[shapely.Polygon]:
    """A letter's body before its dots and accents."""
    return sorted(letter.polygons, key=lambda polygon: (-round(polygon.area, 6), polygon.bounds))


def _rings(letter: Letter) -> list[FloatArray]:
    return [
        np.asarray(ring.coords) for polygon in _largest_first(letter) for ring in (polygon.exterior, *polygon.interiors)
    ]
