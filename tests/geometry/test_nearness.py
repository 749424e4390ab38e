"""Pairs, neighbourhoods and sliding squares agree with looking at every point."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.geometry.nearness import (
    crowded_tiles,
    may_reach,
    near_pairs,
    window_sums,
    within_reach,
)


@st.composite
def clouds(draw, least=1):
    random = np.random.default_rng(draw(st.integers(0, 2**20)))
    count, size = draw(st.integers(least, 60)), draw(st.sampled_from([0.5, 3.0, 20.0]))
    points = random.uniform(-size, size, (count, 2))
    return np.round(points, 1) if draw(st.booleans()) else points


@given(clouds(), st.sampled_from([0.2, 0.35, 1.0]))
def test_pairs_are_those_that_comparing_all_with_all_finds(xy, radius):
    away = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1))
    wanted = {(i, j) for j in range(len(xy)) for i in range(j) if away[i, j] < radius}
    found = [tuple(pair) for pair in near_pairs(xy, radius).tolist()]
    assert len(found) == len(set(found))
    assert set(found) == wanted


@given(clouds(), clouds(), st.sampled_from([0.2, 0.9]))
def test_no_point_within_reach_is_overlooked(xy, spots, reach):
    away = np.hypot(*(xy[:, None] - spots[None]).transpose(2, 0, 1)).min(axis=1)
    marked = within_reach(xy, spots, reach)
    assert marked[away <= reach - 1e-9].all()
    assert not marked[away > 2 * np.sqrt(2) * reach + 1e-9].any()


@given(clouds(least=2), st.integers(0, 99))
def test_a_square_holds_what_lies_in_it(xy, seed):
    weight = np.random.default_rng(seed).uniform(0.5, 2, len(xy))
    low, sums = window_sums(xy, weight)
    for i, j in np.random.default_rng(seed).integers(0, sums.shape, (20, 2)):
        corner = low + np.array([i, j]) * 0.25
        # points on the rim may go either way
        inside = ((xy - corner > 1e-9) & (xy - corner < 1 - 1e-9)).all(axis=1)
        about = ((xy - corner > -1e-9) & (xy - corner < 1 + 1e-9)).all(axis=1)
        assert weight[inside].sum() - 1e-9 <= sums[i, j] <= weight[about].sum() + 1e-9
    assert sums.max() >= weight.max() - 1e-9
    assert may_reach(xy, weight, sums.max() - 1e-3)
    assert not may_reach(xy, weight, weight.sum())


@given(st.integers(0, 2**20), st.booleans(), st.sampled_from([1, 2, 3]))
def test_every_square_past_the_limit_lies_whole_in_one_of_the_tiles(seed, whole, sides):
    random = np.random.default_rng(seed)
    xy = random.uniform(-6, 6, (40, 2))
    xy = np.round(xy) if whole else xy
    weight = random.uniform(0.5, 2, len(xy))
    tiles = [set(tile.tolist()) for tile in crowded_tiles(xy, weight, 3.0, side=2.0, sides=sides)]
    # a square can be pushed right and up until its lower left edges are at points: those squares are all that matter
    for x in xy[:, 0]:
        for y in xy[:, 1]:
            held = np.flatnonzero(((xy >= (x, y)) & (xy < (x + 2, y + 2))).all(axis=1))
            if weight[held].sum() > 3.0:
                assert any(set(held.tolist()) <= tile for tile in tiles)


def test_tiles_hold_what_lies_in_them_or_one_side_beyond_and_no_more():
    xy = np.array([(0, 0), (3, 3), (4, 4), (5.8, 5.8), (6, 6), (-0.1, 0)], dtype=float) + 10
    low = xy.min(axis=0)
    found = [tile.tolist() for tile in crowded_tiles(xy, np.full(6, 9.0), 1.0, side=2.0, sides=2)]
    for tile in found:
        assert tile == sorted(tile)
    # tiles of 4 begin at (9.9, 10): the first holds what is nearer than 4 + 2 to that corner both ways
    first = np.flatnonzero(((xy >= low) & (xy < low + 6)).all(axis=1)).tolist()
    assert first in found
    assert first == [0, 1, 2, 3, 5]


def test_no_points_and_one_point_have_no_pairs():
    for count in (0, 1):
        assert near_pairs(np.zeros((count, 2)), 1.0).shape == (0, 2)
    assert near_pairs(np.zeros((2, 2)), 1.0).tolist() == [[0, 1]]


def test_pairs_come_in_the_order_of_the_larger_and_then_of_the_smaller():
    pairs = near_pairs(np.random.default_rng(8).uniform(0, 4, (60, 2)), 1.0).tolist()
    assert len(pairs) > 100
    assert pairs == sorted(pairs, key=lambda pair: (pair[1], pair[0]))


def test_more_points_than_are_looked_at_at_once_lose_no_pair():
    # a line of points 1 apart has count - 1 pairs nearer than 1.5, whatever the size of the pieces
    count = (1 << 14) + 50
    line = np.column_stack([np.random.default_rng(1).permutation(count).astype(float), np.zeros(count)])
    assert len(near_pairs(line, 1.5)) == count - 1
    assert len(near_pairs(line[:, ::-1], 1.5)) == count - 1


@pytest.mark.parametrize("reach", [0.5, 3.0])
def test_only_the_cells_around_a_spot_are_within_reach(reach):
    # a point a little more than two cells away cannot be marked, one in the next cell always is
    spots = np.array([[10.0, 10.0]]) * reach
    for dx, dy, marked in ((0.9, 0, True), (-0.9, 0.9, True), (2.1, 0, False), (0, -2.1, False), (0, 2.1, False)):
        xy = spots + np.array([[dx, dy]]) * reach
        assert within_reach(np.vstack([xy, [[0.0, 0.0]]]), spots, reach).tolist() == [marked, False]


def test_a_limit_is_passed_only_by_more_than_rounding():
    xy, weight = np.array([(0.0, 0.0), (0.5, 0.5), (40.0, 0.0)]), np.array([1.0, 2.0, 2.5])
    assert not may_reach(xy, weight, 3.0)
    assert may_reach(xy, weight, 2.999)
