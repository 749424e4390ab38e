"""Line drawings in millimetres, written as SVG whose user unit is 1 mm."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry.base import BaseGeometry

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import polygons_of
from stitchcraft.markup import shown

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

Box: TypeAlias = tuple[float, float, float, float]

PAGE_MM: Final = 180.0
"""About the width that a page of a notebook leaves for a picture."""

_LETTER_SHARE: Final = 0.58
"""Width of a letter, share of its size: generous for a sans serif's mixed text, so that none is cut off."""


class Sketch:
    """A drawing that grows by lines, areas and words; what comes later lies on top.

    Everything goes in as mm with y up. The file has y down, as SVG wants it, and positions rounded to 0.01 mm.
    """

    def __init__(self) -> None:
        self._parts: list[tuple[str, dict[str, str], str | Sketch]] = []
        self._boxes: list[Box] = []

    @property
    def bounds(self) -> Box | None:
        """Left, bottom, right, top of all that was drawn, mm; None as long as nothing was."""
        inner = [part.bounds for _, _, part in self._parts if isinstance(part, Sketch)]
        boxes = np.array(self._boxes + [box for box in inner if box is not None])
        if not len(boxes):
            return None
        low, high = boxes.min(axis=0), boxes.max(axis=0)
        return (float(low[0]), float(low[1]), float(high[2]), float(high[3]))

    def lines(
        self, paths: Iterable[ArrayLike], *, stroke: str, width: float, dash: str = "", closed: bool = False
    ) -> None:
        """Draw lines, each (n, 2) mm, as one object.

        Args:
            paths: The lines; none draws nothing.
            stroke: Colour, ``"#rrggbb"``.
            width: Of the pen, mm.
            dash: Lengths of dashes and gaps, mm, such as ``"2 1"``; empty for an unbroken line.
            closed: Join each line's end to its start.
        """
        code = "".join(self._path(path, close=closed) for path in paths)
        if code:
            broken = {"stroke-dasharray": dash} if dash else {}
            self._add("path", {
                "d": code, "fill": "none", "stroke": stroke, "stroke-width": _number(width),
                "stroke-linecap": "butt" if dash else "round", "stroke-linejoin": "round", **broken,
            })  # fmt: skip

    def dots(self, points: ArrayLike, *, colour: str, diameter: float) -> None:
        """Draw discs of one size at (n, 2) mm as one object."""
        spots = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        if len(spots):
            self._take(spots)
            code = "".join(f"M{_number(x)} {_number(-y)}h0" for x, y in spots.tolist())
            self._add("path", {
                "d": code, "fill": "none", "stroke": colour, "stroke-width": _number(diameter),
                "stroke-linecap": "round",
            })  # fmt: skip

    def area(
        self, shape: BaseGeometry | Iterable[ArrayLike], *, fill: str, stroke: str = "none", width: float = 0.0
    ) -> None:
        """Draw a filled area: polygons, or rings (n, 2) mm; a ring within another is a hole."""
        if isinstance(shape, BaseGeometry):
            shape = [
                np.asarray(ring.coords) for part in polygons_of(shape) for ring in (part.exterior, *part.interiors)
            ]
        code = "".join(self._path(ring, close=True) for ring in shape)
        if code:
            pen = {} if stroke == "none" else {"stroke-width": _number(width), "stroke-linejoin": "round"}
            self._add("path", {"d": code, "fill": fill, "fill-rule": "evenodd", "stroke": stroke, **pen})

    def rectangle(self, box: Box, *, fill: str = "none", stroke: str = "none", width: float = 0.0) -> None:
        """Draw an upright rectangle: left, bottom, right, top."""
        left, bottom, right, top = box
        self._take(np.array([[left, bottom], [right, top]]))
        pen = {} if stroke == "none" else {"stroke-width": _number(width)}
        self._add("rect", {
            "x": _number(left), "y": _number(-top), "width": _number(right - left), "height": _number(top - bottom),
            "fill": fill, "stroke": stroke, **pen,
        })  # fmt: skip

    def circle(
        self, at: tuple[float, float], diameter: float, *, fill: str = "none", stroke: str, width: float
    ) -> None:
        """Draw a circle about a point."""
        (x, y), radius = at, diameter / 2
        self._take(np.array([[x - radius, y - radius], [x + radius, y + radius]]))
        self._add("circle", {
            "cx": _number(x), "cy": _number(-y), "r": _number(radius), "fill": fill, "stroke": stroke,
            "stroke-width": _number(width),
        })  # fmt: skip

    def words(
        self,
        at: tuple[float, float],
        text: str,
        *,
        size: float,
        colour: str,
        align: str = "middle",
        angle_deg: float = 0.0,
    ) -> None:
        """Write words, the middle of their height at a point.

        Args:
            at: (x, y), mm.
            text: The words, shown as they are.
            size: Of the letters, mm.
            colour: Of the letters.
            align: Which part of the words lies at the point: ``"start"``, ``"middle"`` or ``"end"``.
            angle_deg: Turned counter-clockwise about the point by this.
        """
        x, y = at
        long, shift = words_width(text, size), {"start": 0.0, "middle": -0.5, "end": -1.0}[align]
        corners = np.array([[shift * long, -size / 2], [(shift + 1) * long, size / 2]])
        self._take(turned(corners, angle_deg, at))
        turn = {"transform": f"rotate({_number(-angle_deg)} {_number(x)} {_number(-y)})"} if angle_deg % 360 else {}
        self._add("text", {
            # letters stand on their line: their middle is about a third of their size above it
            "x": _number(x), "y": _number(-y), "dy": _number(0.35 * size), "fill": colour,
            "font-size": _number(size), "font-family": "sans-serif", "text-anchor": align, **turn,
        }, text)  # fmt: skip

    def group(self, name: str) -> Sketch:
        """A drawing within this one, under a name of its own; what is drawn on it lies where it was begun."""
        inner = Sketch()
        self._parts.append(("g", {"class": name}, inner))
        return inner

    def svg(self, title: str, *, margin: float = 0.0, ground: str = "", widest: float = math.inf) -> str:
        """Write the file.

        Args:
            title: What the picture is called; viewers and screen readers show it.
            margin: Left free around all that is drawn, mm.
            ground: Colour behind everything; empty for none.
            widest: Width on the page, mm, past which it is shown smaller; the user unit stays 1 mm.

        Raises:
            ParameterError: If nothing was drawn, or a position is no finite number.
        """
        # loaded with the first picture: quick commands draw none
        from xml.etree import ElementTree as ET

        if self.bounds is None:
            raise ParameterError("sketch", "empty", "a drawing with something in it")
        left, bottom, right, top = np.array(self.bounds) + [-margin, -margin, margin, margin]
        width, height = right - left, top - bottom
        scale = min(1.0, widest / width) if width else 1.0
        root = ET.Element("svg", {
            "xmlns": "http://www.w3.org/2000/svg", "width": f"{_number(width * scale)}mm",
            "height": f"{_number(height * scale)}mm", "role": "img",
            "viewBox": f"{_number(left)} {_number(-top)} {_number(width)} {_number(height)}",
        })  # fmt: skip
        ET.SubElement(root, "title").text = shown(title)
        if ground:
            ET.SubElement(root, "rect", {
                "x": _number(left), "y": _number(-top), "width": _number(width), "height": _number(height),
                "fill": ground,
            })  # fmt: skip
        self.add_to(root)
        ET.indent(root)
        return ET.tostring(root, encoding="unicode") + "\n"

    def add_to(self, root: Element) -> None:
        """Hang everything that was drawn, in order, below an element of an SVG file."""
        for tag, attributes, content in self._parts:
            # made by its parent, so that this module need not load the writer
            child = root.makeelement(tag, attributes)
            root.append(child)
            if isinstance(content, Sketch):
                content.add_to(child)
            elif content:
                child.text = shown(content)

    def _add(self, tag: str, attributes: dict[str, str], content: str = "") -> None:
        self._parts.append((tag, attributes, content))

    def _take(self, points: FloatArray) -> None:
        (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
        if not all(math.isfinite(value) for value in (left, bottom, right, top)):
            raise ParameterError("sketch", "a position that is not finite", "drawn at finite positions")
        self._boxes.append((float(left), float(bottom), float(right), float(top)))

    def _path(self, path: ArrayLike, *, close: bool) -> str:
        points = np.asarray(path, dtype=np.float64).reshape(-1, 2)
        if not len(points):
            return ""
        self._take(points)
        code = "L".join(f"{_number(x)} {_number(-y)}" for x, y in points.tolist())
        return f"M{code}Z" if close else f"M{code}"


def words_width(text: str, size: float) -> float:
    """About how wide words come out, mm; no viewer says, so it is a generous guess."""
    return _LETTER_SHARE * size * len(text)


def simplified(path: ArrayLike, *, tolerance: float = 0.02) -> FloatArray:
    """A line without the points that no eye would miss, (m, 2) mm; its ends stay."""
    points = np.asarray(path, dtype=np.float64)
    return np.asarray(shapely.LineString(points).simplify(tolerance).coords) if len(points) > 2 else points


def _number(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
