"""What a machine file says of itself beside its stitches: counts in its header, held against what follows.

A file that was damaged on its way, or glued from two, is often still read without complaint; its own counts give it
away. Where formats count differently (some writers count jumps as stitches), any of the ways of the trade will do.
Layouts: pyembroidery 1.5.1, its writers; that records without sewing may count as stitches is common practice, no
source.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

_PADDING: Final = b"\x00\x1a\x20\r\n"
_DST_HEADER: Final = 512
_PEC_STITCHES: Final = 512  # from the start of the PEC block to the block of its stitches
_PEC_CHANGES: Final = 48
_VP3_FIRST: Final = 6


@dataclass(frozen=True, slots=True)
class Disagreement:
    """A number in a file's header that what follows does not bear out.

    Attributes:
        what: What is counted, such as ``"stitches"``.
        stated: What the header says.
        held: What the file holds.
    """

    what: str
    stated: int
    held: int


@dataclass(frozen=True, slots=True)
class Told:
    """What a file says of itself that is not so.

    Attributes:
        disagreements: Counts that do not agree.
        bytes_after: How many bytes follow the end of the sewing, padding left out.
    """

    disagreements: tuple[Disagreement, ...] = ()
    bytes_after: int = 0


def told(data: bytes, fmt: str, *, stitches: int, changes: int) -> Told:
    """Hold a file's own counts against what was read.

    Args:
        data: The file.
        fmt: Name of its format; those without counts of their own say nothing.
        stitches: Penetrations that were read.
        changes: Changes of thread and stop codes that were read.
    """
    read = _READERS.get(fmt)
    return Told() if read is None else read(data, stitches, changes)


def _kept(*rows: tuple[str, int | None, int, int]) -> tuple[Disagreement, ...]:
    """Disagreements of rows (what, stated, least, most): what was held may be counted in several ways."""
    return tuple(
        Disagreement(what, stated, least)
        for what, stated, least, most in rows
        if stated is not None and not least <= stated <= most
    )


def _dst(data: bytes, _stitches: int, _changes: int) -> Told:
    # records of three bytes; of the last byte's high bits 11 with 0011 is the end, 11 a change, 10 a jump
    last = np.frombuffer(data, dtype=np.uint8)[_DST_HEADER + 2 :: 3]
    ends = np.flatnonzero((last & 0xF3) == 0xF3)
    records = int(ends[0]) if len(ends) else len(last)
    flags = last[:records] & 0xC3
    changes, sewn = int((flags == 0xC3).sum()), int((flags < 0x40).sum())
    found = _kept(
        ("stitches", _dst_number(data, b"ST"), sewn, records + 1),
        ("colour changes", _dst_number(data, b"CO"), changes, changes + 1),
    )
    return Told(found, _after(data, _DST_HEADER + 3 * (records + 1)) if len(ends) else 0)


def _dst_number(data: bytes, key: bytes) -> int | None:
    match = re.search(rb"(?:^|[\r\n])" + key + rb":\s*(\d{1,9})", data[:_DST_HEADER])
    return None if match is None else int(match[1])


def _jef(data: bytes, _stitches: int, changes: int) -> Told:
    start, colours, moves = (int.from_bytes(data[at : at + 4], "little") for at in (0, 24, 28))
    pairs = np.frombuffer(data[start : start + (len(data) - start) // 2 * 2], dtype="<u2")
    ends = np.flatnonzero(pairs == 0x1080)
    if not len(ends):
        return Told(_kept(("moves", moves, len(pairs), len(pairs))))
    held = int(ends[0]) + 1
    moves += moves == held - 1  # some count the mark of the end, some do not
    found = _kept(("moves", moves, held, held), ("colours", colours, changes + 1, changes + 1))
    return Told(found, _after(data, start + 2 * held))


def _pec(data: bytes, _stitches: int, changes: int) -> Told:
    return _pec_at(data, 8, changes)


def _pes(data: bytes, _stitches: int, changes: int) -> Told:
    return _pec_at(data, int.from_bytes(data[8:12], "little"), changes)


def _pec_at(data: bytes, start: int, changes: int) -> Told:
    block = start + _PEC_STITCHES
    if block + 5 > len(data):
        return Told()
    length = int.from_bytes(data[block + 2 : block + 5], "little")
    # the last byte of the block, or the one before it, is the mark that ends the sewing
    whole = b"\xff" in data[max(block, block + length - 2) : block + length]
    left = len(data) - block
    found = () if whole else (Disagreement("bytes of stitches", length, min(length, left)),)
    stated = (data[start + _PEC_CHANGES] + 1) % 256 - 1
    return Told((*_kept(("colour changes", max(0, stated), changes, changes)), *found))


def _vp3(data: bytes, stitches: int, changes: int) -> Told:
    at = _VP3_FIRST + 2 + int.from_bytes(data[_VP3_FIRST : _VP3_FIRST + 2], "big")
    if data[at : at + 3] != b"\x00\x02\x00":
        return Told()
    length, body = int.from_bytes(data[at + 3 : at + 7], "big"), at + 7
    counts = body + 2 + int.from_bytes(data[body : body + 2], "big") + 16  # after a note and four extents
    if counts + 6 > len(data):
        return Told()
    count, blocks = int.from_bytes(data[counts : counts + 4], "big"), data[counts + 5]
    held = len(data) - body
    found = _kept(
        ("stitches", count, stitches, max(stitches, len(data))),
        ("colours", blocks, changes + 1, changes + 1),
        ("bytes", length, min(length, held), min(length, held)),
    )
    return Told(found, _after(data, body + length))


def _after(data: bytes, end: int) -> int:
    return len(data[end:].strip(_PADDING))


_READERS: Final[dict[str, Callable[[bytes, int, int], Told]]] = {
    "dst": _dst, "jef": _jef, "pec": _pec, "pes": _pes, "vp3": _vp3,
}  # fmt: skip
