"""What is drawn for one letter of a line, in outline or in lines."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Letter:
    """What is drawn for one or a few characters that belong together.

    Attributes:
        text: The characters: a letter and its accents, those of a ligature, or a word whose letters are joined.
        start: Where its own room on the baseline begins; the baseline lies at y = 0.
        advance: How much of the baseline it takes.
        polygons: What it covers; none for a letter of lines.
        paths: Its lines, (n, 2) each; none for a letter in outline.
    """

    text: str
    start: float
    advance: float
    polygons: tuple[shapely.Polygon, ...] = ()
    paths: tuple[FloatArray, ...] = ()

    @property
    def blank(self) -> bool:
        """Whether there is nothing to sew."""
        return not self.polygons and not self.paths

    @property
    def points(self) -> FloatArray:
        """All of its points, (n, 2)."""
        outlines = [shapely.get_coordinates(polygon) for polygon in self.polygons]
        return np.vstack([*outlines, *self.paths]) if not self.blank else np.empty((0, 2))

    def put(self, move: Callable[[FloatArray], FloatArray], *, start: float, advance: float) -> Letter:
        """The letter with every point moved."""
        return Letter(
            self.text,
            start,
            advance,
            tuple(shapely.transform(polygon, move) for polygon in self.polygons),
            tuple(move(path) for path in self.paths),
        )

    def at(self, x: float) -> Letter:
        """The letter moved along the baseline."""
        if not x:
            return self
        return self.put(lambda xy: xy + np.array([x, 0.0]), start=self.start + x, advance=self.advance)


def clustered(text: str) -> list[str]:
    """The characters of a text, each with the marks that combine with it.

    Example:
        >>> [len(cluster) for cluster in clustered("Zoe\u0308")]
        [1, 1, 2]
    """
    clusters: list[str] = []
    for letter in text:
        if clusters and unicodedata.combining(letter):
            clusters[-1] += letter
        else:
            clusters.append(letter)
    return clusters
