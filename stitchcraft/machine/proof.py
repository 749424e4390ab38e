"""What a file promises, measured on the file as read back."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from stitchcraft.design import StitchPlan
from stitchcraft.machine.colours import file_colours
from stitchcraft.machine.formats import FORMATS
from stitchcraft.machine.machinefile import MachineFile
from stitchcraft.machine.placement import Placement

LARGEST_SHIFT_MM = 0.1
"""A needle point in a file lies no farther than this from where it was planned."""


@dataclass(frozen=True, slots=True)
class Proof:
    """A promise about the parts of a kit, measured on the files read back.

    Attributes:
        code: What was promised.
        measured: The worst over all formats.
        limit: What it may be at most.
        unit: Of both.
        parts: What it was measured on.
    """

    code: str
    measured: float
    limit: float
    unit: str
    parts: tuple[str, ...]

    @property
    def ok(self) -> bool:
        """Whether it holds."""
        return self.measured <= self.limit

    def to_dict(self) -> dict[str, Any]:
        """The proof as plain values, for JSON."""
        return asdict(self) | {"ok": self.ok, "parts": list(self.parts)}


@dataclass(frozen=True, slots=True)
class FileProof:
    """A machine file, as read back, held against its plan.

    Attributes:
        stitches_equal: The same number of penetrations, each within 0.1 mm of its plan.
        max_shift_mm: The farthest that a penetration lies from its plan, mm, unrounded plan against file; infinite
            if the numbers differ.
        stops_equal: The machine waits between the same two penetrations as planned, every time.
        colours_equal: Each stop has the colour that it was given, or, where a format has but the nearest of a list,
            no two neighbours have the same; None if the format holds none.
        trims_planned: Cuts of the thread in the plan.
        trims_in_file: Cuts of the thread in the file, by the format's own way of saying so.
    """

    stitches_equal: bool
    max_shift_mm: float
    stops_equal: bool
    colours_equal: bool | None
    trims_planned: int
    trims_in_file: int

    @property
    def ok(self) -> bool:
        """Whether the file holds the plan."""
        return self.stitches_equal and self.stops_equal and self.colours_equal is not False

    def to_dict(self) -> dict[str, bool | float | int | None]:
        """The entries of the report; a shift that could not be measured is None."""
        return {
            "stitches_equal": self.stitches_equal,
            "max_shift_mm": self.max_shift_mm if math.isfinite(self.max_shift_mm) else None,
            "stops_equal": self.stops_equal,
            "trims_planned": self.trims_planned,
            "trims_in_file": self.trims_in_file,
        }


def prove(plan: StitchPlan, file: MachineFile, placement: Placement) -> FileProof:
    """Hold a file that was read back against the plan it was made from, stitch by stitch.

    Args:
        plan: What was to be sewn.
        file: What the file says.
        placement: Where the part was to lie.
    """
    want, got = placement.placed(plan.needle_points), file.needle_points
    same_count = len(want) == len(got)
    shift = float(np.hypot(*(want - got).T).max(initial=0.0)) if same_count else float("inf")
    _, planned = np.unique(plan.stop[plan.is_stitch], return_inverse=True)
    colours: bool | None = None
    form = FORMATS.get(file.fmt)
    if form is not None and form.colours == "palette":
        colours = all(a != b for a, b in pairwise(file.colours))
    elif form is not None and form.colours == "exact":
        own = [stop.thread.colour for stop in plan.stops] if form.pause == "stop" else file_colours(plan.stops)
        colours = list(file.colours) == own
    return FileProof(
        stitches_equal=same_count and shift <= LARGEST_SHIFT_MM,
        max_shift_mm=round(shift, 4),
        stops_equal=same_count and bool(np.array_equal(planned, file.stop_of)),
        colours_equal=colours,
        trims_planned=plan.trims,
        trims_in_file=file.trims,
    )
