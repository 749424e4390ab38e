"""The fit of a cloth's pull, against known parameters, scipy and the formulas of simple regression."""

import math
from dataclasses import replace

import numpy as np
import pytest
import scipy.optimize
import scipy.stats
import shapely
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.arrays import turned
from stitchcraft.defaults import FABRICS
from stitchcraft.design import Column, Design, Purpose, Role, Satin, Stop, Thread
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.sheet import Patch, Sheet
from stitchcraft.stitching import plan
from stitchcraft.stitching.calibration import Measured, fit_profile

WIDTHS = (2.0, 3.0, 4.0, 6.0, 7.0)
CLOTH = {0.0: (0.12, 0.018), 45.0: (0.16, 0.03), 90.0: (0.10, 0.012), 135.0: (0.17, 0.028)}


def readings(cloth, *, noise=0.0, seed=1, step=None):
    """What would be measured on a cloth whose pull and share are given by direction."""
    random = np.random.default_rng(seed)
    taken = []
    for direction, (pull, share) in cloth.items():
        for width in WIDTHS:
            sewn = width - 2 * (pull + share * width) + noise * random.standard_normal()
            taken.append(Measured(direction, width, sewn if step is None else round(sewn / step) * step))
    return taken


def same_everywhere(pull, share):
    return dict.fromkeys(CLOTH, (pull, share))


def test_readings_without_noise_give_the_cloth_back_and_leave_nothing():
    fit = fit_profile(readings(CLOTH), name="linen")
    assert [one.direction for one in fit.directions] == list(CLOTH)
    for one in fit.directions:
        assert (one.pull, one.pull_share) == pytest.approx(CLOTH[one.direction], abs=1e-12)
        assert one.rms == pytest.approx(0, abs=1e-12)
        assert one.readings == 5
    assert fit.by_direction
    assert fit.rms == pytest.approx(0, abs=1e-12)
    for angle, pull in CLOTH.items():
        assert fit.profile.pull_at(angle) == pytest.approx(pull)
    assert fit.profile.name == "linen"


@given(pull=st.floats(0.01, 0.3), share=st.floats(0.0, 0.12))
def test_any_pull_is_found_again(pull, share):
    fit = fit_profile(readings(same_everywhere(pull, share)))
    assert (fit.profile.pull, fit.profile.pull_share) == pytest.approx((pull, share), abs=1e-9)
    assert not fit.by_direction
    assert fit.profile.directions == ()


@pytest.mark.parametrize("seed", range(5))
def test_numbers_and_errors_are_those_of_simple_regression(seed):
    # slope, intercept and their standard errors of narrowing over width: scipy.stats.linregress, and the textbook's
    # s / sqrt(Sxx) and s sqrt(1/n + mean(x)^2 / Sxx) with s^2 = RSS / (n - 2)
    bars = readings(same_everywhere(0.3, 0.04), noise=0.06, seed=seed)
    fit = fit_profile(bars).overall
    x, y = np.array([one.nominal for one in bars]), np.array([one.narrowing for one in bars])
    line = scipy.stats.linregress(x, y)
    assert (2 * fit.pull, 2 * fit.pull_share) == pytest.approx((line.intercept, line.slope))
    assert (2 * fit.pull_error, 2 * fit.share_error) == pytest.approx((line.intercept_stderr, line.stderr))
    left = y - line.intercept - line.slope * x
    spread, sxx = math.sqrt((left @ left) / (len(x) - 2)), ((x - x.mean()) ** 2).sum()
    assert 2 * fit.share_error == pytest.approx(spread / math.sqrt(sxx))
    assert 2 * fit.pull_error == pytest.approx(spread * math.sqrt(1 / len(x) + x.mean() ** 2 / sxx))
    assert fit.rms == pytest.approx(math.sqrt(np.mean(left**2)))


@pytest.mark.parametrize("seed", range(8))
def test_a_number_that_would_be_negative_is_held_at_zero_as_constrained_least_squares_does(seed):
    bars = readings(same_everywhere(0.004, 0.001), noise=0.08, seed=seed)
    fit = fit_profile(bars).overall
    terms = np.array([[2.0, 2 * one.nominal] for one in bars])
    best, _ = scipy.optimize.nnls(terms, np.array([one.narrowing for one in bars]))
    assert (fit.pull, fit.pull_share) == pytest.approx(tuple(best), abs=1e-9)
    for key, value, error in (("pull", best[0], fit.pull_error), ("pull_share", best[1], fit.share_error)):
        assert (key in fit.held) == (value == 0)
        assert math.isnan(error) == (value == 0)


def test_some_readings_do_hold_a_number_at_zero():
    bars = [Measured(0, width, width - 0.3 + 0.02 * width) for width in WIDTHS]
    fit = fit_profile(bars)
    assert fit.overall.held == ("pull_share",)
    assert fit.profile.pull_share == 0
    wider = fit_profile([Measured(0, width, width + 0.1) for width in WIDTHS])
    assert wider.overall.held == ("pull", "pull_share")
    assert (wider.profile.pull, wider.profile.pull_share) == (0, 0)


def test_errors_cover_the_truth_about_as_often_as_they_should():
    # of 200 swatches, the true pull should lie within t(0.975, 18) = 2.101 standard errors in 190, give or take 10
    inside = 0
    for seed in range(200):
        fit = fit_profile(readings(same_everywhere(0.3, 0.05), noise=0.05, seed=seed)).overall
        inside += abs(fit.pull - 0.3) < 2.101 * fit.pull_error
    assert 180 <= inside <= 198


def test_the_test_for_directions_is_the_f_test_of_nested_models():
    bars = readings(CLOTH, noise=0.1, seed=4)
    x, y = np.array([one.nominal for one in bars]), np.array([one.narrowing for one in bars])
    which = np.array([one.direction for one in bars])

    def left_over(group):
        return float(np.sum((y[group] - np.polyval(np.polyfit(x[group], y[group], 1), x[group])) ** 2))

    together, apart = left_over(np.full(len(x), True)), sum(left_over(which == angle) for angle in CLOTH)
    ratio = ((together - apart) / 6) / (apart / 12)
    assert fit_profile(bars).chance == pytest.approx(scipy.stats.f.sf(ratio, 6, 12))


def test_a_cloth_alike_in_all_directions_is_told_so_nineteen_times_of_twenty():
    apart = sum(
        fit_profile(readings(same_everywhere(0.2, 0.03), noise=0.05, seed=seed)).by_direction for seed in range(200)
    )
    assert 2 <= apart <= 20


def test_a_cloth_that_gives_on_the_bias_is_told_apart_with_readings_to_a_tenth():
    fit = fit_profile(readings(CLOTH, noise=0.03, step=0.1))
    assert fit.by_direction
    for one in fit.profile.directions:
        # what counts is the narrowing that is made good
        for width in WIDTHS:
            pull, share = CLOTH[one.angle]
            assert one.pull + one.pull_share * width == pytest.approx(pull + share * width, abs=0.05)


def test_the_maker_may_decide_herself():
    bars = readings(CLOTH)
    assert fit_profile(bars, by_direction=False).profile.directions == ()
    assert len(fit_profile(readings(same_everywhere(0.1, 0.01)), by_direction=True).profile.directions) == 4
    with pytest.raises(ParameterError, match="fewer than two directions"):
        fit_profile(bars[:5], by_direction=True)


def test_a_direction_with_too_few_readings_counts_for_all_but_gets_no_numbers_of_its_own():
    bars = [one for one in readings(CLOTH, noise=0.01) if one.direction != 135] + [Measured(135, 4, 3.6)]
    fit = fit_profile(bars)
    assert [one.direction for one in fit.directions] == [0, 45, 90]
    assert fit.overall.readings == 16
    assert len(fit.residuals) == 16


def test_directions_half_a_turn_apart_are_one():
    bars = [replace(one, direction=one.direction - 180) for one in readings(CLOTH)]
    assert [one.direction for one in fit_profile(bars).directions] == list(CLOTH)


def test_the_rest_of_the_profile_is_that_of_its_base():
    fit = fit_profile(readings(CLOTH), base="felt", name="my felt")
    felt = FABRICS["felt"]
    assert replace(fit.profile, name="felt", pull=felt.pull, pull_share=felt.pull_share, directions=(),
                   source=felt.source) == felt  # fmt: skip


def test_bars_sewn_with_the_fitted_profile_come_out_at_their_drawn_width():
    fit = fit_profile(readings(CLOTH))
    cloth = replace(fit.profile, underlay=False)
    for direction, (pull, share) in CLOTH.items():
        for width in WIDTHS:
            rails = [turned(np.array([[x, -9.0], [x, 9.0]]), direction) for x in (-width / 2, width / 2)]
            design = Design("bar", (Stop(Purpose.DECORATE, Thread("#111111"), (Column(*rails, Satin()),)),))
            stitches = plan(design, fabric=cloth)
            top = turned(stitches.xy[stitches.is_stitch & (stitches.role == Role.TOP)], -direction)
            sewn_wide = np.ptp(top[:, 0])
            # this cloth takes 2 (pull + share w) off a bar drawn w wide
            assert sewn_wide - 2 * (pull + share * width) == pytest.approx(width, abs=1e-6)


def test_squares_give_the_strain_that_the_sheet_model_was_given():
    pull, share, strain, size = 0.1, 0.02, 0.02, 12.0
    sheet = Sheet((-60, -60, 60, 60), step=1.0)
    half = size / 2
    moved = sheet.displacement([Patch(shapely.box(-half, -half, half, half), 0.0, strain)])
    ends = sheet.at(moved, [[-half, 0.0], [half, 0.0]])
    narrows = float(ends[0, 0] - ends[1, 0]) + 2 * pull
    bars = readings(same_everywhere(pull, share))
    fit = fit_profile(bars, squares=[Measured(angle, size, size - narrows) for angle in CLOTH])
    assert fit.strain is not None
    # the two sheets differ in size: by a few per cent, no more
    assert fit.strain.strain == pytest.approx(strain, rel=0.03)
    assert fit.strain.rms == pytest.approx(0, abs=1e-9)
    assert fit.profile.strain == 0


@pytest.mark.parametrize(
    ("bars", "says"),
    [
        ([], "0 readings of 0 widths"),
        ([Measured(0, 4, 3.7)], "1 reading of 1 width"),
        ([Measured(0, 4, 3.7), Measured(0, 6, 5.6)], "2 readings of 2 widths"),
        ([Measured(0, 4, 3.7)] * 5, "5 readings of 1 width"),
        ([Measured(0, 4, 37.0), *readings(CLOTH)], "bar of 4 mm at 0 degrees is 37.0"),
        ([Measured(45, 4, 1.5), *readings(CLOTH)], "measured in mm, from 1.6 to 5.2"),
        ([Measured(0, 4, -3.7), *readings(CLOTH)], "bar of 4 mm"),
        ([Measured(0, 4, math.nan), *readings(CLOTH)], "bar of 4 mm"),
        ([Measured(0, 4, "3.7"), *readings(CLOTH)], "bar of 4 mm"),
        ([Measured(0, 0, 0.0), *readings(CLOTH)], "nominal of the bar is 0"),
        ([Measured(math.inf, 4, 3.7), *readings(CLOTH)], "direction of the bar"),
    ],
)
def test_too_few_readings_and_impossible_ones_are_refused_in_one_line(bars, says):
    with pytest.raises(ParameterError) as refused:
        fit_profile(bars)
    assert says in str(refused.value)
    assert "\n" not in str(refused.value)


def test_an_impossible_square_or_ruler_is_refused_too():
    with pytest.raises(ParameterError, match="square of 10 mm at 90 degrees"):
        fit_profile(readings(CLOTH), squares=[Measured(90, 10, 100)])
    with pytest.raises(ParameterError, match="ruler is 6"):
        fit_profile(readings(CLOTH), ruler=Measured(0, 60, 6))
    assert fit_profile(readings(CLOTH), ruler=Measured(0, 60, 59.4)).ruler == pytest.approx(0.99)
