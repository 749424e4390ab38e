"""Text in the faces that are drawn in lines, letter by letter, in letter units (a capital is `CAP` high)."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Final

import numpy as np

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.letter_shapes import FACES, glyph
from stitchcraft.decoration.letter_spacing import kern
from stitchcraft.decoration.letters import Letter, clustered
from stitchcraft.decoration.shaping import checked_text, lacking
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.chains import continuous_paths

_TOUCHING: Final = 0.4
"""Lines nearer than this touch, in letter units: the data are on a grid of 1, so the bar of an A misses its leg."""


def line_letters(text: str, face: str, *, retrace: bool) -> tuple[Letter, ...]:
    """Lay a line of text from left to right.

    Args:
        text: ASCII, accented Latin letters, common punctuation.
        face: One of `FACES`.
        retrace: Let a letter's line go over short stretches twice, so that each connected shape is one path.

    Returns:
        The letters; in a face of joined letters the words.

    Raises:
        ParameterError: If the text is no line of letters, or the face lacks one (it is named).
    """
    placed = list(_placed(_clusters(text, face), face))
    if not FACES[face].joined:
        return tuple(
            Letter(cluster, 0.0, glyph(cluster, face).width, paths=_joined_letter(cluster, face, retrace)).at(x)
            for cluster, x in placed
        )
    letters: list[Letter] = []
    word: list[tuple[str, float]] = []
    for cluster, x in [*placed, (" ", placed[-1][1])]:
        if cluster != " ":
            word.append((cluster, x))
        elif word:
            strokes = [stroke + np.array([x, 0.0]) for part, x in word for stroke in glyph(part, face).strokes]
            end = word[-1][1] + glyph(word[-1][0], face).width
            spelt = "".join(part for part, _ in word)
            letters.append(Letter(spelt, word[0][1], end - word[0][1], paths=tuple(_joined(strokes, retrace))))
            word = []
    return tuple(letters)


def _clusters(text: str, face: str) -> list[str]:
    """Split a text into base letters with their marks, all of which the face has."""
    clusters = clustered(unicodedata.normalize("NFD", checked_text(text)))
    for cluster in clusters:
        try:
            glyph(cluster, face)
        except ParameterError:
            raise lacking(text, cluster, face) from None
    return clusters


def _placed(clusters: Sequence[str], face: str) -> Iterator[tuple[str, float]]:
    """Each letter and the x of its left edge."""
    x = 0.0
    for i, cluster in enumerate(clusters):
        if i and not FACES[face].joined:
            x -= kern(clusters[i - 1], cluster, face)
        yield cluster, x
        x += glyph(cluster, face).width


@lru_cache(maxsize=4096)
def _joined_letter(cluster: str, face: str, retrace: bool) -> tuple[FloatArray, ...]:
    return tuple(_joined(glyph(cluster, face).strokes, retrace))


def _joined(strokes: Sequence[FloatArray], retrace: bool) -> list[FloatArray]:
    if not strokes:
        return []
    paths = continuous_paths(strokes, tolerance=_TOUCHING, split_crossings=True, allow_double=retrace)
    return sorted((_forward(path) for path in paths), key=lambda path: float(path[:, 0].min()))


def _forward(path: FloatArray) -> FloatArray:
    """Turn an open path so that it starts at its left end, or at its upper one if it stands upright."""
    (x0, y0), (x1, y1) = path[0], path[-1]
    backward = x1 < x0 - 0.5 or (abs(x1 - x0) <= 0.5 and y1 > y0)
    return path[::-1] if backward else path
