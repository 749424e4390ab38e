"""Running stitches on circles and ellipses against closed forms.

A chord of length L in a circle of radius r is 2 r asin(L / 2r) of arc and stands off the circle by its sagitta,
r - sqrt(r^2 - L^2 / 4) (any handbook of geometry). So a circle takes at least ceil(pi / asin(L / 2r)) chords of no
more than L, and a sagitta of at most e allows no chord above 2 sqrt(2 r e - e^2).
"""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.special import ellipe

from stitchcraft.geometry.curves import length_of
from stitchcraft.stitching.running import run_points


def ring(radius, count=20_001):
    angle = np.linspace(0.0, 2 * math.pi, count)
    path = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    path[-1] = path[0]
    return path


def steps(points):
    return np.hypot(*np.diff(points, axis=0).T)


def longest_chord(radius, tolerance):
    return 2 * math.sqrt(2 * radius * tolerance - tolerance**2)


def fewest_chords(radius, length, tolerance):
    """Fewest equal chords whose arc is at most *length* and whose sagitta is at most *tolerance*."""
    by_sagitta = math.pi / math.asin(min(1.0, longest_chord(radius, tolerance) / (2 * radius)))
    by_length = 2 * math.pi * radius / length
    return math.ceil(max(by_sagitta, by_length) - 1e-6)


@pytest.mark.parametrize("radius", [0.6, 1.0, 1.5, 2.0, 5.0, 20.0, 90.0])
@pytest.mark.parametrize("tolerance", [0.05, 0.1, 0.2])
@pytest.mark.parametrize("length", [1.5, 2.5, 4.0])
def test_a_circle_takes_the_fewest_chords_that_hold_length_and_tolerance(radius, tolerance, length):
    points = run_points(ring(radius), length=length, tolerance=tolerance, shortest=0.2)
    assert len(points) - 1 == fewest_chords(radius, length, tolerance)


@given(st.floats(0.5, 120.0), st.floats(0.02, 0.3), st.floats(1.0, 6.0))
def test_the_sagitta_and_the_chord_of_every_stitch_are_those_of_the_closed_form(radius, tolerance, length):
    assume(tolerance < radius / 2)
    points = run_points(ring(radius), length=length, tolerance=tolerance, shortest=0.05)
    middles = (points[1:] + points[:-1]) / 2
    sagitta = radius - np.hypot(*middles.T)
    assert sagitta.max() <= tolerance * (1 + 1e-4)
    # the equal chord of n stitches is 2 r sin(pi / n); the drawn circle is 3e-7 of its length short of the true one
    count = len(points) - 1
    assert steps(points) == pytest.approx(2 * radius * math.sin(math.pi / count), rel=1e-3)
    assert sagitta == pytest.approx(radius * (1 - math.cos(math.pi / count)), rel=3e-3, abs=1e-9)


@pytest.mark.parametrize("radius", [2.0, 11.0])
def test_the_chord_formula_counts_the_stitches_when_the_chord_itself_is_the_limit(radius):
    # a tolerance e makes the chord L = 2 sqrt(2re - e^2) the limit: n = ceil(pi / asin(L / 2r))
    for tolerance in (0.02, 0.05, 0.08):
        chord = longest_chord(radius, tolerance)
        wanted = math.ceil(math.pi / math.asin(chord / (2 * radius)) - 1e-6)
        assert len(run_points(ring(radius), length=50.0, tolerance=tolerance, shortest=0.1)) - 1 == wanted


@pytest.mark.parametrize(("a", "b"), [(10.0, 6.0), (25.0, 8.0), (40.0, 39.0)])
def test_an_ellipse_is_as_long_as_its_elliptic_integral_and_never_shorter_by_more_than_its_chords_allow(a, b):
    # circumference 4 a E(m), m = 1 - b^2 / a^2 (Abramowitz and Stegun 17.3.3, by scipy.special.ellipe)
    angle = np.linspace(0.0, 2 * math.pi, 20_001)
    path = np.column_stack([a * np.cos(angle), b * np.sin(angle)])
    path[-1] = path[0]
    exact = 4 * a * ellipe(1 - b**2 / a**2)
    assert length_of(path) == pytest.approx(exact, rel=1e-6)
    tolerance = 0.05
    points = run_points(path, length=2.5, tolerance=tolerance)
    sewn = length_of(points)
    # an arc over a chord L with sagitta s is longer by 8 s^2 / 3L at most, to second order
    slack = 1.1 * (8 * tolerance**2 / (3 * steps(points))).sum()
    assert exact - slack <= sewn <= exact


@pytest.mark.parametrize("radius", [3.0, 10.0, 50.0])
def test_the_stitches_of_a_circle_are_as_long_as_two_r_n_sin_pi_by_n(radius):
    points = run_points(ring(radius), length=2.0)
    count = len(points) - 1
    assert length_of(points) == pytest.approx(2 * radius * count * math.sin(math.pi / count), rel=1e-5)
