"""Several parts sewn in one hooping: their stitches in one plan, and each part taken out of the file again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray, RowNumbers
from stitchcraft.design import Kind, PlanStop, StitchPlan
from stitchcraft.kit.stop_order import MergedStop, merged_stops
from stitchcraft.machine import MachineFile, Placement
from stitchcraft.stitching.order import best_order
from stitchcraft.stitching.spacing import divided, parts_of_moves
from stitchcraft.wording import listed


@dataclass(frozen=True, slots=True, eq=False)
class Member:
    """A part in a hooping that it shares.

    Attributes:
        title: What people call it, such as ``"corner left"``.
        plan: Its stitches, in its own frame.
        placement: How it lies in the field.
    """

    title: str
    plan: StitchPlan
    placement: Placement


@dataclass(frozen=True, slots=True, eq=False)
class Together:
    """The stitches of several parts in one plan.

    Attributes:
        plan: All stitches, in the field's frame.
        stops: Which stops of which parts each of its stops is made of.
        member: int32 (n,), the part that each penetration belongs to.
        source: int32 (n,), the stop of that part.
    """

    plan: StitchPlan
    stops: tuple[MergedStop, ...]
    member: RowNumbers
    source: RowNumbers

    def taken_out(self, file: MachineFile, member: int) -> MachineFile:
        """One part's penetrations out of a file of the whole, in the part's own order, where the file has them."""
        mine = np.flatnonzero(self.member == member)
        mine = mine[np.argsort(self.source[mine], kind="stable")]
        if file.stitches != len(self.member):
            mine = mine[mine < file.stitches]
        kind = np.full(len(mine), Kind.STITCH, dtype=np.uint8)
        return MachineFile(file.fmt, file.units[mine], kind, self.source[mine], path=file.path)


def sewn_together(name: str, members: Sequence[Member], *, first: str) -> Together:
    """Put the stitches of several parts into one plan.

    Every penetration is where the part's own plan and its placement put it, in the part's own order; between parts the
    thread is treated as between the runs of one part.

    Args:
        name: Name of the plan.
        members: The parts, numbered from 1 for people.
        first: What the hands do before the first stop, instead of what the parts say before their first ones.
    """
    threads = [[stop.thread for stop in one.plan.stops] for one in members]
    hands = [[bool(stop.before) and number > 0 for number, stop in enumerate(one.plan.stops)] for one in members]
    stops = merged_stops(threads, hands)
    rows = _Rows()
    for number, merged in enumerate(stops):
        for member, source in _in_order(members, merged, rows.here):
            rows.add_run(members[member], member, source, number)
        rows.end_stop(number, last=number == len(stops) - 1)
    plan_stops = []
    for number, merged in enumerate(stops):
        member, source = merged.members[0]
        own = members[member].plan.stops[source]
        before = _before(members, merged)
        plan_stops.append(
            PlanStop(own.purpose, own.thread, " ".join(filter(None, [first, before])) if number == 0 else before)
        )
    kind = np.concatenate(rows.kind)
    plan = StitchPlan(
        name=name,
        xy=np.vstack(rows.xy),
        kind=kind,
        stop=np.concatenate(rows.stop),
        role=np.concatenate(rows.role),
        element=np.concatenate(rows.element),
        stops=tuple(plan_stops),
    )
    sewn = kind == Kind.STITCH
    return Together(plan, stops, np.concatenate(rows.member)[sewn], np.concatenate(rows.source)[sewn])


class _Rows:
    """Rows of a plan as they grow."""

    def __init__(self) -> None:
        self.here: FloatArray | None = None
        self.xy: list[FloatArray] = []
        self.kind: list[NDArray[np.uint8]] = []
        self.stop: list[RowNumbers] = []
        self.role: list[NDArray[np.uint8]] = []
        self.element: list[RowNumbers] = []
        self.member: list[RowNumbers] = []
        self.source: list[RowNumbers] = []

    def add_run(self, one: Member, member: int, source: int, stop: int) -> None:
        """One stop of a part, and the way there."""
        own = np.flatnonzero((one.plan.stop == source) & (one.plan.kind < Kind.STOP))
        own = own[int(np.argmax(one.plan.kind[own] == Kind.STITCH)) :]
        xy = one.placement.placed(one.plan.xy[own])
        move = np.vstack([xy[0] if self.here is None else self.here, xy[0]])
        way = divided(move, parts_of_moves(move))[0][1:]
        jumps = len(way)
        self._add(
            np.vstack([way, xy]),
            np.concatenate([np.full(jumps, Kind.JUMP), one.plan.kind[own]]),
            stop,
            np.concatenate([np.zeros(jumps), one.plan.role[own]]),
            np.concatenate([np.full(jumps, -1), one.plan.element[own]]),
            member,
            source,
        )

    def end_stop(self, stop: int, *, last: bool) -> None:
        """The machine waits, or is done."""
        here = np.zeros(2) if self.here is None else self.here
        self._add(here[None], np.array([Kind.END if last else Kind.STOP]), stop, np.zeros(1), np.full(1, -1), -1, -1)

    def _add(
        self,
        xy: FloatArray,
        kind: NDArray[np.generic],
        stop: int,
        role: NDArray[np.generic],
        element: NDArray[np.generic],
        member: int,
        source: int,
    ) -> None:
        count = len(xy)
        self.xy.append(xy)
        self.kind.append(kind.astype(np.uint8))
        self.stop.append(np.full(count, stop, dtype=np.int32))
        self.role.append(role.astype(np.uint8))
        self.element.append(element.astype(np.int32))
        self.member.append(np.full(count, member, dtype=np.int32))
        self.source.append(np.full(count, source, dtype=np.int32))
        self.here = xy[-1]


def _in_order(members: Sequence[Member], merged: MergedStop, here: FloatArray | None) -> list[tuple[int, int]]:
    """The parts of a stop in the order that jumps least."""
    ends = []
    for member, source in merged.members:
        points = members[member].placement.placed(members[member].plan.points_of(source))
        ends.append((points[:1], points[-1:]))
    order = best_order([entry for entry, _ in ends], [leaving for _, leaving in ends], start=here)
    return [merged.members[piece] for piece, _ in order]


def _before(members: Sequence[Member], merged: MergedStop) -> str:
    """What the hands do before a stop: the same for several parts is said once, with their numbers."""
    texts: dict[str, list[int]] = {}
    for member, source in merged.members:
        text = members[member].plan.stops[source].before
        if text and source:
            texts.setdefault(text, []).append(member)
    if len(texts) == 1 and len(next(iter(texts.values()))) == len(members):
        return f"At each of the {len(members)} pieces: {next(iter(texts))}"
    return " ".join(f"{pieces_words(members, who)}: {text}" for text, who in texts.items())


def pieces_words(members: Sequence[Member], which: Sequence[int]) -> str:
    """Parts with their numbers, such as ``"Corner left (1) and corner right (2)"``."""
    names = [f"{members[member].title} ({member + 1})" for member in which]
    words = listed(names)
    return words[:1].upper() + words[1:]
