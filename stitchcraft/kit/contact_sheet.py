"""A contact sheet: families side by side at one scale, each on its bag and part by part."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
import shapely
from shapely import affinity

from stitchcraft.arrays import FloatArray
from stitchcraft.bag.panel_outline import panel_outline
from stitchcraft.defaults import CLOTH, thread_width
from stitchcraft.design import SHOWN_PURPOSES, Kind, Purpose, StitchPlan
from stitchcraft.errors import ParameterError
from stitchcraft.family import Family, Part
from stitchcraft.geometry.curves import polygons_of
from stitchcraft.geometry.sketch import Sketch, simplified
from stitchcraft.stitching import plan
from stitchcraft.units import both_sizes, both_text, lengths_said_in
from stitchcraft.whole_files import whole_file

if TYPE_CHECKING:
    from stitchcraft.view import Canvas

SHEETS: Final = (".svg", ".png")
_GAP_MM: Final = 18.0
_TITLE_MM: Final = 16.0
_LINE: Final = "#8c8375"
_PIECE: Final = "#f3eee2"
_INK: Final = "#404040"
_WIDEST_PX: Final = 1800
_HIGHEST_PX: Final = 6000


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """Something on the sheet: cloth, thread on it, or words; where it lies is said by *at*.

    Attributes:
        at: Added to all positions, mm.
        cloth: What lies beneath; None for nothing.
        colour: Of that cloth.
        thread: What is sewn; None for nothing.
        words: What is written at the place; empty for nothing.
        size: Of the letters, mm.
    """

    at: tuple[float, float]
    cloth: shapely.Polygon | None = None
    colour: str = CLOTH
    thread: StitchPlan | None = None
    words: str = ""
    size: float = 7.0


def contact_sheet(families: Family | Sequence[Family], target: str | Path) -> None:
    """Draw families one below the other, all at one scale: the front of each bag with its parts, and the parts beside.

    Args:
        families: One family, or several, such as `Family.variants` gives.
        target: The picture to write: ``.svg`` (lines, true to scale) or ``.png`` (as sewn).

    Raises:
        ParameterError: If there is no family, a part cannot be made, or the suffix is neither.
        SpecError: If the file cannot be written.
    """
    several = (families,) if isinstance(families, Family) else tuple(families)
    if not several or not all(isinstance(one, Family) for one in several):
        raise ParameterError("families", families, "a Family, or at least one in a list")
    path = Path(target)
    if path.suffix.lower() not in SHEETS:
        raise ParameterError("target", str(path), f"a file that ends in {' or '.join(SHEETS)}")
    pieces = _laid_out(several)
    whole_file(path, _as_svg(pieces, several) if path.suffix.lower() == ".svg" else _as_png(pieces))


def _laid_out(families: Sequence[Family]) -> list[_Piece]:
    pieces: list[_Piece] = []
    y = 0.0
    for family in families:
        bag = family.bag
        with lengths_said_in(family.units):
            size = both_sizes(bag.width_mm, bag.height_mm)
            size += f", {both_text(bag.depth_mm)} deep" if bag.depth_mm else ""
        title = (bag.width_mm / 2, y - _TITLE_MM / 2)
        pieces.append(_Piece(title, words=f"{family.name}: {size}"))
        top = y - _TITLE_MM
        made = {part.name: part for part in family.made()}
        threads = {name: _threads(family, made, part) for name, part in made.items()}
        pieces += _on_bag(family, made, threads, (bag.width_mm / 2, top))
        beside, low = _beside(made, threads, (bag.width_mm + _GAP_MM, top), bag.width_mm)
        pieces += beside
        low = min(low, top - bag.height_mm)
        y = low - _GAP_MM
    return pieces


def _threads(family: Family, made: dict[str, Part], part: Part) -> tuple[StitchPlan, ...]:
    """What shows of a part on the finished bag; on the tab also what is sewn through it once it is turned."""
    stops = [stop for stop in part.design.stops if stop.purpose in SHOWN_PURPOSES]
    found = [replace(part.design, stops=tuple(stops), basted_at=0)] if stops else []
    through = made.get(f"tab-{family.fastener.word}")
    if part.name == "tab-front" and through is not None:
        sewn = tuple(stop for stop in through.design.stops if stop.purpose is Purpose.SNAP)
        found.append(replace(through.design, stops=sewn, basted_at=0))
    return tuple(plan(design) for design in found)


def _on_bag(
    family: Family, made: dict[str, Part], threads: dict[str, tuple[StitchPlan, ...]], at: tuple[float, float]
) -> Iterator[_Piece]:
    """The front panel with what is sewn on it, and the tab as it hangs over it."""
    bag = family.bag
    panel = shapely.Polygon(panel_outline(bag.width_mm, bag.height_mm, bag.depth_mm / 2))
    yield _Piece(at, panel)
    for name, part in made.items():
        for place in part.placements:
            if place.panel == "front" and part.cloth:
                spot = (at[0] + place.at_mm[0], at[1] + place.at_mm[1])
                inside = affinity.translate(panel, -place.at_mm[0], -place.at_mm[1])
                yield from _sewn(threads[name], spot, part.cloth[0][2], inside)
    if "tab-front" in made:
        over = bag.root_depth_mm + bag.wall_mm
        below = shapely.box(-2000, -2000, 2000, -over)
        yield from _sewn(threads["tab-front"], (at[0], at[1] + over), family.closure_tab.shape, below)


def _beside(
    made: dict[str, Part], threads: dict[str, tuple[StitchPlan, ...]], at: tuple[float, float], width: float
) -> tuple[list[_Piece], float]:
    """Each kind of part by itself, in rows of about a width; with them, how far down they reach, mm."""
    from stitchcraft.view import cloth_for  # only a pale label on pale cloth needs another

    pieces: list[_Piece] = []
    x, y, low = at[0], at[1], at[1]
    for name in ("tab-front", "corner-left", "connector-front", "connector-left", "label"):
        if name not in made:
            continue
        shape, sewn = made[name].cloth[0][2], threads[name]
        left, bottom, right, top = shape.bounds
        if x > at[0] and x + right - left > at[0] + width:
            x, y = at[0], low
        spot = (x - left, y - top)
        colour = cloth_for(sewn[0]) if name == "label" and sewn else _PIECE
        pieces += _sewn(sewn, spot, shape, None, colour=colour)
        pieces.append(_Piece((x + (right - left) / 2, spot[1] + bottom - 6.0), words=name, size=5.0))
        x += right - left + _GAP_MM
        low = min(low, spot[1] + bottom - 16.0)
    return pieces, low


def _sewn(
    threads: tuple[StitchPlan, ...],
    at: tuple[float, float],
    shape: shapely.Polygon,
    seen: shapely.Polygon | None,
    *,
    colour: str = _PIECE,
) -> Iterator[_Piece]:
    """A part's cloth and its threads: what lies in *seen*, or all of it."""
    for polygon in polygons_of(shape if seen is None else shapely.intersection(shape, seen)):
        yield _Piece(at, polygon, colour)
    for thread in threads:
        yield _Piece(at, thread=thread if seen is None else _cut(thread, seen))


def _cut(made: StitchPlan, seen: shapely.Polygon) -> StitchPlan:
    """What of a plan lies in a polygon; where the thread leaves it and comes back there is no stitch."""
    keep = np.flatnonzero(shapely.contains_xy(seen, made.xy))
    kept = made.only(keep)
    kind = kept.kind.copy()
    kind[np.flatnonzero(np.diff(keep, prepend=-2) > 1)] = Kind.JUMP
    return replace(kept, kind=kind)


def _as_svg(pieces: Sequence[_Piece], families: Sequence[Family]) -> bytes:
    sketch = Sketch()
    for piece in pieces:
        if piece.cloth is not None:
            sketch.area([_ring(piece)], fill=piece.colour, stroke=_LINE, width=0.4)
        if piece.thread is not None:
            for number, stop in enumerate(piece.thread.stops):
                strokes = [simplified(path + piece.at) for path in piece.thread.strokes(number) if len(path) > 1]
                sketch.lines(strokes, stroke=stop.thread.colour, width=thread_width(stop.thread.weight))
        if piece.words:
            sketch.words(piece.at, piece.words, size=piece.size, colour=_INK)
    title = ", ".join(family.name for family in families)
    return sketch.svg(title, margin=_GAP_MM / 2, ground="#ffffff").encode()


def _as_png(pieces: Sequence[_Piece]) -> bytes:
    from stitchcraft.view import Canvas, draw_thread  # the picture library is loaded with the first picture

    boxes = np.array([_box(piece) for piece in pieces])
    (left, bottom), (right, top) = boxes[:, :2].min(axis=0) - _GAP_MM / 2, boxes[:, 2:].max(axis=0) + _GAP_MM / 2
    scale = min(_WIDEST_PX / (right - left), _HIGHEST_PX / (top - bottom))
    canvas: Canvas = Canvas((left, bottom, right, top), pixels_per_mm=scale)
    for piece in pieces:
        if piece.cloth is not None:
            canvas.polygon(_ring(piece), piece.colour, outline=_LINE, width=0.4)
        if piece.thread is not None:
            draw_thread(canvas, replace(piece.thread, xy=piece.thread.xy + piece.at))
        if piece.words:
            # the picture library's own letters have no sign for this
            canvas.text(piece.at, piece.words.replace("×", "x"), _INK, height=piece.size * 0.7)
    return canvas.png()


def _ring(piece: _Piece) -> FloatArray:
    ring = shapely.Polygon() if piece.cloth is None else piece.cloth
    return np.asarray(ring.exterior.coords)[:, :2] + np.asarray(piece.at)


def _box(piece: _Piece) -> tuple[float, float, float, float]:
    """What a piece takes: left, bottom, right, top, mm."""
    x, y = piece.at
    if piece.cloth is not None:
        left, bottom, right, top = piece.cloth.bounds
        return (x + left, y + bottom, x + right, y + top)
    if piece.words:
        half = 0.3 * piece.size * len(piece.words)
        return (x - half, y - piece.size / 2, x + half, y + piece.size / 2)
    return (x, y, x, y)
