"""Outlines and tips taken from a drawing."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.errors import ArtworkError
from stitchcraft.geometry.drawing import first_open_path, first_outline, profile_path, tip_path
from stitchcraft.geometry.svg_paths import Drawing, read_svg

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">'
SAMPLE = Path(__file__).parents[2] / "samples" / "art" / "tip.svg"


def drawn(*paths: str) -> Drawing:
    body = "".join(f'<path d="{d}" fill="none" stroke="black"/>' for d in paths)
    return read_svg(HEAD + body + "</svg>", name="tip.svg")


def test_the_first_outline_is_closed_and_runs_counter_clockwise() -> None:
    outline = first_outline(drawn("M0 0L9 9", "M10 10v20h30v-20z", "M0 0h5v5z"))
    assert np.array_equal(outline[0], outline[-1])
    assert shapely.LinearRing(outline).is_ccw
    assert np.allclose(shapely.Polygon(outline).bounds, (10, -30, 40, -10))


def test_a_line_that_ends_where_it_starts_is_an_outline_even_without_a_closepath() -> None:
    assert shapely.Polygon(first_outline(drawn("M10 10v20h30v-20h-30"))).area == pytest.approx(600)


def test_the_first_open_path_is_as_drawn() -> None:
    path = first_open_path(drawn("M0 0h5v5z", "M10 10L20 30L30 10"))
    assert np.allclose(path, [[10, -10], [20, -30], [30, -10]])


@pytest.mark.parametrize(
    ("make", "paths", "words"),
    [
        (first_outline, ["M0 0L9 9"], "tip.svg: holds no closed line; close the path"),
        (first_outline, ["M0 0L20 20V0L0 20z"], "path#1: an outline needs to enclose something and not cross itself"),
        (first_outline, ["M0 0H20z"], "path#1: an outline needs to enclose something"),
        (first_open_path, ["M0 0h5v5z"], "tip.svg: holds no open line; cut the path open"),
        (first_open_path, ["M0 0L20 20V0L0 20"], "path#1: the line needs not to cross itself"),
        (
            tip_path,
            ["M0 0L9 9L20 0", "M0 0L9 9"],
            "tip.svg: holds 2 lines; a tip is one line from shoulder to shoulder",
        ),
        (tip_path, ["M0 0L30 40L60 3"], "the shoulders of a tip need to be level, within 2% of its width"),
        (tip_path, ["M0 40L30 0L60 40"], "a tip needs to point down the page, by 2% of its width or more"),
        (tip_path, ["M0 40H60"], "a tip needs to point down the page"),
        (tip_path, ["M0 0L20 20V0L0 20"], "the line needs not to cross itself"),
    ],
)
def test_what_is_no_outline_or_tip_is_refused_in_a_line(make: object, paths: list[str], words: str) -> None:
    with pytest.raises(ArtworkError) as refusal:
        make(drawn(*paths))  # type: ignore[operator]
    assert words in str(refusal.value)


@pytest.mark.parametrize("d", ["M10 10L40 55L70 10", "M70 10L40 55L10 10"])
def test_an_open_tip_runs_from_left_to_right_shoulder_in_shares_of_its_width(d: str) -> None:
    assert np.allclose(tip_path(drawn(d)), [(-0.5, 0), (0, -0.75), (0.5, 0)])


def test_a_half_circle_stays_a_half_circle() -> None:
    tip = tip_path(drawn("M10 10A30 30 0 0 0 70 10"))
    assert np.allclose(np.hypot(*tip.T), 0.5, atol=1e-3)
    assert tip[:, 1].min() == pytest.approx(-0.5, abs=1e-3)


def test_shoulders_that_are_slightly_off_level_are_turned_level() -> None:
    tip = tip_path(drawn("M10 10L40 50L70 11"))
    assert tip[[0, -1]].tolist() == [[-0.5, 0.0], [0.5, 0.0]]
    assert np.hypot(*(tip[1] - tip[0])) == pytest.approx(math.hypot(30, 40) / math.hypot(60, 1))


def test_a_closed_outline_is_cut_at_its_outermost_points() -> None:
    tip = tip_path(drawn("M40 0L70 10L40 55L10 10Z"))
    assert np.allclose(tip, [(-0.5, 0), (0, -0.75), (0.5, 0)])


def test_the_upright_sides_of_a_whole_tab_are_taken_off_its_tip() -> None:
    whole = tip_path(drawn("M10 5H70V30L40 60L10 30Z"))
    assert np.allclose(whole, [(-0.5, 0), (0, -0.5), (0.5, 0)])
    uneven = tip_path(drawn("M10 5H70V42L40 60L10 30Z"))
    assert np.allclose(uneven, [(-0.5, 0), (0, -0.5), (0.5, -0.2), (0.5, 0)])


def test_an_open_tip_may_bulge_past_its_shoulders_and_rise_above_them() -> None:
    tip = tip_path(drawn("M10 30C0 40 20 60 40 60S80 40 70 30"))
    assert tip[:, 0].min() < -0.52
    assert tip[:, 0].max() > 0.52
    assert tip_path(drawn("M10 30L20 20L40 60L70 30"))[:, 1].max() == pytest.approx(10 / 60)


def test_the_sample_tip_leans_to_one_side() -> None:
    tip = tip_path(read_svg(SAMPLE))
    lowest = tip[np.argmin(tip[:, 1])]
    assert lowest[0] > 0.1
    assert lowest[1] == pytest.approx(-40.2 / 76, abs=0.003)  # its depth and width in mm, as drawn


@given(
    st.lists(st.tuples(st.integers(1, 59), st.integers(12, 70)), min_size=1, max_size=6, unique_by=lambda p: p[0]),
    st.booleans(),
    st.floats(0.1, 10.0),
    st.integers(-30, 30),
)
def test_a_tip_does_not_depend_on_where_how_large_and_which_way_it_is_drawn(
    points: list[tuple[int, int]], backwards: bool, scale: float, shift: int
) -> None:
    line = [(0, 10), *sorted(points), (60, 10)]
    plain = tip_path(drawn("M" + " ".join(f"{x} {y}" for x, y in line)))
    moved = [(scale * x + shift, scale * y + shift) for x, y in (line[::-1] if backwards else line)]
    other = tip_path(drawn("M" + " ".join(f"{x:.9f} {y:.9f}" for x, y in moved)))
    assert np.allclose(plain, other, atol=1e-6)
    assert plain[[0, -1]].tolist() == [[-0.5, 0.0], [0.5, 0.0]]
    assert plain[:, 1].min() == pytest.approx((10 - max(y for _, y in points)) / 60)


PROFILE_HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60">'


@pytest.mark.parametrize(
    "body",
    [
        '<path d="M10 5 C30 5 60 20 70 50" fill="none" stroke="red"/>',
        '<path d="M70 50 C60 20 30 5 10 5" fill="none" stroke="red"/>',
        '<path d="M10 50V5C30 5 60 20 70 50Z"/>',
        '<path d="M10 50H70C60 20 30 5 10 5Z"/>',
    ],
)
def test_a_profile_is_the_line_from_seam_to_seam_however_it_is_drawn(body: str) -> None:
    path = profile_path(read_svg(PROFILE_HEAD + body + "</svg>"))
    assert path[[0, -1]].tolist() == [[0.0, 1.0], [1.0, 0.0]]
    # the cubic's own point at a half: an eighth of the ends and three eighths of the controls
    middle = (np.array([0, 1]) + 3 * np.array([20 / 60, 1]) + 3 * np.array([50 / 60, 30 / 45]) + np.array([1, 0])) / 8
    assert np.hypot(*(path - middle).T).min() < 0.03
    assert shapely.LineString(path).distance(shapely.Point(middle)) < 1e-3


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ('<path d="M10 50L70 5" stroke="red"/>', "needs to run from the upper left to the lower right"),
        ('<path d="M10 5H70" stroke="red"/>', "needs to run from the upper left"),
        ('<path d="M10 5L70 50M0 0L9 9" stroke="red"/>', "holds 2 lines; a profile is one line"),
        ('<path d="M10 5L70 50V5L10 50" stroke="red"/>', "not to cross itself"),
    ],
)
def test_a_drawing_that_is_no_profile_is_refused(body: str, says: str) -> None:
    with pytest.raises(ArtworkError, match=says):
        profile_path(read_svg(PROFILE_HEAD + body + "</svg>"))
