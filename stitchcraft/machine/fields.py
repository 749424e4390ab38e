"""Sewing fields and what is known of a machine."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from stitchcraft.defaults import FRAMES, MACHINE, PLANNING
from stitchcraft.errors import ParameterError
from stitchcraft.machine.formats import FORMATS
from stitchcraft.ranges import RANGES
from stitchcraft.units import Length, Unit, length_between, number_between

_PAIR: Final = re.compile(r"^\s*(\S.*?)\s*[x×]\s*(\S.*?)\s*$", re.IGNORECASE)
_TRAILING_UNIT: Final = re.compile(r'(mm|cm|inch|inches|in|"|″|”)\.?$', re.IGNORECASE)
_FORM: Final = 'a sewing field such as "130x180", "130 x 180 mm" or "5 x 7 in"'


@dataclass(frozen=True, slots=True, init=False)
class Hoop:
    """A rectangular sewing field: what the needle reaches, not the frame around it.

    Args:
        width: Left to right, a length.
        height: Towards the maker, a length.

    Attributes:
        width: mm.
        height: mm.

    Raises:
        ParameterError: If a side is no length, or not from 10 to 1000 mm.

    Example:
        >>> Hoop(130, "180 mm"), Hoop.parse("130x180").name
        (Hoop(width=130.0, height=180.0), '130x180')
    """

    width: float
    height: float

    def __init__(self, width: Length, height: Length) -> None:
        least, most = RANGES["machine.hoops"]
        for side, value in (("width", width), ("height", height)):
            length = length_between(value, name=f"hoop {side}", low=least, high=most)
            object.__setattr__(self, side, round(length, 6))  # 7 in is 177.8 mm, not 177.79999999999998

    @classmethod
    def parse(cls, text: str) -> Hoop:
        """Read a field as makers write it: width, an x, height, and a unit if it is not mm.

        The number is what counts: "5x7 in" is 127 x 177.8 mm, though a frame sold under that label may sew
        130 x 180. A frame's name is another thing: "5x7 frame" is one of `FIELDS`.

        Raises:
            ParameterError: If *text* is no such pair of lengths.

        Example:
            >>> Hoop.parse("5x7 in")
            Hoop(width=127.0, height=177.8)
            >>> Hoop.parse("5x7 frame")
            Hoop(width=130.0, height=180.0)
        """
        if isinstance(text, str) and text.strip().lower() in FRAMES:
            return cls(*FRAMES[text.strip().lower()][:2])
        match = _PAIR.match(text) if isinstance(text, str) and len(text) <= 60 else None
        if match is None:
            raise ParameterError("hoop", text, _FORM)
        width, height = match.groups()
        unit: Unit = "mm"
        trailing = _TRAILING_UNIT.search(height)
        if trailing and not _TRAILING_UNIT.search(width):
            word = trailing.group(1).lower()
            unit = "mm" if word == "mm" else "cm" if word == "cm" else "in"
        sides = []
        for side in (width, height):
            try:
                sides.append(length_between(side, name="hoop", low=0, unit=unit))
            except ParameterError:
                raise ParameterError("hoop", text, _FORM) from None
        return cls(*sides)

    @classmethod
    def needed(cls, width: float, height: float) -> Hoop:
        """A field to be wished for, mm: of any size, though no machine may have it.

        Example:
            >>> Hoop.needed(1513, 120).name
            '1513x120'
        """
        wished = object.__new__(cls)
        object.__setattr__(wished, "width", float(width))
        object.__setattr__(wished, "height", float(height))
        return wished

    @property
    def name(self) -> str:
        """Width and height in mm, such as ``"130x180"``; what files and reports call it."""
        return f"{round(self.width, 2):g}x{round(self.height, 2):g}"

    @property
    def area(self) -> float:
        """Area, mm2."""
        return self.width * self.height

    def __str__(self) -> str:
        return self.name


@dataclass(frozen=True, slots=True)
class Field:
    """A row of the table of nominal fields.

    Attributes:
        hoop: The field.
        name: What `Hoop.parse` and a spec take for it: what its frames are often called, in inches, or mm.
        source: Where the number comes from.
    """

    hoop: Hoop
    name: str
    source: str


FIELDS: Final[tuple[Field, ...]] = tuple(
    Field(Hoop(width, height), name, source)
    for name, (width, height, source) in sorted(FRAMES.items(), key=lambda row: row[1][0] * row[1][1])
)
"""Nominal sewing fields of the trade, smallest first. An inch label is no measure: a 4x4 field is 100 mm, not 101.6."""

DEFAULT_HOOPS: Final = (Hoop(130, 180), Hoop(100, 100))
DEFAULT_FORMATS: Final = ("dst", "pes", "jef", "exp", "vp3")


@dataclass(frozen=True, slots=True, init=False)
class Machine:
    """What a kit needs to know of the maker's machine.

    Args:
        hoops: The sewing fields at hand, each a `Hoop` or text such as ``"130x180"``.
        formats: The files to write; names from `FORMATS`.
        speed: Stitches a minute, 50 to 2000.
        trims: Whether the machine cuts its own threads.
        trim_over: A jump longer than this is trimmed, a length up to 100 mm.

    Attributes:
        hoops: tuple of `Hoop`.
        formats: tuple of str.
        speed: Stitches a minute.
        trims: Whether the machine cuts its own threads.
        trim_over: mm.

    Raises:
        ParameterError: If a value cannot be used, a list is empty or names something twice.
    """

    hoops: tuple[Hoop, ...]
    formats: tuple[str, ...]
    speed: float
    trims: bool
    trim_over: float

    def __init__(
        self,
        *,
        hoops: Sequence[Hoop | str] = DEFAULT_HOOPS,
        formats: Sequence[str] = DEFAULT_FORMATS,
        speed: float = MACHINE["speed"].value,
        trims: bool = True,
        trim_over: Length = PLANNING["trim_over"].value,
    ) -> None:
        if isinstance(hoops, str) or not isinstance(hoops, Sequence) or not hoops:
            raise ParameterError("hoops", hoops, "a list of sewing fields, at least one")
        fields = tuple(hoop if isinstance(hoop, Hoop) else Hoop.parse(hoop) for hoop in hoops)
        if isinstance(formats, str) or not isinstance(formats, Sequence) or not formats:
            raise ParameterError("formats", formats, "a list of file formats, at least one")
        for fmt in formats:
            if fmt not in FORMATS:
                raise ParameterError("formats", fmt, "one of " + ", ".join(FORMATS))
        for name, values in (("hoops", fields), ("formats", tuple(formats))):
            twice = [value for k, value in enumerate(values) if value in values[:k]]
            if twice:
                raise ParameterError(name, str(twice[0]), "listed once only")
        if not isinstance(trims, bool):
            raise ParameterError("trims", trims, "true or false")
        object.__setattr__(self, "hoops", fields)
        object.__setattr__(self, "formats", tuple(formats))
        slowest, fastest = RANGES["machine.speed"]
        object.__setattr__(self, "speed", number_between(speed, name="speed", low=slowest, high=fastest))
        object.__setattr__(self, "trims", trims)
        object.__setattr__(self, "trim_over", length_between(trim_over, name="trim_over", low=0, high=100))
