"""Underlay keeps to its edge runs: places on them are those that shapely finds."""

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.stitching.fill_underlay import nearest_on

HUNDREDTHS = st.integers(-2000, 2000).map(lambda number: number / 100)
SPOT = st.tuples(HUNDREDTHS, HUNDREDTHS)


@given(st.lists(st.lists(SPOT, min_size=2, max_size=6), min_size=1, max_size=3), st.lists(SPOT, min_size=1, max_size=9))
def test_the_nearest_places_on_lines_are_as_near_as_shapely_says_and_on_them(lines, spots):
    paths = [np.array(line) for line in lines]
    found = nearest_on(paths, np.array(spots))
    whole = shapely.MultiLineString([shapely.LineString(path) for path in paths])
    away = np.hypot(*(found - np.array(spots)).T)
    assert np.allclose(away, shapely.distance(whole, shapely.points(spots)), atol=1e-6)
    assert shapely.distance(whole, shapely.points(found)).max() < 1e-6
