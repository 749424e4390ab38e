"""Crowded needle points are pulled in, shifted or left out as little as need be, all pairs compared by scipy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree
from scipy.spatial.distance import pdist

from stitchcraft.stitching.short_stitches import (
    DEEPEST,
    FARTHEST_SHIFT_MM,
    kept_apart,
    kept_off_others,
    shift_apart,
    spread,
)
from stitchcraft.units import to_units

GAP = 0.3
ROUNDED = 0.1 * np.sqrt(2)  # two points, each rounded by half a diagonal of a unit of 0.1 mm


def ring_column(inner, width, pitch=0.4):
    """Needle points on the inner side of a ring of satin, and the outer ends of their lines."""
    count = int(2 * np.pi * (inner + width) / pitch)
    angle = np.arange(count) * 2 * np.pi / count
    side = np.column_stack([np.cos(angle), np.sin(angle)])
    return inner * side, (inner + width) * side


def pulled(points, moved, opposite):
    """How far each point went along its line, as a share of it; and how far off the line it is, mm."""
    line = opposite - points
    length = np.hypot(*line.T)
    along = ((moved - points) * line).sum(axis=1) / length
    off = np.hypot(*(moved - points - line * (along / length)[:, None]).T)
    return along / length, off


@pytest.mark.parametrize("inner", [0.5, 1.0, 2.0])
@pytest.mark.parametrize("everywhere", [False, True])
def test_points_of_a_tight_ring_are_pulled_in_until_none_is_too_near(inner, everywhere):
    points, opposite = ring_column(inner, 4.0)
    before = points.copy()
    moved, keep = kept_apart(points, opposite, GAP, ring=True, everywhere=everywhere)
    assert (points == before).all()  # what came in stays as it is
    assert pdist(points).min() < GAP
    # a pair that was settled between whole units may be nearer by its rounding, no more
    assert pdist(moved[keep]).min() >= GAP - ROUNDED - 1e-9
    share, off = pulled(points, moved, opposite)
    assert share.max() <= DEEPEST + 0.1
    assert share.min() >= -0.05
    assert off.max() <= 0.08
    assert keep.mean() > 0.6


def test_a_wide_ring_is_left_as_it_is():
    points, opposite = ring_column(12.0, 3.0)
    moved, keep = kept_apart(points, opposite, GAP, ring=True)
    assert keep.all()
    assert (moved == points).all()


def test_points_just_far_enough_apart_stay_and_a_hair_nearer_they_do_not():
    for step, stays in ((0.301, True), (0.29, False), (0.2, False), (0.11, False)):
        x = np.arange(40) * step
        points, opposite = np.column_stack([x, 0 * x]), np.column_stack([x, 0 * x + 4])
        moved, keep = kept_apart(points, opposite, GAP)
        assert (moved == points).all() == stays
        assert keep.all() or step < 0.15
        assert pdist(moved[keep]).min() >= GAP - (0 if stays else ROUNDED) - 1e-9


def test_the_first_point_stays_where_the_column_is_no_ring():
    x = np.arange(30) * 0.12
    points, opposite = np.column_stack([x, 0 * x]), np.column_stack([x, 0 * x + 5])
    moved, keep = kept_apart(points, opposite, GAP)
    assert keep[0]
    assert moved[0].tolist() == points[0].tolist()
    assert pdist(moved[keep]).min() >= GAP - ROUNDED


@settings(max_examples=25)
@given(st.integers(0, 2**20), st.sampled_from([0.3, 0.5]), st.booleans())
def test_of_any_crowd_what_is_kept_is_apart_and_on_its_line(seed, gap, everywhere):
    random = np.random.default_rng(seed)
    x = np.cumsum(random.uniform(0.05, 0.6, 60))
    points = np.column_stack([x, random.uniform(-0.2, 0.2, 60)])
    opposite = points + np.column_stack([random.uniform(-0.5, 0.5, 60), random.uniform(3, 6, 60)])
    moved, keep = kept_apart(points, opposite, gap, everywhere=everywhere)
    assert pdist(moved[keep]).min() >= gap - ROUNDED - 1e-9
    share, off = pulled(points[keep], moved[keep], opposite[keep])
    assert (share >= -0.05).all()
    assert (share <= DEEPEST + 0.06).all()
    assert (off <= 0.08).all()


def test_a_column_that_comes_back_to_itself_keeps_off_its_own_points():
    # a long column that passes 0.1 mm beside its own beginning, far along its way
    out = np.column_stack([np.arange(0, 60, 0.4), np.zeros(150)])
    back = np.column_stack([np.arange(60, 0, -0.4), np.full(150, 30.0)])
    up = np.column_stack([np.full(75, 60.0), np.linspace(0, 30, 75)])
    down = np.column_stack([np.full(73, 0.07), np.linspace(30, 0.03, 73)])
    points = np.vstack([out, up, back, down])
    inward = np.array([30.0, 15.0]) - points
    opposite = points + 3 * inward / np.hypot(*inward.T)[:, None]
    assert pdist(points).min() < 0.1
    for everywhere in (False, True):
        moved, keep = kept_apart(points, opposite, GAP, everywhere=everywhere)
        assert cKDTree(moved[keep]).query(moved[keep], k=2)[0][:, 1].min() >= GAP - ROUNDED - 1e-9
        assert keep.sum() >= len(points) - 12


def nearest_as_rounded(points, order):
    return pdist(np.asarray(to_units(points[order]), dtype=float) / 10)


@settings(max_examples=25)
@given(st.integers(0, 2**20), st.booleans(), st.booleans())
def test_points_that_rounding_would_bring_together_go_to_a_unit_beside(seed, ring, everywhere):
    # points a gap apart in truth, some of them nearer in whole units
    random = np.random.default_rng(seed)
    count = 40
    angle = np.arange(count) * 2 * np.pi / count
    radius = 0.34 / (2 * np.sin(np.pi / count)) if ring else None
    if ring:
        side = np.column_stack([np.cos(angle), np.sin(angle)])
        points, opposite = radius * side + random.uniform(0, 0.1, 2), (radius + 4) * side
    else:
        points = np.column_stack([np.arange(count) * 0.32, random.uniform(-0.02, 0.02, count)])
        opposite = points + (0, 4)
    before, order = points.copy(), np.arange(count)
    shift_apart(points, opposite, order, GAP, ring=ring, everywhere=everywhere)
    assert nearest_as_rounded(points, order).min() >= GAP - 1e-9
    moved = np.hypot(*(points - before).T)
    assert moved.max() <= FARTHEST_SHIFT_MM + 1e-9 or (pulled(before, points, opposite)[0] <= DEEPEST + 0.05).all()
    if not ring:
        assert (points[[0, -1]] == before[[0, -1]]).all()
    # nothing is shifted that was far enough from its neighbours
    units = np.asarray(to_units(before), dtype=float) / 10
    alone = cKDTree(units).query(units, k=2)[0][:, 1] >= GAP - 1e-9
    assert (points[alone] == before[alone]).all()


def test_points_that_are_not_sewn_are_in_nobodys_way():
    points = np.array([(0.0, 0.0), (0.1, 0.0), (0.4, 0.0), (0.5, 0.0), (0.8, 0.0)])
    before = points.copy()
    shift_apart(points, points + (0, 4), np.array([0, 2, 4]), GAP)
    assert (points == before).all()


@settings(max_examples=25)
@given(st.integers(0, 2**20))
def test_one_satin_keeps_off_the_points_of_another_where_it_can(seed):
    random = np.random.default_rng(seed)
    count = 40
    points = np.column_stack([np.arange(count) * 0.4, 4.0 * (np.arange(count) % 2)])
    others = np.column_stack([random.uniform(0, 16, 14), random.choice([0.0, 4.0], 14) + random.uniform(-0.3, 0.3, 14)])
    moved = kept_off_others(points, others, GAP)
    assert (moved[[0, -1]] == points[[0, -1]]).all()
    theirs = cKDTree(np.asarray(to_units(others), dtype=float) / 10)
    before = theirs.query(np.asarray(to_units(points), dtype=float) / 10)[0]
    after = theirs.query(np.asarray(to_units(moved), dtype=float) / 10)[0]
    changed = (moved != points).any(axis=1)
    # what was moved is clear now, and only what was too near was moved
    assert (after[changed] >= GAP - 1e-9).all()
    assert (before[changed] < GAP).all()
    assert (moved[~changed] == points[~changed]).all()
    # those that stayed too near had no place: fewer than half of them
    assert np.count_nonzero(after[1:-1] < GAP - 1e-9) <= max(1, np.count_nonzero(before[1:-1] < GAP - 1e-9) // 2)


def test_a_satin_away_from_the_other_is_not_touched():
    points = np.column_stack([np.arange(40) * 0.4, 4.0 * (np.arange(40) % 2)])
    assert kept_off_others(points, points + (0, 30.0), GAP) is points


@given(st.lists(st.booleans(), min_size=1, max_size=60), st.integers(0, 14))
def test_marks_spread_to_so_many_places_on_both_sides(mask, reach):
    marked = spread(np.array(mask), reach).tolist()
    wanted = [any(mask[max(0, k - reach) : k + reach + 1]) for k in range(len(mask))]
    assert marked == wanted


def bend_column(radius, per_side=30, inside=41, width=4.0):
    """The inner side of a column that goes up, turns by half a circle and comes down: mirror images about x = 0."""
    angle = np.linspace(np.pi, 0, inside)
    side = np.column_stack([np.cos(angle), np.sin(angle)])
    y = np.arange(-per_side, 0) * 0.5
    left = np.column_stack([np.full(per_side, -radius), y])
    points = np.vstack([left, radius * side, left[::-1] * (-1, 1)])
    out = left - (width, 0)
    return points, np.vstack([out, (radius + width) * side, out[::-1] * (-1, 1)])


@pytest.mark.parametrize("radius", [0.8, 1.5, 2.5])
def test_a_bend_looks_the_same_from_both_sides_and_its_middle_keeps_its_point(radius):
    points, opposite = bend_column(radius)
    moved, keep = kept_apart(points, opposite, GAP)
    middle = len(points) // 2
    assert keep[middle]
    assert moved[middle] == pytest.approx(points[middle], abs=0.08)
    assert (keep == keep[::-1]).mean() > 0.93
    both = keep & keep[::-1]
    assert np.abs(moved[both] - moved[::-1][both] * (-1, 1)).max(axis=1).mean() < 0.1
    assert pdist(moved[keep]).min() >= GAP - ROUNDED - 1e-9
    # the straight sides are left alone
    assert (moved[:25] == points[:25]).all()


def test_a_crowd_longer_than_is_settled_at_once_is_settled_whole():
    points, opposite = bend_column(9.0, inside=260)  # 0.11 mm apart, 0.16 mm outside
    moved, keep = kept_apart(points, opposite, GAP)
    assert pdist(moved[keep]).min() >= GAP - ROUNDED - 1e-9
    # what is left out is left out all along, not in one place: no stretch of 1 mm of the bend is without a hole
    angle = np.unwrap(np.arctan2(moved[keep, 1], moved[keep, 0]))[30:-30]
    assert np.abs(np.diff(angle)).max() * 9 < 1.0
    share, _ = pulled(points[keep], moved[keep], opposite[keep])
    assert share.max() <= DEEPEST + 0.06


def test_of_mild_crowds_every_second_point_goes_in_and_no_farther_than_it_must():
    # sewn from side to side: on the inner side points are 0.24 mm apart, on the outer 0.38
    count = 4 * round(2 * np.pi * 7 / 0.12 / 4)
    angle = np.arange(count) * 2 * np.pi / count
    side = np.column_stack([np.cos(angle), np.sin(angle)])
    inner = np.arange(count) % 2 == 0
    points, opposite = side * np.where(inner, 7, 11)[:, None], side * np.where(inner, 11, 7)[:, None]
    moved, keep = kept_apart(points, opposite, GAP, ring=True)
    assert keep.all()
    stayed = (moved == points).all(axis=1)
    assert stayed[~inner].all()
    assert stayed[inner].mean() == pytest.approx(0.5, abs=0.02)
    # sqrt(0.3^2 - 0.24^2) = 0.18 and a hair
    depth = np.hypot(*(moved - points).T)[~stayed]
    assert np.median(depth) == pytest.approx(0.18, abs=0.015)
    assert pdist(moved).min() >= GAP - 1e-6


def test_points_far_apart_in_the_order_are_kept_off_each_other_only_where_they_are_near():
    # two straight stretches 1.2 mm apart, sewn one after the other: nothing moves
    x = np.arange(80) * 0.5
    points = np.vstack([np.column_stack([x, 0 * x]), np.column_stack([x[::-1], 0 * x + 1.2])])
    opposite = np.vstack([points[:80] - (0, 3), points[80:] + (0, 3)])
    for everywhere in (False, True):
        moved, keep = kept_apart(points, opposite, GAP, everywhere=everywhere)
        assert keep.all()
        assert (moved == points).all()


def test_a_column_that_passes_beside_its_own_middle_keeps_off_it():
    # out along y = 0, a wide way round, back at y = 0.1, and away again: far from both ends of the column
    out = np.column_stack([np.arange(0, 60, 0.4), np.zeros(150)])
    round_angle = np.linspace(-np.pi / 2, np.pi / 2, 120)
    turn = np.column_stack([60 + 20 * np.cos(round_angle), 20 + 20 * np.sin(round_angle)])
    over = np.column_stack([np.arange(60, 50, -0.4), np.full(25, 40.0)])
    down = np.column_stack([np.full(99, 50.0), np.linspace(39.6, 0.4, 99)])
    back = np.column_stack([np.arange(50, 12, -0.4) + 0.05, np.full(95, 0.1)])
    away = np.column_stack([np.full(60, 11.9), np.arange(0.5, 24.5, 0.4)])
    points = np.vstack([out, turn, over, down, back, away])
    opposite = points + np.vstack([np.tile((0, -3.0), (150, 1)), np.tile((0, 3.0), (len(points) - 150, 1))])
    assert cKDTree(out).query(back)[0].min() < 0.2
    for everywhere in (False, True):
        moved, keep = kept_apart(points, opposite, GAP, everywhere=everywhere)
        first, later = moved[:150][keep[:150]], moved[394:489][keep[394:489]]
        assert cKDTree(first).query(later)[0].min() >= GAP - ROUNDED - 1e-9
        # it is the later ones that make room
        assert (moved[:150] == points[:150]).all()
        assert keep[:150].all()


@pytest.mark.parametrize("end", [False, True])
def test_next_to_an_end_that_stays_the_other_point_is_shifted(end):
    # 0.06 and 0.34 are 0.1 and 0.3 in whole units, 0.2 apart; the first and the last point of a column stay
    x = np.array([0.06, 0.34, 1.0, 2.0, 3.0])
    points = np.column_stack([x if not end else -x[::-1], np.zeros(5)])
    before = points.copy()
    shift_apart(points, points + (0, 4), np.arange(5), GAP)
    changed = (points != before).any(axis=1).tolist()
    assert changed == ([False, True, False, False, False] if not end else [False, False, False, True, False])
    assert nearest_as_rounded(points, np.arange(5)).min() >= GAP - 1e-9
    assert np.hypot(*(points - before).T).max() <= FARTHEST_SHIFT_MM


def test_a_point_without_a_place_beside_is_pulled_in_along_its_line():
    # a cross of points 0.2 mm around it leaves no unit beside it
    around = np.array([(0.2, 0.0), (-0.2, 0.0), (0.0, -0.2), (0.2, 0.2), (-0.2, 0.2), (0.2, -0.2), (-0.2, -0.2)])
    points = np.vstack([[(-9.0, 0.0)], around[:3], [(0.0, 0.0)], around[3:], [(9.0, 0.0)]])
    opposite = points + (0, 6.0)
    before = points.copy()
    shift_apart(points, opposite, np.arange(len(points)), GAP, everywhere=True)
    units = np.asarray(to_units(points), dtype=float) / 10
    assert pdist(units).min() >= GAP - 1e-9
    share, off = pulled(before, points, opposite)
    moved = (points != before).any(axis=1)
    assert moved.any()
    far = np.hypot(*(points - before).T) > FARTHEST_SHIFT_MM
    assert far.any()
    assert (share[far] > 0).all()
    assert (off[far] < 0.08).all()
