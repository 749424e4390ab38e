"""EXP files as read by a decoder that knows nothing of the file library."""

from __future__ import annotations

import numpy as np
from exp_decoder import decode_exp
from hypothesis import given
from machine_plans import plans

from stitchcraft.design import StitchPlan
from stitchcraft.machine import Placement, decode, encode
from stitchcraft.units import to_units


@given(plans())
def test_an_independent_decoder_and_the_library_and_the_plan_agree_on_stitches_stops_and_trims(
    plan: StitchPlan,
) -> None:
    spot = Placement(45.0, (-1.3, 20.0))
    data = encode(plan, "exp", placement=spot)
    ours, library = decode_exp(data), decode(data, "exp")
    assert np.array_equal(ours.points, to_units(spot.placed(plan.needle_points)))
    assert np.array_equal(ours.points, library.units)
    assert ours.stop_of == plan.stop[plan.is_stitch].tolist() == library.stop_of.tolist()
    assert ours.trims == plan.trims == library.trims
    assert ours.jumps == library.jumps
