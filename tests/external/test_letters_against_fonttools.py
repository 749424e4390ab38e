"""Glyph outlines, widths and writing direction against libraries that share no code with ours or the shaper."""

from __future__ import annotations

import unicodedata
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
from bidi import get_display
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont

from stitchcraft.decoration.shaping import shaped
from stitchcraft.decoration.typefaces import OUTLINE_FACES, face_from_file, face_named

LATIN = "HnoesagBQ8&@ç"
# from memory: the letters of each language beyond ASCII
POLISH = "ąćęłńóśźżĄĆĘŁŃÓŚŹŻ"
HUNGARIAN = "áéíóöőúüűÁÉÍÓÖŐÚÜŰ"
VIETNAMESE = "ăâđêôơưạảấầẩẫậắằẳẵặẹẻẽếềểễệỉĩịọỏốồổỗộớờởỡợụủứừửữựỳỷỹỵ"
GREEK = "αβγδεζηθικλμνξοπρστυφχψωάέήίόύώΑΩΨ"
CYRILLIC = "абвгдежзийклмнопрстуфхцчшщъыьэюяҐґЇїЄє"
HEBREW = "אבגדהוזחטיכלמנסעפצקרשתךםןףץ"
HAS = {
    "sans": (POLISH, HUNGARIAN, VIETNAMESE, GREEK, CYRILLIC),
    "serif": (POLISH, HUNGARIAN, VIETNAMESE, GREEK, CYRILLIC),
    "hand": (POLISH, HUNGARIAN, VIETNAMESE, HEBREW),
    "rounded": ("éüñøßÅ",),
}


def file_of(face: str) -> Path:
    source = OUTLINE_FACES[face]
    return Path(find_spec(source.package).submodule_search_locations[0]) / "files" / source.file


def font_of(face: str) -> TTFont:
    return TTFont(file_of(face))


def painted(face: str, letter: str, em: float, pixels: int = 500) -> float:
    """Area of a letter in font units as FreeType paints it, each pixel by the share of it that is covered."""
    font = ImageFont.truetype(file_of(face), pixels, layout_engine=ImageFont.Layout.BASIC)
    return float(np.asarray(font.getmask(letter, mode="L"), dtype=float).sum()) / 255 * (em / pixels) ** 2


@pytest.mark.parametrize("face", OUTLINE_FACES)
def test_licence_of_every_face_is_the_open_font_licence(face):
    names = font_of(face)["name"]
    assert "Open Font License" in names.getDebugName(13)
    assert "OFL" in names.getDebugName(14)


@pytest.mark.parametrize("face", OUTLINE_FACES)
def test_areas_and_bounds_are_those_of_the_outlines(face):
    font, opened = font_of(face), face_named(face)
    glyphs, cmap = font.getGlyphSet(), font.getBestCmap()
    for letter in LATIN:
        bounds = BoundsPen(glyphs)
        glyphs[cmap[ord(letter)]].draw(bounds)
        ours = opened.outline(font.getGlyphID(cmap[ord(letter)]))
        left, bottom = (min(part.bounds[k] for part in ours) for k in (0, 1))
        right, top = (max(part.bounds[k] for part in ours) for k in (2, 3))
        area = sum(part.area for part in ours)
        assert area == pytest.approx(painted(face, letter, opened.em), rel=0.01), letter
        assert (left, bottom, right, top) == pytest.approx(bounds.bounds, abs=opened.em / 1000), letter


@pytest.mark.parametrize(("face", "letters"), [(face, letters) for face, sets in HAS.items() for letters in sets])
def test_every_letter_of_a_language_has_the_width_and_area_that_the_font_says(face, letters):
    font, opened = font_of(face), face_named(face)
    cmap, widths = font.getBestCmap(), font["hmtx"].metrics
    for letter in letters:
        (drawn,) = shaped(letter, opened)
        assert drawn.advance == widths[cmap[ord(letter)]][0], letter
        area = sum(part.area for part in drawn.polygons)
        assert area == pytest.approx(painted(face, letter, opened.em, 200), rel=0.03), letter


@pytest.mark.parametrize("face", ["sans", "serif", "hand"])
def test_a_letter_and_its_accents_make_the_letter_that_unicode_composes_of_them(face):
    opened = face_named(face)
    for letter in POLISH + HUNGARIAN + VIETNAMESE:
        apart = unicodedata.normalize("NFD", letter)
        (whole,), (composed,) = shaped(letter, opened), shaped(apart, opened)
        assert composed.advance == whole.advance, letter
        assert sum(p.area for p in composed.polygons) == pytest.approx(sum(p.area for p in whole.polygons)), letter


def test_pairs_are_kerned_as_the_font_says():
    opened, font = face_named("sans"), font_of("sans")
    apart = sum(font["hmtx"].metrics[font.getBestCmap()[ord(letter)]][0] for letter in "AV")
    together = shaped("AV", opened)
    assert sum(letter.advance for letter in together) < apart - 0.02 * opened.em


def test_an_arabic_word_is_joined_and_runs_from_right_to_left():
    matplotlib = Path(find_spec("matplotlib").submodule_search_locations[0])
    face = face_from_file(matplotlib / "mpl-data" / "fonts" / "ttf" / "DejaVuSans.ttf")
    word = shaped("سلام", face)
    # lam and alef become one letter, and the first letter stands at the right
    assert [letter.text for letter in word] == ["م", "لا", "س"]
    first, alone = word[-1], shaped("س", face)[0]
    assert sum(part.area for part in first.polygons) != pytest.approx(sum(part.area for part in alone.polygons))


@given(
    st.text(st.sampled_from("aGx אבג שלום 019.,:-+%#"), min_size=1, max_size=14).filter(
        lambda text: text.strip(" .,:-")
    )
)
def test_mixed_directions_are_laid_as_by_the_unicode_algorithm(text):
    # the hand face has Latin and Hebrew; letters alone are compared, since the shaper may mirror or join signs
    drawn = "".join(letter.text for letter in shaped(text, face_named("hand")))
    assert [c for c in drawn if c.isalnum()] == [c for c in get_display(text) if c.isalnum()]
