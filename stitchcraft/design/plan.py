"""The stitch plan: what is counted, drawn, exported and checked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import CLOTH
from stitchcraft.design.purposes import Purpose
from stitchcraft.design.threads import Thread

if TYPE_CHECKING:
    from stitchcraft.geometry.sketch import Sketch


class Kind(IntEnum):
    """What the machine does at a row of the plan."""

    STITCH = 0
    JUMP = 1
    TRIM = 2
    STOP = 3
    END = 4


class Role(IntEnum):
    """What a stitch is there for: it shows, lies under, gets somewhere, or holds the thread's end."""

    TOP = 0
    UNDERLAY = 1
    TRAVEL = 2
    LOCK = 3


@dataclass(frozen=True, slots=True)
class PlanStop:
    """What is known of one colour stop once its elements have become stitches.

    Attributes:
        purpose: What it is for.
        thread: The thread to use.
        before: What the maker does before pressing start.
    """

    purpose: Purpose
    thread: Thread
    before: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class StitchPlan:
    """Needle points and commands in order of sewing.

    A JUMP row moves to its position without sewing; a STITCH row puts the needle down there; TRIM, STOP and
    END happen where the row before left off. A stop's first row is a JUMP to its first penetration. A STOP
    row stands between two colour stops and counts to the one that it ends; END is the last row.

    Attributes:
        name: Name of the part.
        xy: float64 (N, 2), mm, read-only.
        kind: uint8 (N,), values of `Kind`, read-only.
        stop: int32 (N,), index into *stops*, read-only.
        role: uint8 (N,), values of `Role`; meaningful on STITCH rows, read-only.
        element: int32 (N,), which element of its stop a row belongs to, -1 for none, read-only.
        stops: The colour stops in order of sewing.
        origin: The design's crosshair point, mm.
    """

    name: str
    xy: FloatArray
    kind: NDArray[np.uint8]
    stop: NDArray[np.int32]
    role: NDArray[np.uint8]
    element: NDArray[np.int32]
    stops: tuple[PlanStop, ...]
    origin: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        count = len(self.kind)
        for field, dtype, shape in (
            ("xy", np.float64, (count, 2)), ("kind", np.uint8, (count,)), ("stop", np.int32, (count,)),
            ("role", np.uint8, (count,)), ("element", np.int32, (count,)),
        ):  # fmt: skip
            array = np.array(getattr(self, field), dtype=dtype).reshape(shape)
            array.setflags(write=False)
            object.__setattr__(self, field, array)

    def only(self, rows: NDArray[np.bool_] | NDArray[np.intp]) -> StitchPlan:
        """The plan with some of its rows, to be drawn and not sewn.

        Args:
            rows: Boolean (n,), or the numbers of the rows.
        """
        return replace(
            self, xy=self.xy[rows], kind=self.kind[rows], stop=self.stop[rows], role=self.role[rows],
            element=self.element[rows],
        )  # fmt: skip

    @property
    def is_stitch(self) -> NDArray[np.bool_]:
        """Boolean (N,): the rows at which the needle goes down."""
        return self.kind == Kind.STITCH

    @property
    def needle_points(self) -> FloatArray:
        """The penetrations in order, (n, 2) mm."""
        return self.xy[self.is_stitch]

    @property
    def stitches(self) -> int:
        """How many times the needle goes down."""
        return int(np.count_nonzero(self.kind == Kind.STITCH))

    @property
    def jumps(self) -> int:
        """How many moves without sewing."""
        return int(np.count_nonzero(self.kind == Kind.JUMP))

    @property
    def trims(self) -> int:
        """How many cuts of the thread."""
        return int(np.count_nonzero(self.kind == Kind.TRIM))

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest and largest x and y of the penetrations, mm: (left, bottom, right, top).

        All zeros when there are none.
        """
        points = self.needle_points
        if not len(points):
            return (0.0, 0.0, 0.0, 0.0)
        (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
        return (float(left), float(bottom), float(right), float(top))

    def hands_before(self, stop: int) -> str:
        """What the hands do before one stop (by index from 0): its own words, and what becomes of the thread."""
        this = self.stops[stop]
        same = stop > 0 and self.stops[stop - 1].thread == this.thread
        if this.before:
            return this.before if same or not stop else f"{this.before} {self._change(stop)}"
        return "Nothing: the same thread goes on." if same else self._change(stop)

    def _change(self, stop: int) -> str:
        this = self.stops[stop]
        if not this.thread.name:
            return "Change the thread."
        # colours of a drawing share a name: only the colour tells them apart
        several = len({one.thread.colour for one in self.stops if one.thread.name == this.thread.name}) > 1
        return f"Change to the {this.thread.name} thread{f' {this.thread.colour}' if several else ''}."

    def points_of(self, stop: int) -> FloatArray:
        """The penetrations of one stop (by index from 0), (n, 2) mm."""
        return self.xy[self.is_stitch & (self.stop == stop)]

    def __repr__(self) -> str:
        left, bottom, right, top = self.bounds
        return (
            f"<StitchPlan {self.name!r}: {self.stitches} stitches, {len(self.stops)} stops, {self.trims} trims, "
            f"{right - left:.1f} x {top - bottom:.1f} mm>"
        )

    def strokes(self, stop: int, *, kind: Kind = Kind.STITCH, xy: FloatArray | None = None) -> Iterator[FloatArray]:
        """What one stop sews, or moves, without a break.

        Args:
            stop: Which one, from 0.
            kind: STITCH or JUMP.
            xy: Other positions for the plan's rows, (N, 2) mm: as the part lies in a hoop, say.

        Yields:
            Paths (n, 2) mm, each with the point where it sets out. The way to the plan's first stitch is none of
            them: it sets out wherever the needle happens to be.
        """
        rows = np.flatnonzero((self.stop == stop) & ((self.kind == Kind.STITCH) | (self.kind == Kind.JUMP)))
        if not len(rows):
            return
        places = self.xy if xy is None else xy
        # a trim between two rows parts them too: a file may go on with a stitch where the thread was cut
        breaks = np.flatnonzero((np.diff(self.kind[rows].astype(int)) != 0) | (np.diff(rows) > 1)) + 1
        for part in np.split(rows, breaks):
            first = int(part[0])
            cut = first > 0 and self.kind[first - 1] in (Kind.TRIM, Kind.STOP, Kind.END)
            setting_out = [first - 1] if first and not (cut and kind == Kind.STITCH) else []
            if self.kind[first] == kind and (first or kind == Kind.STITCH):
                yield places[[*setting_out, *part.tolist()]]

    def draw_on(
        self,
        sketch: Sketch,
        *,
        xy: FloatArray | None = None,
        needle_points: bool = False,
        grounds: Sequence[str] = (),
    ) -> None:
        """Draw itself as lines: stops in their colours and numbered, moves dashed, with a key below.

        Args:
            sketch: Where to.
            xy: Other positions for the plan's rows, (N, 2) mm.
            needle_points: Whether each penetration gets a dot.
            grounds: Colour of the cloth that was drawn under each stop; empty for the usual one.
        """
        from stitchcraft.design.sketches import draw_stitches, key, number_stops  # most plans are never drawn

        places = self.xy if xy is None else xy
        sewn = [number for number in range(len(self.stops)) if (self.is_stitch & (self.stop == number)).any()]
        for number in sewn:
            colour, group = self.stops[number].thread.colour, sketch.group(f"stop-{number + 1}")
            stitched = list(self.strokes(number, xy=places))
            moved = list(self.strokes(number, kind=Kind.JUMP, xy=places))
            draw_stitches(group, stitched, moved, colour, ground=grounds[number] if grounds else CLOTH)
            if needle_points:
                group.dots(places[self.is_stitch & (self.stop == number)], colour=colour, diameter=0.4)
        number_stops(sketch, [places[self.is_stitch & (self.stop == number)][0] for number in sewn])
        rows = [(self.stops[number].thread.colour, self._words(number)) for number in sewn]
        width, height = np.ptp(places[self.is_stitch], axis=0)
        key(sketch, rows, (float(width), float(height)))

    def _words(self, number: int) -> str:
        stop, count = self.stops[number], len(self.points_of(number))
        # a machine file does not say what a stop is for
        purpose = stop.purpose.value if (self.element >= 0).any() else ""
        named = ", ".join(word for word in (purpose, stop.thread.name) if word) or stop.thread.colour
        return f"{named}: {count:,} stitch{'es' if count != 1 else ''}"

    def _repr_svg_(self) -> str | None:
        """Draw itself in a notebook; a plan without stitches has no picture."""
        if not self.stitches:
            return None
        from stitchcraft.geometry.sketch import PAGE_MM, Sketch

        sketch = Sketch()
        self.draw_on(sketch)
        return sketch.svg(f"{self.name}: {self.stitches} stitches", margin=4.0, ground=CLOTH, widest=PAGE_MM)
