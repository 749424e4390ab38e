"""The measurement sheet, and a fabric written for a spec: what is written reads back; what is wrong is named."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.defaults import FABRICS, DirectedPull
from stitchcraft.errors import SpecError
from stitchcraft.spec import spec_from_text
from stitchcraft.spec.fabric_key import fabric_text
from stitchcraft.spec.measured import MeasuredRow, read_measurements, sheet_text

ROWS = [
    MeasuredRow("bar", 0, 2), MeasuredRow("bar", 0, 4), MeasuredRow("bar", 45, 2), MeasuredRow("square", 90, 10),
    MeasuredRow("ruler", 0, 60),
]  # fmt: skip


def sheet_in(folder, text):
    file = folder / "measured.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_a_blank_sheet_reads_back_and_says_that_nothing_is_measured(tmp_path):
    file = sheet_in(tmp_path, sheet_text(ROWS, cloth='my "best" linen', base="denim"))
    sheet = read_measurements(file, blank=True)
    assert (sheet.cloth, sheet.base, list(sheet.rows)) == ('my "best" linen', "denim", ROWS)
    with pytest.raises(SpecError, match="nothing is measured yet"):
        read_measurements(file)


def test_a_filled_sheet_reads_back_and_lines_left_open_stay_open(tmp_path):
    filled = [replace(row, measured=row.nominal - 0.3) if row.direction == 0 else row for row in ROWS]
    assert list(read_measurements(sheet_in(tmp_path, sheet_text(filled))).rows) == filled


def test_lines_may_be_written_as_tables_and_lengths_with_a_unit(tmp_path):
    text = """
[[bar]]
direction = 45
nominal = 4
measured = 3.7

[[bar]]
direction = 0
nominal = "6 mm"
measured = "0.57 cm"

[[ruler]]
nominal = 60
measured = 59.5
"""
    sheet = read_measurements(sheet_in(tmp_path, text))
    assert sheet.rows[0] == MeasuredRow("bar", 45, 4, 3.7)
    assert sheet.rows[1].measured == pytest.approx(5.7)
    assert sheet.rows[2] == MeasuredRow("ruler", 0, 60, 59.5)
    assert (sheet.cloth, sheet.base) == ("my cloth", "quilting cotton")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("bar = [\n { direction = 0, nominal = 4 },\n]", "measured.toml:2: bar.measured, item 1 is missing"),
        ("bar = [\n { nominal = 4, measured = 3 },\n]", "measured.toml:2: bar.direction, item 1 is missing"),
        ("bar = [\n { direction = 0, nominal = 4, measured = '??' },\n]", '2: bar.measured, item 1 is "??"'),
        ("bar = [\n { direction = 0, nominal = 4, measure = 3 },\n]", 'did you mean "measured"?'),
        ("bar = 3", "measured.toml:1: bar is 3; it needs to be a list of lines"),
        ("bars = []", 'bars is not a key here; did you mean "bar"?'),
        ('base = "silk"', 'measured.toml:1: base is "silk"; it needs to be one of quilting cotton'),
        ("bar = [\n { direction = 0, nominal = 4, measured = -1 },\n]", "item 1 is -1"),
        ("bar = [", "measured.toml:1: this is not TOML"),
        ("", "nothing is measured yet"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_one_line_with_its_place(tmp_path, text, says):
    with pytest.raises(SpecError) as refused:
        read_measurements(sheet_in(tmp_path, text))
    assert says in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_missing_sheet_and_a_folder_are_named_for_what_they_are(tmp_path):
    with pytest.raises(SpecError, match="there is no such file"):
        read_measurements(tmp_path / "none.toml")
    with pytest.raises(SpecError, match="this is a folder; a measurement sheet is a TOML file"):
        read_measurements(tmp_path)


def written_and_read(profile):
    text = "bag = { width = 300, height = 300 }\n[material]\n" + fabric_text(profile)
    return spec_from_text(text).material.fabric


@pytest.mark.parametrize("name", FABRICS)
def test_every_fabric_written_out_reads_back(name):
    profile = FABRICS[name]
    assert replace(written_and_read(profile), source=profile.source) == profile


@given(
    pull=st.integers(0, 2000), share=st.integers(0, 2000), strain=st.integers(0, 1000),
    angles=st.lists(st.integers(0, 179), unique=True, max_size=5),
    name=st.text(min_size=1, max_size=40).filter(lambda text: text.isprintable() and text.strip() != ""),
)  # fmt: skip
def test_any_profile_in_the_numbers_that_are_written_reads_back(pull, share, strain, angles, name):
    directions = tuple(DirectedPull(angle, pull / 1000, share / 10000) for angle in angles)
    profile = replace(
        FABRICS["quilting cotton"], name=name, pull=pull / 1000, pull_share=share / 10000, strain=strain / 10000,
        directions=directions, source="the spec",
    )  # fmt: skip
    assert written_and_read(profile) == profile
