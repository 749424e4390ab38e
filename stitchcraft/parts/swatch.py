"""A swatch to measure a cloth's pull: bars, squares and a ruler of known size, sewn exactly as drawn.

Whatever comes out narrower than drawn is the cloth's doing. The bars are 2, 3, 4, 6 and 7 mm wide, as in the study by
Radaviciene and Juciene (Fibres & Textiles in Eastern Europe 20(3), 2012), whose bars all came out narrower than
designed; their threads lie in four directions, because a cloth gives most on the bias. Its origin is its middle.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.decoration.lettering import set_text, stitch_length
from stitchcraft.design import Area, Column, Design, Element, Fill, Line, Purpose, Running, Satin, Stop
from stitchcraft.errors import ParameterError
from stitchcraft.parts.threads import Palette

DIRECTIONS: Final = (0.0, 45.0, 90.0, 135.0)
"""Directions of the threads, degrees counter-clockwise from x; the lengthwise grain lies along y."""

WIDTHS_MM: Final = (2.0, 3.0, 4.0, 6.0, 7.0)

_LABEL_GAP: Final = 1.5
_APART: Final = 0.12
"""Between a figure and a degree sign, share of their height, more than the face has."""
_AS_DRAWN: Final = Satin(compensation=0.0, compensation_share=0.0)


@dataclass(frozen=True, slots=True)
class ToMeasure:
    """One thing on the swatch to lay a ruler across.

    Attributes:
        kind: ``"bar"``, ``"square"`` or ``"ruler"``.
        direction: Direction of its threads, and of the measuring, degrees counter-clockwise from x.
        nominal: How wide or long it is drawn, mm.
        at: Its middle on the swatch, (x, y) mm.
    """

    kind: str
    direction: float
    nominal: float
    at: tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Sizes:
    """Lengths of a layout, mm: of the bars and between them, of a square, the ruler, a digit, between blocks."""

    bar: float
    gap: float
    square: float
    ruler: float
    digit: float
    between: float


LAYOUTS: Final = {
    "100x100": _Sizes(bar=18.0, gap=4.0, square=10.0, ruler=60.0, digit=4.0, between=4.0),
    "130x180": _Sizes(bar=26.0, gap=5.5, square=15.0, ruler=80.0, digit=5.0, between=6.5),
}
"""The sewing fields that there is a swatch for."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Swatch:
    """A calibration swatch.

    Attributes:
        field: The sewing field that it fits, unturned: one of `LAYOUTS`.
        palette: Threads: *mark* for the labels, *accent* for what is measured.

    Raises:
        ParameterError: If there is no layout for the field.

    Example:
        >>> swatch = Swatch()
        >>> len(swatch.to_measure), swatch.to_measure[0].nominal
        (25, 2.0)
    """

    field: str = "100x100"
    palette: Palette = Palette()

    def __post_init__(self) -> None:
        if self.field not in LAYOUTS:
            raise ParameterError("field", self.field, "one of " + ", ".join(LAYOUTS))

    @property
    def to_measure(self) -> tuple[ToMeasure, ...]:
        """What to measure: bars by direction and width, then the squares, then the ruler."""
        order = ("bar", "square", "ruler")
        found = [one for block in self._blocks() for one in block.to_measure]
        return tuple(sorted(found, key=lambda one: (order.index(one.kind), one.direction, one.nominal)))

    def design(self) -> Design:
        """The labels and the ruler, then the bars and squares, without compensation whatever the fabric."""
        blocks = self._blocks()
        marks = Stop(
            Purpose.LETTER, self.palette.thread("mark"), tuple(one for block in blocks for one in block.marks),
            "Hoop the cloth with the stabilizer that you sew on, its lengthwise grain along the arrow, right side up.",
        )  # fmt: skip
        measured = Stop(
            Purpose.DECORATE, self.palette.thread("accent"), tuple(one for block in blocks for one in block.sewn),
        )  # fmt: skip
        return Design("swatch", (marks, measured))

    def _blocks(self) -> list[_Block]:
        """Two columns: leaning bars and upright ones on the left; squares and lying bars on the right."""
        size = LAYOUTS[self.field]
        left = _stacked([_row(135.0, size), _row(45.0, size), _upright(size), _ruler(size)], size.between)
        right = _stacked([_squares(size), _lying(size)], size.between)
        whole = _beside(left, right, size.between)
        low, high = whole.bounds
        return [whole.shifted(-(low + high) / 2)]

    def __repr__(self) -> str:
        return f"<Swatch for {self.field}: {len(self.to_measure)} things to measure>"


@dataclass(frozen=True, slots=True, eq=False)
class _Block:
    """Elements that are placed together."""

    sewn: tuple[Element, ...] = ()
    marks: tuple[Line, ...] = ()
    to_measure: tuple[ToMeasure, ...] = ()

    @property
    def bounds(self) -> tuple[FloatArray, FloatArray]:
        """Lower left and upper right corner."""
        points = np.vstack([_points(one) for one in (*self.sewn, *self.marks)])
        return points.min(axis=0), points.max(axis=0)

    def shifted(self, by: FloatArray) -> _Block:
        return _Block(
            tuple(_moved(one, by) for one in self.sewn),
            tuple(Line(one.path + by, one.stitch) for one in self.marks),
            tuple(
                ToMeasure(one.kind, one.direction, one.nominal, (one.at[0] + float(by[0]), one.at[1] + float(by[1])))
                for one in self.to_measure
            ),
        )

    def __add__(self, other: _Block) -> _Block:
        return _Block(self.sewn + other.sewn, self.marks + other.marks, self.to_measure + other.to_measure)


def _points(element: Element) -> FloatArray:
    if isinstance(element, Line):
        return element.path
    if isinstance(element, Column):
        return np.vstack([element.rail_a, element.rail_b])
    return shapely.get_coordinates(element.polygon)


def _moved(element: Element, by: FloatArray) -> Element:
    if isinstance(element, Line):
        return Line(element.path + by, element.stitch)
    if isinstance(element, Column):
        return Column(element.rail_a + by, element.rail_b + by, element.stitch)
    return Area(shapely.affinity.translate(element.polygon, *by.tolist()), element.stitch)


def _stacked(blocks: list[_Block], gap: float) -> _Block:
    """Blocks below one another, from the top, their left sides in line."""
    whole, y = _Block(), 0.0
    for block in blocks:
        low, high = block.bounds
        whole += block.shifted(np.array([-low[0], y - high[1]]))
        y -= float(high[1] - low[1]) + gap
    return whole


def _beside(left: _Block, right: _Block, gap: float) -> _Block:
    """One block to the right of another, their tops in line."""
    (_, left_top), (right_low, right_top) = left.bounds, right.bounds
    return left + right.shifted(np.array([left_top[0] + gap - right_low[0], left_top[1] - right_top[1]]))


def _label(text: str, height: float, at: tuple[float, float]) -> tuple[Line, ...]:
    """Letters with their middle at a place."""
    running = Running(length=stitch_length(height))
    paths = list(set_text(text, height=height, retrace=True).paths)
    if text.endswith("°"):  # as the face sets it, its thread touches the figure before it
        paths[-1] = paths[-1] + np.array([_APART * height, 0.0])
    return tuple(Line(path + np.array(at), running) for path in paths)


def _bar(direction: float, width: float, length: float, at: FloatArray) -> _Block:
    """A satin column whose lines lie in a direction, its middle at a place."""
    one, other = (
        turned(np.array([[side, -length / 2], [side, length / 2]]), direction, at) for side in (-width / 2, width / 2)
    )
    place = (float(at[0]), float(at[1]))
    return _Block((Column(one, other, _AS_DRAWN),), (), (ToMeasure("bar", direction, width, place),))


def _centres(gap: float) -> Iterator[tuple[float, float]]:
    """Width of each bar and how far its middle is from the first bar's, square to the bars."""
    x = 0.0
    for before, width in zip((0.0, *WIDTHS_MM), WIDTHS_MM, strict=False):
        x += before / 2 + gap + width / 2 if before else 0.0
        yield width, x


def _row(direction: float, size: _Sizes) -> _Block:
    """Leaning bars side by side, each labelled at the end that leaves room for the direction on the left."""
    lean = np.sqrt(0.5)
    block = _Block()
    end = (size.bar + max(WIDTHS_MM)) / 2 * lean + _LABEL_GAP + size.digit / 2
    y = end if direction > 90 else -end
    for width, x in _centres(size.gap):
        middle = x / lean
        block += _bar(direction, width, size.bar, np.array([middle, 0.0]))
        block += _Block(marks=_label(f"{width:g}", size.digit, (middle + size.bar / 2 * lean, y)))
    left = block.bounds[0][0]
    half = set_text(f"{direction:g}°", height=size.digit).width_mm / 2
    return block + _Block(marks=_label(f"{direction:g}°", size.digit, (left + half - 2 * _APART * size.digit, y)))


def _upright(size: _Sizes) -> _Block:
    """Upright bars, labelled below, and the grain arrow beside them."""
    block = _Block()
    y = -size.bar / 2 - _LABEL_GAP - size.digit / 2
    for width, x in _centres(size.gap):
        block += _bar(0.0, width, size.bar, np.array([x, 0.0]))
        block += _Block(marks=_label(f"{width:g}", size.digit, (x, y)))
    block += _Block(marks=_label("0°", size.digit, (-size.gap - size.digit, y)))
    x = block.bounds[1][0] + 2.5 * size.gap
    tip = np.array([x, size.bar / 2])
    head = size.gap / 2
    arrow = np.array([[x, -size.bar / 2], tip, tip + [-head, -1.5 * head]])
    other = np.array([tip, tip + [head, -1.5 * head]])
    return block + _Block(
        marks=(
            Line(arrow, Running(length=2.0)), Line(other, Running(length=2.0)), *_label("grain", size.digit, (x, y)),
        )
    )  # fmt: skip


def _lying(size: _Sizes) -> _Block:
    """Lying bars, labelled at their right ends, the direction below."""
    block = _Block()
    for width, down in _centres(size.gap):
        block += _bar(90.0, width, size.bar, np.array([0.0, -down]))
        block += _Block(marks=_label(f"{width:g}", size.digit, (size.bar / 2 + _LABEL_GAP + size.digit / 2, -down)))
    low = block.bounds[0][1]
    return block + _Block(marks=_label("90°", size.digit, (0.0, low - _LABEL_GAP - size.digit / 2)))


def _squares(size: _Sizes) -> _Block:
    """Four filled squares, two and two, each turned with its rows and labelled below."""
    block = _Block()
    tall = size.square * np.sqrt(2)
    side = size.square
    columns = (0.0, (side + tall) / 2 + size.gap / 2)
    for number, direction in enumerate(DIRECTIONS):
        x, y = columns[number % 2], -(number // 2) * (tall + _LABEL_GAP + size.digit + size.gap)
        square = shapely.affinity.rotate(shapely.box(-side / 2, -side / 2, side / 2, side / 2), direction)
        area = Area(shapely.affinity.translate(square, x, y), Fill(angle=direction, compensation=0.0))
        below = y - tall / 2 - _LABEL_GAP - size.digit / 2
        block += _Block(
            (area,), _label(f"{direction:g}°", size.digit, (x, below)), (ToMeasure("square", direction, side, (x, y)),)
        )
    return block


def _ruler(size: _Sizes) -> _Block:
    """A running line of known length between two marks, its length above it."""
    half, mark = size.ruler / 2, size.digit / 2
    lines = [Line(np.array([[x, -mark], [x, mark]]), Running(length=1.0)) for x in (-half, half)]
    long = Line(np.array([[-half, 0.0], [half, 0.0]]), Running(length=2.5))
    label = _label(f"{size.ruler:g}", size.digit, (0.0, _LABEL_GAP + size.digit / 2))
    return _Block((), (*lines, long, *label), (ToMeasure("ruler", 0.0, size.ruler, (0.0, 0.0)),))
