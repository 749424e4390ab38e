"""Sketches are true to scale, and show words as words."""

import io
import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import shapely
import svgelements

from stitchcraft.errors import ParameterError
from stitchcraft.geometry.sketch import Sketch, simplified, words_width

SVG = "{http://www.w3.org/2000/svg}"
SQUARE = np.array([[0.0, 0.0], [25.4, 0.0], [25.4, 50.8], [0.0, 50.8]])
HOSTILE = '</title><script>alert("1")</script> & \x00\x1b ]]>'


def boxes(text):
    """What an unrelated reader of SVG makes of each path, at one pixel a millimetre."""
    drawing = svgelements.SVG.parse(io.StringIO(text), ppi=25.4, reify=True)
    return [element.bbox() for element in drawing.elements() if isinstance(element, svgelements.Path)]


def test_an_inch_is_an_inch_to_another_reader():
    sketch = Sketch()
    sketch.area([SQUARE], fill="#000000")
    left, top, right, bottom = boxes(sketch.svg("square"))[0]
    assert (right - left, bottom - top) == pytest.approx((25.4, 50.8), rel=1e-6)


def test_up_is_up():
    sketch = Sketch()
    sketch.lines([[[0, 0], [0, 10]]], stroke="#000000", width=0.1)
    path = ET.fromstring(sketch.svg("up")).find(f"{SVG}path")
    assert path.get("d") == "M0 0L0 -10"


def test_a_wide_picture_is_shown_smaller_and_stays_in_millimetres():
    sketch = Sketch()
    sketch.rectangle((0, 0, 400, 100))
    root = ET.fromstring(sketch.svg("wide", widest=100))
    assert (root.get("width"), root.get("height")) == ("100mm", "25mm")
    assert root.get("viewBox") == "0 -100 400 100"


def test_no_position_has_more_than_two_decimals():
    sketch = Sketch()
    sketch.lines([np.random.default_rng(5).normal(size=(200, 2)) * 100], stroke="#000000", width=1 / 3)
    sketch.circle((1 / 3, 2 / 3), 1 / 7, stroke="#000000", width=1 / 9)
    assert not re.search(r"\.\d{3}", sketch.svg("many"))


@pytest.mark.parametrize("value", [-0.001, 0.0, -0.0])
def test_zero_has_no_sign(value):
    sketch = Sketch()
    sketch.dots([[value, value]], colour="#000000", diameter=1)
    assert 'd="M0 0h0"' in sketch.svg("zero")


def test_words_and_titles_are_shown_as_text_whatever_they_hold():
    sketch = Sketch()
    sketch.words((0, 0), HOSTILE, size=3, colour="#000000")
    root = ET.fromstring(sketch.svg(HOSTILE))
    kept = HOSTILE.replace("\x00", "\ufffd").replace("\x1b", "\ufffd")
    assert [element.text for element in root.iter() if element.text and element.text.strip()] == [kept, kept]
    assert {element.tag.removeprefix(SVG) for element in root.iter()} == {"svg", "title", "text"}


@pytest.mark.parametrize(("angle", "size"), [(0, (1, 0)), (90, (0, 1))])
def test_room_is_kept_for_words_the_way_they_run(angle, size):
    sketch = Sketch()
    sketch.words((0, 0), "twenty letters or so", size=2, colour="#000000", angle_deg=angle)
    left, bottom, right, top = sketch.bounds
    long, high = words_width("twenty letters or so", 2), 2
    assert (right - left, top - bottom) == pytest.approx((long, high) if size == (1, 0) else (high, long))


def test_holes_stay_open():
    ring = shapely.Point(0, 0).buffer(10).difference(shapely.Point(0, 0).buffer(5))
    sketch = Sketch()
    sketch.area(ring, fill="#000000")
    path = ET.fromstring(sketch.svg("ring")).find(f"{SVG}path")
    assert path.get("d").count("M") == 2
    assert path.get("fill-rule") == "evenodd"


def test_what_is_drawn_later_lies_on_top_and_a_group_where_it_was_begun():
    sketch = Sketch()
    inner = sketch.group("inner")
    sketch.rectangle((0, 0, 1, 1))
    inner.circle((5, 5), 2, stroke="#000000", width=0.1)
    root = ET.fromstring(sketch.svg("order"))
    assert [child.tag.removeprefix(SVG) for child in root] == ["title", "g", "rect"]
    assert sketch.bounds == (0, 0, 6, 6)


def test_an_empty_sketch_is_refused():
    sketch = Sketch()
    sketch.group("empty")
    sketch.lines([], stroke="#000000", width=1)
    assert sketch.bounds is None
    with pytest.raises(ParameterError, match="a drawing with something in it"):
        sketch.svg("nothing")


@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_a_place_that_is_no_number_is_refused(value):
    with pytest.raises(ParameterError, match="finite"):
        Sketch().lines([[[0, 0], [value, 1]]], stroke="#000000", width=1)


def test_a_simplified_line_keeps_its_ends_and_strays_no_farther_than_told():
    t = np.linspace(0, 5, 2000)
    curve = np.column_stack([10 * np.cos(t), 10 * np.sin(t)])
    fewer = simplified(curve, tolerance=0.02)
    assert len(fewer) < 100
    assert (fewer[0] == curve[0]).all()
    assert (fewer[-1] == curve[-1]).all()
    assert shapely.hausdorff_distance(shapely.LineString(curve), shapely.LineString(fewer)) <= 0.02
