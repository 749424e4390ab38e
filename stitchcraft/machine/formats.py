"""The machine files that come back exactly as they were written, and what each of them loses."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Final, Literal

from stitchcraft.errors import ParameterError


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """What a machine file keeps of a plan.

    Attributes:
        name: Suffix and name, such as ``"dst"``.
        colours: ``"exact"``, ``"palette"`` (the nearest of a fixed list) or ``"none"``.
        trims: ``"kept"``; ``"jumps"`` if a trim is written as a row of small jumps, which the machine must be
            set to read as a trim; or ``"moves"`` if there are no trims and every move without sewing is a cut.
        jumps: Whether a move without sewing that is not cut survives as such; if not, the thread is laid
            along it in one long stitch.
        name_length: How many characters of the name are kept; 0 for none.
        most_stops: The largest number of colour stops that come back.
        most_colours: The largest number of different colours that are told apart.
        jump_limit: Longest jump record on either axis, in units of 0.1 mm.
        lands: Whether the last jump lands on the needle point; if not, the last part of the way is the stitch.
        pause: How the machine is made to wait in one thread: ``"colour"`` (a change to a step colour) or
            ``"stop"`` (a stop code).
        note: What a maker should know of it, one sentence; empty for nothing.
        write: Settings handed to the writer.
        read: Settings handed to the reader.
    """

    name: str
    colours: Literal["exact", "palette", "none"]
    trims: Literal["kept", "jumps", "moves"]
    jumps: bool = True
    name_length: int = 0
    most_stops: int = 1000
    most_colours: int = 1000
    jump_limit: int = 120
    lands: bool = False
    pause: Literal["colour", "stop"] = "colour"
    note: str = ""
    write: Mapping[str, Any] = field(default_factory=dict, repr=False)
    read: Mapping[str, Any] = field(default_factory=dict, repr=False)


# The readers' own search for trims among jumps inserts and deletes rows one at a time, which is quadratic on a
# hostile file: it is switched off here, and done in reading.py in one pass.
_NO_SEARCH: Final = {"trim_at": None, "trim_distance": None, "clipping": False}

FORMATS: Final[Mapping[str, Format]] = MappingProxyType(
    {
        row.name: row
        for row in (
            Format(name="dst", colours="none", trims="jumps", name_length=16, read=_NO_SEARCH,
                   note="It holds no colours: follow the sheet."),
            Format(name="pes", colours="exact", trims="moves", name_length=8, most_stops=250, most_colours=64,
                   jump_limit=2000, lands=True, write={"version": "6"},
                   note="Its header names a 100 x 100 mm hoop whatever the size."),
            Format(name="jef", colours="palette", trims="jumps", lands=True,
                   write={"trims": True, "date": "20200101000000"}, read={**_NO_SEARCH, "trims": False},
                   note="Its header knows fields up to 200 x 200 mm; a larger part is labelled 110 x 110."),
            Format(name="exp", colours="none", trims="kept", lands=True,
                   note="It holds no colours and no name: follow the sheet."),
            Format(name="vp3", colours="exact", trims="kept", jumps=False, most_stops=250),
            Format(name="pec", colours="palette", trims="moves", name_length=8, most_stops=250, most_colours=64,
                   jump_limit=2000, lands=True),
            Format(name="xxx", colours="exact", trims="kept", most_stops=21),
            Format(name="u01", colours="none", trims="kept", pause="stop",
                   note="A change of thread is a change of needle, which need not halt a machine with several."),
            Format(name="tbf", colours="exact", trims="kept", name_length=16, most_stops=200, pause="stop",
                   note="A change of thread is a change of needle, which need not halt a machine with several."),
        )
    }
)  # fmt: skip
"""Every format here returns each needle point and each stop exactly; the tests write and read them all.

Source: pyembroidery 1.5.1, its writers and readers as measured; limits of count are those that came back.
"""

READ_ONLY: Final = (
    "10o", "100", "bro", "dat", "dsb", "dsz", "emd", "exy", "fxy", "gt", "hus", "inb", "jpx", "ksm", "max", "mit",
    "new", "pcd", "pcm", "pcq", "pcs", "phb", "phc", "sew", "shv", "stc", "stx", "tap", "zhs", "zxy",
)  # fmt: skip
"""Formats that are read as well as the file library can; nothing is promised of them."""

_ALIASES: Final = {
    "u00": "u01", "u02": "u01", "e00": "exy", "e01": "exy", "e02": "exy", "f00": "fxy", "f01": "fxy", "f02": "fxy",
    "z00": "zxy", "z01": "zxy", "z02": "zxy",
}  # fmt: skip

STITCH_LIMIT: Final = 121
"""Longest stitch on either axis, units of 0.1 mm, that every format takes (the DST record: 81+27+9+3+1)."""


def known_name(suffix: str) -> str:
    """The format that a suffix stands for, in lower case; the suffix itself if it is no other name of one."""
    return _ALIASES.get(suffix, suffix)


def format_named(name: str) -> Format:
    """Look a format up by its name or suffix, upper or lower case, with or without a dot.

    Raises:
        ParameterError: If it is not one of `FORMATS`.

    Example:
        >>> format_named(".DST").name
        'dst'
    """
    key = name.lower().removeprefix(".") if isinstance(name, str) else name
    if key not in FORMATS:
        raise ParameterError("format", name, "one of " + ", ".join(FORMATS))
    return FORMATS[key]
