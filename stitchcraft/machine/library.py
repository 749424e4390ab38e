"""The file library's reader, here or in a process of its own: bytes in, rows out.

Run as a program it reads a file from standard input under limits of time and memory, so that a reader that hangs
or swallows memory takes only that process with it. It therefore needs nothing but the library and the standard
library, and starts in a fraction of the time that numpy takes.
"""

from __future__ import annotations

import importlib.util
import io
import json
import os
import subprocess
import sys
from array import array
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Any, Final

MOST_MEMORY: Final = 500_000_000
"""Bytes of address space for the reader's process: a million rows take 310 MB."""

_SECONDS: Final = 2  # of processor time, for a file of any size ...
_SECONDS_A_MB: Final = 8  # ... and on top for each megabyte: the slowest reader takes 100,000 rows of 3 bytes a second
_PATIENCE: Final = 15  # wall clock for each second of processor time, on a machine that does other things as well
_TOO_MUCH: Final = 99  # exit status of a reader that ran out of memory
_REFUSES: Final = 98  # exit status where the library says that the file is damaged


@dataclass(frozen=True, slots=True)
class Read:
    """What the library read: x, y (down) in 0.1 mm and command for each row; a colour for each thread; the name."""

    rows: array[float]
    colours: tuple[int | None, ...]
    label: str


class ReaderError(Exception):
    """The reader gave up on a file: the text says why, as the end of a sentence."""


def read_here(data: bytes, name: str, settings: Mapping[str, Any] | None) -> Read:
    """Read a file in this process.

    Args:
        data: The file.
        name: Name of the format, as the library knows it.
        settings: For the formats with a reading function of their own; None for those that are only read.

    Raises:
        Exception: Whatever the library raises on damaged bytes.
    """
    # loaded here so that quick commands need not load the file library
    import pyembroidery

    if settings is not None:
        pattern = getattr(pyembroidery, f"read_{name}")(io.BytesIO(data), dict(settings))
    else:
        pattern = pyembroidery.EmbPattern.read_embroidery(reader_of(name), io.BytesIO(data), {})
    rows = array("d", chain.from_iterable(pattern.stitches))
    colours = tuple(None if thread.color is None else int(thread.color) for thread in pattern.threadlist)
    label = pattern.get_metadata("name") or pattern.get_metadata("Name") or ""
    return Read(rows, colours, str(label))


def reader_of(name: str) -> Any:
    """The library's reader for a format.

    Raises:
        LookupError: If it has none.
    """
    import pyembroidery

    for row in pyembroidery.EmbPattern.supported_formats():
        if row["extension"] == name:
            return row["reader"]
    raise LookupError(f"no reader for {name}")


def read_apart(data: bytes, name: str, settings: Mapping[str, Any] | None, *, memory: int = MOST_MEMORY) -> Read:
    """Read a file in a process of its own, with limits on its time and memory.

    Args:
        data: The file.
        name: Name of the format, as the library knows it.
        settings: For the formats with a reading function of their own; None for those that are only read.
        memory: Bytes of address space that the process may have.

    Raises:
        ReaderError: If the library refuses the file, hangs on it, or needs more memory than any file does.
    """
    seconds = _SECONDS + _SECONDS_A_MB * -(-len(data) // 1_000_000)
    options = {
        "name": name,
        "settings": None if settings is None else dict(settings),
        "seconds": seconds,
        "memory": memory,
    }
    command = [sys.executable, "-I", __file__, _place(), json.dumps(options)]
    try:
        done = subprocess.run(command, input=data, capture_output=True, timeout=seconds * _PATIENCE, check=False)
    except subprocess.TimeoutExpired:
        raise ReaderError("is damaged: its reader came to no end") from None
    except OSError as error:
        raise ReaderError(f"cannot be read: no process for its reader: {error.strerror or error}") from None
    if done.returncode == 0:
        return _unpacked(done.stdout)
    if done.returncode == _TOO_MUCH:
        raise ReaderError("is damaged: its reader needed more memory than any machine file does")
    if done.returncode == _REFUSES:
        raise ReaderError(f"is damaged or is no {name} file")
    raise ReaderError("is damaged: its reader came to no end")  # stopped by the limit on its time


def _place() -> str:
    """The folder that holds the library, for a process that does not know our path."""
    found = importlib.util.find_spec("pyembroidery")
    if found is None or found.origin is None or not sys.executable:
        raise ReaderError("cannot be read: no Python, or no file library, for its reader's process")
    return str(Path(found.origin).parents[1])


def _packed(read: Read) -> bytes:
    head = json.dumps([read.colours, read.label]).encode()
    return len(head).to_bytes(8, "little") + head + read.rows.tobytes()


def _unpacked(data: bytes) -> Read:
    size = 8 + int.from_bytes(data[:8], "little")
    colours, label = json.loads(data[8:size])
    rows = array("d")
    rows.frombytes(data[size:])
    return Read(rows, tuple(colours), label)


def _limit(seconds: int, memory: int) -> None:
    try:
        import resource  # not on every system; there the wall clock alone is the limit
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _main(place: str, options: str) -> int:
    asked = json.loads(options)
    sys.path.append(place)
    _limit(asked["seconds"], asked["memory"])
    try:
        sys.stdout.buffer.write(_packed(read_here(sys.stdin.buffer.read(), asked["name"], asked["settings"])))
        sys.stdout.buffer.flush()
    except MemoryError:
        return _TOO_MUCH
    except Exception:  # noqa: BLE001 - the library raises whatever it likes on damaged bytes
        return _REFUSES
    return 0


if __name__ == "__main__":
    os._exit(_main(*sys.argv[1:]))  # without the clean-up of a big heap
