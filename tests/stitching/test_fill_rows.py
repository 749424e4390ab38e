"""Needle points along rows, against the lattice they lie on and against trying everything."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.stitching.fill_rows import bends_of, row_points, thinned, without_short_stitches, without_short_turns
from stitchcraft.stitching.fill_sections import rows_of


def rows_between(left, right, *, count=8, spacing=0.5):
    """Rows of a box from left to right, row 0 the lowest."""
    rows = rows_of(shapely.box(left, 0, right, count * spacing), spacing=spacing, angle=0)
    assert len(rows.row) == count
    return rows


def one_row(left, right, *, row=0, length=4.0, repeat=4, shortest=0.3, backward=False):
    rows = rows_between(left, right)
    points, start = row_points(
        rows, np.array([row]), np.array([backward]), length=length, repeat=repeat, shortest=shortest
    )
    assert start.tolist() == [0, len(points)]
    assert (points[:, 1] == rows.y[row]).all()
    return points[:, 0].tolist()


def test_points_lie_on_a_lattice_from_nought_that_shifts_by_a_share_each_row():
    assert one_row(0, 14) == pytest.approx([0, 4, 8, 12, 14])
    assert one_row(0, 14, row=1) == pytest.approx([0, 1, 5, 9, 13, 14])
    assert one_row(0, 14, row=3) == pytest.approx([0, 3, 7, 11, 14])
    assert one_row(0, 14, row=4) == pytest.approx([0, 4, 8, 12, 14])
    assert one_row(-7, 7, row=2) == pytest.approx([-7, -6, -2, 2, 6, 7])
    assert one_row(0, 14, row=1, repeat=2) == pytest.approx([0, 2, 6, 10, 14])


def test_a_row_sewn_the_other_way_has_the_same_points():
    for row in range(4):
        assert one_row(0.3, 14.2, row=row, backward=True) == one_row(0.3, 14.2, row=row)[::-1]


def test_a_point_too_near_to_an_end_halves_the_way_between_its_neighbours():
    # a quarter of a stitch of 4 mm, and at most row_end_shortest, is the least at an end
    assert one_row(3.8, 14) == pytest.approx([3.8, 5.9, 8, 12, 14])  # 4 is 0.2 in: half of 3.8 and 8
    assert one_row(0, 12.2) == pytest.approx([0, 4, 8, 10.1, 12.2])


def test_no_point_lies_at_an_end_twice():
    assert one_row(4, 12) == pytest.approx([4, 8, 12])
    assert one_row(0, 8) == pytest.approx([0, 4, 8])


def test_a_single_point_near_an_end_goes_or_moves_to_the_middle():
    assert one_row(3.9, 7.0) == pytest.approx([3.9, 7.0])  # no longer than a stitch without it
    assert one_row(3.9, 7.9) == pytest.approx([3.9, 7.9])  # just a stitch
    assert one_row(3.9, 7.95) == pytest.approx([3.9, 5.925, 7.95])  # a hair more: it lies in the middle
    assert one_row(0.1, 4.3) == pytest.approx([0.1, 2.2, 4.3])
    # both of two near their ends: one of them is left, in the middle
    assert one_row(3.9, 8.1) == pytest.approx([3.9, 6.0, 8.1])
    # a point well inside stays
    assert one_row(2, 7) == pytest.approx([2, 4, 7])


@given(
    st.floats(-20, 20), st.floats(0.6, 30), st.floats(1.0, 6.0), st.integers(1, 6), st.integers(0, 7),
    st.floats(0.2, 0.5),
)  # fmt: skip
def test_no_stitch_is_longer_than_asked_nor_short_where_there_is_room(left, width, length, repeat, row, shortest):
    x = np.array(one_row(left, left + width, row=row, length=length, repeat=repeat, shortest=shortest))
    assert (x[0], x[-1]) == pytest.approx((left, left + width))
    steps = np.diff(x)
    assert steps.max() <= length + 1e-6
    if width >= 2 * shortest:
        assert steps.min() >= min(shortest, length / 2, width / 2) - 1e-6
    # away from the ends they are on the lattice
    inner = x[2:-2]
    off = np.mod(inner - row % repeat * length / repeat + 1e-6, length)
    assert (off < 3e-6).all()


def test_a_row_too_narrow_for_two_points_takes_one_in_its_middle():
    rows = rows_of(shapely.box(2, 0, 2.4, 3), spacing=0.5, angle=0, narrow=0.6)
    points, start = row_points(rows, np.arange(6), np.zeros(6, dtype=bool), length=4.0, repeat=4, shortest=0.3)
    assert points[:, 0] == pytest.approx(2.2)
    assert start.tolist() == list(range(7))


def turns_of(ends_and_heads, left_of, **options):
    """Rows of two points each: x of both ends, one row above the other by 0.4 mm."""
    points = np.array([(x, 0.4 * k) for k, row in enumerate(ends_and_heads) for x in row])
    start = np.arange(0, 2 * len(ends_and_heads) + 1, 2)
    return without_short_turns(points, start, np.array(left_of), 1.0, **options).tolist()


def test_of_a_short_turn_the_point_that_lies_further_in_goes():
    # to the right and back, the upper row reaching 0.5 further: the end of the lower row goes
    assert turns_of([(0, 10), (10.5, 0)], [1, -1]) == [True, False, True, True]
    assert turns_of([(0, 10.5), (10, 0)], [1, -1]) == [True, True, False, True]
    # the same at the left
    assert turns_of([(10, 0), (-0.5, 10)], [-1, 1]) == [True, False, True, True]
    assert turns_of([(10, -0.5), (0, 10)], [-1, 1]) == [True, True, False, True]
    # a turn long enough keeps both; the last row of a section keeps its head
    assert turns_of([(0, 10), (11, 0)], [1, -1]) == [True] * 4
    assert turns_of([(0, 10.5), (10, 0)], [1, -1], last=np.array([False, True])) == [True, False, True, True]


def test_a_row_of_one_point_is_never_taken_away():
    points = np.array([(0.0, 0.0), (0.1, 0.4), (5.0, 0.4)])
    assert without_short_turns(points, np.array([0, 1, 3]), np.array([1, 1]), 1.0).tolist() == [True, True, True]
    assert without_short_turns(points, np.array([0, 1, 3]), np.array([-1, 1]), 1.0).tolist() == [True, False, True]


def strays(path, chosen):
    line = shapely.LineString(path[chosen])
    return shapely.distance(line, shapely.points(path)).max()


@given(st.integers(0, 2**20), st.sampled_from([0.05, 0.3, 1.0]))
def test_between_bends_a_path_strays_by_no_more_than_the_tolerance(seed, tolerance):
    random = np.random.default_rng(seed)
    path = np.cumsum(random.uniform(-1, 1, (40, 2)), axis=0)
    bends = bends_of(path, tolerance)
    assert (bends[0], bends[-1]) == (0, 39)
    assert (np.diff(bends) > 0).all()
    assert strays(path, bends) <= tolerance + 1e-9


def test_a_bend_that_comes_twice_is_found_twice():
    path = np.array([(0, 0), (5, 0), (5, 5), (0, 5), (5, 0), (9, 9)], dtype=float)
    assert bends_of(path, 0.1).tolist() == [0, 1, 2, 3, 4, 5]
    assert bends_of(np.array([(0, 0), (1, 0), (2, 0.01), (3, 0)]), 0.1).tolist() == [0, 3]


@pytest.mark.parametrize(("total", "step", "count"), [(10, 2.5, 4), (10, 2.4, 5), (10, 3, 4), (2, 3, 1), (2.1, 0.7, 3)])
def test_a_straight_path_is_thinned_to_even_steps(total, step, count):
    path = np.column_stack([np.linspace(0, total, 2101), np.zeros(2101)])
    chosen = thinned(path, step, 0.05)
    assert len(chosen) == count + 1
    assert np.diff(path[chosen, 0]) == pytest.approx(np.full(count, total / count), abs=total / 2100 + 1e-9)


def test_an_l_keeps_its_corner_and_divides_each_leg():
    leg = np.linspace(0, 9, 901)
    path = np.vstack([np.column_stack([leg, 0 * leg]), np.column_stack([0 * leg[1:] + 9, leg[1:]])])
    chosen = thinned(path, 4.0, 0.1)
    assert 900 in chosen
    assert path[chosen].round(2).tolist() == [[0, 0], [3, 0], [6, 0], [9, 0], [9, 3], [9, 6], [9, 9]]


@given(st.integers(0, 2**20), st.sampled_from([0.3, 0.8]), st.integers(0, 30))
def test_no_two_neighbours_are_left_too_near(seed, shortest, count):
    random = np.random.default_rng(seed)
    points = np.cumsum(random.uniform(-0.6, 0.9, (count, 2)), axis=0)
    kept = without_short_stitches(points, shortest)
    assert kept.tolist() == sorted(set(kept.tolist()))
    if count:
        assert (kept[0], kept[-1]) == (0, count - 1)
    steps = np.hypot(*np.diff(points[kept], axis=0).T)
    assert len(kept) <= 2 or steps.min() >= shortest - 1e-9
    # none is left out that was far from all others
    for gone in sorted(set(range(count)) - set(kept.tolist())):
        assert np.sort(np.hypot(*(points - points[gone]).T))[1] < shortest


def line_of(*x):
    return np.array([(float(v), 0.0) for v in x])


def test_points_are_left_out_from_the_first_on_and_the_last_stays():
    assert without_short_stitches(line_of(0, 1, 2, 3), 1.0).tolist() == [0, 1, 2, 3]
    assert without_short_stitches(line_of(0, 0.5, 1, 1.5, 2.5), 1.0).tolist() == [0, 2, 4]
    assert without_short_stitches(line_of(0, 2, 4, 4.5), 1.0).tolist() == [
        0,
        1,
        3,
    ]  # the last pushes out the one before
    assert without_short_stitches(line_of(0, 0.2), 1.0).tolist() == [0, 1]
    assert without_short_stitches(line_of(0, 0.2, 0.4), 1.0).tolist() == [0, 2]


def test_a_point_that_is_held_pushes_out_the_one_before_it():
    held = np.array([False, False, True, False, False])
    assert without_short_stitches(line_of(0, 2, 2.5, 5, 8), 1.0, held).tolist() == [0, 2, 3, 4]
    assert without_short_stitches(line_of(0, 2, 2.5, 5, 8), 1.0).tolist() == [0, 1, 3, 4]
    # but never the first, and of two that are held the earlier stays
    first = np.array([False, True, False, False, False])
    assert without_short_stitches(line_of(0, 0.5, 3, 5, 8), 1.0, first).tolist() == [0, 2, 3, 4]
    both = np.array([False, True, True, False, False])
    assert without_short_stitches(line_of(0, 2, 2.5, 5, 8), 1.0, both).tolist() == [0, 1, 3, 4]


def test_all_that_crowd_the_last_point_go():
    # the third is far enough from the second, and both are too near to the last
    points = np.array([(0.0, 0.0), (5.0, 0.0), (5.6, 0.9), (5.0, 0.8)])
    assert without_short_stitches(points, 1.0).tolist() == [0, 3]
