"""What there is to say of a machine file, ours or anybody's."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from stitchcraft.arrays import FloatArray
from stitchcraft.design import Kind
from stitchcraft.geometry.fullest import fullest_square
from stitchcraft.machine.estimates import (
    StitchLengths,
    StopThread,
    hands_on_minutes,
    minutes,
    stitch_lengths,
    thread_metres,
    threads_of,
    uncut_moves,
)
from stitchcraft.machine.fields import Hoop, Machine
from stitchcraft.machine.machinefile import MachineFile
from stitchcraft.machine.placement import Placement
from stitchcraft.machine.reading import read_file
from stitchcraft.machine.stitch_kinds import StopGuess, guess_stops
from stitchcraft.units import MACHINE_UNIT_MM

if TYPE_CHECKING:
    from stitchcraft.machine.fit import Fit, NeededField


@dataclass(frozen=True, slots=True)
class StopReport:
    """One stretch of sewing between two halts of the machine.

    Attributes:
        n: Its number, from 1.
        colour: ``"#rrggbb"``; None if the format holds none.
        stitches: Penetrations.
        jumps: Moves without sewing, records.
        trims: Cuts of the thread.
        size_mm: Width and height of its penetrations.
        longest_mm: Longest stitch.
        shortest_mm: Shortest stitch.
        top_m: Needle thread.
        bobbin_m: Bobbin thread.
        guess: What it looks like, with its measures.
    """

    n: int
    colour: str | None
    stitches: int
    jumps: int
    trims: int
    size_mm: tuple[float, float]
    longest_mm: float
    shortest_mm: float
    top_m: float
    bobbin_m: float
    guess: StopGuess


@dataclass(frozen=True, slots=True)
class FileReport:
    """What a machine file holds and whether it fits.

    Attributes:
        path: Where it was read from; empty if from bytes.
        fmt: Format.
        name: Name in the file.
        stitches: Penetrations.
        jumps: Moves without sewing, records.
        trims: Cuts of the thread.
        stops: One entry for each stretch of sewing.
        bounds_mm: Left, bottom, right, top of the penetrations, from the centre of the field.
        longest_mm: Longest stitch.
        longest_at: Stop, from 1, and place (x, y) in mm at which it ends.
        shortest_mm: Shortest stitch.
        shortest_at: Stop, from 1, and place at which it ends.
        untrimmed: Moves longer than the machine trims whose thread is not cut.
        longest_untrimmed_mm: The longest of them; 0 if there are none.
        threads: Threads from one cut to the next.
        unlocked: Ends of threads that no lock holds.
        densest: Most penetrations in any square millimetre.
        densest_at: The middle of the first such square, (x, y) mm.
        minutes: Machine time.
        minutes_hands_on: Waiting for hands: changes of thread, since a file does not say more.
        top_m: Needle thread.
        bobbin_m: Bobbin thread.
        hoop: The field that it was held against; None for none.
        inside_mm: From the stitching, where the file puts it, to the nearest edge of that field; negative if it
            sticks out; None without a field.
        fit: How the part would lie in the field if it were moved or turned; None if it can't.
        needed: The field it needs, if it doesn't fit.
    """

    path: str
    fmt: str
    name: str
    stitches: int
    jumps: int
    trims: int
    stops: tuple[StopReport, ...]
    bounds_mm: tuple[float, float, float, float]
    longest_mm: float
    longest_at: tuple[int, tuple[float, float]]
    shortest_mm: float
    shortest_at: tuple[int, tuple[float, float]]
    untrimmed: int
    longest_untrimmed_mm: float
    threads: int
    unlocked: int
    densest: int
    densest_at: tuple[float, float]
    minutes: float
    minutes_hands_on: float
    top_m: float
    bobbin_m: float
    hoop: Hoop | None = None
    inside_mm: float | None = None
    fit: Fit | None = None
    needed: NeededField | None = None

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the penetrations, mm."""
        left, bottom, right, top = self.bounds_mm
        return (round(right - left, 1), round(top - bottom, 1))

    def to_dict(self) -> dict[str, Any]:
        """The report as plain values for JSON: lengths in mm, thread in m."""
        report: dict[str, Any] = {
            "file": self.path,
            "format": self.fmt,
            "name": self.name,
            "stitches": self.stitches,
            "jumps": self.jumps,
            "trims": self.trims,
            "size_mm": list(self.size_mm),
            "bounds_mm": list(self.bounds_mm),
            "longest_mm": round(self.longest_mm, 2),
            "shortest_mm": round(self.shortest_mm, 2),
            "untrimmed": self.untrimmed,
            "longest_untrimmed_mm": round(self.longest_untrimmed_mm, 2),
            "threads": self.threads,
            "unlocked": self.unlocked,
            "densest_per_mm2": self.densest,
            "densest_at_mm": list(self.densest_at),
            "minutes": round(self.minutes, 1),
            "minutes_hands_on": round(self.minutes_hands_on, 1),
            "thread_m": {"top": round(self.top_m, 2), "bobbin": round(self.bobbin_m, 2)},
            "stops": [
                {
                    "n": stop.n,
                    "colour": stop.colour,
                    "stitches": stop.stitches,
                    "jumps": stop.jumps,
                    "trims": stop.trims,
                    "size_mm": list(stop.size_mm),
                    "longest_mm": round(stop.longest_mm, 2),
                    "shortest_mm": round(stop.shortest_mm, 2),
                    "thread_m": {"top": round(stop.top_m, 2), "bobbin": round(stop.bobbin_m, 2)},
                    "guess": stop.guess.to_dict(),
                }
                for stop in self.stops
            ],
        }
        if self.hoop is not None:
            report["hoop"] = self.hoop.name
            report["inside_mm"] = self.inside_mm
            report["fits"] = self.fit is not None
            if self.fit is not None:
                report["fit"] = {
                    "angle_deg": self.fit.placement.angle_deg,
                    "offset_mm": list(self.fit.placement.offset_mm),
                    "slack_mm": self.fit.slack_mm,
                }
            if self.needed is not None:
                report["needs"] = {
                    "field": self.needed.upright.name,
                    "field_turned": self.needed.turned.name,
                    "turned_deg": round(self.needed.turned_deg, 2),
                    "scale": None if self.needed.scale is None else round(self.needed.scale, 4),
                }
        return report


def inspect_file(
    file: str | Path | MachineFile, hoop: Hoop | None = None, *, machine: Machine | None = None
) -> FileReport:
    """Measure a machine file.

    Args:
        file: A path, or a file that was read.
        hoop: The field to hold it against.
        machine: For the times; a common one if None.

    Raises:
        MachineFileError: If the file cannot be read.
    """
    read = file if isinstance(file, MachineFile) else read_file(file)
    used = machine if machine is not None else Machine()
    plan = read.plan()
    lengths, thread, points = stitch_lengths(plan), thread_metres(plan), read.needle_points
    longest, longest_at = _extreme(lengths, points, np.argmax)
    shortest, shortest_at = _extreme(lengths, points, np.argmin)
    long_moves = uncut_moves(plan, used)
    guesses = guess_stops(plan)
    stops = tuple(_stop_report(read, lengths, k, thread.stops[k], guesses[k]) for k in range(read.stops))
    threads = threads_of(plan)
    unlocked = int(np.count_nonzero(~threads.held_first) + np.count_nonzero(~threads.held_last))
    side = round(1 / MACHINE_UNIT_MM)
    corner, densest = fullest_square(read.units.astype(np.float64), np.ones(read.stitches), side=side)
    x, y = ((corner + (side - 1) / 2) * MACHINE_UNIT_MM).round(2).tolist()
    inside, fit, needed = _held_against(points, hoop) if hoop is not None else (None, None, None)
    return FileReport(
        path=read.path, fmt=read.fmt, name=read.name, stitches=read.stitches, jumps=read.jumps, trims=read.trims,
        stops=stops, bounds_mm=read.bounds, longest_mm=longest, longest_at=longest_at, shortest_mm=shortest,
        shortest_at=shortest_at, untrimmed=len(long_moves), longest_untrimmed_mm=float(long_moves.max(initial=0.0)),
        threads=len(threads.first), unlocked=unlocked, densest=round(densest), densest_at=(x, y),
        minutes=minutes(plan, used), minutes_hands_on=hands_on_minutes(plan, used), top_m=thread.top_m,
        bobbin_m=thread.bobbin_m, hoop=hoop, inside_mm=inside, fit=fit, needed=needed,
    )  # fmt: skip


def _held_against(points: FloatArray, hoop: Hoop) -> tuple[float, Fit | None, NeededField | None]:
    from stitchcraft.machine.fit import fit_at, fit_in_field, needed_field  # most files are held against no field

    reach = np.abs(points).max(axis=0)
    inside = round(float(min(hoop.width / 2 - reach[0], hoop.height / 2 - reach[1])), 2)
    as_it_lies = fit_at(points, hoop, Placement())
    fit = as_it_lies if as_it_lies is not None else fit_in_field(points, hoop)
    return inside, fit, needed_field(points, [hoop]) if fit is None else None


def _extreme(lengths: StitchLengths, points: FloatArray, which: Any) -> tuple[float, tuple[int, tuple[float, float]]]:
    sewn = np.flatnonzero(lengths.sewn)
    if not len(sewn):
        return 0.0, (int(lengths.stop[0]) + 1, (float(points[0, 0]), float(points[0, 1])))
    at = sewn[which(lengths.length[sewn])]
    return float(lengths.length[at]), (int(lengths.stop[at]) + 1, (float(points[at, 0]), float(points[at, 1])))


def _stop_report(file: MachineFile, lengths: StitchLengths, k: int, thread: StopThread, guess: StopGuess) -> StopReport:
    mine, points = file.stop == k, file.points_of(k)
    sewn = lengths.length[lengths.sewn & (lengths.stop == k)]
    width, height = np.ptp(points, axis=0)
    return StopReport(
        n=k + 1,
        colour=file.colours[k] if file.colours else None,
        stitches=len(points),
        jumps=int(np.count_nonzero(mine & (file.kind == Kind.JUMP))),
        trims=int(np.count_nonzero(mine & (file.kind == Kind.TRIM))),
        size_mm=(round(float(width), 1), round(float(height), 1)),
        longest_mm=float(sewn.max(initial=0.0)),
        shortest_mm=float(sewn.min()) if len(sewn) else 0.0,
        top_m=thread.top_m,
        bobbin_m=thread.bobbin_m,
        guess=guess,
    )
