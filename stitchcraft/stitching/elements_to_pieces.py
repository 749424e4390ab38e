"""The elements of a stop as pieces to sew, with every open style field settled by the fabric."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import STANDARD_WEIGHT, FabricProfile
from stitchcraft.design import Area, Column, DoubleRun, Element, Line, LineStitch, Satin, Triple
from stitchcraft.geometry.chains import continuous_paths
from stitchcraft.stitching.fabric_settings import fill_settings, length_for, satin_settings
from stitchcraft.stitching.fill import fill_pieces
from stitchcraft.stitching.layers import layers_of
from stitchcraft.stitching.lines import line_piece
from stitchcraft.stitching.pieces import Piece
from stitchcraft.stitching.satin import satin_area_pieces, satin_piece


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A piece of a stop, and what the planner has to know about it.

    Attributes:
        piece: What is sewn.
        members: Indices of the elements that it sews, at least one.
        layer: Pieces of a lower layer are sewn first.
        exact: Its short stitches and shared holes are meant: nothing is left out.
        own_locks: It brings locks of its own.
        free_line: It is a line whose holes may move a little to be shared.
    """

    piece: Piece
    members: tuple[int, ...]
    layer: int = 0
    exact: bool = False
    own_locks: bool = False
    free_line: bool = False


def parts_of(
    elements: Sequence[Element], profile: FabricProfile, *, ordered: bool = False, weight: float = STANDARD_WEIGHT
) -> list[Part]:
    """Turn the elements of a stop into pieces.

    Lines of one layer and one stitch that touch end to end become continuous runs, unless the order is given.

    Args:
        elements: Elements of one stop, in the order drawn.
        profile: Settles the style fields that are None.
        ordered: Keep one piece, or group of pieces, an element, in the order given.
        weight: Weight number of the thread.

    Returns:
        The parts, in an order that follows the elements; those too small for a stitch are missing.
    """
    layers = list(range(len(elements))) if ordered else layers_of(elements)
    lines: dict[tuple[int, LineStitch], list[int]] = {}
    parts: list[Part] = []
    for index, element in enumerate(elements):
        if isinstance(element, Line):
            lines.setdefault((layers[index], element.stitch), []).append(index)
        else:
            pieces = _pieces(element, profile, weight)
            parts.extend(Part(piece, (index,), layers[index]) for piece in pieces)
    for (layer, stitch), members in lines.items():
        for path, sewn in _joined([(index, _path_of(elements[index])) for index in members], stitch):
            piece = line_piece(path, stitch, length=length_for(stitch, profile))
            if piece is not None:
                exact = isinstance(stitch, Triple | DoubleRun)
                seam = isinstance(stitch, DoubleRun)
                parts.append(Part(piece, sewn, layer, exact=exact, own_locks=seam, free_line=not seam))
    return sorted(parts, key=lambda part: (part.layer, part.members[0]))


def _path_of(element: Element) -> FloatArray:
    return element.path if isinstance(element, Line) else np.empty((0, 2))


def _joined(lines: list[tuple[int, FloatArray]], stitch: LineStitch) -> list[tuple[FloatArray, tuple[int, ...]]]:
    """Join lines into continuous runs, and say which lines each run sews."""
    if len(lines) == 1 or isinstance(stitch, DoubleRun):
        return [(path, (index,)) for index, path in lines]
    indices = np.array([index for index, _ in lines])
    tree = shapely.STRtree([shapely.LineString(path) for _, path in lines])
    runs = []
    for path in continuous_paths([path for _, path in lines]):
        middles = shapely.points((path[:-1] + path[1:]) / 2)
        runs.append((path, tuple(np.unique(indices[tree.nearest(middles)]).tolist())))
    return runs


def _pieces(element: Column | Area, profile: FabricProfile, weight: float) -> list[Piece]:
    if isinstance(element, Column):
        return [satin_piece(element.rail_a, element.rail_b, satin_settings(element.stitch, profile, weight=weight))]
    if isinstance(element.stitch, Satin):
        return satin_area_pieces(element.polygon, satin_settings(element.stitch, profile, weight=weight))
    return fill_pieces(element.polygon, fill_settings(element.stitch, profile), start=element.start, end=element.end)
