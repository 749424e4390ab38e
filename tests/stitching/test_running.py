"""Needle points along a line: even steps, kept corners, bounded cuts, and the seam sewn twice."""

import math
from collections import Counter
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from shapely.ops import substring

from stitchcraft.design import Role
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import circle, distances_along, length_of
from stitchcraft.stitching.running import DOUBLE_GAP_MM, corners_of, double_run, repeated, run_points

SQUARE = np.array([[0.0, 0.0], [23.3, 0.0], [23.3, 17.7], [0.0, 17.7], [0.0, 0.0]])
WAVE = np.column_stack([np.linspace(0, 60, 3001), 8 * np.sin(np.linspace(0, 12, 3001))])


def steps(points):
    return np.hypot(*np.diff(points, axis=0).T)


def coordinates(low=-80.0, high=80.0):
    return st.floats(low, high, allow_nan=False, width=32)


@st.composite
def polylines(draw, most=12):
    count = draw(st.integers(2, most))
    path = draw(arrays(np.float64, (count, 2), elements=coordinates()))
    assume(length_of(path) > 0.1)
    return path


@st.composite
def smooth_curves(draw):
    """Sums of a few waves along both axes, drawn finely: bends of many radii, some of them tight."""
    t = np.linspace(0, 1, 800)
    waves = [
        sum(
            draw(st.floats(-12, 12)) * np.sin(frequency * np.pi * t + draw(st.floats(0, 6.3)))
            for frequency in (1, 2, draw(st.integers(3, 6)))
        )
        for _ in range(2)
    ]
    path = np.column_stack(waves)
    assume(length_of(path) > 5 and steps(path).max() < 1)
    return path


def cut_by(path, points, length):
    """How far the line strays from its stitches, by shapely: each vertex against the stitch it belongs to.

    A stitch's end is looked for within its longest length along the line, since a line may come back over itself.
    """
    along, total = distances_along(path), 0.0
    line = shapely.LineString(path)
    where = [0.0]
    for point in points[1:-1]:
        ahead = substring(line, where[-1], min(where[-1] + length + 1e-6, along[-1]))
        where.append(where[-1] + shapely.line_locate_point(ahead, shapely.Point(point)))
    where.append(along[-1])
    for start, end, a, b in zip(where[:-1], where[1:], points[:-1], points[1:], strict=True):
        inside = (along > start) & (along < end)
        if inside.any():
            total = max(total, shapely.distance(shapely.LineString([a, b]), shapely.points(path[inside])).max())
    return total


def test_a_straight_line_is_divided_evenly_and_both_ends_are_hit():
    points = run_points(np.array([[1.0, 2.0], [11.0, 2.0]]), length=3.0)
    assert points[0].tolist() == [1.0, 2.0]
    assert points[-1].tolist() == [11.0, 2.0]
    assert steps(points) == pytest.approx([2.5] * 4)


@pytest.mark.parametrize(("total", "length", "count"), [(2.1, 0.7, 3), (2.7, 0.9, 3), (2.1, 0.3, 7), (23.0, 2.3, 10)])
def test_a_length_that_divides_the_line_but_for_float_noise_gives_no_stitch_too_many(total, length, count):
    # 2.1 / 0.7 and 2.7 * (1 / 0.9) are 3.0000000000000004 in floating point
    assert len(run_points(np.array([[0.0, 0.0], [total, 0.0]]), length=length)) == count + 1


def test_corners_are_kept_and_each_side_is_divided_on_its_own():
    points = run_points(SQUARE, length=2.5)
    for corner in SQUARE:
        assert np.hypot(*(points - corner).T).min() == 0.0
    assert steps(points) == pytest.approx([2.33] * 10 + [2.2125] * 8 + [2.33] * 10 + [2.2125] * 8)


@pytest.mark.parametrize(("turn", "kept"), [(29.0, False), (31.0, True)])
def test_a_turn_is_a_corner_past_thirty_degrees(turn, kept):
    legs = np.array([[-0.2, 0.0], [0.0, 0.0], [0.2 * math.cos(math.radians(turn)), 0.2 * math.sin(math.radians(turn))]])
    assert len(corners_of(legs)) == (3 if kept else 2)


def test_a_slight_bend_between_long_sides_is_a_corner_but_a_vertex_of_a_drawn_curve_is_not():
    bend = np.array([[0.0, 0.0], [20.0, 0.0], [40.0, 4.0]])
    assert 20.0 in run_points(bend, length=3.0)[:, 0]
    ring = run_points(circle((0, 0), 6.0), length=2.5)
    # the ring's vertices are 0.69 mm apart: were they corners, steps would be multiples of that
    assert np.ptp(steps(ring)) < 0.12


def test_bends_get_shorter_stitches_so_that_no_stitch_cuts_them_by_more_than_the_tolerance():
    even = run_points(WAVE, length=2.5, tolerance=50.0)
    close = run_points(WAVE, length=2.5, tolerance=0.1)
    assert cut_by(WAVE, even, 2.5) > 0.15
    assert cut_by(WAVE, close, 2.5) <= 0.1 + 1e-6
    assert len(even) < len(close) < 1.5 * len(even)


@given(smooth_curves(), st.floats(0.8, 4.0), st.sampled_from([0.05, 0.1, 0.2]))
def test_smooth_curves_hold_length_and_tolerance(path, length, tolerance):
    points = run_points(path, length=length, tolerance=tolerance, shortest=0.02)
    assert steps(points).max() <= length + 1e-9
    # vertices nearer than `THINNEST_MM` to one another were dropped first: the line may lie a hair beside them
    assert cut_by(path, points, length) <= tolerance + 1e-4


@given(st.lists(st.floats(-4, 4), min_size=4, max_size=4), st.floats(1.0, 4.0))
def test_no_stitch_of_a_curve_is_a_short_remainder(heights, length):
    x = np.linspace(0, 30, 1500)
    path = np.column_stack([x, sum(h * np.sin(k * x / 6) for k, h in enumerate(heights, start=1))])
    points = run_points(path, length=length, tolerance=0.1, shortest=0.8)
    assume(len(corners_of(path, stand_off=0.1)) == 2)
    along = np.interp(points[:, 0], x, distances_along(path))
    assert np.diff(along).min() >= 0.4 - 1e-6


@given(polylines(), st.floats(0.5, 6.0))
def test_polylines_hit_their_ends_and_corners_and_never_stretch_a_stitch(path, length):
    points = run_points(path, length=length)
    assert points[0].tolist() == path[0].tolist()
    assert np.hypot(*(points[-1] - path[-1])) <= 0.01 + 1e-9
    assert steps(points).max() <= length + 1e-9
    assert np.isfinite(points).all()
    if steps(path).min() > 0.02:
        for corner in path[corners_of(path)]:
            assert np.hypot(*(points - corner).T).min() < 1e-9


@given(polylines(), st.floats(0.5, 6.0))
def test_a_line_sewn_the_other_way_round_gets_the_same_holes(path, length):
    assume(steps(path).min() > 0.02)
    there, back = run_points(path, length=length), run_points(path[::-1], length=length)
    assert len(there) == len(back)
    assert np.abs(there - back[::-1]).max() < 1e-6


@given(smooth_curves(), st.floats(-50, 50), st.integers(0, 3))
def test_moving_or_turning_a_line_moves_and_turns_its_holes(path, shift, quarters):
    turn = np.linalg.matrix_power(np.array([[0.0, 1.0], [-1.0, 0.0]]), quarters)
    moved = run_points(path @ turn + shift, length=2.5)
    still = run_points(path, length=2.5)
    assume(len(moved) == len(still))  # a count may tip over by a rounding error of the last bit
    assert np.abs(moved - (still @ turn + shift)).max() < 1e-6


def test_vertices_crowded_into_less_than_a_hair_do_not_become_corners():
    crowd = np.array([[0.0, 0.0], [5.0, 0.0], [5.0, 0.001], [5.0005, 0.0], [5.001, 0.0], [10.0, 0.0]])
    assert run_points(crowd, length=2.5)[:, 0] == pytest.approx([0.0, 2.5, 5.0, 7.5, 10.0], abs=0.01)


def test_a_loop_shorter_than_a_stitch_still_gets_somewhere():
    loop = np.array([[0.0, 0.0], [0.4, 0.1], [0.8, 0.0], [0.4, -0.1], [0.0, 0.0]])
    assert steps(run_points(loop, length=3.0)).min() > 0.3


def test_a_loop_goes_out_and_back_even_where_the_tolerance_would_let_one_stitch_of_no_length_pass():
    points = run_points(circle((0, 0), 3.0), length=100.0, tolerance=50.0)
    assert len(points) == 3
    assert steps(points).min() == pytest.approx(6.0, abs=0.05)


@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("length", {"length": 0.0}),
        ("length", {"length": math.nan}),
        ("tolerance", {"length": 2.0, "tolerance": 0.0}),
        ("shortest", {"length": 2.0, "shortest": -1.0}),
    ],
)
def test_numbers_that_are_not_above_zero_are_refused(name, options):
    with pytest.raises(ParameterError, match=f"^{name} is .*; it needs to be a length above 0 mm$"):
        run_points(SQUARE, **options)


def test_a_path_without_length_is_refused():
    with pytest.raises(ParameterError, match=r"^path is 'a path without length'"):
        run_points(np.zeros((4, 2)), length=2.0)


def test_a_triple_stitch_is_sewn_forward_back_and_forward():
    points = np.array([[0.0, 0.0], [2.0, 0.0], [4.0, 1.0]])
    order = [0, 1, 0, 1, 2, 1, 2]
    assert repeated(points).tolist() == points[order].tolist()


@given(polylines(), st.sampled_from([1, 3, 5]))
def test_every_stitch_is_repeated_and_the_line_still_advances_from_end_to_end(path, passes):
    points = run_points(path, length=2.0)
    sewn = repeated(points, passes=passes)
    assert len(sewn) == passes * (len(points) - 1) + 1
    assert sewn[0].tolist() == points[0].tolist()
    assert sewn[-1].tolist() == points[-1].tolist()
    # each pass lies on its stitch, to the last bit
    for stitch in range(len(points) - 1):
        ends = {points[stitch].tobytes(), points[stitch + 1].tobytes()}
        passes_here = sewn[passes * stitch : passes * (stitch + 1) + 1]
        assert all({a.tobytes(), b.tobytes()} == ends for a, b in pairwise(passes_here))


@pytest.mark.parametrize("passes", [0, 2, 4, True, 11, 2.5])
def test_an_even_number_of_passes_is_refused(passes):
    with pytest.raises(ParameterError, match="an odd whole number from 1 to 9"):
        repeated(np.array([[0.0, 0.0], [1.0, 0.0]]), passes=passes)


def mouth_seam(width, depth, length, tolerance=0.05):
    t = np.linspace(0, math.pi, 400)
    tip = np.column_stack([-width / 2 * np.cos(t), -depth - width / 2 * np.sin(t)])
    path = np.vstack([[-width / 2, 0.0], tip, [width / 2, 0.0]])
    return run_points(path, length=length, tolerance=tolerance)


def test_a_double_run_seam_is_sewn_in_the_order_that_uses_every_hole_twice():
    points = np.array([[0.0, 0.0], [3.0, 0.0], [6.0, 0.0], [9.0, 0.0]])
    run = double_run(points, lock=0.7)
    b, a, q = 1.4, 0.7, 8.3
    assert run.xy[:, 0] == pytest.approx([b, a, 0, 3, 6, 9, q, 9, q, 6, 3, 0, a, b])
    locks = run.role == Role.LOCK
    assert locks.tolist() == [True] * 3 + [False] * 3 + [True] * 3 + [False] * 3 + [True] * 2


@given(st.floats(30, 100), st.floats(10, 120), st.floats(0.4, 4.0), st.floats(0.4, 1.0))
def test_every_hole_of_a_double_run_seam_is_used_exactly_twice_and_none_crowds_another(width, depth, length, lock):
    points = mouth_seam(width, depth, length)
    run = double_run(points, lock=lock)
    uses = Counter(point.tobytes() for point in run.xy)
    assert set(uses.values()) == {2}
    holes = np.array([np.frombuffer(key) for key in uses])
    apart = np.hypot(*(holes[:, None] - holes[None]).transpose(2, 0, 1))
    np.fill_diagonal(apart, 9.0)
    assert apart.min() >= min(DOUBLE_GAP_MM, steps(points).min()) - 1e-9
    # the mouth stays open: it starts and ends inside the seam, and reaches both corners of it
    assert run.xy[0].tolist() == run.xy[-1].tolist()
    for corner in points[[0, -1]]:
        assert np.hypot(*(run.xy - corner).T).min() == 0.0
    seam = shapely.LineString(points)
    assert shapely.distance(seam, shapely.points(run.xy)).max() < 1e-9


@given(st.floats(2.0, 12.0), st.floats(0.4, 3.0))
def test_short_seams_are_doubled_too(total, length):
    points = run_points(np.array([[0.0, 0.0], [total, 0.0]]), length=length)
    run = double_run(points)
    assert set(Counter(point.tobytes() for point in run.xy).values()) == {2}
    holes = np.unique(run.xy[:, 0])
    assert np.diff(holes).min() >= 0.3
    assert steps(run.xy).min() >= 0.3


def test_a_closed_double_run_goes_round_twice_and_uses_every_hole_twice():
    run = double_run(run_points(circle((0, 0), 15.0), length=2.0))
    assert set(Counter(point.tobytes() for point in run.xy).values()) == {2}
    angle = np.unwrap(np.arctan2(run.xy[3:-2, 1], run.xy[3:-2, 0]))
    assert angle[-1] - angle[0] == pytest.approx(4 * math.pi, abs=0.4)


def test_a_seam_too_short_for_its_locks_is_refused():
    with pytest.raises(ParameterError, match="at least 2 mm long"):
        double_run(np.array([[0.0, 0.0], [1.9, 0.0]]))


@pytest.mark.parametrize("passes", [1, 3, 5, 7, 9])
def test_a_stitch_is_sewn_an_odd_number_of_times_up_to_nine(passes):
    points = repeated(np.array([[0.0, 0.0], [2.0, 0.0]]), passes=passes)
    assert points[:, 0].tolist() == [0.0, 2.0] * ((passes + 1) // 2)
    for other in (passes + 1, 10, 11, -1, 0):
        with pytest.raises(ParameterError, match="an odd whole number from 1 to 9"):
            repeated(points, passes=other)


@pytest.mark.parametrize("total", [2.0, 2.05, 2.2, 2.6, 3.1, 4.0])
def test_locks_of_the_shortest_seam_keep_off_its_ends_and_one_another(total):
    run = double_run(np.array([[0.0, 0.0], [total, 0.0]]))
    holes = sorted({round(float(x), 9) for x in run.xy[:, 0]})
    assert (holes[0], holes[-1]) == (0.0, total)
    assert len(holes) == 5
    assert np.diff(holes).min() >= DOUBLE_GAP_MM - 1e-9
    assert set(Counter(round(float(x), 9) for x in run.xy[:, 0]).values()) == {2}
