"""The square that holds most, held against every square there is."""

import tracemalloc

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.geometry import fullest
from stitchcraft.geometry.fullest import fullest_square


def every_square(units, weight, side):
    """What each square holds that holds any point, by its lower left corner."""
    held = {}
    for x in {x - k for x in units[:, 0].tolist() for k in range(side)}:
        column = (units[:, 0] >= x) & (units[:, 0] < x + side)
        for y in {y - k for y in units[column, 1].tolist() for k in range(side)}:
            held[x, y] = weight[column & (units[:, 1] >= y) & (units[:, 1] < y + side)].sum()
    return held


def wanted(units, weight, side, limit):
    held = every_square(units, weight, side)
    most = max(held.values())
    if most <= limit + 1e-9:
        return (0.0, 0.0), 0.0
    return min(at for at, total in held.items() if total >= most - 1e-9), most


def lattice(count):
    return np.stack(np.meshgrid(np.arange(count), np.arange(count)), axis=-1).reshape(-1, 2).astype(float)


@pytest.mark.parametrize("side", [3, 5, 6, 10])
def test_blocks_looked_at_in_many_portions_are_as_those_in_one(monkeypatch, side):
    rng = np.random.default_rng(side)
    units = np.vstack([rng.integers(-40, 40, (250, 2)), rng.integers(0, 30, (60, 2)) + [1200, -800]]).astype(float)
    weight = 40 / rng.choice([30, 40, 60], len(units))
    for at_once in (1, 1000):
        monkeypatch.setattr(fullest, "_AT_ONCE", at_once)
        low, most = fullest_square(units, weight, side=side, limit=1.0)
        assert (tuple(low.tolist()), most) == (
            wanted(units, weight, side, 1.0)[0], pytest.approx(wanted(units, weight, side, 1.0)[1])
        )  # fmt: skip


def test_a_limit_is_passed_only_by_more_than_rounding():
    low, most = fullest_square(np.array([(3.0, 4.0), (5.0, 4.0), (90.0, 1.0)]), np.array([1.0, 1.0, 1.5]), side=3)
    assert (low.tolist(), most) == ([3, 2], 2.0)
    low, most = fullest_square(np.array([(3.0, 4.0), (6.0, 4.0), (90.0, 1.0)]), np.array([1.0, 1.0, 1.5]), side=3)
    assert (low.tolist(), most) == ([88, -1], 1.5)
    one = np.array([(3.0, 4.0)])
    for limit, most in ((2.0, 0.0), (2.0 - 1e-10, 0.0), (2.0 - 1e-6, 2.0)):
        assert fullest_square(one, np.array([2.0]), side=3, limit=limit)[1] == most


@pytest.mark.parametrize("pitch", [1, 3, 5, 10, 25])
def test_of_the_equal_squares_of_a_lattice_it_is_the_first(pitch):
    # so many rows of points fit in a square of 10; the first square that holds them ends with the last of them
    most = -(-10 // pitch)
    low, held = fullest_square(lattice(80) * pitch, np.ones(80**2), side=10)
    assert (low.tolist(), held) == ([(most - 1) * pitch - 9] * 2, most**2)


def test_points_far_apart_take_little_room():
    # each lies in four blocks of its own; all that is known of them took 744 bytes a point when kept at once
    units = lattice(300) * 25
    tracemalloc.start()
    fullest_square(units, np.ones(len(units)), side=10)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 500 * len(units)


def test_equal_squares_are_not_told_one_by_one(monkeypatch):
    # isolated points: the leftmost column of blocks decides, and the others need not be looked at closely
    looked = []
    squares = fullest._squares
    monkeypatch.setattr(fullest, "_squares", lambda table, across: looked.append(len(table)) or squares(table, across))
    assert fullest_square(lattice(100) * 25, np.ones(100**2), side=5)[0].tolist() == [-4, -4]
    assert sum(looked) < 20_000  # of 40,000 blocks, which begin in the four cells about each point


@given(
    st.integers(0, 2**20), st.integers(1, 30), st.integers(1, 12), st.sampled_from([1, 3, 12, 40, 10**6]),
    st.sampled_from([1.0, 0.0, 2.0, 0.6]), st.sampled_from(["one each", "any", "threads"]), st.sampled_from([0, 10**7]),
)  # fmt: skip
def test_no_square_holds_more_nor_as_much_further_left_or_below(seed, count, side, spread, limit, kind, far):
    rng = np.random.default_rng(seed)
    units = (rng.integers(-spread, spread + 1, (count, 2)) + rng.integers(-far, far + 1, 2)).astype(float)
    # 40-weight thread counts 1, thinner less: the sums of such are no whole numbers, and equal all the same
    weight = {
        "one each": np.ones(count), "any": rng.uniform(0.01, 40, count),
        "threads": 40 / rng.choice([30, 40, 60], count),
    }[kind]  # fmt: skip
    # what each square passes, some do or none: a part of all weights, or two of those that count 1
    limit = limit if limit > 1 else limit * float(weight.sum())
    low, most = fullest_square(units, weight, side=side, limit=limit)
    at, total = wanted(units, weight, side, limit)
    assert tuple(low.tolist()) == at
    assert most == pytest.approx(total, abs=1e-8)
