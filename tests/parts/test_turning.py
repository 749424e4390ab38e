"""What can be turned right side out, against shapes whose radii and widths are known."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
import shapely

from stitchcraft.decoration import NoDecoration
from stitchcraft.parts import Button, ClosureTab, Snap
from stitchcraft.parts.turning import passage_mm, tightest_inner_mm, tightest_outer_mm


def tab(**options) -> ClosureTab:
    return ClosureTab(**{"width": 76.2, "length": 130, "decoration": NoDecoration(), **options})


def codes(made: ClosureTab) -> list[str]:
    return [finding.code for finding in made.findings()]


def numbers_in(remedy: str) -> float:
    """The first length that a remedy names, mm."""
    return float(re.search(r"([0-9.]+) mm", remedy).group(1))


@pytest.mark.parametrize("radius", [1.0, 2.5, 4.0, 6.0])
def test_radius_of_a_notch_is_measured_as_it_was_cut(radius):
    """A rectangle with a round-bottomed slot 2r wide, cut by a disc: its inner radius is the disc's."""
    slot = shapely.LineString([(0, -60), (0, -40)]).buffer(radius, quad_segs=64)
    shape = shapely.box(-30, -50, 30, 0).difference(slot)
    assert tightest_inner_mm(shape, 8.0) == pytest.approx(radius, abs=0.15)
    assert tightest_inner_mm(shape, radius * 0.9) == radius * 0.9


@pytest.mark.parametrize("radius", [0.5, 1.0, 2.0, 3.0])
def test_radius_of_a_rounded_corner_is_measured_as_it_was_cut(radius):
    """A square corner of radius r, rounded by R instead, moves by (R - r)(sqrt(2) - 1) at its middle: closed form."""
    half = shapely.box(-30 + radius, -50 + radius, 30 - radius, 30).buffer(radius, quad_segs=64)
    shape = half.intersection(shapely.box(-30, -60, 30, 0))
    allowed = 0.1 / (math.sqrt(2) - 1)
    assert tightest_outer_mm(shape, 5.0) == pytest.approx(radius + allowed, abs=0.12)


def test_mouth_of_a_straight_tab_has_to_hold_its_own_bundle():
    """n^2 / pi = w t / packing with n = w gives n = pi t / packing: closed form of the stated rule."""
    strip = np.array([[-20, 0], [-20, -100], [20, -100], [20, 0]], dtype=float)
    width, needed = passage_mm(strip, 2.0, 0.6, 0.0)
    assert width == pytest.approx(40)
    assert needed == pytest.approx(math.sqrt(math.pi * 40 * 2 / 0.6), rel=1e-6)
    assert passage_mm(strip, 2.0, 0.6, 45.0) == (pytest.approx(40), 45.0)


def test_what_hangs_from_a_neck_has_to_pass_it():
    neck = np.array([[-30, 0], [-30, -10], [-8, -10], [-8, -40], [-30, -40], [-30, -90], [30, -90], [30, -40],
                     [8, -40], [8, -10], [30, -10], [30, 0]], dtype=float)  # fmt: skip
    width, needed = passage_mm(neck, 2.0, 0.6, 0.0)
    assert width == pytest.approx(16)
    assert needed == pytest.approx(math.sqrt(math.pi * 60 * 2 / 0.6), rel=1e-6)


@pytest.mark.parametrize(
    "options",
    [
        {"tip": "notch", "tip_radius": 2},
        {"tip": "scallop", "tip_radius": 3},
        {"tip": "keyhole", "tip_radius": 1.5},
        {"tip": "notch", "width": 40, "snap": Snap(diameter=10, inset=32)},
    ],
)
def test_curve_too_tight_for_the_allowance_is_found_and_its_remedy_helps(options):
    found = [finding for finding in tab(**options).findings() if finding.code == "curve-tight"]
    assert len(found) == 1
    # 1/4 in, the allowance that is left around a tab: common practice, no source
    assert found[0].measured < found[0].limit == 6.35
    assert found[0].remedy.startswith("Set tab.tip_radius")
    mended = {**options, "tip_radius": numbers_in(found[0].remedy)}
    assert "curve-tight" not in codes(tab(**mended))


@pytest.mark.parametrize("tip", ["point", "leaf", "square", np.array([[0, 0], [3, -2], [6, 0]])])
def test_sharp_point_does_not_turn_and_the_rounding_named_helps(tip):
    (finding,) = tab(tip=tip, tip_radius=0, snap=Snap(inset=40)).findings()
    assert finding.code == "curve-tight"
    assert "outward" in finding.message
    assert codes(tab(tip=tip, tip_radius=numbers_in(finding.remedy), snap=Snap(inset=40))) == []


def test_waist_too_narrow_to_turn_through_is_found_and_the_waist_named_helps():
    wide = {"width": 120, "length": 160, "snap": Snap(inset=40)}
    (finding,) = tab(waist=22, **wide).findings()
    assert finding.code == "mouth-narrow"
    assert finding.measured == pytest.approx(22, abs=0.1)
    assert finding.remedy.startswith("Set tab.waist")
    assert codes(tab(waist=numbers_in(finding.remedy), **wide)) == []


def test_batting_in_a_narrow_tab_is_found_and_either_remedy_helps():
    narrow = {"width": 22, "tip": "square", "snap": Snap(diameter=7)}
    (finding,) = tab(batting=True, **narrow).findings()
    assert finding.code == "mouth-narrow"
    assert "tab.batting" in finding.remedy
    assert codes(tab(**narrow)) == []
    assert codes(tab(batting=True, **{**narrow, "width": numbers_in(finding.remedy)})) == []


def test_snap_set_before_turning_has_to_pass_the_mouth_and_a_button_need_not():
    small = {"width": 24, "length": 130, "tip": "square", "waist": 19}
    (finding,) = [one for one in tab(snap=Snap(diameter=18, inset=50), **small).findings() if "near" not in one.code]
    assert finding.code == "mouth-narrow"
    assert finding.limit == pytest.approx(20, abs=0.5)
    assert "mouth-narrow" not in codes(tab(fastener=Button(diameter=18, inset=50), **small))


def test_ticks_near_one_another_are_found_and_the_length_named_helps():
    (finding,) = tab(width=15, length=22, tip="square", snap=Snap(diameter=5, inset=11)).findings()
    assert finding.code == "ticks-close"
    longer = numbers_in(finding.remedy)
    assert codes(tab(width=15, length=longer, tip="square", snap=Snap(diameter=5, inset=11))) == []


def test_tip_may_be_a_function_of_width_and_depth():
    def slope(width, depth):
        return np.array([[0, 0], [0.8 * width, -depth], [width, 0]])

    made = tab(tip=slope, tip_depth=30, snap=Snap(inset=45))
    assert made.outline[:, 1].min() == pytest.approx(-130, abs=0.01)
    assert np.ptp(made.outline[:, 0]) == pytest.approx(76.2, abs=0.01)
    lowest = made.outline[np.argmin(made.outline[:, 1])]
    assert lowest[0] == pytest.approx(0.3 * 76.2, abs=1.5)
