"""Maps of needle holes and of thread, held against closed forms and scipy, and the findings drawn from them."""

import tracemalloc

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from machine_plans import plan_of, plans
from scipy import ndimage, spatial

from stitchcraft.checks import check, density_map
from stitchcraft.defaults import DENSITY, FABRICS, STANDARD_WIDTH_MM, FabricProfile, density_limit
from stitchcraft.design import Area, Design, Fill, PlanStop, Purpose, StitchPlan, Stop, Thread
from stitchcraft.errors import ParameterError
from stitchcraft.geometry import thread_cover
from stitchcraft.machine import Placement, decode, encode
from stitchcraft.stitching import plan

THREAD = Thread("#2f5d62")
W = STANDARD_WIDTH_MM


def rows_plan(spacing, length, *, side=30.0, angle=0.0):
    """Parallel rows of stitches of one length, each a run of its own, over a square of twice *side*."""
    t = np.radians(angle)
    turn = np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]])
    x = np.arange(-2 * side, 2 * side, length)
    runs = [np.column_stack([x + k % 3 * length / 3, np.full(len(x), y)]) @ turn
            for k, y in enumerate(np.arange(-2 * side, 2 * side, spacing))]  # fmt: skip
    return plan_of([runs])


def inner(values, share=0.2):
    rows, columns = values.shape
    return values[int(rows * (0.5 - share)) : int(rows * (0.5 + share)), int(columns * (0.5 - share)) : int(
        columns * (0.5 + share))]  # fmt: skip


@pytest.mark.parametrize("angle", [0, 31, 90])
@pytest.mark.parametrize("spacing", [0.25, 0.5, 0.8, 1.6])
def test_parallel_rows_cover_thread_width_over_spacing_and_hold_one_hole_to_spacing_times_length(spacing, angle):
    # cover min(1, w / s), layers w / s, holes 1 / (s L): closed forms of parallel strips and of a lattice
    maps = density_map(rows_plan(spacing, 2.0, side=12, angle=angle))
    assert inner(maps.cover).mean() == pytest.approx(min(1.0, W / spacing), abs=6e-3)
    assert inner(maps.layers).mean() == pytest.approx(W / spacing, rel=0.012)
    assert inner(maps.penetrations).mean() == pytest.approx(1 / (spacing * 2.0), rel=0.03)


@pytest.mark.parametrize("pitch", [0.4, 0.5, 0.6, 0.8, 1.2])
def test_a_zigzag_covers_what_its_formula_says(pitch):
    # 1 - (1 - w / p)^2 for a pitch of at least the thread's width, lines long beside it
    count = int(40 / (pitch / 2))
    zigzag = [(k * pitch / 2, 8.0 * (k % 2)) for k in range(count)]
    maps = density_map(plan_of([[zigzag]]), cell=0.2, window=0.2)
    left = maps.extent_mm[0]
    strip = maps.cover[:, int((5 - left) / 0.2) : int((35 - left) / 0.2)]
    assert strip.mean(axis=1).sum() * 0.2 / 8 == pytest.approx(1 - (1 - min(1, W / pitch)) ** 2, abs=0.01)


def test_a_map_adds_up_to_every_penetration_and_to_all_the_thread():
    one = plan(Design("disc", (Stop(Purpose.DECORATE, THREAD, (Area(shapely.Point(3, 4).buffer(9), Fill()),)),)))
    maps = density_map(one)
    assert maps.penetrations.sum() * maps.cell_mm**2 == pytest.approx(one.stitches)
    assert maps.cover.max() <= 1.0
    assert (maps.layers >= maps.cover - 1e-9).all()


def test_penetrations_equal_scipys_count_of_neighbours_and_its_mean_of_a_window():
    points = np.round(np.random.default_rng(4).uniform(-20, 20, (4000, 2)), 2)
    one = plan_of([[points.tolist()]])
    maps = density_map(one, cell=0.2, window=1.0)
    left, bottom, _, _ = maps.extent_mm
    rows, columns = maps.penetrations.shape
    at = np.random.default_rng(5).integers(0, (rows, columns), (200, 2))
    spots = np.column_stack([left + (at[:, 1] + 0.5) * 0.2, bottom + (at[:, 0] + 0.5) * 0.2])
    tree = spatial.cKDTree(one.needle_points)
    near = tree.query_ball_point(spots, 0.5 - 1e-7, p=np.inf, return_length=True)
    touching = tree.query_ball_point(spots, 0.5 + 1e-7, p=np.inf, return_length=True)
    counted = maps.penetrations[at[:, 0], at[:, 1]]
    assert (near <= counted + 1e-6).all()
    assert (counted <= touching + 1e-6).all()
    assert (near == touching).mean() > 0.5
    # the same by a histogram and a filter, away from edges between cells
    shifted = plan_of([[(points + 0.037).tolist()]])
    own = density_map(shifted, cell=0.2, window=1.0)
    left, bottom, right, top = own.extent_mm
    edges = np.linspace(bottom, top, own.cover.shape[0] + 1), np.linspace(left, right, own.cover.shape[1] + 1)
    counts, _, _ = np.histogram2d(shifted.needle_points[:, 1], shifted.needle_points[:, 0], bins=edges)
    mean = ndimage.uniform_filter(counts, 5, mode="constant") / 0.04
    assert np.abs(mean - own.penetrations).mean() < 0.05


def test_thread_of_another_weight_counts_by_its_cross_section_and_covers_by_its_width():
    x = np.arange(0.0, 20.0, 0.4)
    line = np.column_stack([x * np.cos(0.3), x * np.sin(0.3)])
    base = plan_of([[line.tolist()]])
    for weight in (12, 60):
        stops = (PlanStop(Purpose.DECORATE, Thread("#2f5d62", weight=weight)),)
        other = StitchPlan("x", base.xy, base.kind, base.stop, base.role, base.element, stops)
        maps = density_map(other)
        assert maps.load.sum() / maps.penetrations.sum() == pytest.approx(40 / weight)
        assert maps.cover.sum() * maps.cell_mm**2 == pytest.approx(19.6 * W * (40 / weight) ** 0.5, rel=0.01)


@settings(max_examples=12)
@given(plans(), st.sampled_from((0, 90, 180, 270)), st.integers(-300, 300), st.booleans())
def test_the_map_of_a_plan_moved_turned_or_mirrored_is_moved_turned_or_mirrored(one, turn, shift, mirror):
    whole = decode(encode(one, "xxx", placement=Placement()), "xxx").plan()
    xy = whole.xy * (-1, 1) if mirror else whole.xy
    image = StitchPlan("x", xy, whole.kind, whole.stop, whole.role, whole.element, whole.stops)
    spot = Placement(float(turn), (shift / 10, -shift / 10))
    ours = density_map(whole, cell=1.0, window=5.0)
    theirs = density_map(image, cell=1.0, window=5.0, placement=spot)
    for key in ("penetrations", "load"):
        want = getattr(ours, key)[:, ::-1] if mirror else getattr(ours, key)
        # the first row of a map is its lowest
        want = np.rot90(want[::-1], turn // 90)[::-1]
        assert want == pytest.approx(getattr(theirs, key), abs=1e-9)
    found = [f.to_dict() | {"message": "", "at_mm": None} for f in check(whole, part="x")]
    assert found == [f.to_dict() | {"message": "", "at_mm": None} for f in check(image, placement=spot)]


def patch(spacing, length, *, weight=40, times=1, at=(0.0, 0.0)):
    thread = Thread("#2f5d62", weight=weight)
    box = shapely.box(at[0], at[1], at[0] + 12, at[1] + 12)
    fill = Area(box, Fill(angle=0, row_spacing=spacing, length=length, underlay=False))
    return tuple(Stop(Purpose.DECORATE, thread, (fill,)) for _ in range(times))


def found(stops, code, **options):
    return [one for one in check(plan(Design("patch", stops)), **options) if one.code == code]


def test_a_place_is_told_in_the_hoops_frame_with_the_stops_that_are_the_cause():
    stops = (*patch(0.25, 4.0, at=(40.0, 0.0)), *patch(0.08, 0.6))
    spot = Placement(90.0, (10.0, -5.0))
    (one,) = found(stops, "density")
    (placed,) = found(stops, "density", placement=spot)
    assert one.stops == placed.stops == (2,)
    assert 0 <= one.at_mm[0] <= 12
    assert 0 <= one.at_mm[1] <= 12
    x, y = spot.taken_back([placed.at_mm])[0]
    assert -0.5 <= x <= 12.5
    assert -0.5 <= y <= 12.5
    assert one.measured == placed.measured
    assert not found((*patch(0.25, 4.0, at=(40.0, 0.0)), *patch(0.25, 4.0)), "density")


def test_several_stops_on_one_place_are_all_named():
    (one,) = found(patch(0.2, 1.0, times=5), "density")
    assert sorted(one.stops) == [1, 2, 3, 4, 5]
    assert "stop 1 (decorate)" in one.message
    assert " and stop" in one.message


def test_faux_leather_bears_fewer_holes_than_cotton_and_says_so():
    stops = patch(0.11, 0.9)
    assert not found(stops, "density", fabric="quilting cotton")
    (one,) = found(stops, "density", fabric="faux leather")
    assert one.limit == DENSITY["faux leather"].value < one.measured
    assert not found(patch(0.25, 1.0), "density", fabric="faux leather")
    with pytest.raises(ParameterError, match="fabric"):
        check(plan(Design("patch", stops)), fabric="wool")


def test_every_fabric_has_a_limit_with_its_standing():
    assert DENSITY.keys() == FABRICS.keys()
    assert all(row.source and row.what for row in DENSITY.values())
    assert density_limit(FabricProfile(name="my linen")) == density_limit(None) == 18.0


def test_fill_upon_fill_is_too_thick_and_goes_when_a_layer_is_left_out():
    # a fill of spacing 0.25 lays w / s = 1.6 layers; 5 mm take 20 of its rows, or 21
    (one,) = found(patch(0.25, 4.0, times=4), "thread-thick")
    assert one.measured == pytest.approx(6.4, rel=0.05)
    assert set(one.stops) == {1, 2, 3, 4}
    # a place is told to a tenth of a millimetre
    assert one.at_mm == tuple(round(value, 1) for value in one.at_mm)
    assert any(value != round(value) for value in one.at_mm)
    assert not found(patch(0.25, 4.0, times=3), "thread-thick")


def test_fine_thread_lies_thinner():
    assert found(patch(0.25, 4.0, times=4, weight=40), "thread-thick")
    assert not found(patch(0.25, 4.0, times=4, weight=60), "thread-thick")


def test_a_file_strewn_over_metres_is_checked_at_once():
    far = [(x, y) for x in np.arange(0.0, 4000.0, 10.0) for y in (0.0, 10.0)]
    one = plan_of([[far, [(k * 0.1, 3900.0) for k in range(30)]]])
    assert "density" not in [finding.code for finding in check(one)]
    dense = [(0.1 * (k % 5), 0.1 * (k // 5)) for k in range(25)]
    assert "density" in [finding.code for finding in check(plan_of([[far, dense]]))]
    with pytest.raises(ParameterError, match="cell"):
        density_map(plan_of([[[(0.0, 0.0), (4000.0, 3900.0)]]]))


@pytest.mark.parametrize(("cell", "window"), [(0.2, 0.4), (0.2, 0.5), (0.0, 1.0), (20, 20), (10, 110)])
def test_a_window_of_no_odd_number_of_cells_or_past_the_largest_is_refused(cell, window):
    with pytest.raises(ParameterError):
        density_map(rows_plan(1, 1, side=3), cell=cell, window=window)


@pytest.mark.parametrize("angle", [0, 90])
def test_lines_at_any_pitch_along_the_grid_are_neither_missed_nor_counted_twice(angle):
    # rows that keep step with the heights at which a map is measured would be caught all or not at all
    for spacing in (0.2986, 0.3, 0.45, 0.6667, 1.0):
        maps = density_map(rows_plan(spacing, 2.0, side=12, angle=angle))
        assert inner(maps.layers).mean() == pytest.approx(W / spacing, rel=0.02)
        assert inner(maps.cover).mean() == pytest.approx(min(1.0, W / spacing), abs=0.012)


def test_a_damaged_file_of_stitches_by_the_metre_is_checked_in_little_memory():
    dice = np.random.default_rng(11)
    crowded = dice.normal(0, 1.0, (800, 2)).round(1)
    strewn = np.vstack([crowded, dice.uniform(-4000, 4000, (1200, 2)).round(1)])
    tracemalloc.start()
    found = check(plan_of([[strewn]]))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert "density" in {finding.code for finding in found}
    assert peak < 60e6


def test_what_is_measured_band_by_band_is_what_is_measured_at_once(monkeypatch):
    dice = np.random.default_rng(3)
    start, end, width = dice.uniform(0, 20, (300, 2)), dice.uniform(0, 20, (300, 2)), dice.uniform(0.1, 0.6, 300)
    grid = thread_cover.Grid.around(np.vstack([start, end]), cell=0.2, margin=1.0)
    whole = thread_cover.line_cover(start, end, width, grid)
    monkeypatch.setattr(thread_cover, "_AT_ONCE", 1)
    for one, other in zip(whole, thread_cover.line_cover(start, end, width, grid), strict=True):
        np.testing.assert_allclose(one, other, atol=1e-9)


def test_the_largest_map_takes_less_than_half_a_gigabyte():
    corners = np.array([[-90, -90], [-85, -90], [90, 90], [85, 90]])
    tracemalloc.start()
    made = density_map(plan_of([[corners[:2], corners[2:]]]))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak / made.cover.size * thread_cover.MOST_CELLS < 400e6


def test_what_lies_beside_the_thickest_place_is_not_its_cause():
    # rows that fill the window of 5 mm from below to above, and thinner ones on either side of it
    thick = [np.array([(0.0, y), (2.0, y)] * 20) for y in np.arange(0, 5.1, 0.3)]
    beside = [np.array([(0.0, y), (2.0, y)] * 14) for y in (*np.arange(-2.4, -0.7, 0.3), *np.arange(5.9, 7.5, 0.3))]
    (one,) = (finding for finding in check(plan_of([thick, beside])) if finding.code == "thread-thick")
    assert one.stops == (1,)
    assert one.at_mm[1] == pytest.approx(2.5, abs=0.5)
