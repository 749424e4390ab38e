"""Needle points that nobody sees keep off the others; those that show stay where they are."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.design import Area, Column, Design, Fill, Line, Purpose, Role, Running, Satin, Stop, Thread
from stitchcraft.geometry.curves import circle
from stitchcraft.stitching import plan
from stitchcraft.stitching.crowding import DENSITY_STOP, GAP_MM, HIDDEN_SHIFTS, STRAY_MM, kept_off
from stitchcraft.stitching.strands import Strand
from stitchcraft.units import to_units

THREAD = Thread("#2f5d62")


def strand(points, role=Role.TOP, **options):
    xy = np.asarray(points, dtype=np.float64)
    return Strand(xy, np.full(len(xy), role, dtype=np.uint8), np.zeros(len(xy), dtype=np.int32), **options)


def line(y, count=9, shift=0.0, step=2.0):
    return np.column_stack([np.arange(count) * step + shift, np.full(count, y)])


def crowded(first, second):
    """Pairs of needle points of two runs that are too near and in two holes, counted one by one."""
    return crowded_of(first, second, GAP_MM)


def crowded_of(first, second, gap):
    away = np.hypot(*(first[:, None] - second[None]).transpose(2, 0, 1))
    return int(((away < gap - 1e-9) & (away > 1e-6)).sum())


@pytest.mark.parametrize("role", [Role.UNDERLAY, Role.TRAVEL])
def test_underlay_beside_a_line_of_another_run_is_shifted_along_its_own_stitches(role):
    top, under = strand(line(0.0)), strand(line(0.1, shift=0.05), role)
    first, second = kept_off([top, under])
    assert crowded(top.xy, under.xy) == 9
    assert crowded(first.xy, second.xy[1:-1]) == 0
    assert first.xy.tolist() == top.xy.tolist()
    assert (second.xy[:, 1] == 0.1).all()
    assert np.abs(second.xy - under.xy).max() <= HIDDEN_SHIFTS[-1]
    assert second.xy[[0, -1]].tolist() == under.xy[[0, -1]].tolist()


def test_what_shows_stays_unless_it_is_loose():
    lower, upper = strand(line(0.0)), strand(line(0.1, shift=0.05))
    assert kept_off([lower, upper])[1].xy.tolist() == upper.xy.tolist()
    loose = strand(line(0.1, shift=0.05), loose=True)
    moved = kept_off([lower, loose])[1].xy
    assert crowded(lower.xy, moved[1:-1]) == 0
    assert np.abs(moved - loose.xy).max() <= 0.3 + 1e-9


def test_the_corner_of_a_loose_line_stays():
    corner = strand([[-4, 0], [-2, 0], [0, 0], [0, 2], [0, 4]], loose=True)
    other = strand(line(0.1, count=2, shift=0.1))
    assert kept_off([other, corner])[1].xy.tolist() == corner.xy.tolist()


def test_a_shared_hole_is_not_crowded():
    top, under = strand(line(0.0)), strand(line(0.0), Role.UNDERLAY)
    assert kept_off([top, under])[1].xy.tolist() == under.xy.tolist()


def test_where_there_is_no_room_a_straight_hidden_point_is_left_out_and_a_bend_stays():
    # holes every half gap all around leave no place to go
    side = np.arange(-3.0, 3.01, GAP_MM / 2)
    wall = np.array([(x, y) for x in side for y in side])
    straight = strand([[-2.5, 0.05], [0.05, 0.05], [2.5, 0.05]], Role.UNDERLAY)
    bent = strand([[-2.5, 0.05], [0.05, 0.05], [0.05, 2.5]], Role.UNDERLAY)
    assert len(kept_off([strand(wall), straight])[1].xy) == 2
    assert kept_off([strand(wall), bent])[1].xy.tolist() == bent.xy.tolist()


def test_passes_through_one_hole_move_together():
    there = line(0.1, shift=0.05)
    under = strand(np.vstack([there, there[-2::-1]]), Role.UNDERLAY)
    moved = kept_off([strand(line(0.0)), under])[1].xy
    assert len(np.unique(moved, axis=0)) == 9


@st.composite
def runs(draw):
    random = np.random.default_rng(draw(st.integers(0, 2**20)))
    found = []
    for _ in range(draw(st.integers(1, 5))):
        turn, at = random.uniform(0, 6.3), random.uniform(-6, 6, 2)
        path = line(0.0, count=draw(st.integers(2, 12)), step=random.uniform(0.6, 3)) - (5, 0)
        turned = path @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) + at
        found.append(strand(turned, draw(st.sampled_from([Role.TOP, Role.UNDERLAY])), loose=draw(st.booleans())))
    return found


@given(runs())
def test_no_more_pairs_crowd_than_before_and_every_run_keeps_to_its_line(before):
    after = kept_off(before)
    for old, new in zip(before, after, strict=True):
        way = shapely.LineString(old.xy)
        assert new.xy[[0, -1]].tolist() == old.xy[[0, -1]].tolist()
        assert shapely.distance(shapely.points(new.xy), way).max() <= 1e-9
        assert shapely.hausdorff_distance(shapely.LineString(new.xy), way, 0.1) <= STRAY_MM + 1e-9
        assert len(new.xy) == len(new.role) == len(new.element)
        if not old.loose and Role.UNDERLAY not in old.role:
            assert new.xy.tolist() == old.xy.tolist()
    pairs = [(i, j) for i in range(len(before)) for j in range(i)]
    assert sum(crowded(after[i].xy, after[j].xy) for i, j in pairs) <= sum(
        crowded(before[i].xy, before[j].xy) for i, j in pairs
    )


def test_a_cover_stitch_over_a_tack_down_lays_its_underlay_off_the_tack_downs_holes():
    ring = circle((0, 0), 20)
    tack = Stop(Purpose.TACK, THREAD, (Line(ring * 0.95, Running(length=2.0)),))
    cover = Stop(Purpose.COVER, THREAD, (Column(ring * 1.04, ring * 0.91, Satin()),))
    made = plan(Design("x", (tack, cover)))
    points, sewn = made.xy, made.is_stitch
    under = points[sewn & (made.stop == 1) & (made.role == Role.UNDERLAY)]
    held = points[sewn & (made.stop == 0) & (made.role == Role.TOP)]
    assert crowded(held, under) <= 2


def test_hidden_needle_points_are_left_out_where_too_many_meet():
    rows = [strand(line(0.005 * k, step=0.6, count=7), Role.UNDERLAY) for k in range(30)]
    counts = [len(one.xy) for one in kept_off(rows)]
    assert max(counts) <= 7
    assert sum(counts) < 0.8 * 7 * 30


def test_thicker_thread_leaves_fewer_in():
    rows = [strand(line(0.4 * k, step=0.6, count=20), Role.UNDERLAY) for k in range(20)]
    kept = [sum(len(one.xy) for one in kept_off(rows, [weight] * 20)) for weight in (1.0, 6.0)]
    assert kept[0] == 400  # some 5 to the square millimetre: well under the limit
    assert DENSITY_STOP > 8
    assert kept[1] < 330


def test_a_plain_fill_is_as_it_was():
    one_fill = Design("x", (Stop(Purpose.DECORATE, THREAD, (Area(shapely.box(0, 0, 20, 20), Fill(angle=0)),)),))
    made = plan(one_fill)
    xy = made.points_of(0)
    assert crowded(xy[::2], xy[1::2]) < 0.1 * len(xy)


@pytest.mark.parametrize(("weight", "apart"), [(160, 0.175), (40, 0.35), (12, 0.639)])
def test_needle_points_keep_apart_as_their_thread_is_wide(weight, apart):
    # 40-weight thread is 0.4 mm wide, and width goes by the root of the weight number: common practice, no source
    load = 40 / weight
    for gap, stays in ((0.98 * apart, False), (1.02 * apart, True)):
        under = strand(line(gap), Role.UNDERLAY)
        moved = kept_off([strand(line(0.0)), under], [load, load])[1].xy
        assert (moved.tolist() == under.xy.tolist()) == stays
        assert crowded_of(strand(line(0.0)).xy, moved[1:-1], apart) == 0


def test_two_threads_keep_apart_by_the_mean_of_their_widths():
    under = strand(line(0.25), Role.UNDERLAY)  # a quarter of the weight number's thread is twice as wide
    top = strand(line(0.0))
    assert kept_off([top, under], [1.0, 0.0625])[1].xy.tolist() == under.xy.tolist()  # (0.35 + 0.0875) / 2 = 0.219
    assert kept_off([top, under], [1.0, 1.0])[1].xy.tolist() != under.xy.tolist()


def test_hidden_needle_points_are_thinned_to_what_the_cloth_bears():
    rows = [strand(np.column_stack([0.6 * np.arange(20), np.full(20, 0.02 * k)]), Role.UNDERLAY) for k in range(14)]
    kept = [sum(len(one.xy) for one in kept_off(rows, densest=limit)) for limit in (12.0, 18.0, 40.0)]
    assert kept[0] < kept[1] < kept[2]


@pytest.mark.parametrize(("weight", "least"), [(60, 0.3), (40, 0.3), (12, 0.44)])
def test_needle_points_of_a_column_of_thick_thread_keep_farther_apart(weight, least):
    # a tight half turn: what crowds on its inner side is pulled in; 12-weight thread is 1.83 times as wide as 40, and
    # 0.55 mm less a machine unit is 0.448; both ends stay in their places
    turn = np.linspace(0, np.pi, 200)
    inner, outer = (r * np.column_stack([np.cos(turn), np.sin(turn)]) for r in (1.0, 5.0))
    column = Column(inner, outer, Satin(pitch=0.6, underlay=False))
    made = plan(Design("x", (Stop(Purpose.DECORATE, Thread("#2f5d62", weight=weight), (column,)),)))
    units = to_units(made.xy[made.is_stitch & (made.role == Role.TOP)])
    apart = np.hypot(*(units[:, None] - units[None]).transpose(2, 0, 1))[np.triu_indices(len(units), 1)] / 10
    assert apart.min() >= least - 1e-9
