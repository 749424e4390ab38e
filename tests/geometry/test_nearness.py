"""Pairs, neighbourhoods and sliding squares agree with looking at every point."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.geometry.nearness import fullest_square, may_reach, near_pairs, window_sums, within_reach


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


@pytest.mark.parametrize("seed", range(6))
def test_the_fullest_square_is_the_best_of_all_squares_tried(seed):
    rng = np.random.default_rng(seed)
    # two crowds far apart, so that several tiles are looked at
    units = np.vstack([rng.integers(0, 30, (60, 2)), rng.integers(0, 30, (60, 2)) + [1200, -800]]).astype(float)
    weight = rng.uniform(0.5, 2, len(units))
    most = max(
        weight[((units >= (x, y)) & (units < (x + 5, y + 5))).all(axis=1)].sum()
        for x in {u - k for u in units[:, 0] for k in range(5)}
        for y in {v - k for v in units[:, 1] for k in range(5)}
    )
    low, best = fullest_square(units, weight, side=5, limit=1.0)
    assert best == pytest.approx(most)
    inside = ((units >= low) & (units < low + 5)).all(axis=1)
    assert weight[inside].sum() == pytest.approx(best)
    assert fullest_square(units, weight, side=5, limit=most + 0.1)[1] == 0.0
