"""What lies where it must not is found, and goes when its remedy is followed."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from stitchcraft.bag import Bag, Shaping
from stitchcraft.decoration import NoDecoration
from stitchcraft.defaults import BAG
from stitchcraft.design import Design, Line, Purpose, StitchPlan, Stop, Thread
from stitchcraft.errors import ParameterError
from stitchcraft.family import Family, Style
from stitchcraft.kit import build_kit
from stitchcraft.kit.place_findings import trimming_findings
from stitchcraft.kit.proofs import kit_proofs
from stitchcraft.machine import Machine, decode, encode
from stitchcraft.stitching import plan

MACHINE = Machine(hoops=["360x360"], formats=["exp"])


def kit(parts, **bag):
    return build_kit(
        Family(bag=Bag(width=300, height=240, **bag), style=Style(decoration=NoDecoration()), parts=parts), MACHINE
    )


def codes(made):
    return [finding.code for finding in made.findings]


def test_a_shaping_mark_over_the_side_seam_is_found_and_goes_when_it_is_moved_in():
    made = kit(("shaping-marks",), shaping=Shaping(down=40, over=5))
    (one,) = [finding for finding in made.findings if finding.code == "mark-off-panel"]
    assert "side seam" in one.message
    assert "mark-off-panel" not in codes(kit(("shaping-marks",), shaping=Shaping(down=40, over=5 + one.measured)))


def test_a_shaping_mark_in_the_base_is_found_and_goes_when_it_is_moved_up():
    made = kit(("shaping-marks",), depth=100, shaping=Shaping(down=185, over=50))
    (one,) = [finding for finding in made.findings if finding.code == "mark-off-panel"]
    assert "the base" in one.message
    assert "mark-off-panel" not in codes(
        kit(("shaping-marks",), depth=100, shaping=Shaping(down=185 - one.measured, over=50))
    )


def test_a_tick_inside_the_trim_line_is_found_and_goes_when_it_is_drawn_outside():
    piece = shapely.box(0, 0, 50, 30)

    def ticks(x):
        line = Line(np.array([[x, 10.0], [x + 6.0, 10.0]]))
        return plan(Design("tab-front", (Stop(Purpose.TICKS, Thread("#2f5d62"), (line,)),)))

    (one,) = trimming_findings(ticks(47), piece, "tab-front")
    assert one.measured == pytest.approx(3.0)
    assert one.stops == (1,)
    assert not list(trimming_findings(ticks(47 + one.measured + 1.5), piece, "tab-front"))


def test_ticks_of_a_tab_go_with_its_trimmings():
    assert "ticks-inside" not in codes(kit(("tab",)))


def test_accents_whose_covers_miss_each_other_at_the_seam_are_found_by_their_proof():
    made = kit(("corner",))
    assert "corners-meet" not in codes(made)
    right = made["corner-right"]
    stitches = right.plan
    cover = [k for k, stop in enumerate(stitches.stops) if stop.purpose is Purpose.COVER]
    xy = stitches.xy + np.isin(stitches.stop, cover)[:, None] * np.array([1.0, 1.0])
    moved = StitchPlan(
        stitches.name, xy, stitches.kind, stitches.stop, stitches.role, stitches.element, stitches.stops,
        stitches.origin,
    )  # fmt: skip
    files = {"exp": decode(encode(moved, "exp", placement=right.hooped.placement), "exp")}
    off = replace(right, plan=moved, files=files)
    sewn = tuple(off if one.name == "corner-right" else one for one in made.parts)
    (proof,) = [one for one in kit_proofs(made.family, sewn) if one.code == "corners-meet"]
    assert not proof.ok
    assert proof.measured == pytest.approx(1.0, abs=0.3)
    (held,) = [one for one in made.proofs if one.code == "corners-meet"]
    assert held.ok


def test_a_base_larger_than_the_bag_is_refused_with_what_is_allowed():
    with pytest.raises(ParameterError, match=r"bag\.depth"):
        Bag(width=300, height=200, depth=500)
    with pytest.raises(ParameterError, match="stands") as refused:
        Bag(width=500, height=200, depth=390)
    most = 2 * (200 - BAG["standing_least"].value)
    assert f"{most:g} mm" in str(refused.value)
    assert Bag(width=500, height=200, depth=most).depth_mm == most
