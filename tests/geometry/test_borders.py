"""Paired rails along a line: where they run, that they meet at corners, and that they never fold."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from stitchcraft.arrays import turned
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.borders import MITRE_DEG, border_rails
from stitchcraft.geometry.curves import arc, circle, closed, joined


def crossings(left, right):
    """How many pairs of lines cross, not counting lines that share an end."""
    short = 1e-5 * (right - left)
    lines = shapely.linestrings(np.stack([left + short, right - short], axis=1))
    one, two = shapely.STRtree(lines).query(lines, predicate="crosses")
    return int(np.count_nonzero(two > one))


def elbow(turn_deg, leg=20.0):
    turn = math.radians(turn_deg)
    return np.array([(-leg, 0.0), (0.0, 0.0), (leg * math.cos(turn), leg * math.sin(turn))])


def star(points=5, outer=22.0, inner=9.0):
    angle = np.arange(2 * points) * math.pi / points + math.pi / 2
    radius = np.where(np.arange(2 * points) % 2 == 0, outer, inner)
    return closed(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]))


def rounded_rectangle():
    shape = shapely.box(4, 4, 16, 10).buffer(4, quad_segs=32)
    return shapely.get_coordinates(shapely.orient_polygons(shape).exterior)


SINE = np.column_stack([np.linspace(0, 20, 400), 2.5 * np.sin(0.9 * np.linspace(0, 20, 400))])
TURN = np.linspace(0.0, 1.0, 200)
SCALLOPS = joined(*[arc((8.0 * i, 0.0), 4.0, 180.0, 0.0) for i in range(4)])
NEVER_FOLD = {
    **{f"corner of {turn} degrees": (elbow(turn), 3.5) for turn in (5, 16, 30, 60, 90, 100, 101, 120, 150, 165)},
    **{f"corner of -{turn} degrees": (elbow(-turn), 3.5) for turn in (30, 90, 120, 150)},
    "rectangle": (closed([(0, 0), (20, 0), (20, 10), (0, 10)]), 3.5),
    "rounded rectangle": (rounded_rectangle(), 3.5),
    "star": (star(), 3.0),
    "scallops": (SCALLOPS, 3.0),
    "sine tighter than the width": (SINE, 3.5),
    "spiral": (np.column_stack([(0.3 + 8 * TURN) * np.cos(9 * TURN), (0.3 + 8 * TURN) * np.sin(9 * TURN)]), 2.5),
    "bend that ends in itself": (joined([(-10, 0)], arc((0, 1), 1, -90, 0), [(1, 12)]), 3.5),
    "nothing but a tight arc": (arc((0, 1), 1, -90, 0), 3.5),
    "zigzag": (np.column_stack([1.6 * np.arange(10), 5.0 * (np.arange(10) % 2)]), 1.4),
    "corners with no room between": (np.array([(-9, 0), (0, 0), (0.5, 0.5), (0.5, 9.0)]), 3.5),
}


@pytest.mark.parametrize(("path", "width"), NEVER_FOLD.values(), ids=NEVER_FOLD.keys())
def test_lines_between_the_rails_never_cross(path, width):
    left, right = border_rails(path, width=width)
    assert left.shape == right.shape
    assert crossings(left, right) == 0


def test_crossings_are_noticed():
    # the check above could not fail otherwise: rails moved sideways without folding away the loops do cross
    side = np.diff(SINE, axis=0)
    normal = np.column_stack([-side[:, 1], side[:, 0]]) / np.hypot(*side.T)[:, None]
    assert crossings(SINE[:-1] + 1.75 * normal, SINE[:-1] - 1.75 * normal) > 100


def test_shift_moves_the_column_to_the_left_of_travel():
    left, right = border_rails([(0, 0), (10, 0)], width=3, shift=1.5)
    assert left.tolist() == [[0, 3], [10, 3]]
    assert right.tolist() == [[0, 0], [10, 0]]


def test_inner_ends_meet_at_the_inner_mitre_point_and_the_outer_corner_is_sharp():
    left, right = border_rails(closed([(0, 0), (20, 0), (20, 10), (0, 10)]), width=3)
    for corner in [(1.5, 1.5), (18.5, 1.5), (18.5, 8.5), (1.5, 8.5)]:
        assert np.count_nonzero(np.hypot(*(left - corner).T) < 1e-9) >= 3
    for tip in [(-1.5, -1.5), (21.5, -1.5), (21.5, 11.5), (-1.5, 11.5)]:
        assert np.hypot(*(right - tip).T).min() < 1e-9


@pytest.mark.parametrize("turn", [30, 60, 90, MITRE_DEG])
def test_tip_of_a_mitre_stands_out_as_trigonometry_says(turn):
    _, right = border_rails(elbow(turn), width=3)
    assert np.hypot(*right[len(right) // 2]) == pytest.approx(1.5 / math.cos(math.radians(turn) / 2))


@pytest.mark.parametrize("turn", [101, 120, 150])
def test_sharper_turns_are_fanned_around_the_corner(turn):
    _, right = border_rails(elbow(turn), width=3)
    fan = right[(right[:, 0] > 1e-9) & (np.hypot(*right.T) < 1.6)]
    assert len(fan) > 5
    assert np.hypot(*fan.T) == pytest.approx(1.5)


@pytest.mark.parametrize("shift", [-3.0, 0.0, 1.2])
def test_rails_of_a_circle_are_circles(shift):
    left, right = border_rails(circle((3, 4), 12), width=4, shift=shift)
    # counter-clockwise: the left side is the inner one
    assert np.hypot(*(left - (3, 4)).T) == pytest.approx(12 - 2 - shift, abs=0.02)
    assert np.hypot(*(right - (3, 4)).T) == pytest.approx(12 + 2 - shift, abs=0.02)


@pytest.mark.parametrize("path", [rounded_rectangle(), star()], ids=["rounded rectangle", "star"])
def test_rails_of_a_closed_path_close_and_start_at_its_first_point(path):
    left, right = border_rails(path, width=3)
    for rail in (left, right):
        assert rail[0].tolist() == rail[-1].tolist()
    start = shapely.LineString([left[0], right[0]])
    assert start.distance(shapely.Point(path[0])) < 0.02


def test_border_of_an_area_is_its_outward_offset_less_its_inward_one():
    # shapely's buffer is the other opinion
    path = rounded_rectangle()
    left, right = border_rails(path, width=3.5)
    ring = shapely.Polygon(right, [left])
    shape = shapely.Polygon(path)
    true = shape.buffer(1.75, quad_segs=64).difference(shape.buffer(-1.75, quad_segs=64))
    assert ring.symmetric_difference(true).area < 2e-3 * true.area


def test_scallops_meet_where_their_circles_do():
    # circles of radius 4 + 1.5 about (0, 0) and (8, 0) meet at x = 4, y = sqrt(5.5^2 - 4^2)
    left, _ = border_rails(SCALLOPS, width=3)
    assert np.hypot(*(left - (4.0, math.sqrt(5.5**2 - 16))).T).min() < 0.02


def test_mirrored_path_has_mirrored_rails_with_the_sides_changed():
    left, right = border_rails(SINE, width=3.5)
    mirrored_left, mirrored_right = border_rails(SINE * (1, -1), width=3.5)
    assert np.allclose(mirrored_left, right * (1, -1), atol=1e-6)
    assert np.allclose(mirrored_right, left * (1, -1), atol=1e-6)


def test_repeated_points_change_nothing():
    path = np.array([(0.0, 0.0), (5.0, 0.0), (5.0, 0.0), (5.0, 6.0)])
    again = border_rails(path, width=2)
    assert all(np.array_equal(a, b) for a, b in zip(again, border_rails(path[[0, 1, 3]], width=2), strict=True))


@pytest.mark.parametrize(
    ("path", "width", "words"),
    [
        ([(1, 1)], 3, "path is 'a line without length'; it needs to be at least two different points"),
        ([(1, 1), (1, 1)], 3, "path is 'a line without length'; it needs to be at least two different points"),
        ([(0, 0), (math.nan, 1)], 3, "path is 'an array of shape (2, 2)'; it needs to be finite points (x, y) in mm"),
        ("line", 3, "path is 'line'; it needs to be points (x, y) in mm"),
        ([(0, 0), (1, 0)], 0, "width is 0; it needs to be a number from 0.001 to 5000"),
    ],
)
def test_what_cannot_be_a_border_is_refused_in_one_line(path, width, words):
    with pytest.raises(ParameterError) as caught:
        border_rails(path, width=width)
    assert str(caught.value) == words


@given(
    points=st.lists(st.tuples(st.floats(-30, 30), st.floats(-30, 30)), min_size=0, max_size=12),
    width=st.floats(0.5, 12),
    shift=st.floats(-6, 6),
    ring=st.booleans(),
)
def test_any_line_gives_paired_finite_rails_or_a_parameter_error(points, width, shift, ring):
    path = [*points, points[0]] if ring and points else points
    try:
        left, right = border_rails(path, width=width, shift=shift)
    except ParameterError:
        assert len({(round(x, 5), round(y, 5)) for x, y in points}) < 3
        return
    assert left.shape == right.shape
    assert np.isfinite(left).all()
    assert np.isfinite(right).all()


@settings(max_examples=30)
@given(
    amplitude=st.floats(0, 3),
    wavelength=st.floats(8, 40),
    width=st.floats(1, 6),
    angle=st.floats(0, 360),
)
def test_rails_of_a_gentle_curve_keep_their_distance_from_it(amplitude, wavelength, width, angle):
    # the sharpest bend of a sin(kx) has radius 1 / (a k^2); the rails are exact while half the width is less
    k = 2 * math.pi / wavelength
    if amplitude * k * k * width / 2 > 0.8:
        amplitude = 1.6 / (k * k * width)
    x = np.linspace(0, 40, 600)
    path = np.column_stack([x, amplitude * np.sin(k * x)])
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    path = path @ np.array([[cos, sin], [-sin, cos]])
    left, right = border_rails(path, width=width)
    line = shapely.LineString(path)
    for rail in (left, right):
        distance = shapely.distance(line, shapely.points(rail))
        assert distance == pytest.approx(width / 2, abs=0.01)
    assert crossings(left, right) == 0


BEND = joined([(-10, 0)], arc((0, 1), 1, -90, 0), [(1, 1.8)])
HOOK = joined([(-10, 0)], arc((0, 1), 1, -90, 60))
ENDS = {
    **{
        name: NEVER_FOLD[name]
        for name in ("sine tighter than the width", "zigzag", "nothing but a tight arc", "scallops")
    },
    "bend that ends in itself": NEVER_FOLD["bend that ends in itself"],
    "corners with no room between": NEVER_FOLD["corners with no room between"],
    "bend with a short end": (BEND, 3.5),
    "hook that ends in its bend": (HOOK, 3.5),
    "short side before a corner": (np.array([(0.0, 0.0), (1.0, 0.0), (1.6, 1.2), (2.0, 20.0)]), 4.0),
}


# an arc tighter than the column and nothing else has no side to end on: there each way makes its own end
@pytest.mark.parametrize("name", [name for name in ENDS if name != "nothing but a tight arc"])
def test_the_same_line_backwards_has_the_same_rails_with_the_sides_changed(name):
    path, width = ENDS[name]
    left, right = border_rails(path, width=width)
    back_left, back_right = border_rails(path[::-1], width=width)
    for one, other in ((left, back_right), (right, back_left)):
        apart = shapely.hausdorff_distance(shapely.LineString(one), shapely.LineString(other))
        assert apart < 0.05
        assert one[0] == pytest.approx(other[-1], abs=0.05)
        assert one[-1] == pytest.approx(other[0], abs=0.05)


@pytest.mark.parametrize(("path", "width"), ENDS.values(), ids=ENDS.keys())
def test_no_line_of_a_column_reaches_past_half_its_width_and_its_mitre(path, width):
    # the tip of a mitre stands out by 1 / cos(half the turn), at most 1 / cos 50 degrees
    line = shapely.LineString(path)
    for rail in border_rails(path, width=width):
        assert shapely.distance(line, shapely.points(rail)).max() <= width / 2 / math.cos(math.radians(50)) + 1e-6


@pytest.mark.parametrize(("path", "width"), ENDS.values(), ids=ENDS.keys())
def test_a_line_turned_and_moved_has_its_rails_turned_and_moved(path, width):
    for mine, other in zip(
        border_rails(path, width=width), border_rails(turned(path, 37, (3, -8)), width=width), strict=True
    ):
        assert (
            shapely.hausdorff_distance(shapely.LineString(turned(mine, 37, (3, -8))), shapely.LineString(other)) < 1e-3
        )


@pytest.mark.parametrize("shift", [math.nan, math.inf, 5001.0, "left"])
def test_a_shift_that_is_no_length_is_refused(shift):
    with pytest.raises(ParameterError, match="shift is"):
        border_rails([(0, 0), (10, 0)], width=3, shift=shift)


@pytest.mark.parametrize(("turn", "half"), [(120, 1.5), (150, 4.0)])
def test_a_fan_takes_as_many_steps_as_its_flatness_asks_and_one_of_them_through_the_corner(turn, half):
    # the sagitta of a step of the angle a is half (1 - cos(a / 2)), and no more than 0.01 mm
    _, right = border_rails(elbow(turn), width=2 * half)
    fan = right[(np.hypot(*right.T) < half + 1e-6) & (right[:, 0] > -1e-6)]
    angles = np.unwrap(np.arctan2(fan[:, 1], fan[:, 0]))
    steps = np.diff(angles)[np.abs(np.diff(angles)) > 1e-9]
    assert half * (1 - math.cos(np.abs(steps).max() / 2)) <= 0.01 + 1e-9
    assert len(steps) % 2 == 0
    assert len(steps) <= math.radians(turn) / (2 * math.acos(1 - 0.01 / half)) + 3
    middle = np.radians(turn) / 2 - np.pi / 2
    assert np.abs(angles - middle).min() < 1e-6
