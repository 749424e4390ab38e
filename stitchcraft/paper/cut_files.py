"""Cut pieces as SVG at true scale, for a cutting machine."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import numpy as np

from stitchcraft.paper.pieces import Piece, pieces_of
from stitchcraft.paper.sheet import Sheet


def cut_svgs(sheet: Sheet) -> dict[str, str]:
    """Write each piece's cut line as SVG; one user unit is 1 mm.

    Returns:
        Text of each file by its name, such as ``"tab-front.svg"``.
    """
    return {f"{piece.name}.svg": _svg(piece) for piece in pieces_of(sheet) if piece.shape is not None}


def _svg(piece: Piece) -> str:
    if piece.shape is None:
        return ""
    left, bottom, right, top = piece.shape.bounds
    # room for half the line's width, so that a viewer does not clip it
    pad = 1.0
    width, height = right - left + 2 * pad, top - bottom + 2 * pad
    root = ET.Element("svg", {
        "xmlns": "http://www.w3.org/2000/svg", "width": f"{width:.3f}mm", "height": f"{height:.3f}mm",
        "viewBox": f"0 0 {width:.3f} {height:.3f}",
    })  # fmt: skip
    ET.SubElement(root, "title").text = f"{piece.title}: {piece.note}"
    rings = [piece.shape.exterior, *piece.shape.interiors]
    code = []
    for ring in rings:
        points = (np.asarray(ring.coords)[:-1] - [left - pad, top + pad]) * [1.0, -1.0]
        code.append("M" + " L".join(f"{x:.3f} {y:.3f}" for x, y in points.tolist()) + " Z")
    ET.SubElement(root, "path", {
        "d": " ".join(code), "fill": "none", "stroke": "#000000", "stroke-width": "0.1",
    })  # fmt: skip
    ET.indent(root)
    return ET.tostring(root, encoding="unicode") + "\n"
