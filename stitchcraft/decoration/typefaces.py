"""Typefaces whose letters have outlines: where their files are, and what is read of a maker's own font file.

The fonts come from packages of their own, each under the SIL Open Font License 1.1: the sans is Manrope by the
Manrope Project Authors, the serif Source Serif Pro by Adobe, the hand Amatic SC by Vernon Adams and others, the
rounded face Fredoka One by Milena Brandao.
"""

from __future__ import annotations

import importlib.util
import os
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

import shapely

from stitchcraft.decoration.glyph_outlines import OutlinePen, filled_polygons, flattened
from stitchcraft.errors import ParameterError

if TYPE_CHECKING:
    import uharfbuzz

LARGEST_BYTES: Final = 32_000_000
"""Largest font file read: the largest text faces, with all of Chinese, have 20 MB."""

FLATNESS: Final = 1 / 2000
"""How far a chord may leave its curve, share of the em: 0.007 mm on capitals 10 mm high."""

_KINDS: Final = (b"\x00\x01\x00\x00", b"OTTO", b"true", b"ttcf")
_EM: Final = (16, 16_384)
_USUAL_CAP: Final = 0.7


@dataclass(frozen=True, slots=True)
class _Source:
    package: str
    file: str
    install: str


OUTLINE_FACES: Final[dict[str, _Source]] = {
    "sans": _Source("font_manrope", "Manrope-ExtraBold.ttf", "font-manrope"),
    "serif": _Source("font_source_serif_pro", "SourceSerifPro-Bold.ttf", "font-source-serif-pro"),
    "hand": _Source("font_amatic_sc", "AmaticSC-Bold.ttf", "font-amatic-sc"),
    "rounded": _Source("font_fredoka_one", "FredokaOne-Regular.ttf", "font-fredoka-one"),
}
"""The faces by the names that a spec uses."""


@dataclass(frozen=True, slots=True, eq=False)
class Typeface:
    """A font ready for shaping. All lengths are font units.

    Attributes:
        name: The face's name, or the name of the font file.
        font: The shaping library's font.
        em: Units to the em.
        cap_height: Height of a capital H.
        x_height: Height of a small x; that of the capital if there is none.
    """

    name: str
    font: uharfbuzz.Font
    em: float
    cap_height: float
    x_height: float

    def outline(self, glyph: int) -> tuple[shapely.Polygon, ...]:
        """What a glyph covers, about its own origin.

        Raises:
            ParameterError: If its outline is too intricate for a letter.
        """
        return _outline(self, glyph)


@lru_cache(maxsize=4096)
def _outline(face: Typeface, glyph: int) -> tuple[shapely.Polygon, ...]:
    pen = OutlinePen()
    face.font.draw_glyph_with_pen(glyph, pen)
    if not pen.usable:
        raise ParameterError("font", face.name, f"a font of letters; one of its glyphs has {pen.count} segments")
    flat = face.em * FLATNESS
    rings = [flattened(contour, flatness=flat) for contour in pen.contours]
    return tuple(filled_polygons(rings, flatness=flat))


@lru_cache(maxsize=8)
def face_named(name: str) -> Typeface:
    """Open one of `OUTLINE_FACES`.

    Raises:
        ParameterError: If there is no such face, or the package that ships it is not installed.
    """
    source = OUTLINE_FACES.get(name)
    if source is None:
        raise ParameterError("face", name, "one of " + ", ".join(OUTLINE_FACES))
    spec = importlib.util.find_spec(source.package)
    places = (spec.submodule_search_locations or []) if spec is not None else []
    for place in places:
        path = Path(place) / "files" / source.file
        if path.is_file():
            return _opened(name, path.read_bytes())
    raise ParameterError("face", name, f"an installed typeface; install it by: pip install {source.install}")


def face_from_file(path: str | os.PathLike[str]) -> Typeface:
    """Open a maker's own font: TrueType or OpenType; of a collection the first, of a variable font its default.

    Raises:
        ParameterError: If the file cannot be read, is too large, or is no font with outlines.
    """
    file = Path(path)
    try:
        size = file.stat().st_size
        if not file.is_file() or size > LARGEST_BYTES:
            raise ParameterError("font", str(file), f"a font file of at most {LARGEST_BYTES // 1_000_000} MB")
        return _from_file(file.name, file.read_bytes())
    except OSError as error:
        why = error.strerror or "it cannot be read"
        raise ParameterError("font", str(file), f"a font file that can be read ({why})") from None


@lru_cache(maxsize=8)
def _from_file(name: str, data: bytes) -> Typeface:
    return _opened(name, data)


def _opened(name: str, data: bytes) -> Typeface:
    import uharfbuzz as hb  # 70 ms that only lettering needs

    needs = "a TrueType or OpenType font with outlines (.ttf, .otf, .ttc), whole and unpacked"
    if data[:4] not in _KINDS:
        raise ParameterError("font", name, needs)
    face = hb.Face(hb.Blob(data))
    # asked for table by table: the list of all would be text, which the names in a damaged file are not
    held = {tag for tag in ("cmap", "glyf", "CFF ", "CFF2") if len(face.reference_table(tag).data)}
    if face.glyph_count == 0 or not _EM[0] <= face.upem <= _EM[1] or "cmap" not in held:
        raise ParameterError("font", name, needs)
    if held == {"cmap"}:
        raise ParameterError("font", name, f"{needs}; this one has pictures of its letters only")
    font = hb.Font(face)
    em = float(face.upem)
    cap = _height_of(font, "H") or _height_of(font, "א") or _USUAL_CAP * em
    return Typeface(name, font, em, cap, _height_of(font, "x") or cap)


def _height_of(font: uharfbuzz.Font, letter: str) -> float:
    """How high a letter stands above the baseline; 0 if the font does not have it."""
    glyph = font.get_nominal_glyph(ord(letter))
    extents = font.get_glyph_extents(glyph) if glyph else None
    return max(0.0, float(extents.y_bearing)) if extents is not None else 0.0
