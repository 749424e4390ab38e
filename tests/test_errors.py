"""What errors and findings say, in the words and the order that a maker reads."""

from __future__ import annotations

import json

import pytest

from stitchcraft.errors import (
    ArtworkError,
    Finding,
    Findings,
    Level,
    MachineFileError,
    ParameterError,
    PluginError,
    SpecError,
    StitchcraftError,
    findings_html,
)

NOTE = Finding(Level.NOTE, "thread-uncut", "tab", "A thread is left.", "Cut it.", 2.0, 1.0, (3.0, 4.0), (2, 1))
WARNING = Finding(Level.WARNING, "crowded", "", "Needles crowd.")
ERROR = Finding(Level.ERROR, "hoop-fit", "corner", "It does not fit.", "Take a larger field.")


def test_one_class_catches_all_and_bad_values_are_value_errors_too():
    for kind in (ParameterError, SpecError, MachineFileError, ArtworkError, PluginError):
        assert issubclass(kind, StitchcraftError)
    for kind in (ParameterError, SpecError, ArtworkError):
        assert issubclass(kind, ValueError)


def test_a_bad_value_is_named_shown_and_told_what_is_allowed():
    error = ParameterError("tab.width", 63.50000000000001, "at most 60 mm")
    assert str(error) == "tab.width is 63.5; it needs to be at most 60 mm"
    assert (error.name, error.value, error.needs) == ("tab.width", 63.50000000000001, "at most 60 mm")
    assert str(ParameterError("x", 0.123443, "y")) == "x is 0.1234; it needs to be y"
    assert str(ParameterError("top", "open", "closed")) == "top is 'open'; it needs to be closed"


def test_a_long_value_is_cut_so_that_the_error_stays_one_line():
    whole, cut = "a" * 58, "a" * 59  # with its quotes 60 and 61 characters
    assert repr(whole) in str(ParameterError("x", whole, "short"))
    shown = str(ParameterError("x", cut, "short")).removeprefix("x is ").removesuffix("; it needs to be short")
    assert shown == "'" + "a" * 56 + "..."
    assert len(shown) == 60


def test_a_spec_error_says_the_first_problem_and_how_many_more_there_are():
    assert str(SpecError("a.toml:1: one")) == "a.toml:1: one"
    assert str(SpecError("one", "two")) == "one (and 1 more)"
    assert str(SpecError("one", "two", "three")) == "one (and 2 more)"
    assert SpecError("one", "two").problems == ("one", "two")
    assert str(SpecError()) == ""


def test_a_finding_reads_as_a_line_and_goes_through_json():
    assert str(NOTE) == "note [thread-uncut] tab: A thread is left. Cut it."
    assert str(WARNING) == "warning [crowded] Needles crowd."
    told = json.loads(json.dumps(NOTE.to_dict()))
    assert told == {
        "level": "note", "code": "thread-uncut", "part": "tab", "message": "A thread is left.", "remedy": "Cut it.",
        "measured": 2.0, "limit": 1.0, "at_mm": [3.0, 4.0], "stops": [2, 1],
    }  # fmt: skip
    assert type(NOTE.to_dict()["level"]) is str


def test_findings_are_ok_without_an_error_and_come_errors_first_in_their_own_order():
    second = Finding(Level.NOTE, "second", "tab", "Later.")
    mixed = Findings([NOTE, WARNING, second, ERROR])
    assert mixed.errors_first() == [ERROR, WARNING, NOTE, second]
    assert mixed == [NOTE, WARNING, second, ERROR]  # as they were
    assert isinstance(mixed.errors_first(), Findings)
    assert not mixed.ok
    assert Findings([NOTE, WARNING]).ok
    assert Findings().ok


@pytest.mark.parametrize("caption", ["", "of the tab"])
def test_a_table_of_findings_has_a_row_each_and_its_caption(caption):
    page = findings_html([NOTE, WARNING], caption=caption)
    assert page.count("<tr") == 3
    assert "A thread is left. Cut it." in page
    assert "No findings." not in page
    assert ("of the tab" in page) == bool(caption)
    assert Findings([NOTE])._repr_html_() == NOTE._repr_html_() == findings_html([NOTE])
