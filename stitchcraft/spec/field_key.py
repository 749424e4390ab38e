"""The spec's key for a sewing field: two sizes, or the name of a frame."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Final

from stitchcraft.defaults import FRAMES
from stitchcraft.ranges import RANGES
from stitchcraft.spec.keys import Key, Reading
from stitchcraft.spec.problems import Problem, ProblemError, nearest, shown
from stitchcraft.units import MM_PER

_SIDE: Final = r"(\d{1,4}(?:\.\d{1,3})?)"
_MEANT_MM: Final = 15.0
"""Words that come no nearer to a frame than this are not taken for one."""


@dataclass(frozen=True, slots=True)
class FieldKey(Key):
    """A sewing field such as ``"130x180"``, width by height in mm, kept as it is written; a frame's name as its mm."""

    @property
    def needs(self) -> str:
        """How a field is written."""
        least, most = RANGES["machine.hoops"]
        return (
            f'a sewing field such as "130x180": width x height in mm, each from {least:g} to {most:g}; '
            "or a name that `stitchcraft fields` lists"
        )

    def read(self, value: Any, reading: Reading) -> str:  # noqa: ARG002 - fields are in mm always
        """Check the two sizes, or look the name up."""
        if isinstance(value, str) and value.strip().lower() in FRAMES:
            width, height, _ = FRAMES[value.strip().lower()]
            return f"{width}x{height}"
        match = re.fullmatch(f"{_SIDE}x{_SIDE}", value, re.ASCII) if isinstance(value, str) else None
        least, most = RANGES["machine.hoops"]
        if match is None or not all(least <= float(side) <= most for side in match.groups()):
            raise ProblemError(Problem((), f"is {shown(value)}; it needs to be {self.needs}{_meant(value)}"))
        return str(value)


def _meant(value: object) -> str:
    """The frame that a wrong name means: by its numbers, in cm, inches or mm, or else by its letters."""
    if not isinstance(value, str) or len(value) > 60 or not re.search(r"[^\W\d_]{2}", value):
        return ""
    match = re.search(rf"{_SIDE}\s*[x×]\s*{_SIDE}", value, re.ASCII)
    if match is None:
        return nearest(value, FRAMES)
    sides = sorted(float(side) for side in match.groups())
    off = {
        name: min(
            max(abs(frame - unit * side) for frame, side in zip(sorted((width, height)), sides, strict=True))
            for unit in MM_PER.values()
        )
        for name, (width, height, _) in FRAMES.items()
    }
    name = min(off, key=lambda one: (off[one], one))
    return f"; did you mean {shown(name)}?" if off[name] <= _MEANT_MM else ""
