"""From what a maker measures on a sewn swatch to a profile of her cloth.

A line of thread that is drawn *w* long comes out shorter by ``2 (pull + pull_share w)``. The two numbers are fitted by
ordinary least squares to what was measured, for each direction of the thread and over all of them, with standard
errors from the residuals as any text on linear regression gives them. Whether the directions differ at all is decided
by the F test of the one model within the other.

It stands beside the planner because it turns round what the planner does: the same model, the same sheet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import DirectedPull, FabricProfile, fabric_profile
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.sheet import Patch, Sheet
from stitchcraft.units import number_between

LEAST_READINGS: Final = 3
"""Two numbers are fitted: with three readings there is a residual to judge them by."""

NARROWEST_SHARE, WIDEST_SHARE = 0.4, 1.3
"""A bar that comes out at less or more than these shares of its drawn width was not measured right. The pull is taken
at its most extreme in teaching: what is drawn 2 mm wide may sew out 1 mm wide (trade magazine, an exaggeration)."""

LIKELY: Final = 0.05
"""Directions are told apart if readings that differ as much by chance alone are rarer than this."""

EXACT_MM: Final = 1e-6
"""Residuals below this are rounding: nobody measures so well."""

AROUND_MM: Final = 40.0
"""Cloth around a square in the sheet that its strain is fitted with."""


@dataclass(frozen=True, slots=True)
class Measured:
    """One reading.

    Attributes:
        direction: Direction of the thread, and of the measuring, degrees counter-clockwise from x.
        nominal: As drawn, mm.
        measured: As sewn, mm.
    """

    direction: float
    nominal: float
    measured: float

    @property
    def narrowing(self) -> float:
        """By how much it came out narrower than drawn, mm."""
        return self.nominal - self.measured


@dataclass(frozen=True, slots=True)
class PullFit:
    """The pull fitted to some readings.

    Attributes:
        direction: Of the thread, degrees; None for all directions together.
        pull: Widening at each end, constant part, mm.
        pull_error: Its standard error, mm; NaN if it was held at 0 or cannot be told.
        pull_share: Widening at each end as a share of the width.
        share_error: Its standard error.
        readings: How many readings it is fitted to.
        rms: Root mean square of the residuals, mm of width.
        held: ``"pull"`` or ``"pull_share"`` if the readings alone would make it negative, so that it was held at 0.
    """

    direction: float | None
    pull: float
    pull_error: float
    pull_share: float
    share_error: float
    readings: int
    rms: float
    held: tuple[str, ...] = ()

    def narrowing(self, nominal: float) -> float:
        """By how much a bar of a width would come out narrower, mm."""
        return 2 * (self.pull + self.pull_share * nominal)


@dataclass(frozen=True, slots=True)
class StrainFit:
    """The strain of filled areas, fitted to filled squares.

    Attributes:
        strain: Share by which a fill would shrink along its rows if nothing held it.
        error: Its standard error; NaN from a single reading.
        readings: How many readings it is fitted to.
        rms: Root mean square of the residuals, mm.
    """

    strain: float
    error: float
    readings: int
    rms: float


@dataclass(frozen=True, slots=True, eq=False)
class Calibration:
    """What a swatch says of a cloth.

    Attributes:
        overall: The fit over all bars.
        directions: The fits of each direction with readings enough, by direction.
        by_direction: Whether the profile tells directions apart.
        chance: How likely readings differ so much between directions by chance alone; None if that cannot be told.
        strain: What the filled squares say; None if none was measured.
        ruler: Measured over nominal length of the running ruler; None if it was not measured.
        bars: The readings of bars.
        residuals: Measured less fitted width of each, mm, by the fit that the profile holds.
        profile: The cloth's profile: everything but its pull is that of the cloth it is based on.
    """

    overall: PullFit
    directions: tuple[PullFit, ...]
    by_direction: bool
    chance: float | None
    strain: StrainFit | None
    ruler: float | None
    bars: tuple[Measured, ...]
    residuals: FloatArray
    profile: FabricProfile

    @property
    def rms(self) -> float:
        """Root mean square of the residuals, mm."""
        return _rms(self.residuals)


def fit_profile(
    measured: Sequence[Measured],
    *,
    base: str | FabricProfile = "quilting cotton",
    name: str = "my cloth",
    squares: Sequence[Measured] = (),
    ruler: Measured | None = None,
    by_direction: bool | None = None,
) -> Calibration:
    """Fit a cloth's pull to what was measured on a swatch that was sewn without compensation.

    Args:
        measured: Readings of satin bars, across the bar.
        base: The fabric that the swatch was planned for; the rest of the profile is taken from it.
        name: What the profile is called.
        squares: Readings of filled squares along their rows: they give the strain of fills. It is told and left out
            of the profile, since a maker turns the sheet model on herself.
        ruler: Reading of the running ruler; it is only told.
        by_direction: Whether the profile tells directions apart; None does so if they differ by more than the
            readings scatter.

    Returns:
        The fits with their errors and residuals, and the profile.

    Raises:
        ParameterError: If there are too few readings to fit two numbers to, or one that cannot be right.

    Example:
        >>> bars = [Measured(0, w, w - 2 * (0.1 + 0.02 * w)) for w in (2, 4, 7)]
        >>> fit = fit_profile(bars)
        >>> round(fit.profile.pull, 6), round(fit.profile.pull_share, 6)
        (0.1, 0.02)
    """
    cloth = fabric_profile(base)
    for kind, readings in (("bar", measured), ("square", squares), ("ruler", () if ruler is None else (ruler,))):
        for one in readings:
            _hold(one, kind)
    bars = tuple(measured)
    _enough(bars)
    overall = _fitted(bars, None)
    groups: dict[float, list[Measured]] = {}
    for one in bars:
        groups.setdefault(one.direction % 180, []).append(one)
    ready = {angle: group for angle, group in sorted(groups.items()) if _fits(group)}
    fits = tuple(_fitted(group, angle) for angle, group in ready.items())
    chance = _chance(list(ready.values()))
    if by_direction and len(fits) < 2:
        raise ParameterError("by_direction", True, f"left out: fewer than two directions have {_NEEDS}")
    apart = (chance is not None and chance < LIKELY) if by_direction is None else by_direction
    held = tuple(DirectedPull(float(fit.direction or 0), fit.pull, fit.pull_share) for fit in fits) if apart else ()
    profile = replace(
        cloth, name=name, pull=overall.pull, pull_share=overall.pull_share, directions=held, strain=0.0,
        stiffening=0.0, source=f"measured on a swatch; all but the pull as for {cloth.name}",
    )  # fmt: skip
    pulls = np.array([profile.pull_at(one.direction) for one in bars])
    nominal = np.array([one.nominal for one in bars])
    residuals = np.array([one.measured for one in bars]) - (nominal - 2 * (pulls[:, 0] + pulls[:, 1] * nominal))
    return Calibration(
        overall, fits, apart, chance, _strain(squares, profile) if squares else None,
        None if ruler is None else ruler.measured / ruler.nominal, bars, residuals, profile,
    )  # fmt: skip


_NEEDS: Final = f"{LEAST_READINGS} readings or more of at least two widths"


def _hold(one: Measured, kind: str) -> None:
    """Refuse a reading that nobody can have taken."""
    what = "ruler" if kind == "ruler" else f"{kind} of {one.nominal:g} mm at {one.direction:g} degrees"
    number_between(one.direction, name=f"direction of the {kind}", low=-360, high=360)
    number_between(one.nominal, name=f"nominal of the {kind}", low=0.5, high=1000)
    low, high = NARROWEST_SHARE * one.nominal, WIDEST_SHARE * one.nominal
    plain = isinstance(one.measured, int | float) and not isinstance(one.measured, bool)
    if not plain or not low <= one.measured <= high:
        raise ParameterError(what, one.measured, f"measured in mm, from {low:.3g} to {high:.3g}")


def _fits(bars: Sequence[Measured]) -> bool:
    return len(bars) >= LEAST_READINGS and len({one.nominal for one in bars}) > 1


def _enough(bars: Sequence[Measured]) -> None:
    if not _fits(bars):
        widths = len({one.nominal for one in bars})
        said = f"{len(bars)} reading{'s' * (len(bars) != 1)} of {widths} width{'s' * (widths != 1)}"
        raise ParameterError("measured", said, _NEEDS)


def _terms(bars: Sequence[Measured]) -> tuple[FloatArray, FloatArray]:
    """The design matrix for pull and share, and the narrowing that it is to explain."""
    nominal = np.array([one.nominal for one in bars], dtype=np.float64)
    return np.column_stack([np.full(len(bars), 2.0), 2 * nominal]), np.array([one.narrowing for one in bars])


def _fitted(bars: Sequence[Measured], direction: float | None) -> PullFit:
    """Least squares with both numbers at least 0: a cloth does not push the thread outward."""
    terms, narrowing = _terms(bars)
    tries = []
    for used in ((0, 1), (0,), (1,), ()):
        columns = terms[:, list(used)]
        numbers = np.linalg.lstsq(columns, narrowing, rcond=None)[0] if used else np.empty(0)
        left = narrowing - columns @ numbers
        if (numbers >= -1e-12).all():
            tries.append((float(left @ left), len(used), used, np.maximum(numbers, 0.0), left))
    # of the solutions that are allowed, the one that leaves least is the constrained optimum
    _, _, used, numbers, left = min(tries, key=lambda one: (round(one[0], 15), -one[1]))
    values, errors = np.zeros(2), np.full(2, math.nan)
    values[list(used)] = numbers
    freedom = len(bars) - len(used)
    if used and freedom > 0:
        spread = float(left @ left) / freedom
        errors[list(used)] = np.sqrt(spread * np.diag(np.linalg.inv(terms[:, list(used)].T @ terms[:, list(used)])))
    held = tuple(key for k, key in enumerate(("pull", "pull_share")) if k not in used)
    return PullFit(
        direction, float(values[0]), float(errors[0]), float(values[1]), float(errors[1]), len(bars), _rms(left), held
    )


def _rms(left: FloatArray) -> float:
    return float(np.sqrt(np.mean(left * left)))


def _chance(groups: Sequence[Sequence[Measured]]) -> float | None:
    """How likely groups of one and the same pull would differ as much as these: the F test of nested regressions."""
    if len(groups) < 2:
        return None

    def left_by(bars: Sequence[Measured]) -> float:
        terms, narrowing = _terms(bars)
        left = narrowing - terms @ np.linalg.lstsq(terms, narrowing, rcond=None)[0]
        return float(left @ left)

    everything = [one for group in groups for one in group]
    together, apart = left_by(everything), sum(left_by(group) for group in groups)
    more, freedom = 2 * (len(groups) - 1), len(everything) - 2 * len(groups)
    if together <= len(everything) * EXACT_MM**2:
        return 1.0
    if apart <= len(everything) * EXACT_MM**2:
        return 0.0
    # the distribution is loaded when a swatch is fitted: planning never needs it
    from scipy.special import fdtrc

    return float(fdtrc(more, freedom, (together - apart) / more / (apart / freedom)))


def _strain(squares: Sequence[Measured], profile: FabricProfile) -> StrainFit:
    """Least squares of the strain: what the squares narrow past the pull of their rows' ends, over the sheet's answer.

    The sheet answers in proportion to the strain, and alike in all directions.
    """
    answers = {size: _answer(size) for size in sorted({one.nominal for one in squares})}
    by = np.array([answers[one.nominal] for one in squares])
    rest = np.array([one.narrowing - 2 * profile.pull_at(one.direction)[0] for one in squares])
    strain = max(0.0, float(by @ rest / (by @ by)))
    left = rest - strain * by
    spread = float(left @ left) / (len(squares) - 1) if len(squares) > 1 else math.nan
    return StrainFit(strain, math.sqrt(spread / float(by @ by)), len(squares), _rms(left))


def _answer(size: float) -> float:
    """By how much a filled square narrows across its middle for a strain of 1, mm."""
    half = size / 2
    sheet = Sheet((-half - AROUND_MM, -half - AROUND_MM, half + AROUND_MM, half + AROUND_MM))
    moved = sheet.displacement([Patch(shapely.box(-half, -half, half, half), 0.0, 0.01)])
    ends = sheet.at(moved, [[-half, 0.0], [half, 0.0]])
    return float(ends[0, 0] - ends[1, 0]) / 0.01
