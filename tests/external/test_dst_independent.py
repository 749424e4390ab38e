"""DST files as read by a decoder that knows nothing of the file library."""

from __future__ import annotations

import numpy as np
from dst_decoder import decode_dst
from hypothesis import given
from hypothesis import strategies as st
from machine_plans import plans, three_stops

from stitchcraft.design import StitchPlan
from stitchcraft.machine import Placement, decode, encode
from stitchcraft.units import to_units


@given(plans(), st.sampled_from((0.0, 90.0, 31.7)), st.integers(-300, 300))
def test_an_independent_decoder_and_the_library_and_the_plan_agree_on_every_penetration(
    plan: StitchPlan, angle: float, shift: int
) -> None:
    spot = Placement(angle, (shift / 10, -shift / 10))
    data = encode(plan, "dst", placement=spot)
    ours, library = decode_dst(data), decode(data, "dst")
    assert np.array_equal(ours.points, to_units(spot.placed(plan.needle_points)))
    assert np.array_equal(ours.points, library.units)
    assert ours.stop_of == plan.stop[plan.is_stitch].tolist() == library.stop_of.tolist()


def test_the_header_tells_counts_and_halts_and_the_extents_the_right_way_up() -> None:
    plan = three_stops()
    spot = Placement(0.0, (3.0, 7.0))
    sewing = decode_dst(encode(plan, "dst", placement=spot))
    xs, ys = zip(*sewing.points, strict=True)
    assert sewing.header["LA"] == "tab-front"
    # what counts as a stitch here is told differently from text to text: penetrations at least, records at most
    assert len(sewing.points) <= int(sewing.header["ST"]) <= sewing.records
    assert int(sewing.header["CO"]) == len(sewing.halts) == 2
    assert int(sewing.header["+X"]) == max(xs)
    assert int(sewing.header["-X"]) == -min(xs)
    assert int(sewing.header["+Y"]) == max(ys) == 320
    assert int(sewing.header["-Y"]) == -min(ys) == 180


def test_a_cut_is_a_row_of_three_jumps_that_goes_nowhere() -> None:
    sewing = decode_dst(encode(three_stops(), "dst"))
    assert sewing.trims == three_stops().trims == 1
