"""The samples are kits that a shop would sell: whole, proved, and what their first lines promise."""

from __future__ import annotations

from pathlib import Path

import pytest

from stitchcraft.design import Purpose
from stitchcraft.family import Family
from stitchcraft.kit import build_kit
from stitchcraft.machine import Machine

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.fixture(scope="module")
def kit():
    family = Family.from_spec(SAMPLES / "thistle_satchel.toml")
    return build_kit(family, Machine(hoops=["130x180", "200x200"], formats=["dst"]))


def test_the_thistle_is_sewn_in_three_threads_two_of_them_the_kit_s_own(kit):
    for part in ("tab-front", "corner-left", "corner-right"):
        stops = [stop for stop in kit[part].plan.stops if stop.purpose is Purpose.DECORATE]
        assert {(stop.thread.colour, stop.thread.name) for stop in stops} == {
            ("#4f6b46", "accent"), ("#8a4f7d", "edge"), ("#2f5d62", "drawing"),
        }  # fmt: skip
        assert len(stops) == 3
    # the cup's lines lie on the cup: they are sewn after it, with the flower
    assert [stop.thread.name for stop in kit["tab-front"].plan.stops][:3] == ["accent", "drawing", "edge"]


def test_the_thistle_satchel_is_whole_and_proved(kit):
    assert kit.ok
    assert all(proof.ok for proof in kit.proofs)
    assert {"tab-buttonhole", "label", "connector-front"} <= {part.name for part in kit.parts}
    assert not any(finding.code.startswith(("artwork", "decoration")) for finding in kit.findings)
