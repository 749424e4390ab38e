from dataclasses import replace

import numpy as np
import pytest
from machine_plans import plan_of, three_stops

from stitchcraft.machine import FORMATS, MachineFile, Placement, decode, encode, prove

SPOT = Placement(20.0, (3.0, -4.0))


def file_of(fmt: str = "vp3") -> MachineFile:
    return decode(encode(three_stops(), fmt, placement=SPOT), fmt)


@pytest.mark.parametrize("fmt", FORMATS)
def test_a_faithful_file_is_proved(fmt: str) -> None:
    proof = prove(three_stops(), file_of(fmt), SPOT)
    assert proof.ok
    assert proof.stitches_equal
    assert proof.stops_equal
    assert 0 < proof.max_shift_mm <= 0.0708
    assert proof.colours_equal is (None if FORMATS[fmt].colours == "none" else True)
    assert proof.trims_planned == 1
    assert proof.to_dict()["max_shift_mm"] == proof.max_shift_mm


def test_a_needle_point_that_moved_two_units_is_caught() -> None:
    file = file_of()
    rows = file.rows.copy()
    rows[np.flatnonzero(file.is_stitch)[30]] += (2, 0)
    proof = prove(three_stops(), replace(file, rows=rows), SPOT)
    assert not proof.ok
    assert not proof.stitches_equal
    assert proof.max_shift_mm > 0.1


def test_a_lost_needle_point_is_caught() -> None:
    file = file_of()
    at = int(np.flatnonzero(file.is_stitch)[30])
    shorter = replace(
        file, rows=np.delete(file.rows, at, 0), kind=np.delete(file.kind, at), stop=np.delete(file.stop, at)
    )
    proof = prove(three_stops(), shorter, SPOT)
    assert not proof.ok
    assert proof.max_shift_mm == float("inf")
    assert not proof.stops_equal
    assert proof.to_dict()["max_shift_mm"] is None


def test_a_stop_one_stitch_late_is_caught() -> None:
    file = file_of()
    stop = file.stop.copy()
    stop[np.flatnonzero(file.is_stitch & (file.stop == 1))[0]] = 0
    proof = prove(three_stops(), replace(file, stop=stop), SPOT)
    assert proof.stitches_equal
    assert not proof.stops_equal
    assert not proof.ok


def test_another_colour_is_caught_where_the_format_keeps_colours() -> None:
    file = file_of()
    proof = prove(three_stops(), replace(file, colours=("#2f5d62", "#2f5d62", "#d9a441")), SPOT)
    assert proof.colours_equal is False
    assert not proof.ok


def test_neighbours_that_a_palette_merged_are_caught() -> None:
    file = file_of("jef")
    merged = replace(file, colours=(file.colours[0], file.colours[0], file.colours[2]))
    assert prove(three_stops(), file, SPOT).ok
    assert not prove(three_stops(), merged, SPOT).ok


def test_another_placement_is_caught() -> None:
    assert not prove(three_stops(), file_of(), Placement(20.0, (3.0, -3.8))).ok


def test_two_stops_swapped_are_caught() -> None:
    one = plan_of([[[(0.0, 0.0), (5.0, 0.0)]], [[(0.0, 9.0), (5.0, 9.0)]]])
    other = plan_of([[[(0.0, 9.0), (5.0, 9.0)]], [[(0.0, 0.0), (5.0, 0.0)]]])
    assert not prove(one, decode(encode(other, "dst", placement=Placement()), "dst"), Placement()).ok
