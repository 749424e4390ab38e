"""PES, PEC and JEF files as read by decoders that know nothing of the file library."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from jef_decoder import decode_jef
from machine_plans import plans, three_stops
from pec_decoder import decode_pec

from stitchcraft.design import StitchPlan
from stitchcraft.machine import Placement, decode, encode
from stitchcraft.units import to_units

SPOT = Placement(31.7, (-1.3, 20.0))


@pytest.mark.parametrize("fmt", ["pes", "pec"])
@given(plan=plans())
def test_an_independent_decoder_finds_every_penetration_of_a_pes_file(plan: StitchPlan, fmt: str) -> None:
    data = encode(plan, fmt, placement=SPOT)
    ours = decode_pec(data)
    assert np.array_equal(ours.points, to_units(SPOT.placed(plan.needle_points)))
    assert ours.stop_of == plan.stop[plan.is_stitch].tolist() == decode(data, fmt).stop_of.tolist()
    assert int(ours.header["CO"]) == len(plan.stops) - 1


def test_the_header_of_a_pes_file_tells_name_version_size_and_threads() -> None:
    # three_stops reaches 50 x 50 mm: a circle of 25 mm radius round the origin, and a zigzag within its height
    sewing = decode_pec(encode(three_stops(), "pes"))
    assert sewing.header["magic"] == "#PES0060"
    assert sewing.header["LA"] == "tab-fron"  # eight letters are kept
    assert (sewing.header["width"], sewing.header["height"]) == ("500", "500")
    assert sewing.header["CO"] == "2"
    assert sewing.trims + sewing.jumps >= 4  # to each of four runs
    assert decode_pec(encode(three_stops(), "pec")).header["magic"] == "#PEC0001"


@given(plans())
def test_an_independent_decoder_finds_every_penetration_of_a_jef_file(plan: StitchPlan) -> None:
    data = encode(plan, "jef", placement=SPOT)
    ours = decode_jef(data)
    assert np.array_equal(ours.points, to_units(SPOT.placed(plan.needle_points)))
    assert ours.stop_of == plan.stop[plan.is_stitch].tolist() == decode(data, "jef").stop_of.tolist()


def test_the_header_of_a_jef_file_tells_threads_pairs_and_how_far_it_reaches() -> None:
    sewing = decode_jef(encode(three_stops(), "jef", placement=Placement(0.0, (0.0, 0.0))))
    assert int(sewing.header["threads"]) == 3
    assert [sewing.header[side] for side in ("left", "right")] == ["250", "250"]
    assert int(sewing.header["top"]) + int(sewing.header["bottom"]) == 500
    assert sewing.records - 2 <= int(sewing.header["pairs"]) <= sewing.records + 2
