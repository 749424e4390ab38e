"""What a maker asks of the hoopings beyond one for each part."""

from __future__ import annotations

from dataclasses import dataclass

from stitchcraft.defaults import PARTS
from stitchcraft.errors import ParameterError
from stitchcraft.ranges import RANGES
from stitchcraft.units import Length, length_between


@dataclass(frozen=True, slots=True, kw_only=True)
class HoopingOptions:
    """What a maker asks of the hoopings. Lengths in (a number is mm), mm stored.

    Attributes:
        share: Whether parts share a hooping where cloth and field allow it.
        bags: How many bags are made at a time, 1 to 50: loose parts of all of them may share.
        gap: Kept between what two parts in a hooping cover, to cut them apart, a length up to 100 mm.
        grain: Whether loose parts in a hooping lie along one grain: turned by half, but not otherwise.
        split: Whether a part that fits no field is sewn in several hoopings.

    Raises:
        ParameterError: If a value is out of range.
    """

    share: bool = False
    bags: int = 1
    gap: Length = PARTS["hooping_gap"].value
    grain: bool = True
    split: bool = False

    def __post_init__(self) -> None:
        for key in ("share", "grain", "split"):
            if not isinstance(getattr(self, key), bool):
                raise ParameterError(f"hooping.{key}", getattr(self, key), "true or false")
        low, high = RANGES["hooping.bags"]
        if isinstance(self.bags, bool) or not isinstance(self.bags, int) or not low <= self.bags <= high:
            raise ParameterError("hooping.bags", self.bags, f"a whole number from {low} to {high}")
        least, most = RANGES["hooping.gap"]
        object.__setattr__(self, "gap", length_between(self.gap, name="hooping.gap", low=least, high=most))

    @property
    def gap_mm(self) -> float:
        """The gap, mm."""
        return float(self.gap)
