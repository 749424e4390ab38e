"""Sheets cover a drawing whole and share what joins them."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.paper.tiles import OVERLAP_MM, tiling

LENGTHS = st.integers(10, 9000).map(lambda tenths: tenths / 10)


@given(LENGTHS, LENGTHS, st.floats(-500, 500), st.floats(-500, 500), st.sampled_from([(194.0, 225.0), (281.0, 138.0)]))
def test_sheets_cover_the_drawing_and_neighbours_overlap(width, height, left, bottom, page):
    plan = tiling((left, bottom, left + width, bottom + height), *page)
    lefts = sorted({tile.left for tile in plan.tiles})
    bottoms = sorted({tile.bottom for tile in plan.tiles})
    assert len(plan.tiles) == plan.rows * plan.columns == len(lefts) * len(bottoms)
    for starts, size, low, high in ((lefts, page[0], left, left + width), (bottoms, page[1], bottom, bottom + height)):
        assert starts[0] <= low + 1e-6
        assert starts[-1] + size >= high - 1e-6
        assert np.allclose(np.diff(starts), size - OVERLAP_MM)


@given(LENGTHS, LENGTHS)
def test_every_mark_lies_on_two_sheets_at_least_and_every_joint_has_two(width, height):
    plan = tiling((0.0, 0.0, width, height), 194.0, 225.0)
    names = [name for name, _, _ in plan.joins]
    assert len(set(names)) == len(names)
    for _, x, y in plan.joins:
        on = [t for t in plan.tiles if t.left < x < t.left + plan.width and t.bottom < y < t.bottom + plan.height]
        assert len(on) >= 2
    joints = plan.rows * (plan.columns - 1) + plan.columns * (plan.rows - 1)
    assert len(plan.joins) == 2 * joints


@pytest.mark.parametrize(("length", "count"), [(194.0, 1), (194.1, 2), (376.0, 2), (376.1, 3)])
def test_as_few_sheets_as_can_be(length, count):
    # n sheets of 194 mm with 12 mm shared: 194 n - 12 (n - 1)
    assert tiling((0, 0, length, 100), 194.0, 225.0).columns == count == math.ceil((length - 12) / 182)
