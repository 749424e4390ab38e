"""Paper sizes."""

from __future__ import annotations

from typing import Final

from stitchcraft.errors import ParameterError

PAPERS: Final = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height in mm: ISO 216, and 8 1/2 x 11 in (ANSI A)."""


def page_size(paper: str) -> tuple[float, float]:
    """Width and height of an upright page in points.

    Raises:
        ParameterError: If *paper* is no known size.
    """
    width, height = page_mm(paper)
    return (width * 72 / 25.4, height * 72 / 25.4)


def page_mm(paper: str) -> tuple[float, float]:
    """Width and height of an upright page in mm.

    Raises:
        ParameterError: If *paper* is no known size.
    """
    if paper not in PAPERS:
        raise ParameterError("paper", paper, "one of " + ", ".join(PAPERS))
    return PAPERS[paper]
