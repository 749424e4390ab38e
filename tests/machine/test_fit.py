import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.arrays import turned
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import arc, circle, joined
from stitchcraft.machine import Fit, Hoop, Placement, fit_at, fit_in_field, needed_field, smallest_fit
from stitchcraft.machine.fit import roomiest_angle
from stitchcraft.units import to_units

COORDINATE = st.floats(-90, 90)
POINTS = st.lists(st.tuples(COORDINATE, COORDINATE), min_size=1, max_size=25)
SIDE = st.integers(20, 200)


def box(width: float, height: float) -> np.ndarray:
    return np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)])


def excess_by_sweep(points: np.ndarray, hoop: Hoop, count: int) -> float:
    angles = np.linspace(0, np.pi, count)
    cos, sin = np.cos(angles)[:, None], np.sin(angles)[:, None]
    width = np.ptp(cos * points[:, 0] - sin * points[:, 1], axis=1)
    height = np.ptp(sin * points[:, 0] + cos * points[:, 1], axis=1)
    return float(np.maximum(width - hoop.width, height - hoop.height).min())


def carver(p: float, q: float, a: float, b: float) -> bool:
    """Whether a rectangle p x q fits in a x b: W. Carver 1957, as restated by J. Wetzel, Math. Magazine 73, 2000."""
    p, q, a, b = max(p, q), min(p, q), max(a, b), min(a, b)
    if p <= a:
        return q <= b
    if q > b or p * p + q * q < a * a:
        return False
    return b * (p * p + q * q) >= 2 * p * q * a + (p * p - q * q) * math.sqrt(p * p + q * q - a * a)


def test_2000_rectangles_in_rectangles_fit_exactly_when_carvers_rule_says_so() -> None:
    random = np.random.default_rng(20)
    seen = {True: 0, False: 0}
    slanted = 0
    for _ in range(2000):
        p, q = random.uniform(20, 200, 2)
        a, b = random.integers(20, 200, 2)
        part = turned(box(p, q), float(random.uniform(0, 360)))
        hoop = Hoop(int(a), int(b))
        excess = roomiest_angle(part, hoop)[1]
        rule = carver(float(p), float(q), float(a), float(b))
        assert (excess <= 0) == rule
        assert (fit_in_field(part, hoop) is not None) == rule
        seen[rule] += 1
        slanted += rule and max(p, q) > max(a, b)
    assert min(seen.values()) > 400
    assert slanted > 10


@given(POINTS, SIDE, SIDE)
def test_no_sweep_over_angles_finds_a_better_one(points: list[tuple[float, float]], width: int, height: int) -> None:
    part, hoop = np.array(points), Hoop(width, height)
    angle, excess = roomiest_angle(part, hoop)
    assert -90 < angle <= 90
    assert excess_by_sweep(turned(part, angle), hoop, 1) == pytest.approx(excess, abs=1e-9)
    swept = excess_by_sweep(part, hoop, 2001)
    # a step of the sweep is 0.0016 rad, on a part at most 255 mm across
    assert excess - 1e-7 <= swept <= excess + 0.21


def test_an_ellipse_fits_a_square_at_45_degrees_by_the_closed_form() -> None:
    # half width of an ellipse turned by t: sqrt(a^2 cos^2 t + b^2 sin^2 t)
    t = np.linspace(0, 2 * np.pi, 4001)
    ellipse = np.column_stack([60 * np.cos(t), 20 * np.sin(t)])
    angle, excess = roomiest_angle(ellipse, Hoop(100, 100))
    assert angle == pytest.approx(45, abs=0.1)
    assert excess == pytest.approx(2 * math.sqrt((60**2 + 20**2) / 2) - 100, abs=1e-3)
    assert fit_in_field(ellipse, Hoop(100, 100)) is not None
    assert fit_in_field(ellipse, Hoop(89, 89)) is None
    assert fit_in_field(ellipse, Hoop(90, 90)) is not None


def test_a_square_fits_no_smaller_square_and_a_curve_of_constant_width_gains_nothing_by_turning() -> None:
    assert fit_in_field(turned(box(80, 80), 20.0), Hoop(79, 200)) is None
    assert fit_in_field(turned(box(80, 80), 20.0), Hoop(80, 80)) is not None
    corners = 60 * np.array([(0.0, 0.0), (1.0, 0.0), (0.5, math.sqrt(3) / 2)])
    reuleaux = joined(arc(corners[0], 60, 0, 60), arc(corners[1], 60, 120, 180), arc(corners[2], 60, 240, 300))
    widths = [roomiest_angle(turned(reuleaux, float(a)), Hoop(50, 50))[1] for a in range(0, 120, 7)]
    assert widths == pytest.approx([10] * len(widths), abs=0.02)


def test_a_part_that_fits_as_it_lies_is_not_turned() -> None:
    part = turned(box(120, 20), 30.0)
    fit = fit_in_field(part, Hoop(130, 180))
    assert fit is not None
    assert fit.placement.angle_deg == 0.0


def test_a_quarter_turn_is_preferred_to_a_slant() -> None:
    fit = fit_in_field(box(170, 100), Hoop(130, 180))
    assert fit == Fit(Placement(90.0, (50.0, -85.0)), 5.0)
    narrow = fit_in_field(box(176, 20), Hoop(130, 180))
    assert roomiest_angle(box(176, 20), Hoop(130, 180))[0] not in (0.0, 90.0)
    assert narrow == Fit(Placement(90.0, (10.0, -88.0)), 2.0)


def test_a_long_part_is_laid_slantwise() -> None:
    hoop, fit = Hoop(130, 180), fit_in_field(box(205, 8), Hoop(130, 180))
    assert fit is not None
    assert fit.placement.angle_deg not in (0.0, 90.0)
    assert fit.slack_mm >= 0
    assert np.abs(to_units(fit.placement.placed(box(205, 8)))).max(axis=0).tolist() <= [650, 900]
    assert fit_in_field(box(218, 8), hoop) is None


@given(POINTS, SIDE, SIDE, st.sampled_from((0.0, 1.0, 4.5)))
def test_whatever_fits_lies_inside_once_rounded_with_the_slack_it_claims(
    points: list[tuple[float, float]], width: int, height: int, margin: float
) -> None:
    hoop = Hoop(width, height)
    fit = fit_in_field(points, hoop, margin=margin)
    if fit is None:
        assert roomiest_angle(points, Hoop(width - 2 * margin, height - 2 * margin))[1] > -0.1
        return
    placed = to_units(fit.placement.placed(points)) / 10
    rooms = (width / 2 - np.abs(placed[:, 0]).max(), height / 2 - np.abs(placed[:, 1]).max())
    assert fit.slack_mm == pytest.approx(min(rooms), abs=1e-6)
    assert fit.slack_mm >= margin - 1e-6
    assert all(value == round(value, 1) for value in fit.placement.offset_mm)
    assert fit_at(points, hoop, fit.placement, margin=margin) == fit
    mirror = np.array(points) * (-1, 1)
    assert fit_at(mirror, hoop, fit.placement.mirrored(), margin=margin) == Fit(fit.placement.mirrored(), fit.slack_mm)


def test_a_part_as_wide_as_the_field_fits_and_a_tenth_more_does_not() -> None:
    assert fit_in_field(box(130, 130), Hoop(130, 130)) == Fit(Placement(0.0, (-65.0, -65.0)), 0.0)
    assert fit_in_field(box(130.1, 130), Hoop(130, 130)) is None
    assert fit_in_field(box(128, 128), Hoop(130, 130), margin=1.0) is not None
    assert fit_in_field(box(128.1, 128), Hoop(130, 130), margin=1.0) is None


def test_a_given_placement_is_held_to_the_field_as_rounded() -> None:
    assert fit_at(box(10, 10), Hoop(20, 20), Placement()) == Fit(Placement(), 0.0)
    assert fit_at(box(10, 10), Hoop(20, 20), Placement(0.0, (0.1, 0.0))) is None
    assert fit_at(box(10, 10), Hoop(20, 20), Placement(0.0, (-5.0, -5.0)), margin=5.1) is None


def test_a_point_and_a_line_fit_too() -> None:
    assert fit_in_field([(3.04, 4.0)], Hoop(50, 50)) == Fit(Placement(0.0, (-3.0, -4.0)), 25.0)
    diagonal = fit_in_field([(0, 0), (140, 0)], Hoop(100, 100))
    assert diagonal is not None
    assert diagonal.placement.angle_deg == pytest.approx(45)
    assert fit_in_field([(0, 0), (141.5, 0)], Hoop(100, 100)) is None


def test_the_smallest_field_that_takes_a_part_square_wins_over_a_smaller_one_at_an_odd_angle() -> None:
    hoops = [Hoop(200, 300), Hoop(130, 180), Hoop(180, 130), Hoop(300, 400)]
    found = smallest_fit(box(205, 8), hoops)
    assert found is not None
    assert found[0] == Hoop(200, 300)
    assert found[1].placement.angle_deg == 90.0
    assert smallest_fit(box(400, 8), hoops[:3]) is None
    assert smallest_fit(box(10, 10), []) is None


def test_an_odd_angle_is_taken_in_the_smallest_field_that_has_one_and_of_equal_ones_in_the_first() -> None:
    # by Carver's rule above
    found = smallest_fit(box(205, 8), [Hoop(140, 190), Hoop(130, 180), Hoop(180, 130)])
    assert carver(205, 8, 130, 180)
    assert found is not None
    assert found[0] == Hoop(130, 180)
    assert found[1].placement.angle_deg % 90 > 1


def test_a_part_that_fits_nothing_is_told_the_field_and_the_scale_it_needs() -> None:
    part, hoops = box(250, 30), [Hoop(100, 100), Hoop(130, 180)]
    needed = needed_field(part, hoops)
    assert needed.upright == Hoop(250, 30)
    assert needed.turned == Hoop(250, 30)
    assert needed.scale is not None
    assert needed.scale_hoop == Hoop(130, 180)
    assert fit_in_field(part * needed.scale * 0.9995, Hoop(130, 180)) is not None
    assert roomiest_angle(part * needed.scale, Hoop(130, 180))[1] == pytest.approx(0, abs=1e-6)
    assert not any(fit_in_field(part * needed.scale * 1.002, hoop) for hoop in hoops)
    assert needed_field(part).scale is None


def test_the_field_of_least_area_is_found_at_a_slant() -> None:
    needed = needed_field(turned(box(90, 20), 33.0))
    assert needed.turned in (Hoop(90, 20), Hoop(20, 90), Hoop(91, 20), Hoop(90, 21), Hoop(91, 21))
    assert needed.turned_deg == pytest.approx(-33.0, abs=1e-6) or needed.turned_deg == pytest.approx(57.0, abs=1e-6)
    assert needed.upright == Hoop(87, 66)  # 90 cos 33 + 20 sin 33 = 86.4, 90 sin 33 + 20 cos 33 = 65.8


@given(POINTS)
def test_the_needed_fields_do_take_the_part(points: list[tuple[float, float]]) -> None:
    needed = needed_field(points, margin=2.0)
    assert fit_at_angle(points, needed.upright, 0.0)
    assert fit_at_angle(points, needed.turned, needed.turned_deg)


def fit_at_angle(points: list[tuple[float, float]], hoop: Hoop, angle: float) -> bool:
    fit = fit_in_field(turned(points, angle), hoop, margin=2.0)
    return fit is not None and fit.placement.angle_deg == 0.0


@pytest.mark.parametrize("margin", [-1, float("nan"), 50, "far"])
def test_a_margin_that_leaves_no_field_is_refused(margin: object) -> None:
    with pytest.raises(ParameterError, match="margin"):
        fit_in_field(circle((0, 0), 5), Hoop(100, 100), margin=margin)  # type: ignore[arg-type]


@pytest.mark.parametrize("points", [[], [(float("nan"), 0.0)], [(1.0, 2.0, 3.0)], "here"])
def test_points_that_are_none_are_refused(points: object) -> None:
    with pytest.raises(ParameterError, match="points"):
        fit_in_field(points, Hoop(100, 100))  # type: ignore[arg-type]
