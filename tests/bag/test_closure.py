"""The closure, against a strip laid around the bag's cross-section."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.bag import Bag, Binding, solve_closure
from stitchcraft.errors import Level, ParameterError


def strip_ends_at(reach: float, depth: float, wall: float) -> float:
    """Lay a strip around the cross-section: up the back by *depth*, over the wall, down the front.

    Returns how far below the top edge it ends, measured along the polyline without the closure's formula.
    """
    section = np.array([[0.0, -depth], [0.0, 0.0], [wall, 0.0], [wall, -10_000.0]])
    left = reach
    for start, end in itertools.pairwise(section):
        length = float(np.hypot(*(end - start)))
        if left <= length:
            here = start + (end - start) * (left / length if length else 0.0)
            break
        left -= length
    assert here[0] == pytest.approx(wall)
    return -float(here[1])


@given(
    st.floats(200, 500), st.floats(2, 12), st.floats(0, 10), st.floats(20, 150), st.floats(10, 40),
    st.sampled_from(["bound", "turned"]),
)  # fmt: skip
def test_solved_closure_agrees_with_a_strip_around_the_section(height, depth, wall, drop, inset, top):
    bag = Bag(width=300, height=height, wall=wall, top=top, binding=Binding(strip=100, depth=depth))
    closure = solve_closure(bag, drop=drop, inset=inset)
    assert strip_ends_at(closure.reach_mm, bag.root_depth_mm, wall) == pytest.approx(drop)


@given(st.floats(30, 120), st.floats(10, 40))
def test_any_two_lengths_give_the_third(drop, inset):
    bag = Bag(width=300, height=250)
    length = solve_closure(bag, drop=drop, inset=inset).length_mm
    assert solve_closure(bag, length=length, inset=inset).drop_mm == pytest.approx(drop)
    assert solve_closure(bag, length=length, drop=drop).inset_mm == pytest.approx(inset)
    assert solve_closure(bag, length=length, drop=drop, inset=inset).miss_mm == pytest.approx(0, abs=1e-9)


def test_heron_tab_is_as_long_as_the_arithmetic_by_hand_says():
    # 3 in drop + 1/4 in to the top edge + 4 mm wall + 1 in inset
    closure = solve_closure(Bag(width="14 in", height="12 in", depth="4 in"), drop="3 in", inset="1 in")
    assert closure.length_mm == pytest.approx(76.2 + 6.35 + 4 + 25.4)
    assert closure.reach_mm == pytest.approx(86.55)


@pytest.mark.parametrize(("extra", "codes"), [(0.9, []), (1.1, ["closure-miss"])])
def test_three_lengths_that_disagree_by_more_than_a_millimetre_are_an_error(extra, codes):
    bag = Bag(width=300, height=250)
    length = solve_closure(bag, drop=70, inset=25).length_mm + extra
    findings = solve_closure(bag, length=length, drop=70, inset=25).findings()
    assert [finding.code for finding in findings] == codes
    for finding in findings:
        assert finding.level is Level.ERROR
        assert finding.measured == pytest.approx(extra)


@pytest.mark.parametrize(
    ("given_lengths", "name"),
    [
        ({"length": 20, "drop": 100}, "tab.length"),
        ({"length": 30, "inset": 25}, "tab.length"),
        ({"drop": 400}, "closure.drop"),
        ({"length": 900, "inset": 25}, "tab.length"),
    ],
)
def test_closure_refuses_lengths_that_leave_no_room(given_lengths, name):
    with pytest.raises(ParameterError) as caught:
        solve_closure(Bag(width=300, height=250), **given_lengths)
    assert caught.value.name == name


def test_default_drop_stays_in_the_upper_part_of_a_low_bag():
    closure = solve_closure(Bag(width=200, height=120))
    assert closure.drop_mm == pytest.approx(48.0)
