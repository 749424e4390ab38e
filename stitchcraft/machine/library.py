"""The file library's reader, here or in a process of its own: bytes in, rows out.

Run as a program it reads a file from standard input under limits of time and memory, so that a reader that hangs
or swallows memory takes only that process with it. It therefore needs nothing but the library and the standard
library, and starts in a fraction of the time that numpy takes.
"""

from __future__ import annotations

import io
import json
import os
import sys
from array import array
from collections.abc import Mapping
from itertools import chain
from typing import Any, Final, NamedTuple

TOO_MUCH: Final = 99  # exit status of a reader that ran out of memory
REFUSES: Final = 98  # exit status where the library says that the file is damaged


class Read(NamedTuple):
    """What the library read: x, y (down) in 0.1 mm and command for each row; a colour for each thread; the name."""

    rows: array[float]
    colours: tuple[int | None, ...]
    label: str


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


def _packed(read: Read) -> bytes:
    head = json.dumps([read.colours, read.label]).encode()
    return len(head).to_bytes(8, "little") + head + read.rows.tobytes()


def _limit(seconds: int, memory: int) -> None:
    try:
        import resource  # not on every system; there the wall clock alone is the limit
    except ImportError:
        return
    for what, most in ((resource.RLIMIT_CPU, seconds), (resource.RLIMIT_AS, memory), (resource.RLIMIT_CORE, 0)):
        hard = resource.getrlimit(what)[1]  # whoever runs us may have set one of their own
        least = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(what, (least, least))


def _main(place: str, options: str) -> int:
    asked = json.loads(options)
    sys.path.append(place)
    _limit(asked["seconds"], asked["memory"])
    try:
        sys.stdout.buffer.write(_packed(read_here(sys.stdin.buffer.read(), asked["name"], asked["settings"])))
        sys.stdout.buffer.flush()
    except MemoryError:
        return TOO_MUCH
    except Exception:  # noqa: BLE001 - the library raises whatever it likes on damaged bytes
        return REFUSES
    return 0


if __name__ == "__main__":
    os._exit(_main(*sys.argv[1:]))  # without the clean-up of a big heap
