"""Lengths in and out, and the only rounding to machine units.

Inside the package every length is a float in millimetres. Lengths come in as numbers or as strings with a
unit; they go out as the maker measures, first in her own unit and then in the other system's.
"""

from __future__ import annotations

import contextlib
import math
import re
from collections.abc import Iterator
from contextvars import ContextVar
from typing import Final, Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stitchcraft.errors import ParameterError

Length: TypeAlias = float | int | str
Unit: TypeAlias = Literal["mm", "cm", "in"]

MM_PER: Final[dict[str, float]] = {"mm": 1.0, "cm": 10.0, "in": 25.4}
"""Millimetres in each unit; the inch is 25.4 mm exactly (NIST SP 811, appendix B)."""

MACHINE_UNIT_MM: Final = 0.1
"""The step of every machine file that this package writes."""

LARGEST_MM: Final = 5000.0
"""No length of a bag or of a part goes past this; it also keeps absurd numbers away from the file library."""

_UNIT_WORDS: Final = {
    "": "", "mm": "mm", "cm": "cm", "in": "in", "inch": "in", "inches": "in", '"': "in", "″": "in", "”": "in",
}  # fmt: skip
_VULGAR: Final = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3",
}  # fmt: skip
_NUMBER: Final = re.compile(
    r"""^(?P<sign>[-+]?)\s*(?:
        (?P<whole>\d+)[\s-]+(?P<n1>\d+)\s*/\s*(?P<d1>\d+)     # 2 1/2, 2-1/2
      | (?P<n2>\d+)\s*/\s*(?P<d2>\d+)                         # 1/4
      | (?P<decimal>\d+(?:\.\d*)?|\.\d+)                      # 12, 2.5, .25
    )\s*(?P<unit>[a-zA-Z"″”]*)\.?$""",
    re.VERBOSE | re.ASCII,
)
_SAID_FIRST: ContextVar[Unit] = ContextVar("said_first", default="mm")
_NEAR_MM: Final = 0.3  # a sixteenth this far off is still the length, to a pair of scissors
LENGTH_FORMS: Final = 'a length such as 12, "2 1/2 in", "6.4 cm" or "64 mm"'


def to_mm(value: Length, *, name: str = "length", unit: Unit = "mm") -> float:
    """Turn a length as a person writes it into millimetres.

    Args:
        value: A number (in *unit*), or a string with or without a unit: ``"2 1/2 in"``, ``"15 3/8"``,
            ``"2.5in"``, ``'1/4"'``, ``"64 mm"``, ``"6.4 cm"``, ``"2½ in"``.
        name: What to call the value in an error.
        unit: The unit of a value that names none.

    Returns:
        The length in mm; finite, and no larger than `LARGEST_MM` either way.

    Raises:
        ParameterError: If the value is no length, is not finite, or is absurdly large.

    Example:
        >>> to_mm("2 1/2 in"), to_mm(6.4, unit="cm"), to_mm("2½ in")
        (63.5, 64.0, 63.5)
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ParameterError(name, value, LENGTH_FORMS)
    if isinstance(value, int) and abs(value) > LARGEST_MM:  # past what a float can hold, perhaps
        raise ParameterError(name, value, f"no more than {LARGEST_MM:g} mm")
    length = _from_text(value, name, unit) if isinstance(value, str) else float(value) * MM_PER[unit]
    if not math.isfinite(length):
        raise ParameterError(name, value, "a finite " + LENGTH_FORMS[2:])
    if abs(length) > LARGEST_MM:
        raise ParameterError(name, value, f"no more than {LARGEST_MM:g} mm")
    return length


def _from_text(text: str, name: str, unit: Unit) -> float:
    plain = text.strip()[:40]
    for sign, ascii_form in _VULGAR.items():
        plain = re.sub(rf"(?<=\d){sign}", f" {ascii_form}", plain).replace(sign, ascii_form)
    match = _NUMBER.match(plain)
    word = _UNIT_WORDS.get(match["unit"].lower()) if match else None
    if match is None or word is None or len(text) > 40:
        raise ParameterError(name, text, LENGTH_FORMS)
    if match["decimal"] is not None:
        number = float(match["decimal"])
    else:
        top, bottom = (match["n1"], match["d1"]) if match["d1"] else (match["n2"], match["d2"])
        if int(bottom) == 0:
            raise ParameterError(name, text, LENGTH_FORMS)
        number = (int(match["whole"] or 0) * int(bottom) + int(top)) / int(bottom)
    return (-number if match["sign"] == "-" else number) * MM_PER[word or unit]


def length_between(
    value: Length, *, name: str, low: float, high: float = LARGEST_MM, unit: Unit = "mm", above: bool = False
) -> float:
    """Turn a length into mm and hold it to a range.

    Args:
        value: As in `to_mm`.
        name: What to call the value in an error.
        low: Smallest value allowed, mm.
        high: Largest value allowed, mm.
        unit: The unit of a value that names none.
        above: Refuse *low* itself too.

    Raises:
        ParameterError: If it is no length or out of range.
    """
    length = to_mm(value, name=name, unit=unit)
    if length < low or length > high or (above and length == low):
        raise ParameterError(name, value, range_words(low, high, above=above))
    return length


def number_between(value: float, *, name: str, low: float, high: float) -> float:
    """Check a plain number (an angle, a speed, a count) against a range.

    Raises:
        ParameterError: If it is not a finite number from *low* to *high*.
    """
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise ParameterError(name, value, f"a number from {low:g} to {high:g}")
    return value


def range_words(low: float, high: float, *, above: bool = False) -> str:
    """Say a range of lengths in words, in mm."""
    start = f"a length above {low:g} mm" if above else f"a length of at least {low:g} mm"
    return start if high >= LARGEST_MM else f"{start} and at most {high:g} mm"


def to_units(xy: ArrayLike) -> NDArray[np.int32]:
    """Round positions in mm to whole machine units of 0.1 mm.

    Positions are rounded, never the moves between them, so that the error stays within half a unit however
    long the run. This is the only place in the package that rounds to machine units. Halves go to the even
    unit, which treats left and right alike: a mirrored design rounds to the mirrored units.

    Args:
        xy: Positions in mm, any shape.

    Returns:
        int32 array of the same shape.

    Example:
        >>> to_units([[0.26, -0.26]]).tolist()
        [[3, -3]]
    """
    scaled = np.asarray(xy, dtype=np.float64) / MACHINE_UNIT_MM
    # 0.15 / 0.1 is 1.4999999999999998: clear the noise of the division before the halves are decided
    rounded: NDArray[np.int32] = np.rint(np.round(scaled, 6)).astype(np.int32)
    return rounded


def mm_text(mm: float) -> str:
    """Write a length in mm for people: at most one decimal.

    Example:
        >>> mm_text(63.5), mm_text(64.0)
        ('63.5 mm', '64 mm')
    """
    # halves go up, as people round: 6.35 is 6.4 (in binary it lies a hair below)
    tenths = math.floor(abs(mm) * 10 + 0.5 + 1e-6)
    return f"{math.copysign(tenths / 10, mm) if tenths else 0.0:g} mm"


def inch_text(mm: float) -> str:
    """Write a length in inches to the nearest sixteenth, as a maker reads it off a ruler.

    Example:
        >>> inch_text(63.5), inch_text(6.35), inch_text(25.4), inch_text(1.0)
        ('2 1/2 in', '1/4 in', '1 in', '1/16 in')
    """
    sixteenths = round(abs(mm) / 25.4 * 16)
    whole, rest = divmod(sixteenths, 16)
    shared = math.gcd(rest, 16)
    words = [str(whole)] if whole or not rest else []
    if rest:
        words.append(f"{rest // shared}/{16 // shared}")
    return ("-" if mm < 0 and sixteenths else "") + " ".join(words) + " in"


def size_text(width: float, height: float) -> str:
    """Write a width and a height in mm, and in inches to the nearest sixteenth.

    Example:
        >>> size_text(130.0, 180.0)
        '130 × 180 mm (5 1/8 × 7 1/16 in)'
    """
    inches = f"{inch_text(width).removesuffix(' in')} × {inch_text(height)}"
    return f"{mm_text(width).removesuffix(' mm')} × {mm_text(height)} ({inches})"


@contextlib.contextmanager
def lengths_said_in(unit: Unit) -> Iterator[None]:
    """Say lengths in a maker's own unit first, for as long as the block lasts.

    Words about lengths are made in many places, far below what knows the maker's unit; a context carries it there.
    Outside every block, millimetres come first.

    Args:
        unit: ``"mm"``, ``"cm"`` or ``"in"``.

    Raises:
        ParameterError: If it is none of these.

    Example:
        >>> with lengths_said_in("in"):
        ...     both_text(63.5)
        '2 1/2 in (63.5 mm)'
    """
    if unit not in MM_PER:
        raise ParameterError("units", unit, "one of " + ", ".join(MM_PER))
    before = _SAID_FIRST.set(unit)
    try:
        yield
    finally:
        _SAID_FIRST.reset(before)


def inches_said_first() -> bool:
    """Whether the maker's own unit is the inch."""
    return _SAID_FIRST.get() == "in"


def _metric_text(mm: float) -> str:
    """A length in cm where that is the maker's unit, and in mm everywhere else."""
    if _SAID_FIRST.get() != "cm":
        return mm_text(mm)
    return f"{float(mm_text(mm).removesuffix(' mm')) / 10:.2f}".rstrip("0").rstrip(".") + " cm"


def both_text(mm: float) -> str:
    """Write a length in the maker's unit and, in brackets, in the other system's.

    The inches are "about" where a ruler's mark is well off. `lengths_said_in` says whose unit comes first.

    Example:
        >>> both_text(63.5)
        '63.5 mm (2 1/2 in)'
    """
    inches = inch_text(mm)
    sixteenths = round(abs(mm) / 25.4 * 16)
    off = abs(abs(mm) - sixteenths * 25.4 / 16)
    inches = f"{'about ' if off > _NEAR_MM else ''}{inches}"
    return f"{inches} ({_metric_text(mm)})" if inches_said_first() else f"{_metric_text(mm)} ({inches})"


def both_sizes(width: float, height: float) -> str:
    """Write a width and a height in the maker's unit and, in brackets, in the other system's.

    Example:
        >>> both_sizes(368.3, 311.15)
        '368.3 × 311.2 mm (14 1/2 × 12 1/4 in)'
    """
    inches = f"{inch_text(width).removesuffix(' in')} × {inch_text(height)}"
    metric = f"{_metric_text(width).rpartition(' ')[0]} × {_metric_text(height)}"
    return f"{inches} ({metric})" if inches_said_first() else f"{metric} ({inches})"


def least_text(mm: float) -> str:
    """Write a length that something needs at least: both units are rounded up, so that either can be followed.

    Example:
        >>> least_text(82.75)
        '82.8 mm (3 5/16 in)'
    """
    return _pair(math.ceil(mm * 10 - 1e-6) / 10, math.ceil(mm / 25.4 * 16 - 1e-6) * 25.4 / 16)


def most_text(mm: float) -> str:
    """Write a length that something may have at most: both units are rounded down, so that either can be followed.

    Example:
        >>> most_text(82.75)
        '82.7 mm (3 1/4 in)'
    """
    return _pair(math.floor(mm * 10 + 1e-6) / 10, math.floor(mm / 25.4 * 16 + 1e-6) * 25.4 / 16)


def _pair(metric: float, sixteenths: float) -> str:
    one, other = _metric_text(metric), inch_text(sixteenths)
    return f"{other} ({one})" if inches_said_first() else f"{one} ({other})"
