"""A stitch plan into the bytes of a machine file.

Every row is decided here, in whole units, and handed to the file library as it stands: its own splitting,
centring, tying and rounding are not used. The y axis is turned over here, and back in reading.py.
"""

from __future__ import annotations

import io
import math
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.design import Kind, StitchPlan
from stitchcraft.errors import MachineFileError
from stitchcraft.machine.colours import file_colours
from stitchcraft.machine.formats import STITCH_LIMIT, Format, format_named
from stitchcraft.machine.placement import Placement, centred
from stitchcraft.units import LARGEST_MM, to_units

Row = tuple[int, int, int]  # x, y (units, y up), Kind

_NEEDLES: Final = 14
"""Needles are numbered 1 to 14 in turn: the u01 writer makes 15 into 1, and a change from 15 to 1 would be none."""


_MOST_IN_PES_OBJECT: Final = 65_000
"""The part of a PES file that is not for machines counts the stitches of a run in 16 bits, and wraps."""


def encode(plan: StitchPlan, fmt: str, *, placement: Placement | None = None, name: str | None = None) -> bytes:
    """Write a plan as the bytes of a machine file.

    Positions are placed, then rounded once, absolutely, to 0.1 mm. The same plan gives the same bytes.

    Args:
        plan: What to sew.
        fmt: A name from `FORMATS`.
        placement: Where the part lies in the field; None centres its bounding box on the field's centre.
        name: Name in the file; the plan's own if None. What is not plain ASCII becomes ``_``, and the format
            cuts it to its length.

    Raises:
        ParameterError: If *fmt* is unknown.
        MachineFileError: If the plan cannot be written faithfully: it has no stitches, a stop has none, it has
            too many stops for the format, a stitch is longer than every format takes, or it is out of range.
    """
    form = format_named(fmt)
    spot = centred(plan.needle_points) if placement is None and plan.stitches else placement or Placement()
    label = plan.name if name is None else name
    where = f"{label or 'design'}.{form.name}"
    _refuse(plan, form, where)
    pattern = _pattern(plan, form, _rows(plan, form, spot, where), label)
    # loaded here so that quick commands need not load the file library
    import pyembroidery

    buffer = io.BytesIO()
    try:
        getattr(pyembroidery, f"write_{form.name}")(pattern, buffer, _settings(plan, form))
    except Exception as error:
        raise MachineFileError(f"{where}: cannot be written: {error}") from error
    return _mend_header(buffer.getvalue(), form)


def _settings(plan: StitchPlan, form: Format) -> dict[str, Any]:
    """The writer's settings: its own encoder never runs."""
    settings = {**form.write, "encode": False}
    if form.name == "pes" and np.bincount(plan.stop[plan.is_stitch]).max() > _MOST_IN_PES_OBJECT:
        settings["version"] = "6t"  # the part for design programs, which machines do not read, is left out
    return settings


def ascii_name(name: str, length: int) -> str:
    """Reduce a name to the printable ASCII that every header can hold, and to its length.

    Words that are joined by hyphens are shortened one letter at a time, always the longest, so that parts of one
    kind stay apart on the machine's screen.

    Example:
        >>> ascii_name("Täsche, links", 8)
        'T_sche_'
        >>> ascii_name("connector-front", 8), ascii_name("connector-back", 8)
        ('con-fron', 'con-back')
    """
    plain = "".join(c if " " <= c <= "~" and c not in '",' else "_" for c in name)
    words = plain.split("-")
    while sum(map(len, words)) + len(words) - 1 > length and max(map(len, words)) > 1:
        longest = max(range(len(words)), key=lambda k: (len(words[k]), -k))
        words[longest] = words[longest][:-1]
    return "-".join(words)[:length].strip()


def _refuse(plan: StitchPlan, form: Format, where: str) -> None:
    if not plan.stitches:
        raise MachineFileError(f"{where}: there are no stitches to write")
    sewn = plan.stop[plan.is_stitch]
    if (np.diff(sewn) < 0).any() or sewn[0] < 0:
        raise MachineFileError(f"{where}: the stops are out of order")
    empty = sorted(set(range(len(plan.stops))) - set(sewn.tolist()))
    if empty:
        raise MachineFileError(f"{where}: stop {empty[0] + 1} has no stitches")
    if int(sewn[-1]) >= len(plan.stops):
        raise MachineFileError(f"{where}: stop {int(sewn[-1]) + 1} has no thread")
    if len(plan.stops) > form.most_stops:
        raise MachineFileError(f"{where}: {len(plan.stops)} stops; {form.name} holds {form.most_stops} at most")
    colours = len({stop.thread.colour for stop in plan.stops})
    if colours > form.most_colours:
        raise MachineFileError(f"{where}: {colours} colours; {form.name} tells {form.most_colours} apart at most")
    if not np.isfinite(plan.needle_points).all():
        raise MachineFileError(f"{where}: a needle point is not a finite number")


def _rows(plan: StitchPlan, form: Format, placement: Placement, where: str) -> NDArray[np.int32]:
    """Needle points and commands in units; a move without sewing runs straight to where the needle next goes down.

    Returns int32 (N, 3): x, y, `Kind`.
    """
    placed = placement.placed(plan.needle_points)
    if np.abs(placed).max() > LARGEST_MM:
        raise MachineFileError(f"{where}: a needle point lies over {LARGEST_MM:g} mm from the centre of the field")
    points = to_units(placed)
    row, stop = np.flatnonzero(plan.is_stitch), plan.stop[plan.is_stitch]
    moved, trimmed = _between(plan.kind == Kind.JUMP, row), _between(plan.kind == Kind.TRIM, row)
    changed = np.diff(stop, prepend=0) != 0
    begins = moved | trimmed | changed
    begins[0] = True
    _refuse_long(points, stop, begins, where)
    sewn = np.column_stack([points, np.full(len(points), Kind.STITCH, dtype=np.int32)])
    starts = np.flatnonzero(begins)
    out: list[Any] = []
    x = y = 0
    for start, end in zip(starts.tolist(), [*starts[1:].tolist(), len(points)], strict=True):
        commands: list[Row] = [(x, y, Kind.TRIM)] if trimmed[start] else []
        if changed[start]:
            commands.append((x, y, Kind.STOP))
        cut = start == 0 or bool(commands)
        to_x, to_y = points[start].tolist()
        commands += _moves(x, y, to_x, to_y, form, cut=cut)
        if commands:
            out.append(np.array(commands, dtype=np.int32))
        out.append(sewn[start:end])
        x, y = points[end - 1].tolist()
    if (plan.kind[row[-1] :] == Kind.TRIM).any():
        out.append([(x, y, Kind.TRIM)])
    out.append([(x, y, Kind.END)])
    return np.concatenate(out, dtype=np.int32)


def _between(marked: NDArray[np.bool_], row: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Boolean, one for each needle point: whether a marked row stands between it and the one before."""
    return np.diff(np.cumsum(marked)[row], prepend=0) > 0


def _refuse_long(points: NDArray[np.int32], stop: NDArray[np.int32], begins: NDArray[np.bool_], where: str) -> None:
    steps = np.diff(points, axis=0, prepend=points[:1])
    long = ~begins & (np.abs(steps).max(axis=1) > STITCH_LIMIT)
    if long.any():
        k = int(np.argmax(long))
        raise MachineFileError(
            f"{where}: a stitch in stop {stop[k] + 1} is {math.hypot(*steps[k].tolist()) / 10:.1f} mm long; "
            f"files take {STITCH_LIMIT / 10:g} mm on either axis"
        )


def _moves(x: int, y: int, to_x: int, to_y: int, form: Format, *, cut: bool) -> list[Row]:
    """Jumps from one needle point to the next in equal parts, the last of them a stitch unless the format lands."""
    far = max(abs(to_x - x), abs(to_y - y))
    parts = math.ceil(far / form.jump_limit)
    if not form.lands and not cut and parts == 1 and far > 1:
        # else the only part of the move would be the stitch, and nothing would tell that nothing was sewn on the way
        parts = 2
    return [
        (x + round((to_x - x) * k / parts), y + round((to_y - y) * k / parts), Kind.JUMP)
        for k in range(1, parts + form.lands)
    ]


def _pattern(plan: StitchPlan, form: Format, rows: NDArray[np.int32], label: str) -> Any:
    """The rows as the file library's own value, y turned over."""
    # loaded here so that quick commands need not load the file library
    import pyembroidery as pe
    from pyembroidery.EmbFunctions import encode_thread_change

    commands = np.zeros(max(Kind) + 1, dtype=np.int32)
    for kind, command in (
        (Kind.STITCH, pe.STITCH), (Kind.JUMP, pe.JUMP), (Kind.TRIM, pe.TRIM), (Kind.END, pe.END),
        (Kind.STOP, pe.COLOR_CHANGE),
    ):  # fmt: skip
        commands[kind] = command
    by_needle = form.pause == "stop"
    own = [stop.thread.colour for stop in plan.stops]
    colours = own if by_needle else file_colours(plan.stops)
    pattern = pe.EmbPattern()
    name = ascii_name(label, form.name_length or 8)
    pattern.metadata("name", name or "design")
    for stop, colour in enumerate(colours):
        if not (by_needle and stop and own[stop] == own[stop - 1]):
            pattern.add_thread(_thread(pe, colour, plan.stops[stop].thread.name))
    out = pattern.stitches
    out.extend(np.column_stack([rows[:, 0], -rows[:, 1], commands[rows[:, 2]]]).tolist())
    if by_needle:
        needles = [encode_thread_change(pe.NEEDLE_SET, needle=k % _NEEDLES + 1) for k in range(len(own))]
        changes = np.flatnonzero(rows[:, 2] == Kind.STOP).tolist()
        _change_by_needle(out, changes, own, needles, form, pe)
    if form.name == "vp3":
        _steady_vp3(out, pe)
    return pattern


def _thread(pe: Any, colour: str, name: str) -> Any:
    thread = pe.EmbThread(int(colour[1:], 16))
    thread.description = ascii_name(name, 40)
    thread.catalog_number = thread.brand = ""
    return thread


def _change_by_needle(
    out: list[list[int]], changes: list[int], own: list[str], needles: list[int], form: Format, pe: Any
) -> None:
    """Make changes of thread into changes of needle, in place; a pause in one thread into a stop."""
    numbers = iter(needles)
    out.insert(0, [0, 0, next(numbers)])
    added = 1
    for stop, change in enumerate(changes, 1):
        at = change + added
        if own[stop] == own[stop - 1]:
            out[at][2] = pe.STOP
            continue
        if form.name == "tbf" and out[at - 1][2] != pe.TRIM:
            # the file library has one before each change of needle in this format
            out.insert(at, [*out[at][:2], pe.TRIM])
            added, at = added + 1, at + 1
        out[at][2] = next(numbers)


def _steady_vp3(out: list[list[int]], pe: Any) -> None:
    """Keep VP3 blocks where they belong.

    The writer cuts the centre of the bounding box to whole units, so that single blocks end up a unit off where it
    falls between two. A last jump, which the format leaves out but the writer measures, moves it onto one.
    """
    xs, ys = [row[0] for row in out], [row[1] for row in out]
    odd_x, odd_y = (min(xs) + max(xs)) % 2, (min(ys) + max(ys)) % 2
    if odd_x or odd_y:
        out.insert(len(out) - 1, [max(xs) + odd_x, max(ys) + odd_y, pe.JUMP])


def _mend_header(data: bytes, form: Format) -> bytes:
    """Put the upward and downward extents of a DST or TBF header the right way round; the writer swaps them."""
    start = {"dst": 0, "tbf": 128}.get(form.name)
    if start is None:
        return data
    up = data.index(b"+Y:", start) + 3
    down = data.index(b"-Y:", start) + 3
    mended = bytearray(data)
    mended[up : up + 5], mended[down : down + 5] = data[down : down + 5], data[up : up + 5]
    return bytes(mended)
