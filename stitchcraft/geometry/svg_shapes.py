"""The elements that draw something, as subpaths in their own coordinates."""

from __future__ import annotations

import math
from typing import Final
from xml.etree.ElementTree import Element

from stitchcraft.geometry.svg_curves import (
    Subpath,
    ellipse_subpath,
    path_subpaths,
    points_subpath,
    rectangle_subpath,
)
from stitchcraft.geometry.svg_style import StyleSheet
from stitchcraft.geometry.svg_tree import local_name
from stitchcraft.geometry.svg_values import (
    IDENTITY,
    Matrix,
    SvgError,
    declarations,
    length,
    moved,
    numbers,
    times,
    transform,
)

SHAPES: Final = ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")


def element_subpaths(element: Element, sheet: StyleSheet, view: tuple[float, float], *, most: int) -> list[Subpath]:
    """Draw a path or a basic shape; nothing if it has no size.

    Args:
        element: One of `SHAPES`.
        sheet: Style rules, which may give a basic shape its sizes.
        view: Width and height that percentages refer to, user units.
        most: Largest number of path commands.

    Raises:
        SvgError: If a value cannot be understood.
    """
    kind = local_name(element)
    if kind == "path":
        text = element.get("d", "").strip()
        return path_subpaths("" if text == "none" else text, most=most)
    if kind in ("polyline", "polygon"):
        values = numbers(element.get("points", ""))
        if len(values) % 2:
            raise SvgError("points hold an x without its y")
        return [points_subpath(values, closed=kind == "polygon")] if len(values) > 2 else []
    return _basic_subpaths(element, kind, sheet, view)


def _basic_subpaths(element: Element, kind: str, sheet: StyleSheet, view: tuple[float, float]) -> list[Subpath]:
    own = sheet.matching(element) | declarations(element.get("style", ""))

    def size(key: str, *, along: int, default: str = "0") -> float:
        text = own.get(key) or element.get(key) or default
        whole = (*view, diagonal_of(view))[along]
        return length(default if text.strip() == "auto" else text, percent_of=whole, name=key)

    if kind == "line":
        ends = [size(key, along=along) for key, along in (("x1", 0), ("y1", 1), ("x2", 0), ("y2", 1))]
        return [points_subpath(ends, closed=False)]
    if kind == "rect":
        width, height = size("width", along=0), size("height", along=1)
        across, down = size("rx", along=0, default="-1"), size("ry", along=1, default="-1")
        across, down = (down if across < 0 else across), (across if down < 0 else down)
        if width < 0 or height < 0:
            raise SvgError("width and height need to be at least 0")
        corner = (size("x", along=0), size("y", along=1))
        return [rectangle_subpath(*corner, width, height, across, down)] if width and height else []
    centre = complex(size("cx", along=0), size("cy", along=1))
    if kind == "circle":
        across = down = size("r", along=2)
    else:
        across, down = size("rx", along=0, default="-1"), size("ry", along=1, default="-1")
        across, down = (down if across < 0 else across), (across if down < 0 else down)
    if (across < 0 or down < 0) and any(element.get(key) for key in ("r", "rx", "ry")):
        raise SvgError("a radius needs to be at least 0")
    return [ellipse_subpath(centre, across, down)] if across > 0 and down > 0 else []


def diagonal_of(view: tuple[float, float]) -> float:
    """What a percentage that is neither across nor down refers to (SVG 2, section 8.9)."""
    return math.hypot(*view) / math.sqrt(2)


def placed_by(own: dict[str, str], view: tuple[float, float]) -> Matrix:
    """The map of an element's ``transform``, about its ``transform-origin``.

    Raises:
        SvgError: If any of it is not understood.
    """
    for key in ("rotate", "scale", "translate", "transform-box"):
        if own.get(key, "none").strip() not in ("none", "view-box", ""):
            raise SvgError(f"style property {key} cannot be read; use transform")
    matrix = transform(own.get("transform", ""))
    origin = own.get("transform-origin", "").strip()
    if not origin or matrix == IDENTITY:
        return matrix
    words = [{"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}.get(word, word)
             for word in origin.replace(",", " ").split()]  # fmt: skip
    if origin.split()[0] in ("top", "bottom") or origin.split()[-1] in ("left", "right"):
        words = [*words[1:], words[0]] if len(words) == 2 else ["50%", words[0]]
    words = words if len(words) > 1 else [words[0], "50%"]
    x, y = (length(word, percent_of=view[i], name="transform-origin") for i, word in enumerate(words[:2]))
    return times(times(moved(x, y), matrix), moved(-x, -y))
