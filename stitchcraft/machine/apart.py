"""The file library's reader in a process of its own, under limits of time and memory.

A reader that hangs on a file, or swallows memory, takes only that process with it.
"""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
from array import array
from collections.abc import Callable, Mapping
from pathlib import Path
from subprocess import DEVNULL, PIPE
from threading import Thread
from typing import Any, Final

from stitchcraft.machine import library
from stitchcraft.machine.library import REFUSES, TOO_MUCH, Read

MOST_MEMORY: Final = 500_000_000
"""Bytes of address space for the reader's process: a million rows take 310 MB."""

_SECONDS: Final = 2  # of processor time, for a file of any size ...
_SECONDS_A_MB: Final = 8  # ... and on top for each megabyte: the slowest reader takes 100,000 rows of 3 bytes a second
_PATIENCE: Final = 15  # wall clock for each second of processor time, on a machine that does other things as well


class ReaderError(Exception):
    """The reader gave up on a file: the text says why, as the end of a sentence."""


def begun_apart(
    data: bytes, name: str, settings: Mapping[str, Any] | None, *, memory: int = MOST_MEMORY
) -> Callable[[], Read]:
    """Begin to read a file in a process of its own, with limits on its time and memory.

    Args:
        data: The file.
        name: Name of the format, as the library knows it.
        settings: For the formats with a reading function of their own; None for those that are only read.
        memory: Bytes of address space that the process may have.

    Returns:
        A function that waits for what was read. It raises `ReaderError` if the library refuses the file, hangs on
        it, or needs more memory than any file does.
    """
    seconds = _SECONDS + _SECONDS_A_MB * -(-len(data) // 1_000_000)
    options = {
        "name": name,
        "settings": None if settings is None else dict(settings),
        "seconds": seconds,
        "memory": memory,
    }
    command = [sys.executable, "-I", library.__file__, _place(), json.dumps(options)]
    try:
        child = subprocess.Popen(command, stdin=PIPE, stdout=PIPE, stderr=DEVNULL)
    except OSError as error:
        raise ReaderError(f"cannot be read: no process for its reader: {error.strerror or error}") from None
    # the file is handed over, and what comes back taken, beside whatever the caller does meanwhile
    answer: list[bytes] = []
    talk = Thread(target=_talk, args=(child, data, seconds * _PATIENCE, answer), daemon=True)
    talk.start()

    def result() -> Read:
        talk.join()
        return _result(child.returncode, answer, name)

    return result


def _talk(child: subprocess.Popen[bytes], data: bytes, patience: int, answer: list[bytes]) -> None:
    try:
        answer.append(child.communicate(data, patience)[0])
    except subprocess.TimeoutExpired:
        child.kill()
        child.communicate()


def _result(status: int, answer: list[bytes], name: str) -> Read:
    if status == 0 and answer:
        return _unpacked(answer[0])
    if status == TOO_MUCH:
        raise ReaderError("is damaged: its reader needed more memory than any machine file does")
    if status == REFUSES:
        raise ReaderError(f"is damaged or is no {name} file")
    raise ReaderError("is damaged: its reader came to no end")  # stopped by the limit on its time


def _place() -> str:
    """The folder that holds the library, for a process that does not know our path."""
    found = importlib.util.find_spec("pyembroidery")
    if found is None or found.origin is None or not sys.executable:
        raise ReaderError("cannot be read: no Python, or no file library, for its reader's process")
    return str(Path(found.origin).parents[1])


def _unpacked(data: bytes) -> Read:
    size = 8 + int.from_bytes(data[:8], "little")
    colours, label = json.loads(data[8:size])
    rows = array("d")
    rows.frombytes(data[size:])
    return Read(rows, tuple(colours), label)
