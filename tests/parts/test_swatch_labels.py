"""Directions on the swatch can be read: figures and degree signs stand apart."""

import pytest
import shapely

from stitchcraft.parts.swatch import DIRECTIONS, _label

THREAD_MM = 0.4  # weight 40, as sewn: twice in each line, since letters go there and back


@pytest.mark.parametrize("direction", DIRECTIONS)
def test_a_degree_sign_stands_two_threads_off_its_figure(direction):
    *figures, degree = (shapely.LineString(line.path) for line in _label(f"{direction:g}°", 4.0, (0.0, 0.0)))
    assert min(degree.distance(figure) for figure in figures) > 2 * THREAD_MM
