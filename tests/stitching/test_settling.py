"""Points that choose among places: what they choose is free, and who finds nothing could have had nothing."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.distance import cdist

from stitchcraft.stitching.settling import settled
from stitchcraft.units import to_units


def chosen(places, choice):
    found = choice >= 0
    return places[np.flatnonzero(found), choice[found]]


@given(
    seed=st.integers(0, 2**32 - 1),
    count=st.integers(1, 40),
    taken=st.integers(0, 20),
    gap=st.floats(0.05, 2.0),
    side=st.sampled_from([2.0, 20.0, 4000.0]),
)
def test_choices_keep_off_one_another_and_nobody_goes_without_who_need_not(seed, count, taken, gap, side):
    # against every distance, computed by scipy
    rng = np.random.default_rng(seed)
    places = rng.uniform(-side, side, (count, 1, 2)) + rng.uniform(-1.5, 1.5, (count, 6, 2))
    held, usable = rng.uniform(-side, side, (taken, 2)), rng.random((count, 6)) < 0.8
    choice = settled(places, usable, held, gap, turn=rng.integers(0, 4, count))
    sewn = to_units(np.vstack([chosen(places, choice), held])).astype(float)
    apart = cdist(sewn, sewn) + np.where(np.eye(len(sewn)), np.inf, 0.0)
    apart[len(sewn) - taken :, len(sewn) - taken :] = np.inf
    assert apart.min(initial=np.inf) >= 10 * gap - 1e-6
    assert all(usable[row, place] for row, place in enumerate(choice) if place >= 0)
    for row in np.flatnonzero(choice < 0):
        near = cdist(to_units(places[row]), sewn).min(axis=1, initial=np.inf) < 10 * gap
        assert (near | ~usable[row]).all()


def test_those_of_an_earlier_turn_choose_first():
    places = np.array([[[0.0, 0.0], [5.0, 0.0]], [[0.1, 0.0], [9.0, 0.0]], [[0.0, 0.1], [7.0, 0.0]]])
    usable, none = np.ones((3, 2), dtype=bool), np.empty((0, 2))
    assert settled(places, usable, none, 0.3, turn=np.array([1, 0, 2])).tolist() == [1, 0, 1]
    assert settled(places, usable, none, 0.3, turn=np.array([0, 0, 0])).tolist() == [0, 1, 1]


@pytest.mark.parametrize(("away", "choice"), [(0.3, 0), (0.299, 0), (0.249, -1), (0.0, -1)])
def test_distances_are_those_of_whole_machine_units(away, choice):
    places, usable = np.array([[[away, 0.0]]]), np.ones((1, 1), dtype=bool)
    assert settled(places, usable, np.zeros((1, 2)), 0.3, turn=np.zeros(1, dtype=np.intp)).tolist() == [choice]
