"""Rows, rails, axes and windows over shapes whose areas and lengths are closed forms.

Area of a sector of a ring: t (R^2 - r^2) / 2 with the angle t in radians. Area swept by a segment of length w that
moves square to a line of length L through its middle: w L (Pappus of Alexandria; H. Weyl's tube formula in the plane).
The medial axis of a rectangle a x b, a > b: a middle line of a - b and four arms of b / sqrt 2 at 45 degrees; that of
an ellipse of half axes a > b: the segment between the centres of curvature of its ends, a - b^2 / a from the middle.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipe

from stitchcraft.geometry.borders import border_rails
from stitchcraft.geometry.curves import arc, circle
from stitchcraft.geometry.fullest import fullest_square
from stitchcraft.geometry.hatching import hatched
from stitchcraft.geometry.medial import medial_axis
from stitchcraft.geometry.nearness import near_pairs


def sector(inner: float, outer: float, start: float, sweep: float) -> shapely.Polygon:
    return shapely.Polygon(
        np.vstack([arc((0, 0), outer, start, start + sweep, flatness=1e-4),
                   arc((0, 0), inner, start + sweep, start, flatness=1e-4)])
    )  # fmt: skip


@given(st.floats(2, 20), st.floats(1, 30), st.floats(0, 360), st.floats(20, 320), st.floats(0, 180))
def test_rows_in_a_sector_of_a_ring_add_up_to_its_area(inner, width, start, sweep, angle):
    outer = inner + width
    lines = hatched(sector(inner, outer, start, sweep), spacing=0.05, angle=angle)
    area = math.radians(sweep) * (outer**2 - inner**2) / 2
    # the midpoint rule is off by no more than about a row at each edge along the rows
    assert (lines.right - lines.left).sum() * lines.spacing == pytest.approx(area, rel=2e-3, abs=0.05)


@settings(max_examples=15)
@given(st.floats(4, 40), st.floats(0, 360), st.floats(10, 330), st.floats(0.5, 5), st.floats(-1, 1))
def test_a_column_along_an_arc_covers_its_width_times_the_length_of_its_middle(radius, start, sweep, width, shift):
    left, right = border_rails(arc((1, 2), radius, start, start + sweep, flatness=1e-6), width=width, shift=shift)
    column = shapely.Polygon(np.vstack([left, right[::-1]]))
    # counter-clockwise, so that to the left is inward
    assert column.area == pytest.approx(width * math.radians(sweep) * (radius - shift), rel=3e-3)


@pytest.mark.parametrize(("a", "b"), [(20.0, 12.0), (15.0, 14.0), (30.0, 18.0)])
def test_a_border_round_an_ellipse_covers_its_width_times_the_perimeter(a, b):
    # no loop is folded while half the width is less than the least radius of curvature, b^2 / a
    t = np.linspace(0, 2 * np.pi, 2000)
    left, right = border_rails(np.column_stack([a * np.cos(t), b * np.sin(t)]), width=3.0)
    perimeter = 4 * a * ellipe(1 - (b / a) ** 2)
    assert shapely.Polygon(right, [left]).area == pytest.approx(3.0 * perimeter, rel=1e-3)


def lengths_of(points, edges):
    return np.hypot(*(points[edges[:, 0]] - points[edges[:, 1]]).T)


@pytest.mark.parametrize(("a", "b"), [(30.0, 10.0), (24.0, 18.0)])
def test_the_axis_of_a_rectangle_is_a_line_and_four_arms(a, b):
    points, radius, edges = medial_axis(shapely.box(0, 0, a, b), spacing=0.1)
    assert lengths_of(points, edges).sum() == pytest.approx(a - b + 4 * b / math.sqrt(2), rel=0.02)
    # each point is as far from two sides as from no other: the least of four distances
    away = np.minimum.reduce([points[:, 0], a - points[:, 0], points[:, 1], b - points[:, 1]])
    assert radius == pytest.approx(away, abs=0.03)
    on_line = np.abs(points[:, 1] - b / 2) < 0.02
    assert points[on_line, 0].min() == pytest.approx(b / 2, abs=0.15)
    assert points[on_line, 0].max() == pytest.approx(a - b / 2, abs=0.15)


def test_the_axis_of_an_ellipse_ends_at_the_centres_of_curvature_of_its_ends():
    a, b = 20.0, 10.0
    t = np.linspace(0, 2 * np.pi, 4000)
    ellipse = shapely.Polygon(np.column_stack([a * np.cos(t), b * np.sin(t)]))
    points, radius, _ = medial_axis(ellipse, spacing=0.05)
    assert np.abs(points[:, 1]).max() < 0.05
    assert np.abs(points[:, 0]).max() == pytest.approx(a - b * b / a, abs=0.6)
    # the circle that touches at x0 has the radius b sqrt(1 - x0^2 / (a^2 - b^2))
    wanted = b * np.sqrt(1 - points[:, 0] ** 2 / (a * a - b * b))
    assert radius == pytest.approx(wanted, abs=0.02)


def test_the_axis_of_a_ring_is_the_circle_half_way():
    ring = shapely.Polygon(circle((0, 0), 12, flatness=1e-4), [circle((0, 0), 8, flatness=1e-4)])
    points, radius, edges = medial_axis(ring, spacing=0.1)
    assert np.hypot(*points.T) == pytest.approx(10, abs=0.02)
    assert radius == pytest.approx(2, abs=0.02)
    assert lengths_of(points, edges).sum() == pytest.approx(2 * math.pi * 10, rel=1e-3)


@pytest.mark.parametrize(("steps", "radius"), [(1.0, 1.01), (1.0, 1.5), (0.7, 1.0), (2.0, 5.0)])
def test_points_of_a_square_lattice_have_as_many_near_pairs_as_gausss_circle_says(steps, radius):
    # pairs at (i, j) steps in an n x n lattice: (n - i)(n - j), twice where both differ from 0
    count = 12
    grid = steps * np.array([(i, j) for i in range(count) for j in range(count)], dtype=float)
    wanted = 0
    for i in range(count):
        for j in range(count):
            if 0 < math.hypot(i, j) * steps < radius:
                wanted += (count - i) * (count - j) * (2 if i and j else 1)
    assert len(near_pairs(grid, radius)) == wanted


@pytest.mark.parametrize(("side", "held"), [(4, 16), (5, 25), (10, 100)])
def test_a_window_over_a_full_lattice_holds_its_side_squared(side, held):
    grid = np.array([(i, j) for i in range(40) for j in range(30)], dtype=float)
    low, most = fullest_square(grid, np.ones(len(grid)), side=side)
    assert most == held
    assert low.tolist() == [0, 0]  # of equals the first from the left, then from below
