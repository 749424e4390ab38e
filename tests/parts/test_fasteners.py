"""Fasteners: what is stitched for them, where they close, what they keep free, and what is said of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from stitchcraft.decoration import Dots, NoDecoration
from stitchcraft.design import Column, Line, Purpose
from stitchcraft.errors import Level, ParameterError
from stitchcraft.geometry.curves import mirrored
from stitchcraft.parts import (
    FASTENERS,
    Button,
    ClosureTab,
    Fastener,
    SewInSnap,
    Snap,
    SnapMark,
    StrapConnector,
    TurnLock,
)

ALL = [Snap(), SewInSnap(), SewInSnap(holes=2), TurnLock(), Button(), Button(direction="across")]
NAMES = [f"{type(one).__name__}{i}" for i, one in enumerate(ALL)]
every = pytest.mark.parametrize("fastener", ALL, ids=NAMES)


def tab_with(fastener: Fastener, **options) -> ClosureTab:
    return ClosureTab(**{"width": 76, "length": 130, "decoration": NoDecoration(), "fastener": fastener, **options})


def points_of(elements) -> np.ndarray:
    paths = [[one.path] if isinstance(one, Line) else [one.rail_a, one.rail_b] for one in elements]
    return np.vstack([path for pair in paths for path in pair])


def snap_stops(design):
    return [stop for stop in design.stops if stop.purpose is Purpose.SNAP]


def carriers(tab: ClosureTab):
    """Every part of a tab that carries its fastener's marks, with its points in the front's frame."""
    designs = [tab.back(), tab.front(), *([tab.finished()] if tab.finished() else [])]
    for design in designs:
        for stop in snap_stops(design):
            points = points_of(stop.elements)
            yield design.name, mirrored(points) if design.name == "tab-back" else points


@every
def test_both_halves_meet_where_the_tab_closes(fastener):
    tab = tab_with(replace(fastener, inset=32))
    found = list(carriers(tab))
    assert found
    for _, points in found:
        assert fastener.closes_at(points) == pytest.approx((0, -(130 - 32)), abs=0.02)
    target = points_of(fastener.target((7.0, -5.0)))
    assert fastener.target_at(target) == pytest.approx((7, -5), abs=0.02)


@pytest.mark.parametrize(
    ("fastener", "parts"),
    [(Snap(), ["tab-back"]), (SewInSnap(), ["tab-back"]), (TurnLock(), ["tab-back", "tab-front"]),
     (Button(), ["tab-buttonhole"])],
)  # fmt: skip
def test_each_kind_marks_the_parts_that_carry_it(fastener, parts):
    assert [name for name, _ in carriers(tab_with(fastener))] == parts


@every
def test_decoration_leaves_free_what_goes_through_the_front(fastener):
    tab = tab_with(fastener, decoration=Dots(pitch=5, diameter=3))
    through = [points for name, points in carriers(tab) if name != "tab-back"]
    dots = next(stop for stop in tab.front().stops if stop.purpose is Purpose.DECORATE).elements
    drawn = shapely.union_all([shapely.MultiPoint(points_of([dot])).convex_hull for dot in dots])
    for points in through:
        assert shapely.MultiPoint(points).convex_hull.distance(drawn) > 0


@every
def test_connector_decoration_and_needle_stay_clear_of_the_bags_half(fastener):
    bridge = StrapConnector(spacing=150, height=60, fastener=fastener, decoration=Dots(pitch=5, diameter=2))
    # 5 mm from the rim of metal: common practice, no source
    half = fastener.on_bag((0.0, 0.0)).buffer(5 - 0.05)
    for element in next(s for s in bridge.front().stops if s.purpose is Purpose.DECORATE).elements:
        assert shapely.MultiPoint(points_of([element])).convex_hull.distance(half) >= 0
        assert not half.intersects(shapely.MultiPoint(points_of([element])))
    assert bridge.front().stops[-1].purpose is Purpose.SNAP
    np.testing.assert_allclose(
        points_of(bridge.front().stops[-1].elements), points_of(SnapMark(fastener=fastener).design().stops[0].elements)
    )


@every
def test_marks_that_stay_visible_lie_under_what_is_set_there(fastener):
    tab = tab_with(fastener)
    half = fastener.on_tab(tab.snap_centre).buffer(0.02)
    for _, points in carriers(tab):
        assert half.covers(shapely.MultiPoint(points))
    assert fastener.on_bag((0.0, 0.0)).buffer(0.02).covers(shapely.MultiPoint(points_of(fastener.target((0.0, 0.0)))))


@pytest.mark.parametrize(("diameter", "thickness"), [(20, 4), (15, 2.5), (28, 11)])
def test_buttonhole_is_as_long_as_the_button_is_wide_and_thick(diameter, thickness):
    """Length = diameter + thickness: the rule of sewing handbooks (from memory); the cut lies between the bars."""
    button = Button(diameter=diameter, thickness=thickness)
    cut, *columns = tab_with(button, width=90).finished().stops[-1].elements
    legs, bars = columns[0::2], columns[1::2]
    levels = sorted(float(y) for bar in bars for y in bar.rail_a[:, 1])
    assert levels[2] - levels[1] == pytest.approx(diameter + thickness)
    assert np.ptp(cut.path[:, 1]) < diameter + thickness
    # the legs leave the cut free, and the bars reach over both of them
    inner = [min(abs(float(x)) for x in points_of([leg])[:, 0]) for leg in legs]
    assert min(inner) == pytest.approx(0.5)
    for bar in bars:
        assert np.ptp(points_of([bar])[:, 0]) == pytest.approx(button.width_mm)
    assert all(isinstance(one, Column) for one in columns)


def test_along_the_tab_the_button_rests_an_eighth_of_an_inch_inside_the_hole():
    """1/8 in inside the end that the pull draws against it: common practice, no source."""
    tab = tab_with(Button(diameter=20, thickness=4, inset=30))
    bars = tab.finished().stops[-1].elements[2::2]
    low, high = sorted(float(y) for bar in bars for y in bar.rail_a[:, 1])[1:3]
    assert low == pytest.approx(-100 - 25.4 / 8, abs=0.05)
    assert high == pytest.approx(low + 24)
    across = tab_with(Button(diameter=20, thickness=4, inset=30, direction="across")).finished().stops[-1].elements
    assert points_of(across[:1])[:, 1] == pytest.approx([-100, -100])
    assert points_of(across[:1])[:, 0].sum() == pytest.approx(0)


def test_turn_lock_has_its_hole_inside_its_plate_and_a_slit_on_each_side():
    lock = TurnLock(width=40, height=24, hole_width=20, hole_height=9, prongs=30, slit=5)
    plate, hole, left, right = lock.front_marks((0.0, 0.0))
    # an ellipse's area is pi a b: closed form
    assert shapely.Polygon(hole.path).area == pytest.approx(np.pi * 10 * 4.5, rel=2e-3)
    assert shapely.Polygon(plate.path).contains(shapely.Polygon(hole.path))
    for slit, side in ((left, -1), (right, 1)):
        assert slit.path[:, 0].tolist() == [15 * side, 15 * side]
        assert not shapely.LineString(slit.path).intersects(shapely.Polygon(hole.path))


def test_sew_in_snap_has_a_mark_for_each_hole_of_its_rim():
    ring, *marks = SewInSnap(diameter=20, holes=6).target((0.0, 0.0))
    assert len(marks) == 6
    ends = np.array([mark.path[-1] for mark in marks])
    assert np.hypot(*ends.T) == pytest.approx(9.0)
    assert shapely.Polygon(ring.path).area == pytest.approx(np.pi * 100, rel=2e-3)
    # laid face down they lie where they lay: the back's own mirror image
    assert {tuple(row) for row in mirrored(ends).round(6)} == {tuple(row + 0.0) for row in ends.round(6)}


@every
def test_each_says_what_to_buy_how_to_set_it_and_what_can_hurt(fastener):
    assert fastener.supplies
    assert all(supply.what and supply.count and supply.note for supply in fastener.supplies)
    assert fastener.bag_setting.title
    assert fastener.bag_setting.text.endswith(".")
    assert fastener.bag_setting.dangers
    assert all(side > 0 for _, side in fastener.backings_mm)


@pytest.mark.parametrize(("kind", "width"), [(kind, w) for kind in FASTENERS for w in (15, 25, 40, 76.2, 150)])
def test_one_of_a_usual_size_suits_any_tab_that_can_hold_one(kind, width):
    fastener = FASTENERS[kind].suited(width)
    assert FASTENERS[kind].suited(width, inset=20).inset == 20
    if kind == "turn-lock" and width < 38:  # bought as it is: 34 mm and 2 on each side
        with pytest.raises(ParameterError, match=r"tab\.fastener\.width"):
            tab_with(fastener, width=width, length=120)
        return
    tab = tab_with(fastener, width=width, length=120)
    assert [finding.code for finding in tab.findings() if finding.level is Level.ERROR] == []


@pytest.mark.parametrize(
    "near", [Snap(inset=16.03), SewInSnap(inset=16), TurnLock(inset=19), Button(inset=9), Button(direction="across",
             inset=19)], ids=lambda one: one.kind,
)  # fmt: skip
def test_one_too_near_the_seam_is_found_and_its_remedy_helps(near):
    (finding,) = tab_with(near, tip="point", tip_radius=2).findings()
    assert finding.code == f"{near.word}-near-seam"
    assert finding.measured < finding.limit
    assert f"Set {near.key}.inset to at least" in finding.remedy
    inset = float(finding.remedy.split(" mm")[0].split()[-1])
    assert tab_with(replace(near, inset=inset), tip="point", tip_radius=2).findings() == ()


def test_one_that_the_seam_would_run_through_is_an_error():
    (finding,) = tab_with(Snap(diameter=18, inset=10), tip="point").findings()
    assert finding.level is Level.ERROR
    assert finding.measured == 0


@pytest.mark.parametrize(
    ("make", "name"),
    [
        (lambda: SewInSnap(diameter=2), "tab.fastener.diameter"),
        (lambda: SewInSnap(holes=1), "tab.fastener.holes"),
        (lambda: SewInSnap(holes=3.5), "tab.fastener.holes"),
        (lambda: Button(direction="slanted"), "tab.fastener.direction"),
        (lambda: Button(thickness="no"), "tab.fastener.thickness"),
        (lambda: Button(bead=9), "tab.fastener.bead"),
        (lambda: TurnLock(hole_width=33), "tab.fastener.hole_width"),
        (lambda: TurnLock(hole_height=19), "tab.fastener.hole_height"),
        (lambda: TurnLock(prongs=12), "tab.fastener.prongs"),
        (lambda: TurnLock(post_prongs=40), "tab.fastener.post_prongs"),
        (lambda: TurnLock(slit=25), "tab.fastener.slit"),
        (lambda: tab_with(TurnLock(), width=30), "tab.fastener.width"),
        (lambda: tab_with(Button(inset=129)), "tab.fastener.inset"),
        (lambda: tab_with("button"), "tab.fastener"),
        (lambda: StrapConnector(fastener="button"), "connector.fastener"),
        (lambda: StrapConnector(fastener=Button(diameter=60), spacing=200), "connector.height"),
    ],
)
def test_what_cannot_be_made_is_refused_by_its_key(make, name):
    with pytest.raises(ParameterError) as caught:
        make()
    assert caught.value.name == name
