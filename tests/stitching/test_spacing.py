"""No stitch too short, none too long."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from stitchcraft.stitching.spacing import LONGEST_MM, SHORTEST_MM, divided, far_enough, parts_of_moves
from stitchcraft.units import to_units


def steps(points):
    return np.hypot(*np.diff(points, axis=0).T)


def along(*x):
    return np.array([[value, 0.0] for value in x])


@st.composite
def walks(draw):
    moves = draw(arrays(np.float64, (draw(st.integers(1, 30)), 2), elements=st.floats(-0.625, 0.625, width=32)))
    return np.vstack([[0.0, 0.0], np.cumsum(moves, axis=0)])


@pytest.mark.parametrize(
    ("points", "kept"),
    [
        (along(0, 1, 2), [0, 1, 2]),
        (along(0, 0.1, 1, 2), [0, 2, 3]),
        (along(0, 1, 1.2, 1.29, 2), [0, 1, 4]),
        (along(0, 1, 2, 2.1), [0, 1, 3]),  # the end stays, so the one before it goes
        (along(0, 1, 1.2, 1.4, 1.6, 3), [0, 1, 3, 5]),
        (along(0, 0.1, 0.2), [0]),  # too short to be sewn at all
        (along(0), [0]),
        (along(0, 1, 0), [0, 1, 2]),
    ],
)
def test_points_too_near_the_one_before_are_left_out(points, kept):
    assert far_enough(points).tolist() == kept


def test_a_fixed_point_pushes_the_free_one_before_it_out():
    points = along(0, 1, 1.2, 2)
    assert far_enough(points).tolist() == [0, 1, 3]
    assert far_enough(points, fixed=np.array([False, False, True, False])).tolist() == [0, 2, 3]
    assert far_enough(points, fixed=np.array([False, True, True, False])).tolist() == [0, 1, 3]


def test_a_stitch_that_only_rounding_makes_too_short_is_left_out_too():
    # 0.304 mm as drawn, from unit (10, 0) to unit (12, 2): 0.283 mm in the file
    points = np.array([[0.0, 0.0], [1.03, 0.03], [1.245, 0.245], [3.0, 0.0]])
    assert steps(points)[1] > SHORTEST_MM
    assert far_enough(points).tolist() == [0, 1, 3]


@given(walks())
def test_what_is_left_is_far_enough_as_drawn_and_as_rounded_and_both_ends_stay(points):
    kept = far_enough(points)
    assert (np.diff(kept) > 0).all()
    assert kept[0] == 0
    if len(kept) == 1:
        return
    assert kept[-1] == len(points) - 1
    assert steps(points[kept]).min() >= SHORTEST_MM - 1e-9
    assert steps(to_units(points[kept]) * 0.1).min() >= SHORTEST_MM - 1e-9
    assert far_enough(points[kept]).tolist() == list(range(len(kept)))


@given(walks())
def test_no_more_is_left_out_than_by_going_from_point_to_point(points):
    rounded = to_units(points) * 0.1
    greedy = [0]
    for index in range(1, len(points) - 1):
        last = greedy[-1]
        gap = min(np.hypot(*(points[index] - points[last])), np.hypot(*(rounded[index] - rounded[last])))
        if gap >= SHORTEST_MM - 1e-9:
            greedy.append(index)
    kept = far_enough(points).tolist()
    assert kept[:-1] == greedy[: len(kept) - 1]


def test_long_moves_are_divided_into_equal_parts_that_stay_within_the_limit():
    points = np.array([[0.0, 0.0], [30.0, 5.0], [31.0, 5.0], [31.0, -20.0]])
    parts = parts_of_moves(points)
    assert parts.tolist() == [3, 1, 3]
    made, target = divided(points, parts)
    assert target.tolist() == [0, 1, 1, 1, 2, 3, 3, 3]
    assert made[[3, 4, 7]].tolist() == points[1:].tolist()
    assert steps(made)[:3] == pytest.approx([np.hypot(30, 5) / 3] * 3)
    assert np.abs(np.diff(made, axis=0)).max() <= LONGEST_MM


@given(arrays(np.float64, (6, 2), elements=st.floats(-200, 200, width=32)))
def test_divided_moves_never_go_past_twelve_millimetres_once_rounded(points):
    made, target = divided(points, parts_of_moves(points))
    assert np.abs(np.diff(to_units(made), axis=0)).max() <= 120
    last_of_each = np.append(np.diff(target) > 0, True)
    assert made[last_of_each].tolist() == points.tolist()
