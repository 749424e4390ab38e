"""What a machine file says once it is read: needle points and commands in whole units."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.design import Kind, PlanStop, Purpose, Role, StitchPlan, Thread
from stitchcraft.machine.colours import STEP_COLOURS
from stitchcraft.machine.stated import Told


@dataclass(frozen=True, slots=True, eq=False)
class MachineFile:
    """A machine file as read, x right, y up, (0, 0) the centre of the sewing field, units of 0.1 mm.

    Attributes:
        fmt: Name of the format, such as ``"dst"``.
        rows: int32 (N, 2), the position of every row, units, read-only.
        kind: uint8 (N,), values of `Kind`, read-only; a STOP row stands for a change of thread, of needle, or a
            stop code.
        stop: int32 (N,), which stretch between stop codes a row belongs to, from 0, read-only; a stretch
            without stitches is not counted, and a STOP row belongs to the stretch that it ends.
        colours: ``"#rrggbb"`` for each stretch; empty if the format holds none.
        name: The design's name in the file; empty if it has none.
        path: Where it was read from; empty if from bytes.
        cut_short: Whether its format marks the end of the sewing and this file has no such mark: part of it is
            missing.
        told: Counts in its header that are not so, and what follows its end.
    """

    fmt: str
    rows: NDArray[np.int32]
    kind: NDArray[np.uint8]
    stop: NDArray[np.int32]
    colours: tuple[str, ...] = ()
    name: str = ""
    path: str = ""
    cut_short: bool = False
    told: Told = field(default_factory=Told)

    def __post_init__(self) -> None:
        for name, dtype in (("rows", np.int32), ("kind", np.uint8), ("stop", np.int32)):
            array = np.array(getattr(self, name), dtype=dtype)
            array.setflags(write=False)
            object.__setattr__(self, name, array)

    @property
    def is_stitch(self) -> NDArray[np.bool_]:
        """Boolean (N,): the rows at which the needle goes down."""
        return self.kind == Kind.STITCH

    @property
    def units(self) -> NDArray[np.int32]:
        """The penetrations in order, int32 (n, 2), units of 0.1 mm."""
        return self.rows[self.is_stitch]

    @property
    def needle_points(self) -> FloatArray:
        """The penetrations in order, (n, 2) mm."""
        return self.units / 10.0

    @property
    def stop_of(self) -> NDArray[np.int32]:
        """The stop, from 0, of each penetration, int32 (n,)."""
        return self.stop[self.is_stitch]

    @property
    def stitches(self) -> int:
        """How many times the needle goes down."""
        return int(np.count_nonzero(self.kind == Kind.STITCH))

    @property
    def stops(self) -> int:
        """How many stretches of sewing the machine's halts divide it into."""
        return int(self.stop_of.max()) + 1

    @property
    def jumps(self) -> int:
        """How many records that move without sewing; a long move takes several."""
        return int(np.count_nonzero(self.kind == Kind.JUMP))

    @property
    def trims(self) -> int:
        """How many cuts of the thread."""
        return int(np.count_nonzero(self.kind == Kind.TRIM))

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest and largest x and y of the penetrations, mm: (left, bottom, right, top)."""
        (left, bottom), (right, top) = self.units.min(axis=0) / 10, self.units.max(axis=0) / 10
        return (float(left), float(bottom), float(right), float(top))

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the penetrations, mm."""
        left, bottom, right, top = self.bounds
        return (round(right - left, 1), round(top - bottom, 1))

    def points_of(self, stop: int) -> FloatArray:
        """The penetrations of one stop (by index from 0), (n, 2) mm."""
        return self.rows[self.is_stitch & (self.stop == stop)] / 10.0

    def plan(self) -> StitchPlan:
        """Make a stitch plan of it, to draw and to check as any other.

        A file does not say what a stop is for, so every purpose is "decorate" and every role "top"; where it
        holds no colours, neighbouring stops get different ones of our own.
        """
        colours = self.colours or tuple(STEP_COLOURS[k % len(STEP_COLOURS)] for k in range(self.stops))
        count = len(self.kind)
        return StitchPlan(
            name=self.name,
            xy=self.rows / 10.0,
            kind=self.kind,
            stop=self.stop,
            role=np.full(count, Role.TOP, dtype=np.uint8),
            element=np.full(count, -1, dtype=np.int32),
            stops=tuple(PlanStop(Purpose.DECORATE, Thread(colour)) for colour in colours),
        )

    def __repr__(self) -> str:
        width, height = self.size
        return (
            f"<MachineFile {self.fmt} {self.name!r}: {self.stitches} stitches, {self.stops} stops, "
            f"{width:g} x {height:g} mm>"
        )
