"""Drawn curves and offsets against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ellipe

from stitchcraft.arrays import turned
from stitchcraft.geometry.curves import FLATNESS_MM, arc, circle, cubic, grown, length_of, quad_segs
from stitchcraft.parts import CornerAccent, StrapConnector
from stitchcraft.parts.tips import TIPS


def ellipse_perimeter(a: float, b: float) -> float:
    """4 a E(m), m = 1 - b^2 / a^2 (Abramowitz and Stegun, 17.3); scipy's ellipe takes the parameter m."""
    a, b = max(a, b), min(a, b)
    return float(4 * a * ellipe(1 - (b / a) ** 2))


@given(st.floats(0.5, 500))
def test_circle_strays_no_farther_than_its_flatness(radius):
    path = circle((3, -2), radius)
    # an inscribed n-gon: length 2 n r sin(pi / n), area n r^2 sin(2 pi / n) / 2
    n = len(path) - 1
    assert length_of(path) == pytest.approx(2 * n * radius * math.sin(math.pi / n), rel=1e-9)
    assert shapely.Polygon(path).area == pytest.approx(n * radius**2 * math.sin(2 * math.pi / n) / 2, rel=1e-9)
    assert radius * (1 - math.cos(math.pi / n)) <= FLATNESS_MM * (1 + 1e-9)


@given(st.floats(1, 300), st.floats(-720, 720), st.floats(1, 719))
def test_arc_is_as_long_as_its_angle_says(radius, start, sweep):
    path = arc((0, 0), radius, start, start + sweep)
    true = radius * math.radians(sweep)
    assert length_of(path) <= true + 1e-9
    # each chord of sagitta f falls short of its arc by about 8 f^2 / (3 c)
    assert length_of(path) == pytest.approx(true, rel=2 * FLATNESS_MM / radius + 1e-9)


@pytest.mark.parametrize(("width", "height"), [(180, 50), (120, 60), (80, 80)])
def test_oval_connector_has_the_perimeter_and_area_of_an_ellipse(width, height):
    shape = StrapConnector(layout="pair", strap_width=20, width=width, height=height, outline="oval").shape
    assert shape.exterior.length == pytest.approx(ellipse_perimeter(width / 2, height / 2), rel=2e-4)
    assert shape.area == pytest.approx(math.pi * width * height / 4, rel=5e-4)


def test_round_tip_is_half_an_ellipse():
    line = TIPS["round"].make(70.0, 28.0)
    assert length_of(line) == pytest.approx(ellipse_perimeter(35, 28) / 2, rel=2e-4)


def test_quarter_profile_is_a_quarter_of_an_ellipse():
    accent = CornerAccent(width=90, height=60, profile="quarter")
    inside = accent.free_edge[1:-1]
    assert length_of(inside) == pytest.approx(ellipse_perimeter(90, 60) / 4, rel=2e-4)


@given(
    st.lists(st.tuples(st.integers(-400, 400), st.integers(-400, 400)), min_size=3, max_size=12),
    st.floats(0.5, 25),
)
def test_outward_offset_of_a_convex_shape_obeys_steiner(points, radius):
    shape = shapely.MultiPoint(np.array(points) / 10).convex_hull
    if not isinstance(shape, shapely.Polygon) or shape.area < 1:
        return
    # Steiner: A + P r + pi r^2, P + 2 pi r; the arcs are inscribed, so a little less
    out = grown(shape, radius)
    area = shape.area + shape.length * radius + math.pi * radius**2
    length = shape.length + 2 * math.pi * radius
    assert out.area <= area + 1e-6
    assert out.area == pytest.approx(area, abs=2 * math.pi * radius * FLATNESS_MM)
    assert out.length == pytest.approx(length, abs=4 * math.pi * FLATNESS_MM + 1e-6)


@given(st.floats(2, 80), st.floats(0.2, 1.9))
def test_inward_offset_of_a_disc_is_the_smaller_disc(radius, inset):
    inner = grown(shapely.Polygon(circle((0, 0), radius)), -inset)
    # its edge lies within the flatness of the true one
    slack = 2 * math.pi * (radius - inset) * FLATNESS_MM
    assert math.pi * (radius - inset) ** 2 - slack <= inner.area <= math.pi * (radius - inset) ** 2 + 1e-9


@pytest.mark.parametrize(("radius", "segments"), [(1, 6), (3, 10), (5, 13), (10, 18), (25, 28)])
def test_offsets_take_the_segments_that_the_sagitta_asks_for(radius, segments):
    # sagitta of one of 4q chords: r (1 - cos(pi / 4q))
    assert quad_segs(radius) == segments
    assert radius * (1 - math.cos(math.pi / (4 * segments))) <= FLATNESS_MM


def test_cubic_passes_through_its_ends_along_its_controls():
    curve = cubic((0, 0), (0, 10), (20, 30), (30, 30), count=400)
    assert curve[0].tolist() == [0, 0]
    assert curve[-1].tolist() == [30, 30]
    # De Casteljau at the middle: (p0 + 3 p1 + 3 p2 + p3) / 8
    middle = cubic((0, 0), (0, 10), (20, 30), (30, 30), count=3)[1]
    assert middle == pytest.approx((11.25, 18.75))
    assert abs(curve[1, 0] / curve[1, 1]) < 0.02


@given(st.floats(-360, 360), st.floats(-50, 50), st.floats(-50, 50))
def test_turning_there_and_back_changes_nothing(angle, x, y):
    points = np.array([[1.0, 2.0], [-30.0, 4.5]])
    assert turned(turned(points, angle), -angle) == pytest.approx(points, abs=1e-12)
    assert turned(points, 90).tolist() == [[-2.0, 1.0], [-4.5, -30.0]]
    assert turned(points, angle, (x, y)) == pytest.approx(turned(points, angle) + [x, y], abs=1e-12)
