"""The closure tab: two halves that meet."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.decoration import Dots, NoDecoration
from stitchcraft.design import DoubleRun, Purpose
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import mirrored
from stitchcraft.parts import ClosureTab, Snap
from stitchcraft.parts.tips import TIPS

ALLOWANCE = 6.35  # 1/4 in, common practice, no source


def stop_of(design, purpose):
    return next(stop for stop in design.stops if stop.purpose is purpose)


def awkward(tip, slant=11, waist=60):
    return ClosureTab(width=76.2, length=120, tip=tip, slant=slant, waist=waist, decoration=NoDecoration())


@pytest.mark.parametrize("tip", TIPS)
@pytest.mark.parametrize("slant", [0, 11, -9])
def test_tab_is_as_long_and_as_wide_as_asked(tip, slant):
    tab = ClosureTab(width=70, length=115, tip=tip, slant=slant)
    outline = tab.outline
    assert outline[:, 1].min() == pytest.approx(-115, abs=0.01)
    assert np.ptp(outline[:, 0]) == pytest.approx(70, abs=0.01)
    assert outline[0] == pytest.approx((-35, tab.insertion_mm))
    assert outline[-1] == pytest.approx((35, tab.insertion_mm))
    assert shapely.LineString(outline).is_simple


@pytest.mark.parametrize("tip", [tip for tip in TIPS if tip != "wave"])
def test_symmetric_tab_is_its_own_mirror_image(tip):
    tab = ClosureTab(width=70, length=115, tip=tip)
    assert shapely.LineString(tab.outline).hausdorff_distance(shapely.LineString(mirrored(tab.outline))) < 0.02


@pytest.mark.parametrize("tip", TIPS)
def test_back_laid_face_down_lands_on_the_front(tip):
    tab = awkward(tip)
    front, back = tab.front(), tab.back()
    seam = stop_of(front, Purpose.SEAM).elements[0].path
    outline = stop_of(back, Purpose.OUTLINE).elements[0].path
    np.testing.assert_allclose(mirrored(outline), seam, atol=1e-9)
    for tick, mark in zip(stop_of(front, Purpose.TICKS).elements, stop_of(back, Purpose.TICKS).elements, strict=True):
        np.testing.assert_allclose(mirrored(mark.path), tick.path, atol=1e-9)
    ring = stop_of(back, Purpose.SNAP).elements[0].path
    assert ring.mean(axis=0) == pytest.approx((0, -tab.reach_mm), abs=0.7)


@pytest.mark.parametrize("tip", TIPS)
def test_ticks_lie_wholly_outside_the_trimmed_allowance(tip):
    tab = awkward(tip)
    ticks = stop_of(tab.front(), Purpose.TICKS).elements
    assert len(ticks) == 4
    trimmed = shapely.Polygon(tab.outline).buffer(ALLOWANCE, quad_segs=64)
    for tick in ticks:
        assert shapely.LineString(tick.path).distance(trimmed) >= 1.0


def test_seam_is_a_double_run_that_leaves_the_mouth_open():
    seam = stop_of(ClosureTab(length=120).front(), Purpose.SEAM).elements[0]
    assert isinstance(seam.stitch, DoubleRun)
    assert not seam.closed
    assert np.hypot(*(seam.path[0] - seam.path[-1])) == pytest.approx(76.2)


def test_decoration_stays_clear_of_the_seam():
    tab = ClosureTab(length=120, decoration=Dots(pitch=6, diameter=3))
    seam = shapely.LineString(tab.outline)
    for element in stop_of(tab.front(), Purpose.DECORATE).elements:
        shape = getattr(element, "polygon", None)
        if shape is None:
            shape = shapely.LineString(np.vstack([getattr(element, "path", getattr(element, "rail_a", None))]))
        assert shape.distance(seam) >= 3.0 - 1e-6


def test_batting_stays_inside_the_seam_and_below_the_root_line():
    tab = ClosureTab(length=120, batting=True)
    front = tab.front()
    assert [stop.purpose for stop in front.stops][:2] == [Purpose.PLACE, Purpose.TACK]
    for purpose in (Purpose.PLACE, Purpose.TACK):
        path = stop_of(front, purpose).elements[0].path
        assert shapely.LineString(path).distance(shapely.LineString(tab.outline)) >= 1.99
        assert path[:, 1].max() <= 0


def test_snap_near_the_seam_is_found_and_the_remedy_helps():
    near = ClosureTab(length=120, tip="point", snap=Snap(diameter=18, inset=16))
    (finding,) = near.findings()
    assert finding.code == "snap-near-seam"
    assert finding.measured < finding.limit
    assert ClosureTab(length=120, tip="point", snap=Snap(diameter=18, inset=30)).findings() == ()


def test_own_tip_is_scaled_to_the_width():
    own = np.array([[0, 0], [1, -2], [3, -2.5], [4, 0]])
    tab = ClosureTab(width=60, length=100, tip=own)
    assert np.ptp(tab.outline[:, 0]) == pytest.approx(60, abs=0.01)
    assert tab.outline[:, 1].min() == pytest.approx(-100, abs=0.01)


@pytest.mark.parametrize(
    ("values", "name"),
    [
        ({"width": -1}, "tab.width"),
        ({"tip": "spork"}, "tab.tip"),
        ({"slant": 80}, "tab.slant"),
        ({"length": 20}, "tab.snap.inset"),
        ({"length": 40, "tip": "leaf", "snap": Snap(diameter=10, inset=10)}, "tab.length"),
        ({"width": 20}, "tab.snap.diameter"),
        ({"waist": 90}, "tab.waist"),
        ({"snap": 18}, "tab.snap"),
        ({"palette": "#2f5d62"}, "tab.palette"),
        ({"tip": np.array([[0, 0], [3, -2], [0, -2], [3, 0], [4, 0]])}, "tab.tip"),
    ],
)
def test_tab_refuses_what_cannot_be_made(values, name):
    with pytest.raises(ParameterError) as caught:
        ClosureTab(**values)
    assert caught.value.name == name


@given(
    width=st.floats(25, 150), length=st.floats(40, 250), tip=st.sampled_from(list(TIPS)), slant=st.floats(-40, 40),
    waist=st.floats(0.3, 1.0), radius=st.none() | st.floats(0, 12), depth=st.none() | st.floats(1, 150),
    inset=st.floats(5, 60), diameter=st.floats(5, 30),
)  # fmt: skip
def test_any_tab_is_valid_or_one_clear_error(width, length, tip, slant, waist, radius, depth, inset, diameter):
    try:
        tab = ClosureTab(
            width=width, length=length, tip=tip, slant=slant, waist=max(5, waist * width), tip_radius=radius,
            tip_depth=depth, snap=Snap(diameter=diameter, inset=inset), decoration=NoDecoration(),
        )  # fmt: skip
    except ParameterError as error:
        assert "\n" not in str(error)  # noqa: PT017
        return
    assert tab.shape.is_valid
    assert tab.outline[:, 1].min() == pytest.approx(-length, abs=0.05)
    assert all(stop.elements for stop in (*tab.front().stops, *tab.back().stops))


def test_tab_too_narrow_for_batting_is_refused_by_its_own_key():
    with pytest.raises(ParameterError, match=r"tab\.batting is True"):
        ClosureTab(width=30, waist=6, length=100, batting=True, snap=Snap(diameter=10, inset=25)).front()
    assert ClosureTab(width=30, length=100, batting=True, snap=Snap(diameter=10, inset=25)).front().stops
