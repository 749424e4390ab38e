"""Lengths in and out."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.errors import ParameterError
from stitchcraft.units import (
    both_sizes,
    both_text,
    inch_text,
    length_between,
    lengths_said_in,
    mm_text,
    to_mm,
    to_units,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("2 1/2 in", 63.5), ("15 3/8", 390.525), ("2.5in", 63.5), ('1/4"', 6.35), ("64 mm", 64), ("6.4 cm", 64),
        ("2½ in", 63.5), ("½ in", 12.7), ("2-1/2 in", 63.5), (" 3 inches ", 76.2), ("-1 in", -25.4), (".5", 12.7),
        ("7 3/8″", 187.325),
    ],
)  # fmt: skip
def test_length_reads_what_a_maker_writes(text, mm):
    # the inch is 25.4 mm exactly: NIST SP 811, appendix B
    assert to_mm(text, unit="in") == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize(
    "value", ["", "abc", "1/0 in", "2 feet", "1e3 mm", "in", "--1", "1 2 3 in", None, True, [], "9" * 50, "१२ mm"]
)
def test_length_refuses_what_is_none(value):
    with pytest.raises(ParameterError, match="a length such as"):
        to_mm(value)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 1e9, 10**400])
def test_length_refuses_numbers_that_no_bag_has(value):
    with pytest.raises(ParameterError):
        to_mm(value)


def test_range_is_held_at_both_ends():
    assert length_between("1 in", name="x", low=25.4, high=30) == 25.4
    for value, above in ((25.3, False), (30.1, False), (25.4, True)):
        with pytest.raises(ParameterError):
            length_between(value, name="x", low=25.4, high=30, above=above)


@given(st.floats(-4000, 4000))
def test_rounding_stays_within_half_a_unit_and_treats_left_and_right_alike(mm):
    unit = int(to_units(mm))
    assert abs(unit / 10 - mm) <= 0.05 + 1e-7
    assert int(to_units(-mm)) == -unit


def test_rounding_of_a_long_run_never_drifts():
    steps = np.cumsum(np.full(100_000, 0.0333333))
    assert np.abs(to_units(steps) / 10 - steps).max() <= 0.05 + 1e-9


def test_rounding_takes_halves_as_written():
    # 0.15 / 0.1 is 1.4999999999999998 in binary: the half has to be seen as one
    assert to_units([0.15, 0.25, 0.35]).tolist() == [2, 2, 4]


@given(st.integers(0, 16 * 190))
def test_inches_to_the_sixteenth_read_back_as_themselves(sixteenths):
    mm = sixteenths * 25.4 / 16
    assert to_mm(inch_text(mm)) == pytest.approx(mm, abs=1e-9)


def test_lengths_are_written_as_on_a_ruler():
    assert inch_text(6.35) == "1/4 in"
    assert inch_text(0) == "0 in"
    assert inch_text(-31.75) == "-1 1/4 in"
    assert mm_text(63.54) == "63.5 mm"


@pytest.mark.parametrize(
    ("unit", "length", "size", "off"),
    [
        ("mm", "63.5 mm (2 1/2 in)", "130 × 180 mm (5 1/8 × 7 1/16 in)", "1 mm (about 1/16 in)"),
        ("cm", "6.35 cm (2 1/2 in)", "13 × 18 cm (5 1/8 × 7 1/16 in)", "0.1 cm (about 1/16 in)"),
        ("in", "2 1/2 in (63.5 mm)", "5 1/8 × 7 1/16 in (130 × 180 mm)", "about 1/16 in (1 mm)"),
    ],
)
def test_the_makers_own_unit_is_said_first(unit, length, size, off):
    with lengths_said_in(unit):
        assert (both_text(63.5), both_sizes(130, 180), both_text(1)) == (length, size, off)


def test_units_hold_for_their_block_only_and_must_be_known():
    with lengths_said_in("in"):
        with lengths_said_in("cm"):
            assert both_text(25.4) == "2.54 cm (1 in)"
        assert both_text(25.4) == "1 in (25.4 mm)"
    assert both_text(25.4) == "25.4 mm (1 in)"
    with pytest.raises(ParameterError, match="mm, cm, in"), lengths_said_in("ell"):
        pass
