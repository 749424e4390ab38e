"""Letters: their shapes against the font data, their size and place, and what cannot be set."""

from __future__ import annotations

import unicodedata

import numpy as np
import pytest
import shapely
from HersheyFonts import HersheyFonts
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.decoration.letter_marks import MARKS, STRUCK
from stitchcraft.decoration.letter_shapes import CAP, FACES, glyph, moved
from stitchcraft.decoration.letter_spacing import MOST, NEAREST, kern
from stitchcraft.decoration.lettering import LINE_FACES, set_text, stitch_length
from stitchcraft.defaults import PARTS
from stitchcraft.design import Line, Running, Triple
from stitchcraft.errors import ParameterError

ASCII = "".join(chr(code) for code in range(33, 127))

# letters beyond ASCII of German, French, Spanish, Polish, Czech and Slovak, the Nordic languages, Hungarian,
# Portuguese, Latvian, Romanian, Turkish and Croatian, and the signs of a label: from memory
ALPHABETS = (
    "äöüßÄÖÜ", "àâæçéèêëîïôœùûüÿ", "áéíñóúü¿¡", "ąćęłńóśźż", "čďéěíňóřšťúůýžĺľŕ", "åäöæøðþ", "áéíóöőúüű",
    "ãõâêôçà", "āčēģīķļņšūž", "ăâîșțşţ", "ğışİçöü", "čćđšž", "“Heron’s” – 2×3 … «♥» 20° · ø",
)  # fmt: skip


def lines(paths) -> shapely.MultiLineString:
    return shapely.MultiLineString([path for path in paths if len(path) > 1])


def decomposed(letter: str) -> str:
    return unicodedata.normalize("NFD", letter)


@pytest.mark.parametrize("face", LINE_FACES)
def test_letters_pass_through_every_point_of_the_font_data(face):
    # the font package's own renderer is the reference: it shares nothing with ours but the data
    font = HersheyFonts()
    font.load_default_font(FACES[face].font)
    for letter in ASCII:
        wanted = [point for stroke in font.strokes_for_text(letter) if len(stroke) > 1 for point in stroke]
        wanted = np.array(wanted) * [1, -1] + [0, font.render_options["base_line"]]
        assert shapely.distance(shapely.points(wanted), lines(glyph(letter, face).strokes)).max() < 1e-9, letter


@pytest.mark.parametrize("face", LINE_FACES)
def test_smoothing_stays_near_the_digitized_lines(face):
    font = HersheyFonts()
    font.load_default_font(FACES[face].font)
    for letter in ASCII:
        data = font.all_glyphs[letter]
        raw = lines([np.array(s, dtype=float) - [data.left_offset, 9] for s in data.strokes if len(s) > 1])
        raw = shapely.transform(raw, lambda xy: xy * [1, -1])
        smoothed = lines(glyph(letter, face).strokes)
        # 0.4 of 21 units is 0.11 mm on letters 6 mm high: about one machine unit
        assert shapely.hausdorff_distance(smoothed, raw, densify=0.2) < 0.4, letter


def test_a_straight_stem_stays_straight_beside_a_curve():
    stem = next(stroke for stroke in glyph("t", "plain").strokes if np.ptp(stroke[:, 1]) > 15)
    straight = stem[stem[:, 1] > 5.0]
    assert np.ptp(straight[:, 0]) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("face", ["plain", "roman", "italic"])
def test_height_is_that_of_a_capital(face):
    letter = set_text("H", height=12.5, face=face)
    assert letter.height_mm == pytest.approx(12.5)
    assert letter.cap_height_mm == pytest.approx(12.5)
    assert set_text("x", height=12.5, face=face).height_mm == pytest.approx(letter.x_height_mm, rel=0.02)


def test_baseline_is_where_letters_stand():
    lettering = set_text("Hg", height=10)
    left = min(lettering.paths, key=lambda path: path[:, 0].min())
    assert left[:, 1].min() == pytest.approx(lettering.baseline_mm)
    assert min(path[:, 1].min() for path in lettering.paths) == pytest.approx(-lettering.height_mm / 2)


@given(
    text=st.text(st.sampled_from(ASCII + " éüñøłß’"), min_size=1, max_size=12).filter(str.strip),
    width=st.integers(50, 2000).map(lambda tenths: tenths / 10),
    face=st.sampled_from(LINE_FACES),
)
def test_text_is_as_wide_as_asked_and_centred(text, width, face):
    lettering = set_text(text, width=width, face=face)
    left, bottom, right, top = lines(lettering.paths).bounds
    # an upright stroke alone has no width to scale
    if text.strip() not in {"|", "I", "l", "'", "!", ":", ";", ".", "’"}:
        assert right - left == pytest.approx(lettering.width_mm)
        assert lettering.width_mm == pytest.approx(width) or lettering.width_mm < width
    assert left + right == pytest.approx(0.0, abs=1e-6 * width)
    assert bottom + top == pytest.approx(0.0, abs=1e-6 * max(width, lettering.height_mm))
    assert lettering.height_mm == pytest.approx(top - bottom)


def test_with_both_sizes_the_smaller_wins():
    wide = set_text("Heron tote", width=60)
    assert set_text("Heron tote", width=60, height=100).cap_height_mm == pytest.approx(wide.cap_height_mm)
    assert set_text("Heron tote", width=60, height=2).cap_height_mm == pytest.approx(2.0)


def test_lengths_may_have_units():
    assert set_text("Heron", width="2 in").width_mm == pytest.approx(50.8)


@pytest.mark.parametrize("face", LINE_FACES)
def test_joining_strokes_loses_no_line_and_adds_none(face):
    # reference: the union of the strokes as shapely nodes it
    for letter in "AgkRX&8":
        strokes = shapely.union_all([shapely.LineString(stroke) for stroke in glyph(letter, face).strokes])
        once = lines(set_text(letter, height=CAP, face=face).paths)
        again = shapely.union_all(shapely.get_parts(lines(set_text(letter, height=CAP, face=face, retrace=True).paths)))
        for covered in (once, again):
            # ends that nearly touch are joined: a little line is added or saved there
            assert covered.length == pytest.approx(strokes.length, rel=0.015)
            middle = [(a + b) / 2 for a, b in zip(strokes.bounds[:2], strokes.bounds[2:], strict=True)]
            here = shapely.transform(covered, lambda xy, by=middle: moved(xy, *by))
            assert shapely.hausdorff_distance(here, strokes, densify=0.1) < 0.6, letter


@pytest.mark.parametrize(
    ("text", "face", "most"), [("HAEFKX", "plain", 6), ("mane", "script", 1), ("RBak", "roman", 4)]
)
def test_retracing_makes_one_path_of_each_connected_shape(text, face, most):
    lettering = set_text(text, height=10, face=face, retrace=True)
    assert len(lettering.paths) == most
    assert len(set_text(text, height=10, face=face).paths) > most


def test_script_letters_run_into_one_another():
    word = lines(set_text("mine", height=8, face="script").paths)
    dots = 1
    assert len(shapely.get_parts(shapely.union_all(shapely.buffer(shapely.get_parts(word), 0.05)))) == 1 + dots


@pytest.mark.parametrize("face", LINE_FACES)
@pytest.mark.parametrize("letter", "éèêëáàâäãåíìîïóòôöõúùûüýÿñšžčřőűąęțșāăėÉÜÑÅŐŠŻ")
def test_accented_letters_are_their_base_and_a_mark_apart_from_it(letter, face):
    base, *accents = decomposed(letter)
    shape = glyph(decomposed(letter), face)
    plain = shapely.union_all([shapely.LineString(s) for s in glyph("ı" if base == "i" else base, face).strokes])
    whole = shapely.union_all([shapely.LineString(s) for s in shape.strokes])
    assert whole.covers(plain) or whole.buffer(1e-6).covers(plain)
    added = shapely.difference(whole, plain.buffer(0.2))
    assert not added.is_empty
    place = MARKS[accents[0]].place
    if place == "above":
        assert added.bounds[1] > plain.bounds[3] + 2.0
    if place == "below":
        assert added.bounds[3] < plain.bounds[1] - 2.0
    if place in ("above", "below"):
        assert added.distance(plain) > 2.0


def test_a_typed_out_accent_is_the_same_letter():
    one, other = set_text("caf\u00e9", height=10), set_text("cafe\u0301", height=10)
    assert all(np.array_equal(a, b) for a, b in zip(one.paths, other.paths, strict=True))


def test_an_accent_takes_the_dot_of_an_i_away():
    tops = [float(stroke[:, 1].min()) for stroke in glyph("i\u0301", "plain").strokes]
    assert len([low for low in tops if low > FACES["plain"].x_height]) == 1
    assert len(glyph("ı", "plain").strokes) == len(glyph("i", "plain").strokes) - 1


def test_two_accents_stand_above_one_another():
    circumflex, acute = glyph("e\u0302\u0301", "plain").strokes[-2:]
    assert acute[:, 1].min() > circumflex[:, 1].max()


@pytest.mark.parametrize("face", LINE_FACES)
def test_struck_letters_are_crossed_by_their_stroke(face):
    for letter in STRUCK:
        *base, stroke = glyph(letter, face).strokes
        assert any(shapely.LineString(stroke).intersects(shapely.LineString(line)) for line in base), letter


@pytest.mark.parametrize("face", LINE_FACES)
def test_every_letter_of_western_and_central_european_alphabets_is_there(face):
    for letters in ALPHABETS:
        assert set_text(letters + letters.upper().replace("SS", "ß"), height=10, face=face).width_mm > 10


@pytest.mark.parametrize(
    ("text", "named"),
    [("привет", "'п' (U+043F)"), ("Heron 鷺", "'鷺' (U+9DFA)"), ("a\nb", "U+000A"), ("tab\there", "U+0009"),
      ("q\u0335", "(U+0071 U+0335)"), (" \u0301", "U+0301")],
)  # fmt: skip
def test_a_letter_that_the_face_lacks_is_named(text, named):
    with pytest.raises(ParameterError, match=r"does not have|one line of characters") as caught:
        set_text(text, height=10)
    assert named in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("arguments", "name"),
    [
        ({"text": ""}, "text"), ({"text": "   "}, "text"), ({"text": "a" * 121}, "text"), ({"text": 5}, "text"),
        ({"face": "Plain"}, "face"), ({"height": 0}, "height"), ({"height": float("nan")}, "height"),
        ({"height": None}, "height"), ({"width": -3}, "width"), ({"width": "wide"}, "width"),
    ],
)  # fmt: skip
def test_bad_arguments_are_refused_by_name(arguments, name):
    with pytest.raises(ParameterError) as caught:
        set_text(**{"text": "Heron", "height": 10} | arguments)
    assert caught.value.name == name


@given(st.text(max_size=8))
def test_any_text_is_set_or_refused_in_one_line(text):
    refusal, paths = "", ()
    try:
        paths = set_text(text, height=10).paths
    except ParameterError as error:
        refusal = str(error)
    assert bool(paths) != bool(refusal)
    assert len(refusal.splitlines()) <= 1
    assert all(np.isfinite(path).all() and len(path) > 1 for path in paths)


def test_hollow_pairs_come_closer_and_upright_ones_stay():
    assert kern("A", "V", "plain") > 1.5
    assert kern("T", "o", "plain") > 2.0
    for pair in ("HH", "nn", "HI", "in"):
        assert kern(*pair, "plain") < 0.5


def test_a_word_is_as_wide_as_its_letters_less_the_kerning():
    # 18 units each, measured on the font data; A has 1 unit of room at its left, V at its right
    first, second = glyph("A", "plain"), glyph("V", "plain")
    room = float(first.points[:, 0].min()) + second.width - float(second.points[:, 0].max())
    wanted = first.width + second.width - room - kern("A", "V", "plain")
    assert set_text("AV", height=CAP).width_mm == pytest.approx(wanted)
    assert first.width == second.width == 18.0


@pytest.mark.parametrize("face", [name for name in LINE_FACES if not FACES[name].joined])
def test_letters_of_a_word_never_touch(face):
    for pair in ("AV", "To", "LT", "Ty", "r.", "fi", "gj", "Wa", "P.", "Qu", "éï", "ÅV"):
        first, second = (decomposed(letter) for letter in pair)
        shift = glyph(first, face).width - kern(first, second, face)
        gap = lines(glyph(first, face).strokes).distance(
            shapely.transform(lines(glyph(second, face).strokes), lambda xy, dx=shift: moved(xy, dx, 0.0))
        )
        unmoved = kern(first, second, face) == 0.0
        assert gap > (0.5 if unmoved else NEAREST - 0.8), pair
        assert kern(first, second, face) <= MOST


def test_letters_are_lines_in_the_stitch_asked_for():
    lettering = set_text("Heron", height=9)
    triple = lettering.elements()
    assert all(isinstance(line, Line) and line.stitch == Triple(length=1.5) for line in triple)
    running = set_text("Heron", height=9, retrace=True).elements("running")
    assert all(line.stitch == Running(length=1.5) for line in running)
    assert len(running) < len(triple)
    assert set_text("o", height=9).elements(Triple(length=2.0))[0].stitch.length == 2.0
    with pytest.raises(ParameterError, match="running or triple for the plain face"):
        lettering.elements("satin")


def test_small_letters_take_short_stitches():
    assert [stitch_length(height) for height in (3, 9, 40)] == [1.0, 1.5, 2.5]


def test_lines_read_from_a_lowest_height():
    assert set_text("Heron", height=9).lowest("triple") == PARTS["lettering_lowest"].value


def test_paths_cannot_be_written_to():
    with pytest.raises(ValueError, match="read-only"):
        set_text("Heron", height=9).paths[0][0, 0] = 1.0
