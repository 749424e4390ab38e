"""A stop that is mostly cutting is told, and stringing its dots takes the finding away."""

from __future__ import annotations

import pytest
import shapely

from stitchcraft.checks import check
from stitchcraft.decoration import Decoration, Dots
from stitchcraft.defaults import MACHINE
from stitchcraft.design import Design, Purpose, StitchPlan, Stop, Thread
from stitchcraft.errors import Level
from stitchcraft.stitching import plan

FIELD = shapely.box(0, 0, 60, 60)


def sewn(decoration: Decoration, *, trims: bool = True) -> StitchPlan:
    return plan(Design("dots", (Stop(Purpose.DECORATE, Thread("#2f5d62"), decoration.elements(FIELD)),)), trims=trims)


def test_dots_with_a_trim_each_are_told_with_their_share_of_the_time() -> None:
    rows = sewn(Dots())
    (finding,) = [finding for finding in check(rows) if finding.code == "many-trims"]
    # by hand: so many trims of 8 s against so many stitches at 600 a minute
    minutes = rows.trims * 8 / 60
    assert finding.level is Level.NOTE
    assert finding.measured == pytest.approx(minutes / (minutes + rows.stitches / 600), abs=1e-3)
    assert finding.measured > finding.limit == 0.5
    assert (MACHINE["trim_seconds"].value, MACHINE["speed"].value) == (8, 600)


def test_the_finding_goes_when_its_remedy_is_followed() -> None:
    assert "joined = true" in next(f.remedy for f in check(sewn(Dots())) if f.code == "many-trims")
    assert "many-trims" not in [finding.code for finding in check(sewn(Dots(joined=True)))]
    assert "many-trims" not in [finding.code for finding in check(sewn(Dots(pitch=14, diameter=8)))]


def test_a_machine_that_cuts_nothing_has_no_trims_to_tell_of() -> None:
    assert "many-trims" not in [finding.code for finding in check(sewn(Dots(), trims=False))]
