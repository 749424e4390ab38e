"""Counts and lists as people write them."""

from __future__ import annotations

from collections.abc import Sequence


def counted(count: int, noun: str, ending: str = "s") -> str:
    """A count and its noun, in the plural where it is not one.

    Example:
        >>> counted(1, "stitch", "es"), counted(1200, "stitch", "es")
        ('1 stitch', '1,200 stitches')
    """
    return f"{count:,} {noun}" + ("" if count == 1 else ending)


def listed(words: Sequence[str]) -> str:
    """Words in a row, the last behind an "and".

    Example:
        >>> listed(["hoop"]), listed(["hoop", "cloth", "thread"])
        ('hoop', 'hoop, cloth and thread')
    """
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last
