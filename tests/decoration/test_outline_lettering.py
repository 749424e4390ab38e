"""Letters in outline: size, arc, stitches, how small they may be, and lettering and monograms in an area."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from stitchcraft.decoration import Monogram, Words, decoration_from
from stitchcraft.decoration.legibility import SATIN_LEAST_MM, Weight, lowest_capital, weight_of
from stitchcraft.decoration.lettering import LETTER_STITCHES, set_text
from stitchcraft.decoration.letters import Letter
from stitchcraft.decoration.monogram import FRAMES
from stitchcraft.decoration.thickening import thickened
from stitchcraft.decoration.typefaces import OUTLINE_FACES
from stitchcraft.defaults import LETTERS
from stitchcraft.design import Area, Column, Fill, Line, Running, Satin, Triple
from stitchcraft.errors import Level, ParameterError
from stitchcraft.parts import Label

FIELD = shapely.box(-40, -30, 40, 30)


def ink(lettering) -> shapely.Geometry:
    return shapely.union_all([polygon for letter in lettering.letters for polygon in letter.polygons])


def drawn(elements) -> shapely.Geometry:
    return shapely.union_all(
        [
            e.polygon if isinstance(e, Area) else shapely.LineString(e.path)
            for e in elements
            if not isinstance(e, Column)
        ]
    )


@pytest.mark.parametrize("face", OUTLINE_FACES)
def test_height_is_that_of_a_capital_and_the_ink_is_centred(face):
    lettering = set_text("H", face=face, height=12.5)
    left, bottom, right, top = ink(lettering).bounds
    assert (left + right, bottom + top) == pytest.approx((0, 0), abs=1e-9)
    # the drawn face dips under the line, as a hand does
    assert top - lettering.baseline_mm == pytest.approx(12.5, rel=2e-3)
    assert bottom == pytest.approx(lettering.baseline_mm, abs=0.03 * 12.5)


@given(width=st.integers(20, 150), spacing=st.integers(-5, 20), face=st.sampled_from(list(OUTLINE_FACES)))
def test_text_is_as_wide_as_asked_whatever_the_spacing(width, spacing, face):
    lettering = set_text("Heron", face=face, width=width, spacing=spacing / 10)
    assert lettering.width_mm == pytest.approx(width)
    assert lettering.straight_width_mm == pytest.approx(width)


@pytest.mark.parametrize(("side", "inward"), [("above", -1), ("below", 1)])
def test_letters_on_an_arc_stand_on_a_circle_of_its_radius(side, inward):
    # a row of the same upright letter: the middles of their feet lie on the circle
    lettering = set_text("IIIIII", face="sans", height=6, arc=30, side=side, spacing=2)
    feet = []
    for letter in lettering.letters:
        (shape,) = letter.polygons
        corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shape))[:4]
        ends = [(corners[i] + corners[(i + 1) % 4]) / 2 for i in range(4)]
        axis = sorted(ends, key=lambda end: float(np.hypot(*(end - corners.mean(axis=0)))))[2:]
        feet.append(min(axis, key=lambda end: float(end[1])))
    x, y = np.array(feet).T
    # circle through the points by least squares (Kasa's form)
    a, b, c = np.linalg.lstsq(np.column_stack([2 * x, 2 * y, np.ones_like(x)]), x**2 + y**2, rcond=None)[0]
    assert math.sqrt(c + a**2 + b**2) == pytest.approx(30, abs=0.05)
    assert np.sign(b - y.mean()) == inward


def test_a_text_too_long_for_its_arc_is_refused_with_the_radius_that_would_do():
    with pytest.raises(ParameterError, match=r"arc is 8\.0; it needs to be at least (\d+\.\d) mm") as caught:
        set_text("Made by the pier", face="sans", height=10, arc=8)
    least = float(caught.value.needs.split()[2])
    assert set_text("Made by the pier", face="sans", height=10, arc=least).height_mm > 10


def test_letters_that_touch_become_one_and_others_stay_apart():
    apart = set_text("HI", face="sans", height=10)
    assert [letter.text for letter in apart.letters] == ["H", "I"]
    pushed = set_text("HI", face="sans", height=10, spacing=-3)
    assert [letter.text for letter in pushed.letters] == ["HI"]
    assert ink(pushed).area < ink(apart).area


@pytest.mark.parametrize("face", OUTLINE_FACES)
@pytest.mark.parametrize("stitch", LETTER_STITCHES[1:])
def test_letters_are_sewn_in_the_stitch_asked_for(face, stitch):
    elements = set_text("Heö", face=face, height=20).elements(stitch)
    kinds = {"running": (Line, Running), "triple": (Line, Triple), "satin": (Area, Satin), "fill": (Area, Fill)}
    element, style = kinds[stitch]
    assert all(isinstance(one, element) and isinstance(one.stitch, style) for one in elements)


def test_auto_takes_satin_until_a_stroke_is_too_wide_for_it():
    assert set_text("I", face="rounded", height=20).stitch("auto") == "satin"
    assert set_text("I", face="rounded", height=40).stitch("auto") == "fill"
    with pytest.raises(ParameterError, match="stitch is 'zigzag'"):
        set_text("I", face="rounded", height=20).stitch("zigzag")


def test_letters_come_from_left_to_right_and_a_body_before_its_accent():
    areas = [element.polygon for element in set_text("éa", face="sans", height=10).elements("satin")]
    assert len(areas) == 3
    assert areas[0].area > areas[1].area
    assert areas[1].bounds[1] > areas[0].bounds[3]
    assert areas[2].bounds[0] > areas[0].bounds[2]


def test_weight_is_measured_on_shapes_of_known_widths():
    # a frame of two sides 2 mm and two 1 mm wide around a hole of 4 by 9 mm
    frame = shapely.box(0, 0, 8, 11) - shapely.box(2, 1, 6, 10)
    weight = weight_of((Letter("0", 0, 8, (frame,)),))
    assert weight.stroke_mm == pytest.approx(1.0, abs=0.06)
    assert weight.gap_mm == pytest.approx(4.0, abs=0.05)
    bar = weight_of((Letter("I", 0, 3, (shapely.box(0, 0, 3, 20),)),))
    assert (bar.stroke_mm, bar.widest_mm, bar.gap_mm) == pytest.approx((3.0, 3.0, math.inf), abs=0.1)


@pytest.mark.parametrize("stitch", LETTER_STITCHES[1:])
@pytest.mark.parametrize("face", OUTLINE_FACES)
def test_letters_at_their_lowest_height_have_the_strokes_and_gaps_that_their_stitch_needs(face, stitch):
    text = "Heron"
    lowest = set_text(text, face=face, height=10).lowest(stitch)
    weight = set_text(text, face=face, height=lowest).weight
    stroke, gap = LETTERS[f"{stitch}_stroke"].value, LETTERS[f"{stitch}_gap"].value
    assert weight.stroke_mm >= 0.97 * stroke
    lost = max(0.0, SATIN_LEAST_MM - weight.stroke_mm) if stitch == "satin" else 0.0
    assert weight.gap_mm - lost >= 0.9 * gap
    assert set_text(text, face=face, height=lowest).lowest(stitch) == pytest.approx(lowest, rel=0.02)


def test_lowest_capital_follows_from_the_strokes():
    assert lowest_capital(Weight(1.0, 2.0, 4.0), 10.0, "fill") == pytest.approx(20.0)
    assert lowest_capital(Weight(2.0, 2.0, 0.2), 10.0, "fill") == pytest.approx(20.0)


def test_thin_strokes_are_drawn_as_wide_as_satin_needs_and_others_stay():
    shape = shapely.union_all([shapely.box(0, 0, 2, 12), shapely.box(1, 5.7, 9, 6.3), shapely.box(8, 0, 10, 12)])
    wide = thickened(shape, SATIN_LEAST_MM)
    middle = shapely.intersection(wide, shapely.LineString([(5, 0), (5, 12)])).length
    assert middle == pytest.approx(SATIN_LEAST_MM, abs=0.03)
    assert shapely.intersection(wide, shapely.LineString([(-5, 2), (6, 2)])).length == pytest.approx(2.0, abs=0.01)
    assert thickened(shapely.box(0, 0, 2, 12), SATIN_LEAST_MM).equals(shapely.box(0, 0, 2, 12))


@pytest.mark.parametrize(
    ("face", "stitch"), [("sans", "satin"), ("serif", "satin"), ("hand", "triple"), ("rounded", "fill")]
)
def test_a_label_too_small_is_found_and_what_the_remedy_says_helps(face, stitch):
    (finding,) = Label(text="Heron", face=face, stitch=stitch, width=6).findings()
    assert finding.code == "label-small"
    assert finding.measured < finding.limit
    width = float(finding.remedy.split("at least ")[1].split(" mm")[0])
    assert Label(text="Heron", face=face, stitch=stitch, width=width).findings() == ()
    (by_height,) = Label(text="Heron", face=face, stitch=stitch, height=2).findings()
    height = float(by_height.remedy.split("at least ")[1].split(" mm")[0])
    assert Label(text="Heron", face=face, stitch=stitch, height=height).findings() == ()


def test_a_label_in_outline_is_sewn_in_order():
    letters = Label(text="Heron", face="sans", arc=60).design().stops[0]
    assert letters.ordered
    assert all(isinstance(element.stitch, Satin) for element in letters.elements)
    for key, value in {"stitch": "zigzag", "face": "fancy", "arc": 1, "side": "left", "font": "absent.ttf"}.items():
        with pytest.raises(ParameterError, match=rf"label\.{key} is"):
            Label(**{"text": "Heron", "face": "sans", key: value})


@settings(max_examples=10)  # each is laid in some 370 places at a dozen sizes
@given(
    text=st.sampled_from(["Heron", "Łódź", "A", "fi"]),
    face=st.sampled_from(["plain", "script", "sans", "serif", "hand"]),
    side=st.sampled_from(["above", "below"]), arc=st.sampled_from([None, 25, 80]), angle=st.sampled_from([0, 30, -90]),
    hole=st.tuples(st.integers(-30, 30), st.integers(-20, 20)),
)  # fmt: skip
def test_lettering_without_a_size_lies_inside_any_area_whole(text, face, side, arc, angle, hole):
    area = FIELD - shapely.Point(hole).buffer(9)
    words = Words(text=text, face=face, side=side, arc=arc, angle=angle)
    elements = words.elements(area)
    assert elements
    assert area.buffer(1e-6).covers(drawn(elements))
    assert "lettering-cut" not in {finding.code for finding in words.findings(area)}


def test_lettering_that_has_no_room_loses_whole_letters_and_says_so():
    words = Words(text="Heron & Quay", face="sans", height=14)
    (finding,) = words.findings(FIELD, part="tab-front")
    assert (finding.code, finding.part) == ("lettering-cut", "tab-front")
    assert words.describe(FIELD).motifs == 10 - finding.measured
    assert FIELD.covers(drawn(words.elements(FIELD)))
    # as the remedy says
    assert Words(text="Heron & Quay", face="sans").findings(FIELD) == ()
    (nothing,) = Words(text="Heron", face="sans").findings(shapely.box(0, 0, 1, 1))
    assert "no room" in nothing.message


def test_small_lettering_is_found_and_what_the_remedy_says_helps():
    (finding,) = Words(text="Heron", face="serif", height=5).findings(FIELD)
    assert finding.code == "lettering-small"
    height = float(finding.remedy.split("at least ")[1].split(" mm")[0])
    assert Words(text="Heron", face="serif", height=height).findings(FIELD) == ()


@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("text", ["J", "JQ", "ARK", "ÉŻő"])
def test_a_monogram_lies_inside_its_area_and_its_frame(text, frame):
    monogram = Monogram(text=text, frame=frame)
    elements = monogram.elements(FIELD)
    letters = drawn(elements)
    assert FIELD.covers(letters)
    columns = [element for element in elements if isinstance(element, Column)]
    assert len(columns) == (frame != "none")
    for column in columns:
        inner = min((shapely.Polygon(column.rail_a), shapely.Polygon(column.rail_b)), key=lambda ring: ring.area)
        assert inner.contains(letters.buffer(0.5))
        assert FIELD.covers(shapely.MultiLineString([column.rail_a, column.rail_b]))


def test_the_middle_of_three_initials_is_the_largest_and_their_middles_are_in_line():
    first, middle, last = (element.polygon for element in Monogram(text="HHH", face="sans", height=20).elements(FIELD))
    heights = [part.bounds[3] - part.bounds[1] for part in (first, middle, last)]
    assert heights == pytest.approx(
        [20 * LETTERS["monogram_outer"].value, 20, 20 * LETTERS["monogram_outer"].value], rel=1e-3
    )
    centres = [(part.bounds[3] + part.bounds[1]) / 2 for part in (first, middle, last)]
    assert np.ptp(centres) == pytest.approx(0, abs=1e-6)


def test_a_small_monogram_is_found_and_what_the_remedy_says_helps():
    (finding,) = Monogram(text="ARK", height=6).findings(FIELD)
    height = float(finding.remedy.split("at least ")[1].split(" mm")[0])
    assert Monogram(text="ARK", height=height).findings(FIELD) == ()


@pytest.mark.parametrize("text", ["", "ABCD", "A B", 5, "\n"])
def test_other_monograms_are_refused(text):
    with pytest.raises(ParameterError, match="text is"):
        Monogram(text=text)


def test_a_spec_makes_both():
    words = decoration_from("lettering", {"text": "Heron", "face": "sans", "height": "1/2 in", "letter_spacing": 1})
    assert (words.height, words.letter_spacing) == (12.7, 1.0)
    assert decoration_from("monogram", {"text": "AR", "frame": "shield"}).frame == "shield"
    with pytest.raises(ParameterError, match="needs to be one of none, ring, shield"):
        decoration_from("monogram", {"text": "AR", "frame": "star"})


def test_a_frame_has_room_with_its_letters_however_small_the_area() -> None:
    """The frame's column is as wide around small letters as around large ones: their size has to leave room for it."""
    for side in (14.0, 20.0, 30.0, 60.0):
        area = shapely.box(0, 0, side, side)
        for frame in ("ring", "shield"):
            mark = Monogram(text="FRG", frame=frame)
            *letters, around = mark.elements(area)
            assert isinstance(around, Column)
            assert len(letters) == 3
            outer = shapely.union_all([shapely.LineString(rail) for rail in (around.rail_a, around.rail_b)])
            assert area.covers(outer)
            # hardly more would do: the frame reaches across nine tenths of the area in one direction
            left, bottom, right, top = outer.bounds
            assert max(right - left, top - bottom) > 0.85 * side
            assert "frame-cut" not in {finding.code for finding in mark.findings(area)}


@pytest.mark.parametrize("text", ["FRG", "FR", "F"])
@pytest.mark.parametrize("frame", FRAMES)
def test_an_area_of_any_size_has_a_monogram_or_says_what_it_lacks(text: str, frame: str) -> None:
    for side in np.arange(0.5, 16, 0.5):
        area = shapely.box(0, 0, side, side)
        mark = Monogram(text=text, frame=frame)
        sewn, codes = mark.elements(area), {finding.code for finding in mark.findings(area)}
        if not sewn:
            assert codes, side
        elif frame != "none" and len(sewn) == len(text):
            assert "frame-cut" in codes, side


@pytest.mark.parametrize("height", [1.0, 1.2, 1.5, 2.0])
def test_a_monogram_whose_outer_letters_are_too_small_to_draw_is_told(height: float) -> None:
    mark = Monogram(text="FRG", height=height)
    area = shapely.box(0, 0, 30, 30)
    assert mark.findings(area)
    assert bool(mark.elements(area)) == (height * LETTERS["monogram_outer"].value >= 1)


def test_a_frame_that_is_left_out_is_told_and_the_remedy_brings_it() -> None:
    area = shapely.box(0, 0, 30, 20)
    too_large = Monogram(text="FRG", frame="ring", height=11)
    found = [finding for finding in too_large.findings(area, part="tab-front") if finding.code == "frame-cut"]
    assert [(finding.part, finding.level) for finding in found] == [("tab-front", Level.WARNING)]
    assert not any(isinstance(element, Column) for element in too_large.elements(area))
    as_fits = replace(too_large, height=None)
    assert "frame-cut" not in {finding.code for finding in as_fits.findings(area)}
    assert isinstance(as_fits.elements(area)[-1], Column)
