"""Rows fall into sections where they split or join, against shapely and against counts that can be seen at a glance."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from stitchcraft.geometry.curves import circle
from stitchcraft.stitching.fill_passes import Kind, Variants
from stitchcraft.stitching.fill_sections import angle_of_fewest_sections, rows_of

BOX = shapely.box(0, 0, 20, 10)
HOLED = BOX - shapely.box(8, 4, 12, 6)
U = shapely.box(0, 0, 20, 4).union(shapely.box(0, 4, 6, 12)).union(shapely.box(14, 4, 20, 12))
H = shapely.box(0, 0, 5, 20).union(shapely.box(15, 0, 20, 20)).union(shapely.box(5, 8, 15, 12))


@pytest.mark.parametrize(
    ("area", "angle", "sections"),
    [
        (BOX, 0, 1),
        (HOLED, 0, 4),  # below the hole, left and right of it, above it
        (HOLED, 90, 4),
        (U, 0, 3),  # a foot and two arms
        (U, 180, 3),
        (H, 0, 5),
        (H, 90, 1),  # rows along the legs: each touches one before and one after
        (shapely.Polygon(circle((0, 0), 10), [circle((0, 0), 5)]), 33, 4),
        (BOX - shapely.box(3, 4, 5, 6) - shapely.box(9, 4, 11, 6), 0, 5),
    ],
)
def test_an_area_falls_into_the_sections_that_one_sees(area, angle, sections):
    rows = rows_of(area, spacing=0.4, angle=angle)
    assert rows.sections == sections
    assert sorted(rows.members.tolist()) == list(range(len(rows.row)))
    for section in range(sections):
        spans = rows.spans_of(section)
        assert (rows.section[spans] == section).all()
        # one above the other, none left out between
        assert (np.diff(rows.row[spans]) == 1).all()


def touching(rows, one, other):
    """Whether two spans of neighbouring rows lie over one another."""
    return (
        rows.row[other] == rows.row[one] + 1 and rows.high[one] > rows.low[other] and rows.high[other] > rows.low[one]
    )


@settings(max_examples=25)
@given(st.integers(0, 2**20), st.sampled_from([0.0, 25.0, 90.0]))
def test_sections_go_on_where_each_touches_one_other_and_are_linked_where_they_do_not(seed, angle):
    random = np.random.default_rng(seed)
    area = shapely.box(0, 0, 16, 12)
    for _ in range(4):
        x, y, r = random.uniform(1, 15), random.uniform(1, 11), random.uniform(0.5, 2.5)
        area = area - shapely.Point(x, y).buffer(r, quad_segs=8)
    for part in shapely.get_parts(area):
        rows = rows_of(part, spacing=0.7, angle=angle)
        count = len(rows.row)
        pairs = [(i, j) for i in range(count) for j in range(i + 1, count) if touching(rows, i, j)]
        above = {i: [j for a, j in pairs if a == i] for i in range(count)}
        below = {j: [i for i, b in pairs if b == j] for j in range(count)}
        for i, j in pairs:
            same = rows.section[i] == rows.section[j]
            assert same == (len(above[i]) == 1 and len(below[j]) == 1)
            assert same != ([i, j] in rows.links.tolist())
        assert len(rows.links) == sum(rows.section[i] != rows.section[j] for i, j in pairs)


def test_rows_are_widened_and_those_that_meet_become_one():
    narrow_gap = shapely.box(0, 0, 20, 6) - shapely.box(9.8, -1, 10.2, 7)
    joined = shapely.union_all([narrow_gap, shapely.box(0, 0, 20, 1)])
    plain, wide = (rows_of(joined, spacing=0.5, angle=0, compensation=c) for c in (0.1, 0.25))
    assert plain.left.min() == pytest.approx(-0.1)
    assert plain.right.max() == pytest.approx(20.1)
    assert (len(plain.row), plain.sections) == (2 + 20, 3)
    assert (len(wide.row), wide.sections) == (12, 1)
    assert wide.right - wide.left == pytest.approx(20.5)
    # the lines as they were before stay known
    assert (wide.hatching.right - wide.hatching.left).max() == pytest.approx(20)
    # rows that just meet are one as well
    assert len(rows_of(joined, spacing=0.5, angle=0, compensation=0.2).row) == 12


def test_a_narrow_row_is_a_point_in_its_middle_and_its_span_is_kept():
    wedge = shapely.Polygon([(0, 0), (6, 0), (3, 12)])
    rows = rows_of(wedge, spacing=0.5, angle=0, narrow=1.0)
    width = rows.high - rows.low
    assert width == pytest.approx(6 * (1 - rows.y / 12))
    slim = width < 1.0
    assert slim.sum() == 4
    assert (rows.left[slim] == rows.right[slim]).all()
    assert rows.left[slim] == pytest.approx(3)
    assert (rows.left[~slim] == rows.low[~slim]).all()
    assert (rows.right[~slim] == rows.high[~slim]).all()
    assert rows.y == pytest.approx(0.25 + 0.5 * np.arange(24))


def test_a_long_step_of_the_outline_starts_a_section_and_a_slope_does_not():
    foot = shapely.box(0, 0, 20, 5).union(shapely.box(8, 5, 12, 15))
    assert rows_of(foot, spacing=0.5, angle=0).sections == 1
    assert rows_of(foot, spacing=0.5, angle=0, long_step=5.0).sections == 2
    assert rows_of(foot, spacing=0.5, angle=0, long_step=9.0).sections == 1
    upside_down = shapely.affinity.rotate(foot, 180)
    assert rows_of(upside_down, spacing=0.5, angle=0, long_step=5.0).sections == 2
    one_side = shapely.box(0, 0, 20, 5).union(shapely.box(0, 5, 12, 15))
    assert rows_of(one_side, spacing=0.5, angle=0, long_step=5.0).sections == 2
    assert rows_of(shapely.affinity.scale(one_side, -1, 1), spacing=0.5, angle=0, long_step=5.0).sections == 2
    # every step of a slope is as long as the next
    slope = shapely.Polygon([(0, 0), (60, 0), (6, 5), (0, 5)])
    assert rows_of(slope, spacing=0.5, angle=0, long_step=3.0).sections == 1


@pytest.mark.parametrize("shape", [BOX, U, H])
@pytest.mark.parametrize("spacing", [0.4, 0.8, 1.3])
def test_corners_of_a_section_are_left_on_the_far_side(shape, spacing):
    rows = rows_of(shape, spacing=spacing, angle=0)
    variants = Variants(rows)
    for section in range(rows.sections):
        odd = len(rows.spans_of(section)) % 2
        left = variants.leave[32 * section + 4 * Kind.THROUGH + np.arange(4)] - 4 * section
        for mode in range(4):
            top, right = divmod(mode, 2)
            # to and fro from the bottom to the top: after an odd number of rows one is on the other side
            assert left[mode] == 2 * (1 - top) + (right ^ odd)
        assert set(left.tolist()) == {0, 1, 2, 3}


@pytest.mark.parametrize(
    ("area", "angle"),
    [
        (BOX, 0.0),  # one section either way, fewest rows along it: 10 high
        (shapely.box(0, 0, 10, 20), 90.0),
        (shapely.affinity.rotate(BOX, 35), 35.0),
        (shapely.affinity.rotate(BOX, 170), 170.0),
        (shapely.affinity.rotate(H, 20), 110.0),
        # two notches, cut in from above, from below: rows across them are more, and one section
        (shapely.box(0, 0, 20, 10) - shapely.box(6, 8, 14, 11), 90.0),
        (shapely.box(0, 0, 20, 10) - shapely.box(6, -1, 14, 2), 90.0),
    ],
)
def test_rows_run_in_the_direction_of_fewest_sections_and_then_of_fewest_rows(area, angle):
    assert angle_of_fewest_sections(area, spacing=0.4) == angle


def test_an_area_without_rows_has_no_sections():
    rows = rows_of(shapely.Polygon(), spacing=0.4, angle=0)
    assert (rows.sections, len(rows.row), len(rows.members), len(rows.links)) == (0, 0, 0, 0)
