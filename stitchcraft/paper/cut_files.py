"""Cut pieces at true scale for a cutting machine: SVG in mm, and DXF in mm."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely

from stitchcraft.geometry.sketch import Sketch
from stitchcraft.paper.pieces import Piece, pieces_of
from stitchcraft.paper.sheet import Sheet
from stitchcraft.units import lengths_said_in

_PAD: Final = 1.0
"""Around a piece, mm: room for half the line's width, so that a viewer does not clip it."""


def cut_files(sheet: Sheet) -> dict[str, str]:
    """Write each piece's cut line as SVG, one user unit to the mm, and as DXF, one drawing unit to the mm.

    Returns:
        Text of each file by its name, such as ``"tab-front.svg"``; all of it is ASCII in the DXF files.
    """
    files: dict[str, str] = {}
    with lengths_said_in(sheet.family.units):
        pieces = pieces_of(sheet)
    for piece in pieces:
        if piece.shape is not None:
            files[f"{piece.name}.svg"] = _svg(piece, piece.shape)
            files[f"{piece.name}.dxf"] = _dxf(piece.shape)
    return files


def _svg(piece: Piece, shape: shapely.Polygon) -> str:
    left, _, _, top = shape.bounds
    sketch = Sketch()
    # the file's upper left corner at (0, 0): not every cutting program heeds another
    rings = [np.asarray(ring.coords)[:-1] - [left - _PAD, top + _PAD] for ring in (shape.exterior, *shape.interiors)]
    sketch.lines(rings, stroke="#000000", width=0.1, closed=True)
    return sketch.svg(f"{piece.title}: {piece.note}", margin=_PAD)


def _dxf(shape: shapely.Polygon) -> str:
    """The oldest form that every reader takes (R12): closed polylines of the layer CUT, y up, with a size in mm."""
    left, bottom, right, top = shape.bounds
    pairs: list[tuple[int, str | int | float]] = [
        (0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009"), (9, "$INSUNITS"), (70, 4), (9, "$MEASUREMENT"),
        (70, 1), (9, "$EXTMIN"), (10, 0.0), (20, 0.0), (9, "$EXTMAX"), (10, right - left), (20, top - bottom),
        (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES"),
    ]  # fmt: skip
    for ring in (shape.exterior, *shape.interiors):
        pairs += [(0, "POLYLINE"), (8, "CUT"), (66, 1), (70, 1), (10, 0.0), (20, 0.0), (30, 0.0)]
        for x, y in (np.asarray(ring.coords)[:-1] - [left, bottom]).tolist():
            pairs += [(0, "VERTEX"), (8, "CUT"), (10, x), (20, y), (30, 0.0)]
        pairs.append((0, "SEQEND"))
    pairs += [(0, "ENDSEC"), (0, "EOF")]
    return "".join(
        f"{code}\n{value:.4f}\n" if isinstance(value, float) else f"{code}\n{value}\n" for code, value in pairs
    )
