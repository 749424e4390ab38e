"""Shaping of text, and what is said of characters and fonts that cannot be used."""

from __future__ import annotations

import random
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
import shapely

from stitchcraft.decoration import typefaces
from stitchcraft.decoration.glyph_outlines import MOST_SEGMENTS, OutlinePen, filled_polygons, flattened
from stitchcraft.decoration.shaping import shaped
from stitchcraft.decoration.typefaces import OUTLINE_FACES, face_from_file, face_named
from stitchcraft.errors import ParameterError


def path_of(face: str) -> Path:
    source = OUTLINE_FACES[face]
    return Path(find_spec(source.package).submodule_search_locations[0]) / "files" / source.file


def square(side: float, *, backward: bool = False) -> np.ndarray:
    ring = np.array([[0, 0], [side, 0], [side, side], [0, side], [0, 0]], dtype=float)
    return ring[::-1] if backward else ring


def test_contours_are_filled_by_the_winding_rule():
    inner = square(2.0) + 1.0
    assert sum(p.area for p in filled_polygons([square(4.0), inner[::-1]], flatness=0.01)) == pytest.approx(12.0)
    assert sum(p.area for p in filled_polygons([square(4.0), inner], flatness=0.01)) == pytest.approx(16.0)
    beside = square(4.0) + [3.0, 0.0]
    assert [p.area for p in filled_polygons([square(4.0), beside], flatness=0.01)] == [pytest.approx(28.0)]


def test_a_quarter_circle_of_one_cubic_is_flattened_within_the_flatness():
    k = 4 / 3 * (2**0.5 - 1)  # the usual cubic for a quarter circle, 0.03 % off
    points = flattened([((1.0, 0.0),), ((1.0, k), (k, 1.0), (0.0, 1.0))], flatness=1e-4)[:-1]
    radius = np.hypot(*points.T)
    middles = np.hypot(*((points[:-1] + points[1:]) / 2).T)
    assert radius.min() > 0.9999
    assert radius.max() < 1.0004
    assert middles.min() > 1 - 1.5e-4


@pytest.mark.parametrize(
    ("face", "text", "named"),
    [
        ("sans", "Heron 日", "U+65E5"),
        ("rounded", "żuraw", "U+017C"),
        ("hand", "μέγα", "U+03"),
        ("serif", "🙂", "U+1F642"),
    ],
)
def test_a_character_that_the_face_lacks_is_named(face, text, named):
    with pytest.raises(ParameterError, match=rf"text is .*{named.replace('+', '.')}.*the {face} face does not have"):
        shaped(text, face_named(face))


@pytest.mark.parametrize(
    "text", ["", "   ", "a\nb", "a\tb", "x" * 121, "\u202eabc", "a\u2066b", None, 7, "\ud800", "\u200b"]
)
def test_text_that_is_no_line_of_letters_is_refused(text):
    with pytest.raises(ParameterError):
        shaped(text, face_named("sans"))


def test_letters_of_a_line_do_not_depend_on_the_machines_language(monkeypatch):
    before = [letter.advance for letter in shaped("fi ş İ", face_named("serif"))]
    monkeypatch.setenv("LANG", "tr_TR.UTF-8")
    assert [letter.advance for letter in shaped("fi ş İ", face_named("serif"))] == before


def test_a_ligature_is_one_letter_of_two_characters():
    assert [letter.text for letter in shaped("fig", face_named("serif"))] == ["fi", "g"]


def test_a_face_whose_package_is_missing_says_what_to_install(monkeypatch):
    missing = typefaces._Source("no_such_package_here", "x.ttf", "font-manrope")
    monkeypatch.setitem(typefaces.OUTLINE_FACES, "absent", missing)
    with pytest.raises(ParameterError, match="pip install font-manrope"):
        face_named("absent")


def test_the_makers_own_file_gives_the_letters_of_the_face_that_it_is(tmp_path):
    file = tmp_path / "mine.ttf"
    file.write_bytes(path_of("rounded").read_bytes())
    mine, shipped = shaped("Heron", face_from_file(file)), shaped("Heron", face_named("rounded"))
    for one, other in zip(mine, shipped, strict=True):
        assert one.advance == other.advance
        assert shapely.equals_exact(shapely.MultiPolygon(one.polygons), shapely.MultiPolygon(other.polygons), 1e-9)


@pytest.mark.parametrize("content", [b"", b"not a font at all", b"wOFF" + bytes(60), b"OTTO" + bytes(200), bytes(12)])
def test_a_file_that_is_no_font_is_refused_in_one_line(tmp_path, content):
    file = tmp_path / "broken.ttf"
    file.write_bytes(content)
    with pytest.raises(ParameterError, match=r"font is 'broken\.ttf'; it needs to be") as caught:
        face_from_file(file)
    assert "\n" not in str(caught.value)


def test_a_missing_folder_or_oversized_file_is_refused(tmp_path, monkeypatch):
    for path in (tmp_path / "absent.ttf", tmp_path):
        with pytest.raises(ParameterError, match="font is"):
            face_from_file(path)
    monkeypatch.setattr(typefaces, "LARGEST_BYTES", 1000)
    with pytest.raises(ParameterError, match="at most"):
        face_from_file(path_of("rounded"))


def test_a_glyph_of_endless_segments_is_refused():
    pen = OutlinePen()
    pen.moveTo((0, 0))
    for k in range(MOST_SEGMENTS + 10):
        pen.lineTo((k, k % 7))
    assert not pen.usable
    assert len(pen.contours[0]) <= MOST_SEGMENTS + 1


def damaged(data: bytes, chance: random.Random) -> bytes:
    """A font file with bytes changed, stretches zeroed, or its end cut off."""
    bytes_ = bytearray(data)
    for _ in range(chance.choice([1, 5, 50, 500])):
        bytes_[chance.randrange(len(bytes_))] = chance.randrange(256)
    if chance.random() < 0.3:
        at = chance.randrange(len(bytes_))
        bytes_[at : at + 2000] = bytes(len(bytes_[at : at + 2000]))
    return bytes(bytes_[: chance.randrange(len(bytes_))] if chance.random() < 0.3 else bytes_)


def test_damaged_fonts_give_letters_or_one_clear_error(tmp_path):
    chance = random.Random(4)
    refused = 0
    sources = [path_of(face).read_bytes() for face in ("rounded", "hand")]
    for number in range(60):
        file = tmp_path / f"font{number}.ttf"
        file.write_bytes(damaged(sources[number % 2], chance))
        try:
            letters = shaped("Heron fi Áß", face_from_file(file))
        except ParameterError:
            refused += 1
        else:
            assert all(part.is_valid for letter in letters for part in letter.polygons)
    assert 0 < refused < 60
