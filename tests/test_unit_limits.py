"""Lengths and numbers at the ends of what is allowed, and how they are rounded for people."""

import math

import pytest

from stitchcraft.errors import ParameterError
from stitchcraft.units import (
    both_text,
    inch_text,
    length_between,
    mm_text,
    number_between,
    range_words,
    size_text,
    to_mm,
)


@pytest.mark.parametrize("value", [5000, 5000.0, "5000", "500 cm", -5000, "-5000 mm"])
def test_five_metres_is_the_longest_length(value):
    assert abs(to_mm(value)) == 5000
    for past in (5001, 5000.001, "5000.001", "500.1 cm", -5001, "-5000.001 mm"):
        with pytest.raises(ParameterError, match="no more than 5000 mm"):
            to_mm(past)


def test_length_is_read_from_forty_characters_and_from_no_more():
    assert to_mm("5".rjust(40, "0")) == 5
    with pytest.raises(ParameterError, match="a length such as"):
        to_mm("5".rjust(41, "0"))


def test_number_without_a_unit_takes_the_one_that_is_asked_for():
    # NIST SP 811, appendix B: 1 in = 25.4 mm exactly
    assert (to_mm(2, unit="in"), to_mm(2, unit="cm"), to_mm(2), to_mm("2", unit="cm")) == (50.8, 20.0, 2.0, 20.0)
    assert to_mm("2 mm", unit="in") == 2.0


def test_range_takes_its_own_ends_and_says_them():
    assert length_between(30, name="x", low=25.4, high=30) == 30
    assert length_between(25.5, name="x", low=25.4, above=True) == 25.5
    assert length_between(5000, name="x", low=1) == 5000
    for options, words in (
        ({"high": 30}, "a length of at least 25.4 mm and at most 30 mm"),
        ({"high": 30, "above": True}, "a length above 25.4 mm and at most 30 mm"),
        ({"above": True}, "a length above 25.4 mm"),
        ({}, "a length of at least 25.4 mm"),
    ):
        with pytest.raises(ParameterError) as caught:
            length_between(-1, name="x", low=25.4, **options)
        assert caught.value.needs == words
    assert range_words(1, 4999.9) == "a length of at least 1 mm and at most 4999.9 mm"


@pytest.mark.parametrize("value", [10, 10.0, 20, 15.5])
def test_number_is_taken_up_to_both_ends(value):
    assert number_between(value, name="speed", low=10, high=20) == value


@pytest.mark.parametrize("value", [9.999, 20.001, math.nan, math.inf, True, "15", None])
def test_number_that_is_none_or_out_of_range_is_refused(value):
    with pytest.raises(ParameterError, match="a number from 10 to 20") as caught:
        number_between(value, name="speed", low=10, high=20)
    assert caught.value.name == "speed"


@pytest.mark.parametrize(
    ("mm", "text"),
    # halves away from zero, as people round; -0.04 is nothing, and nothing has no sign
    [(6.35, "6.4 mm"), (-6.35, "-6.4 mm"), (6.34, "6.3 mm"), (0.05, "0.1 mm"), (-0.04, "0 mm"), (64, "64 mm")],
)
def test_millimetres_are_written_to_the_tenth(mm, text):
    assert mm_text(mm) == text


@pytest.mark.parametrize(
    ("mm", "text"),
    # a sixteenth is 1.5875 mm: 26.9875 is 1 1/16, 26.2 lies nearer to it than to 1, 0.7 nearer to none
    [(26.9875, "1 1/16 in"), (26.2, "1 1/16 in"), (26.19, "1 in"), (0.7, "0 in"), (-0.7, "0 in"), (-0.8, "-1/16 in")],
)
def test_inches_are_the_nearest_sixteenth(mm, text):
    assert inch_text(mm) == text


def test_inches_that_are_well_off_the_mark_are_called_about():
    # 2 1/2 in is 63.5 mm: 0.2 off is still the length, 0.4 is not
    assert "about" not in both_text(63.7)
    for off in (63.9, 63.1):
        assert "about 2 1/2 in" in both_text(off)
    assert "about -2 1/2 in" in both_text(-63.9)


def test_size_is_written_once_in_each_unit():
    assert size_text(101.6, 31.75) == "101.6 × 31.8 mm (4 × 1 1/4 in)"
