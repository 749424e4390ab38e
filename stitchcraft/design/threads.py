"""Threads and their colours."""

from __future__ import annotations

import re
from dataclasses import dataclass

from stitchcraft.errors import ParameterError
from stitchcraft.units import number_between


def colour_from(value: object, *, name: str = "colour") -> str:
    """Take a colour ``"#rrggbb"`` in lower case.

    Raises:
        ParameterError: If it is none, under *name*.
    """
    if not isinstance(value, str) or not re.fullmatch(r"#[0-9a-fA-F]{6}", value):
        raise ParameterError(name, value, 'a colour like "#2f5d62"')
    return value.lower()


@dataclass(frozen=True, slots=True)
class Thread:
    """A thread as the maker picks it.

    Attributes:
        colour: ``"#rrggbb"``, lower case.
        name: What the sheet calls it, such as ``"accent"``.
        weight: Weight number (40 is the common embroidery weight; a larger number is finer).
    """

    colour: str
    name: str = ""
    weight: float = 40

    def __post_init__(self) -> None:
        object.__setattr__(self, "colour", colour_from(self.colour))
        number_between(self.weight, name="weight", low=1, high=1000)
