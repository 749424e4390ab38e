"""What a format would lose is told before it is written."""

import pytest
from machine_plans import plan_of

from stitchcraft.checks import check
from stitchcraft.checks.formats import name_findings
from stitchcraft.errors import Level, MachineFileError, ParameterError
from stitchcraft.machine import FORMATS, encode

RUN = [(0.0, 0.0), (1.0, 0.0), (0.5, 0.0), (3.0, 0.0)]


def stops(count):
    return plan_of([[RUN]] * count, colours=[f"#{k * 40503 % 2**24:06x}" for k in range(count)])


def found(code, plan, formats):
    return [one for one in check(plan, formats=formats) if one.code == code]


@pytest.mark.parametrize("fmt", ["xxx", "pes"])
def test_stops_past_a_formats_room_are_found_where_the_writer_refuses_them(fmt):
    most = FORMATS[fmt].most_stops
    over = plan_of([[RUN]] * (most + 1))
    (one,) = found("stops-lost", over, [fmt])
    assert (one.level, one.measured, one.limit) == (Level.ERROR, most + 1, most)
    with pytest.raises(MachineFileError, match="stops"):
        encode(over, fmt)
    # the remedy: fewer stops, or another format
    fewer = plan_of([[RUN]] * most)
    assert not found("stops-lost", fewer, [fmt])
    encode(fewer, fmt)
    assert not found("stops-lost", over, ["dst"])


def test_colours_past_a_formats_room_are_found():
    over = stops(70)
    (one,) = found("colours-lost", over, ["dst", "pes"])
    assert (one.measured, one.limit) == (70, 64)
    assert not found("colours-lost", stops(60), ["dst", "pes"])


SIDES = ("front", "back", "left", "right")


def test_parts_that_a_machine_shows_under_one_name_are_found():
    names = ["pocket-left", "pocket-leftmost", "tab-front", "tab-back"]
    (one,) = name_findings(names, ["dst", "pes"])
    assert '"poc-left"' in one.message
    assert "pocket-left and pocket-leftmost" in one.message
    assert one.level is Level.NOTE
    assert not list(name_findings(names, ["dst", "exp"]))
    assert not list(name_findings(names[2:], ["pes"]))
    # the parts of a kit stay apart in eight characters
    assert not list(name_findings([f"{part}-{side}" for part in ("corner", "connector") for side in SIDES], ["pes"]))


def test_an_unknown_format_is_refused():
    with pytest.raises(ParameterError, match="format"):
        check(stops(2), formats=["png"])
