"""A machine file opened: held to what a machine file can be, and its reader started in a process of its own.

Nothing here needs numpy: while the reader works, whoever asked for the file can load what it needs.
"""

from __future__ import annotations

import os
import stat
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from stitchcraft.errors import MachineFileError
from stitchcraft.machine.apart import begun_apart
from stitchcraft.machine.formats import FORMATS, READ_ONLY, known_name
from stitchcraft.machine.library import Read

MOST_BYTES: Final = 4_000_000
"""Larger files are refused unread: a dst of this size is 1.3 million records, many times a hoopful."""


@dataclass(frozen=True, slots=True)
class Opened:
    """A file whose reader is at work.

    Attributes:
        path: Where it is.
        fmt: Name of its format.
        data: What it holds.
        result: Waits for the reader; raises what it raises.
    """

    path: str
    fmt: str
    data: bytes
    result: Callable[[], Read]


def opened(path: str | Path) -> Opened:
    """Open a machine file; its suffix says what it is.

    Args:
        path: The file.

    Raises:
        MachineFileError: If it cannot be opened, is empty, is larger than `MOST_BYTES` or is of no known format; one
            line that names the file.
    """
    file = Path(path)
    fmt = _format_of(file)
    try:
        if not stat.S_ISREG(file.stat().st_mode):
            raise MachineFileError(f"{file}: is a folder or a device, not a machine file")
        with file.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise MachineFileError(f"{file}: there is no such file") from None
    except PermissionError:
        raise MachineFileError(f"{file}: may not be read") from None
    except (OSError, ValueError) as error:
        raise MachineFileError(f"{file}: cannot be read: {error}") from None
    refuse_size(data, str(file))
    return Opened(str(file), fmt, data, begun_apart(data, fmt, FORMATS[fmt].read if fmt in FORMATS else None))


def opened_ahead(paths: Sequence[str | Path]) -> Iterator[Opened]:
    """Open files one after another, the readers of the next few already at work, one for each core.

    The first few are started by the call itself.

    Raises:
        MachineFileError: As `opened`.
    """
    waiting = iter(paths)
    ahead = deque(opened(path) for _, path in zip(range(os.cpu_count() or 1), waiting, strict=False))

    def given() -> Iterator[Opened]:
        while ahead:
            yield ahead.popleft()
            ahead.extend(opened(path) for _, path in zip(range(1), waiting, strict=False))

    return given()


def refuse_size(data: bytes, where: str) -> None:
    """Refuse what is too small or too large for a machine file.

    Raises:
        MachineFileError: If there are no bytes, or more than `MOST_BYTES`.
    """
    if not data:
        raise MachineFileError(f"{where}: the file is empty")
    if len(data) > MOST_BYTES:
        raise MachineFileError(f"{where}: larger than {MOST_BYTES // 1_000_000} MB, which no machine file needs")


def _format_of(file: Path) -> str:
    suffix = file.suffix.lower().removeprefix(".")
    name = known_name(suffix)
    if name not in FORMATS and name not in READ_ONLY:
        kind = f"{suffix!r} is not one of them" if suffix else "it has none"
        raise MachineFileError(f"{file}: the suffix says what a machine file is ({', '.join(FORMATS)}), and {kind}")
    return name
