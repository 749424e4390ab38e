"""SVG drawings in: `read_svg` makes shapes in mm of a file, and says what in it cannot be sewn.

The walk through the file is our own. It follows units, viewBox, nested viewports, transforms, ``use`` and
inherited style, under limits from `stitchcraft.defaults.ARTWORK`; y is turned up here, once.
"""

from __future__ import annotations

import math
import os
from dataclasses import replace
from typing import Final
from xml.etree.ElementTree import Element

import numpy as np

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import ARTWORK
from stitchcraft.errors import ArtworkError
from stitchcraft.geometry.curves import FLATNESS_MM
from stitchcraft.geometry.drawing import (
    Drawing,
    Shape,
    first_open_path,
    first_outline,
    polygons_of_shape,
    profile_path,
    tip_path,
)
from stitchcraft.geometry.svg_curves import (
    Subpath,
    flattened,
)
from stitchcraft.geometry.svg_shapes import SHAPES, diagonal_of, element_subpaths, placed_by
from stitchcraft.geometry.svg_style import Look, Note, StyleSheet, first_stop_colour, look_inside, opacity, properties
from stitchcraft.geometry.svg_tree import drawing_bytes, labelled, link_of, local_name, parsed_tree
from stitchcraft.geometry.svg_values import (
    PX_PER,
    Matrix,
    Paint,
    SvgError,
    length,
    moved,
    numbers,
    shown,
    times,
    view_box_map,
)
from stitchcraft.units import LARGEST_MM

__all__ = [
    "Drawing", "Shape", "first_open_path", "first_outline", "polygons_of_shape", "profile_path", "read_svg", "tip_path",
]  # fmt: skip

_GROUPS: Final = ("g", "a")
_LEFT_OUT: Final = {
    "text": "text is left out; turn it into paths",
    "image": "a picture cannot be sewn and is left out; trace it first",
    "foreignObject": "foreign content is left out",
    "script": "a script is never run",
    **dict.fromkeys(
        ("animate", "animateMotion", "animateTransform", "set"), "cannot move in thread; sewn as it stands"
    ),
    **dict.fromkeys(("video", "audio", "iframe", "canvas"), "cannot be sewn and is left out"),
}
_NEVER_DRAWN: Final = frozenset(
    {
        "", "clipPath", "defs", "desc", "filter", "linearGradient", "marker", "mask", "metadata", "pattern",
        "radialGradient", "style", "symbol", "title", "view",
    }
)  # fmt: skip
_IGNORED_EFFECTS: Final = {"clip-path": "clip path", "mask": "mask", "filter": "filter"}
_FLATNESS_SHARE: Final = 1e-4
NO_SIZE: Final = "states no size; taken at 96 units to the inch"
"""Noted of a drawing whose size is a guess."""
_DEFAULT_PAGE: Final = (300.0, 150.0)
"""Px of a drawing that states no size at all (CSS 2.2, section 10.3.2)."""


def read_svg(source: str | bytes | os.PathLike[str], *, name: str | None = None) -> Drawing:
    """Read an SVG drawing.

    Curves are drawn as lines true to `stitchcraft.geometry.curves.FLATNESS_MM`, and to a ten-thousandth of the
    page's longer side, so that a small drawing can be enlarged. A drawing without a size in
    real units is taken at 96 px to the inch. Line widths under an uneven scale are scaled by its mean.

    Args:
        source: A path; or the drawing itself, as bytes or as a string that holds a ``<``.
        name: What messages call it; the file's name if None.

    Returns:
        Its shapes in mm, x right, y up from the page's top left corner, and notes on all that is left out.

    Raises:
        ArtworkError: If it cannot be read, is no SVG, declares entities or a document type of its own, refers
            to other files for its shapes, is past a limit, has a value that cannot be understood, or holds
            nothing that can be sewn.

    Example:
        >>> read_svg('<svg width="10mm" height="10mm" viewBox="0 0 10 10"><rect width="4" height="3"/></svg>')
        <Drawing 'drawing': 1 shapes, 4.0 x 3.0 mm, 0 notes>
    """
    data, called = drawing_bytes(source, name)
    return _Reader(called, parsed_tree(data, called)).drawing()


class _Reader:
    """One reading of one file: what has been found so far, and how much of each limit is used up."""

    def __init__(self, called: str, root: Element) -> None:
        self.called = called
        self.root = root
        self.labels: dict[Element, str] = {}
        self.by_id: dict[str, Element] = {}
        self.sheet = StyleSheet()
        self.shapes: list[Shape] = []
        self.notes: dict[str, list[str]] = {}
        self.drawn = 0
        self.commands = int(ARTWORK["commands"].value)
        self.points = int(ARTWORK["points"].value)
        self.flatness = FLATNESS_MM
        for element, label in labelled(root):
            self.labels[element] = label
            if element.get("id"):
                self.by_id.setdefault(element.get("id", ""), element)
            if local_name(element) == "style":
                for missed in self.sheet.add("".join(element.itertext())):
                    self.note(label, f"style rule {shown(missed)} is not understood and passed over")

    def note(self, label: str, sentence: str) -> None:
        known = self.notes.setdefault(sentence, [])
        if label not in known:
            known.append(label)

    def drawing(self) -> Drawing:
        width, height = self._root_size()
        to_mm = (1 / PX_PER["mm"], 0.0, 0.0, -1 / PX_PER["mm"], 0.0, 0.0)
        label = self.labels[self.root]
        page = (width / PX_PER["mm"], height / PX_PER["mm"])
        # an icon of a few mm will be enlarged, and its curves must bear that
        self.flatness = min(FLATNESS_MM, max(1e-5, max(page) * _FLATNESS_SHARE))
        with _Named(self.called, label):
            if not (0 < page[0] <= LARGEST_MM and 0 < page[1] <= LARGEST_MM):
                raise SvgError(f"the page needs to be larger than nothing and at most {LARGEST_MM:g} mm each way")
            matrix, view = self._viewport(self.root, to_mm, width, height)
            own = properties(self.root, self.sheet)
            if "transform" in own:
                self.note(label, "a transform of the whole page is passed over")
            look = look_inside(Look(), own, diagonal=diagonal_of(view), note=self._noter(label))
        self._inside(self.root, matrix, look, view, 1)
        notes = tuple(f"{_listed(labels)}: {sentence}" for sentence, labels in self.notes.items())
        if not self.shapes:
            why = f" ({notes[0]})" if notes else ""
            raise ArtworkError(f"{self.called}: holds nothing that can be sewn{why}")
        drawing = Drawing(self.called, tuple(self.shapes), notes, page)
        return replace(drawing, notes=(*notes, *_off_page(drawing)))

    def _root_size(self) -> tuple[float, float]:
        """The page in px; a size that is missing follows from the viewBox, one px to a unit."""
        with _Named(self.called, self.labels[self.root]):
            box = self._view_box(self.root)
            given = []
            for key in ("width", "height"):
                text = self.root.get(key, "auto").strip()
                absolute = text not in ("auto", "") and not text.endswith("%")
                given.append(length(text, percent_of=0, name=key) if absolute else None)
            width, height = given
            wide, high = box[2:] if box else _DEFAULT_PAGE
            if width is None and height is None:
                self.note(self.labels[self.root], NO_SIZE)
                return wide, high
            if width is None and height is not None:
                return (height * wide / high if box else wide), height
            if height is None and width is not None:
                return width, (width * high / wide if box else high)
            return float(width or 0), float(height or 0)

    def _view_box(self, element: Element) -> list[float] | None:
        text = element.get("viewBox", "").strip()
        if not text or text == "none":
            return None
        values = numbers(text)
        if len(values) != 4 or values[2] <= 0 or values[3] <= 0:
            raise SvgError(f"viewBox is {shown(text)}; it needs to be four numbers, the last two above 0")
        return values

    def _viewport(
        self, element: Element, matrix: Matrix, width: float, height: float
    ) -> tuple[Matrix, tuple[float, float]]:
        """The map and the size, in its own units, of what an ``svg`` or ``symbol`` opens."""
        box = self._view_box(element)
        if box is None:
            return matrix, (width, height)
        aspect = element.get("preserveAspectRatio", "")
        return times(matrix, view_box_map(width, height, box, aspect)), (box[2], box[3])

    def _noter(self, label: str) -> Note:
        return lambda sentence: self.note(label, sentence)

    def _inside(self, element: Element, matrix: Matrix, look: Look, view: tuple[float, float], depth: int) -> None:
        for child in element:
            if child in self.labels:
                self._walk(child, matrix, look, view, depth)

    def _walk(
        self, element: Element, matrix: Matrix, look: Look, view: tuple[float, float], depth: int,
        *, given: tuple[str | None, str | None] | None = None,
    ) -> None:  # fmt: skip
        """Draw one element and all within; *given* is the width and height that a ``use`` hands to a symbol."""
        kind, label = local_name(element), self.labels[element]
        if kind in _LEFT_OUT:
            self.note(label, _LEFT_OUT[kind])
        if (kind in _NEVER_DRAWN and not (kind == "symbol" and given)) or kind in _LEFT_OUT:
            return
        with _Named(self.called, label):
            self._count(depth)
            own = properties(element, self.sheet)
            if not self._shows(label, own):
                return
            matrix = times(matrix, placed_by(own, view))
            look = look_inside(look, own, diagonal=diagonal_of(view), note=self._noter(label))
            if kind in SHAPES:
                self._shape(element, label, own, matrix, look, view)
                return
            if kind in ("svg", "symbol"):
                opened = self._opened(element, matrix, view, given)
                if opened is None:
                    self.note(label, "has no size and is left out")
                    return
                matrix, view = opened
        if kind == "use":
            self._use(element, label, matrix, look, view, depth)
        elif kind == "switch":
            self._switch(element, matrix, look, view, depth)
        elif kind in (*_GROUPS, "svg", "symbol"):
            self._inside(element, matrix, look, view, depth + 1)
        else:
            self.note(label, "is an unknown kind of element and is left out")

    def _count(self, depth: int) -> None:
        self.drawn += 1
        if self.drawn > ARTWORK["elements"].value:
            raise SvgError(f"the drawing draws more than the {ARTWORK['elements'].value:g} elements allowed")
        if depth > ARTWORK["depth"].value:
            raise SvgError(f"is nested or reused deeper than the {ARTWORK['depth'].value:g} levels allowed")

    def _shows(self, label: str, own: dict[str, str]) -> bool:
        if own.get("display", "").strip() == "none":
            self.note(label, "is hidden and left out")
            return False
        for key, word in _IGNORED_EFFECTS.items():
            if own.get(key, "none").strip() not in ("none", ""):
                self.note(label, f"its {word} is passed over; the shape is sewn whole")
        try:
            seen = opacity(own.get("opacity", "1"), self._noter(label)) > 0
        except SvgError as fault:
            self.note(label, f"opacity is not understood and passed over ({fault})")
            return True
        if not seen:
            self.note(label, "is wholly see-through and left out")
        return seen

    def _opened(
        self, element: Element, matrix: Matrix, view: tuple[float, float], given: tuple[str | None, str | None] | None
    ) -> tuple[Matrix, tuple[float, float]] | None:
        def extent(key: str, index: int, default: str) -> float:
            handed = given[index] if given else None
            text = handed if handed is not None else element.get(key, default)
            return length("100%" if text.strip() == "auto" else text, percent_of=view[index % 2], name=key)

        x, y = (
            0.0 if local_name(element) == "symbol" else length(element.get(key, "0"), percent_of=view[index], name=key)
            for index, key in enumerate(("x", "y"))
        )
        width, height = extent("width", 0, "100%"), extent("height", 1, "100%")
        if width < 0 or height < 0:
            raise SvgError("width and height need to be at least 0")
        if width == 0 or height == 0:
            return None
        return self._viewport(element, times(matrix, moved(x, y)), width, height)

    def _use(
        self, element: Element, label: str, matrix: Matrix, look: Look, view: tuple[float, float], depth: int
    ) -> None:
        with _Named(self.called, label):
            link = link_of(element)
            if link and not link.startswith("#"):
                raise SvgError(f"refers to another file ({shown(link)}); copy what it shows into the drawing")
            target = self.by_id.get(link[1:])
            if target is None:
                self.note(label, f"refers to {shown(link)}, which the drawing does not hold")
                return
            x, y = (length(element.get(key, "0"), percent_of=view[i], name=key) for i, key in enumerate(("x", "y")))
        given = (element.get("width"), element.get("height"))
        self._walk(target, times(matrix, moved(x, y)), look, view, depth + 1, given=given)

    def _switch(self, element: Element, matrix: Matrix, look: Look, view: tuple[float, float], depth: int) -> None:
        """Draw the first child that asks for nothing special, as SVG 2 says in section 5.9."""
        for child in element:
            plain = not any(child.get(key) is not None for key in ("requiredExtensions", "systemLanguage"))
            if plain and local_name(child) and local_name(child) not in _NEVER_DRAWN:
                self._walk(child, matrix, look, view, depth + 1)
                return

    def _shape(
        self, element: Element, label: str, own: dict[str, str], matrix: Matrix, look: Look, view: tuple[float, float]
    ) -> None:
        fill, stroke = self._painted(label, look)
        scale = math.sqrt(abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]))
        if own.get("vector-effect", "").strip() == "non-scaling-stroke":
            scale = 1 / PX_PER["mm"]
        width = look.width * scale
        stroke = stroke if width > 0 else None
        if not look.visible:
            self.note(label, "is hidden and left out")
            return
        drawn = element_subpaths(element, self.sheet, view, most=self.commands)
        self.commands -= sum(len(subpath.cubics) for subpath in drawn)
        if self.commands < 0:
            raise SvgError(f"the drawing has more than the {ARTWORK['commands'].value:g} path commands allowed")
        paths = tuple(self._mm(subpath, matrix) for subpath in drawn)
        kept = [(path, subpath.closed) for path, subpath in zip(paths, drawn, strict=True) if len(path) > 1]
        if not kept or (fill is None and stroke is None):
            self.note(label, "draws nothing and is left out" if not kept else "has neither fill nor line; left out")
            return
        if stroke and look.dashed:
            self.note(label, "its dashes are sewn as one whole line")
        if look.marked:
            self.note(label, "its markers are left out")
        if stroke and width < ARTWORK["hairline"].value:
            self.note(label, f"is a hairline of {width:.2g} mm; no stitch is finer than its thread, about 0.4 mm")
        self.shapes.append(
            Shape(
                label,
                tuple(path for path, _ in kept),
                tuple(shut for _, shut in kept),
                fill,
                "evenodd" if look.rule == "evenodd" else "nonzero",
                stroke,
                width if stroke else 0.0,
            )
        )

    def _mm(self, subpath: Subpath, matrix: Matrix) -> FloatArray:
        path = flattened(subpath, matrix, most=self.points, flatness=self.flatness)
        self.points -= len(path)
        path.setflags(write=False)
        return path

    def _painted(self, label: str, look: Look) -> tuple[str | None, str | None]:
        fill = self._colour(label, look.fill) if look.fill_shows else None
        stroke = self._colour(label, look.stroke) if look.stroke_shows else None
        return fill, stroke

    def _colour(self, label: str, paint: Paint) -> str | None:
        if not paint.server:
            return paint.colour
        server = self.by_id.get(paint.server[1:]) if paint.server.startswith("#") else None
        kind = "" if server is None else local_name(server)
        if server is None or kind not in ("linearGradient", "radialGradient"):
            what = "a pattern" if kind == "pattern" else f"paint {shown(paint.server)}"
            end = f"sewn plainly in {paint.colour}" if paint.colour else "left unpainted"
            self.note(label, f"{what} cannot be sewn; {end}")
            return paint.colour
        first = first_stop_colour(server, self.by_id, self.sheet) or paint.colour or "#000000"
        self.note(label, f"a gradient cannot be sewn; sewn in one colour, {first}")
        return first


class _Named:
    """Turns a fault in a value into an `ArtworkError` that names file and element."""

    def __init__(self, called: str, label: str) -> None:
        self.called, self.label = called, label

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        if isinstance(error, SvgError):
            raise ArtworkError(f"{self.called}: {self.label}: {error}") from None
        if isinstance(error, OverflowError):
            raise ArtworkError(f"{self.called}: {self.label}: its numbers are too large") from None


def _listed(labels: list[str]) -> str:
    return ", ".join(labels[:3]) + (f" and {len(labels) - 3} more" if len(labels) > 3 else "")


def _off_page(drawing: Drawing) -> tuple[str, ...]:
    wide, high = drawing.page
    low, top = np.array([-0.01, -high - 0.01]), np.array([wide + 0.01, 0.01])
    outside = [shape.label for shape in drawing.shapes if any(((p < low) | (p > top)).any() for p in shape.subpaths)]
    return (f"{_listed(outside)}: reaches past the page and is sewn all the same",) if outside else ()
