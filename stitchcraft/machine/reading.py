"""The bytes of a machine file into needle points and commands, whatever the bytes are."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import distinct
from stitchcraft.design import Kind
from stitchcraft.errors import MachineFileError
from stitchcraft.machine.apart import ReaderError
from stitchcraft.machine.formats import FORMATS, READ_ONLY, known_name
from stitchcraft.machine.library import Read, read_here
from stitchcraft.machine.machinefile import MachineFile
from stitchcraft.machine.opening import Opened, opened, refuse_size
from stitchcraft.machine.stated import told
from stitchcraft.units import LARGEST_MM

_HALT: Final = 3  # numbers of the file library (a test compares them with its names): reading apart does not load it
_MEANING: Final = {
    0: Kind.STITCH, 1: Kind.JUMP, 2: Kind.TRIM, _HALT: Kind.STOP, 4: Kind.END, 5: Kind.STOP, 7: Kind.JUMP,
    9: Kind.STOP, 226: Kind.STOP,
}  # fmt: skip
_STOPS: Final = [command for command, meant in _MEANING.items() if meant is Kind.STOP]

_ROW_OF_JUMPS: Final = 3  # this many in a row are a trim in DST and JEF: the machines' usual setting


def read_file(file: str | Path | Opened) -> MachineFile:
    """Read a machine file; its suffix says what it is.

    The file library reads it in a process of its own, with limits on time and memory: a file made to hang its
    reader, or to swallow memory, is refused like any other damaged one.

    Args:
        file: The file, or one that was opened already.

    Raises:
        MachineFileError: If it cannot be opened, is larger than 4 MB, is of no known format, is damaged beyond
            reading, or holds no stitches; one line that names the file.
    """
    one = file if isinstance(file, Opened) else opened(file)
    return _machine_file_of(one.data, one.fmt, one.path, one.result)


def decode(data: bytes, fmt: str, *, path: str = "") -> MachineFile:
    """Read the bytes of a machine file in this process, which is for bytes that are known to be harmless.

    Args:
        data: At most 4 MB.
        fmt: A name from `FORMATS` or `READ_ONLY`.
        path: What to call it in an error.

    Raises:
        MachineFileError: As `read_file`, and nothing else, whatever the bytes are.
    """
    where = path or f"a {fmt} file"
    name = known_name(fmt)
    if name not in FORMATS and name not in READ_ONLY:
        raise MachineFileError(f"{where}: no such format; known are {', '.join(FORMATS)}")
    refuse_size(data, where)
    settings = FORMATS[name].read if name in FORMATS else None
    return _machine_file_of(data, name, path, lambda: read_here(data, name, settings))


def _machine_file_of(data: bytes, name: str, path: str, reader: Callable[[], Read]) -> MachineFile:
    where = path or f"a {name} file"
    try:
        read = reader()
    except ReaderError as error:
        raise MachineFileError(f"{where}: {error}") from None
    except Exception as error:
        raise MachineFileError(f"{where}: is damaged or is no {name} file") from error
    try:
        file = _machine_file(read, name, path, where)
        stopped = int(np.isin(_table(read)[1], _STOPS).sum())
        own = told(data, name, stitches=file.stitches, changes=stopped)
        return replace(file, cut_short=_cut_short(data, name), told=own)
    except MachineFileError:
        raise
    except Exception as error:
        raise MachineFileError(f"{where}: is damaged") from error


def _cut_short(data: bytes, name: str) -> bool:
    """Whether a file lacks the mark that ends the sewing in its format; False where the format has none."""
    if name == "dst":
        # a record is three bytes after a header of 512; the last byte of the end record is F3
        return 0xF3 not in data[512 + 2 :: 3]
    if name == "jef":
        # two bytes a move; 80 10 ends them
        start = int.from_bytes(data[:4], "little")
        moves = data[start:]
        return not any(moves[at : at + 2] == b"\x80\x10" for at in range(0, len(moves) - 1, 2))
    return False


def _table(read: Read) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    table = np.frombuffer(read.rows, dtype=np.float64).reshape(-1, 3)
    return table[:, :2] * (1.0, -1.0), table[:, 2].astype(np.int64) & 0xFF


def _machine_file(read: Read, name: str, path: str, where: str) -> MachineFile:
    xy, commands = _table(read)
    kind = np.full(len(commands), 255, dtype=np.uint8)
    for command, meant in _MEANING.items():
        kind[commands == command] = meant
    changes_thread = (kind == Kind.STOP) & (commands != _HALT)
    keep = kind != 255
    xy, kind, changes_thread = xy[keep], kind[keep], changes_thread[keep]
    if not (kind == Kind.STITCH).any():
        raise MachineFileError(f"{where}: holds no stitches")
    if not np.isfinite(xy).all() or np.abs(xy).max() > LARGEST_MM * 10:
        raise MachineFileError(f"{where}: is damaged: a stitch lies over {LARGEST_MM:g} mm from the centre")
    rows = np.rint(xy).astype(np.int32)
    thread = _thread_index(kind, changes_thread)
    if name in FORMATS and FORMATS[name].trims == "jumps":
        order, kind = _with_trims(rows, kind)
        rows, thread = rows[order], thread[order]
    stop, sewn = _stretches(kind)
    drop = ((kind == Kind.STOP) & (stop < 0)) | _idle_trims(kind)
    rows, kind, thread, stop = rows[~drop], kind[~drop], thread[~drop], stop[~drop]
    colours: tuple[str, ...] = ()
    holds_colours = FORMATS[name].colours != "none" if name in FORMATS else bool(read.colours)
    if holds_colours:
        is_stitch = kind == Kind.STITCH
        first = [int(np.flatnonzero(is_stitch & (stop == k))[0]) for k in range(sewn)]
        colours = tuple(_colour(read.colours, int(thread[row])) for row in first)
    return MachineFile(name, rows, kind, stop, colours, read.label.strip()[:200], path)


def _thread_index(kind: NDArray[np.uint8], changes: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Which thread of the file's list each row is sewn with: the next one after each change, but not after a stop.

    A change before the first stitch only says which needle to begin with.
    """
    first = int(np.flatnonzero(kind == Kind.STITCH)[0])
    counted = changes & (np.arange(len(kind)) > first)
    return np.cumsum(counted)


def _with_trims(rows: NDArray[np.int32], kind: NDArray[np.uint8]) -> tuple[NDArray[np.int64], NDArray[np.uint8]]:
    """Read rows of jumps as trims, in one pass.

    Three jumps or more in a row are a trim, which `_idle_trims` takes away again if there was no thread to cut; jumps
    that together go nowhere are left out. Returns the row that each row of the result stands for, and the kinds of
    the result.
    """
    jumping = (kind == Kind.JUMP).astype(np.int8)
    starts = np.flatnonzero(np.diff(jumping, prepend=0) == 1)
    ends = np.flatnonzero(np.diff(jumping, append=0) == -1) + 1
    order: list[NDArray[np.int64]] = []
    kinds: list[NDArray[np.uint8]] = []
    done = 0
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        order.append(np.arange(done, start))
        kinds.append(kind[done:start])
        if end - start >= _ROW_OF_JUMPS and start:
            order.append(np.array([start - 1]))
            kinds.append(np.array([Kind.TRIM], dtype=np.uint8))
        origin = rows[start - 1] if start else np.zeros(2, dtype=np.int32)
        back = np.flatnonzero((rows[start:end] == origin).all(axis=1))
        done = start + int(back[-1]) + 1 if len(back) else start
        order.append(np.arange(done, end))
        kinds.append(kind[done:end])
        done = end
    order.append(np.arange(done, len(kind)))
    kinds.append(kind[done:])
    return np.concatenate(order), np.concatenate(kinds)


def _idle_trims(kind: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Boolean (N,): the trims with no stitch since the last trim or stop, which have no thread to cut.

    PES marks every move without sewing as a trim, those after a change of thread too.
    """
    at = np.flatnonzero((kind == Kind.STITCH) | (kind == Kind.TRIM) | (kind == Kind.STOP))
    idle = np.zeros(len(kind), dtype=np.bool_)
    idle[at] = (kind[at] == Kind.TRIM) & np.concatenate([[True], kind[at[:-1]] != Kind.STITCH])
    return idle


def _stretches(kind: NDArray[np.uint8]) -> tuple[NDArray[np.int32], int]:
    """Number the stretches of sewing between stop codes, and mark with -1 the stop codes that end none.

    Returns int32 (N,) and the number of stretches.
    """
    is_stop, is_stitch = kind == Kind.STOP, kind == Kind.STITCH
    segment = np.cumsum(is_stop) - is_stop  # a stop code belongs to what it ends
    sewn = distinct(segment[is_stitch])
    # rows of a segment without stitches go with the stretch that follows, or with the last one
    number = np.minimum(np.searchsorted(sewn, segment), len(sewn) - 1)
    ends_nothing = is_stop & (~np.isin(segment, sewn) | (segment >= sewn[-1]))
    return np.where(ends_nothing, -1, number).astype(np.int32), len(sewn)


def _colour(colours: tuple[int | None, ...], index: int) -> str:
    colour = colours[index] if index < len(colours) else None
    return "#000000" if colour is None else f"#{colour & 0xFFFFFF:06x}"
