"""Everything to cut or to mark, as shapes with their lines and points, in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.bag import Bag
from stitchcraft.defaults import BAG
from stitchcraft.design import Line, Purpose
from stitchcraft.geometry.curves import closed, grown, lines_of, polygons_of
from stitchcraft.paper.grain import Arrow, grain_arrow
from stitchcraft.paper.sheet import Sheet, SheetPart
from stitchcraft.paper.words import title_of
from stitchcraft.units import both_sizes


class Mark(StrEnum):
    """What a line of a piece is for."""

    CUT = "cut"
    LOOSE = "loose"
    SEAM = "seam"
    EDGE = "edge"
    STITCH = "stitch"
    HOOP = "hoop"
    NOTCH = "notch"


@dataclass(frozen=True, slots=True, eq=False)
class PieceLine:
    """A line on a piece.

    Attributes:
        mark: What it is for.
        path: (n, 2) positions, mm; closed if its first point is its last.
    """

    mark: Mark
    path: FloatArray


@dataclass(frozen=True, slots=True)
class Spot:
    """A point on a piece.

    Attributes:
        kind: ``"crosshair"``, ``"snap"`` or ``"foot"``.
        at_mm: Where.
        label: What it is; may be empty.
        side: Where the label stands from it: 1 right, -1 left.
    """

    kind: str
    at_mm: tuple[float, float]
    label: str = ""
    side: int = 1


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A piece to cut, or a template to mark by.

    Attributes:
        name: A file's name without its suffix.
        title: Its name for people.
        note: What it is cut from, how often, how large; one line.
        shape: The cut outline; None for a template that is only marked by.
        lines: Lines on it, the cut line among them.
        spots: Points on it.
        grain: Ends of the arrow along the grain; None for what has no grain.
    """

    name: str
    title: str
    note: str
    shape: shapely.Polygon | None
    lines: tuple[PieceLine, ...]
    spots: tuple[Spot, ...] = ()
    grain: Arrow | None = None

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top of all its lines, mm."""
        points = np.vstack([line.path for line in self.lines])
        (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
        return (float(left), float(bottom), float(right), float(top))


_NOTCH_MM: Final = 4.0
_HOOP_PAST_MM: Final = 8.0


def pieces_of(sheet: Sheet) -> tuple[Piece, ...]:
    """List every piece and template of a kit: the panels first, then the bag's other pieces, then the ornaments'."""
    bag = sheet.family.bag
    pieces = [_panel(sheet, "front"), _panel(sheet, "back"), _lining(bag)]
    pieces += _binding(bag) + _stiffener(bag)
    for one in sheet.parts:
        pieces.append(_part_piece(sheet, one))
        pieces += _batting(one)
    return tuple(pieces)


def _grain(shape: shapely.Polygon, lines: Sequence[PieceLine], spots: Sequence[Spot]) -> Arrow | None:
    """Where the arrow along the grain goes: off the lines, the points and their labels."""
    taken = []
    for spot in spots:
        x, y = spot.at_mm
        far = x + spot.side * (8 + 1.8 * len(spot.label))
        taken.append(shapely.box(min(x - 6, far), y - 6, max(x + 6, far), y + 6))
    on_it = [line.path for line in lines if line.mark not in (Mark.CUT, Mark.LOOSE)]
    return grain_arrow(shape, on_it, taken)


# -- the bag's own pieces -------------------------------------------------------------------------------


def panel_shape(bag: Bag) -> shapely.Polygon:
    """A panel as cut, in the panel frame: squares taken from the lower corners of a boxed base."""
    return shapely.Polygon(_stepped(bag, bag.seam_mm, cut=True))


def _top(bag: Bag) -> float:
    return bag.seam_mm if bag.top == "turned" else 0.0


def _stepped(bag: Bag, side: float, *, cut: bool) -> FloatArray:
    """A panel's cut line, or its seam lines closed at the top, for one allowance at the sides, closed."""
    half, low = bag.width_mm / 2 + bag.seam_mm, -bag.height_mm - bag.seam_mm
    notch = bag.corner_cut_mm
    wide = max(0.0, notch + side - bag.seam_mm)
    # the sides' allowance is their own; the bottom and the notches have the bag's
    out, up = (0.0, 0.0) if cut else (side, bag.seam_mm)
    right = [[half - out, _top(bag)], [half - out, low + up]]
    if notch:
        inner = half - wide - up
        right[1:] = [[half - out, low + up + notch], [inner, low + up + notch], [inner, low + up]]
    return closed(np.array([*right, *[[-x, y] for x, y in reversed(right)]]))


def _seams(bag: Bag, side: float) -> list[PieceLine]:
    """The seam lines of a panel: sides, notches, bottom; open at the top edge."""
    return [PieceLine(Mark.SEAM, _stepped(bag, side, cut=False)[:-1])]


def _notches(bag: Bag) -> list[PieceLine]:
    """Short marks in from the cut edge: the middles of top and bottom, and the side seams' middles."""
    half, low, top = bag.width_mm / 2 + bag.seam_mm, -bag.height_mm - bag.seam_mm, _top(bag)
    long = min(_NOTCH_MM, 0.7 * bag.seam_mm)
    side = (low + bag.corner_cut_mm + top) / 2
    ends = [((0, top), (0, -long)), ((0, low), (0, long)), ((half, side), (-long, 0)), ((-half, side), (long, 0))]
    return [PieceLine(Mark.NOTCH, np.array([at, np.add(at, step)], dtype=np.float64)) for at, step in ends]


def _panel(sheet: Sheet, panel: str) -> Piece:
    bag = sheet.family.bag
    shape = panel_shape(bag)
    lines = [PieceLine(Mark.CUT, np.asarray(shape.exterior.coords)), *_seams(bag, bag.seam_mm), *_notches(bag)]
    half = bag.width_mm / 2 + bag.seam_mm
    lines.append(PieceLine(Mark.EDGE, np.array([[-half, -bag.root_depth_mm], [half, -bag.root_depth_mm]])))
    spots: list[Spot] = []
    for one in sheet.parts:
        for place in one.part.placements:
            if place.panel != panel:
                continue
            side = -1 if place.at_mm[0] > 1 else 1
            spots.append(Spot("crosshair", place.at_mm, one.name, side))
            lines += [
                PieceLine(line.mark, turned(line.path, place.angle_deg, place.at_mm)) for line in _sewn_lines(one)
            ]
            if any(stop.purpose is Purpose.SNAP for stop in one.part.design.stops):
                spots.append(Spot("snap", place.at_mm))
    spots += [Spot("foot", (x, -bag.height_mm + y), "foot", -1 if x > 0 else 1) for x, y in bag.feet_mm if y > 0]
    if panel == "back" and any(one.name == "tab-front" for one in sheet.parts):
        width = sheet.family.closure_tab.width_mm / 2
        y = -bag.root_depth_mm
        spots.append(Spot("crosshair", (0.0, y), "tab's root line", 1))
        lines += [PieceLine(Mark.STITCH, np.array([[x, y - 8], [x, y]])) for x in (-width, width)]
    return Piece(
        f"panel-{panel}", f"Panel, {panel}",
        f"outer cloth, cut 1 after the embroidery; fleece, cut 1 the same: {both_sizes(*bag.panel_cut_mm)}",
        shape, tuple(lines), tuple(spots), _grain(shape, lines, spots),
    )  # fmt: skip


def _lining(bag: Bag) -> Piece:
    shape = shapely.Polygon(_stepped(bag, float(bag.lining_seam), cut=True))
    lines = [
        PieceLine(Mark.CUT, np.asarray(shape.exterior.coords)),
        *_seams(bag, float(bag.lining_seam)),
        *_notches(bag),
    ]
    return Piece(
        "lining", "Lining", f"lining cloth, cut 2: {both_sizes(*bag.panel_cut_mm)}", shape, tuple(lines), (),
        _grain(shape, lines, ()),
    )  # fmt: skip


def _binding(bag: Bag) -> list[Piece]:
    if bag.binding_mm is None:
        return []
    wide, long = bag.binding_mm
    ring = closed(np.array([[0, 0], [long, 0], [long - wide, wide], [0, wide]], dtype=np.float64))
    depth = bag.root_depth_mm
    lines = [
        PieceLine(Mark.CUT, ring),
        PieceLine(Mark.EDGE, np.array([[0, wide / 2], [long - wide / 2, wide / 2]])),
        PieceLine(Mark.SEAM, np.array([[0, depth], [long - depth, depth]])),
    ]
    note = f"binding cloth, cut 1, one end at 45°; fold along the middle: {both_sizes(wide, long)}"
    along = ((30.0, 0.75 * wide), (90.0, 0.75 * wide))
    return [Piece("binding-strip", "Binding strip", note, shapely.Polygon(ring), tuple(lines), (), along)]


def _stiffener(bag: Bag) -> list[Piece]:
    if bag.base_mm is None:
        return []
    wide, deep = bag.base_mm
    radius = min(BAG["stiffener_corner"].value, 0.45 * min(wide, deep))
    core = shapely.box(-wide / 2 + radius, -deep / 2 + radius, wide / 2 - radius, deep / 2 - radius)
    shape = polygons_of(grown(core, radius))[0]
    spots = [
        Spot("crosshair", (0.0, 0.0), "middle of the base"),
        *[Spot("foot", at, "foot", -1 if at[0] > 0 else 1) for at in bag.feet_mm],
    ]
    note = f"stiffener, cut 1: {both_sizes(wide, deep)}"
    lines = (PieceLine(Mark.CUT, np.asarray(shape.exterior.coords)),)
    return [Piece("base-stiffener", "Base stiffener", note, shape, lines, tuple(spots), None)]


# -- the ornaments --------------------------------------------------------------------------------------


def _sewn_lines(one: SheetPart) -> list[PieceLine]:
    """The lines of a design that tell where things go: seams and outlines, ticks, placement lines, snap targets."""
    marks = {
        Purpose.SEAM: Mark.SEAM, Purpose.OUTLINE: Mark.SEAM, Purpose.TICKS: Mark.STITCH, Purpose.PLACE: Mark.STITCH,
        Purpose.SNAP: Mark.STITCH,
    }  # fmt: skip
    return [
        PieceLine(marks[stop.purpose], np.asarray(element.path))
        for stop in one.part.design.stops
        if stop.purpose in marks
        for element in stop.elements
        if isinstance(element, Line)
    ]


def _part_piece(sheet: Sheet, one: SheetPart) -> Piece:
    lines = _sewn_lines(one)
    shape = one.part.cloth[0][2] if one.part.cloth else None
    placed = bool(one.part.placements)
    note = f"{one.times} places" if one.times > 1 else "1 place"
    if shape is not None:
        ring = np.asarray(shape.exterior.coords)
        lines.insert(0, PieceLine(Mark.CUT, ring))
        left, bottom, right, top = shape.bounds
        note = f"{one.part.cloth[0][1]}, cut {one.times}: {both_sizes(right - left, top - bottom)}"
        if placed:
            loose = polygons_of(grown(shape, BAG["laid_margin"].value))[0]
            lines.append(PieceLine(Mark.LOOSE, np.asarray(loose.exterior.coords)))
            lines += _panel_seams_on(sheet.family.bag, one, shape)
    origin = one.part.design.origin
    spots = [Spot("crosshair", origin, "middle of the root line" if one.name.startswith("tab") else "crosshair")]
    if one.name.startswith("tab") and shape is not None:
        left, _, right, _ = shape.bounds
        level = shapely.LineString([(left, origin[1]), (right, origin[1])])
        lines += [PieceLine(Mark.EDGE, path) for path in lines_of(shapely.intersection(level, shape))]
    spots += [
        Spot("snap", middle, sheet.family.fastener.word)
        for middle in _snap_centres(one)
        if math.dist(middle, origin) > 1
    ]
    lines += _hoop_lines(one, lines)
    grain = None if shape is None else _grain(shape, lines, spots)
    return Piece(one.name, title_of(one.name), note, shape, tuple(lines), tuple(spots), grain)


def _snap_centres(one: SheetPart) -> list[tuple[float, float]]:
    centres = []
    for stop in one.part.design.stops:
        if stop.purpose is Purpose.SNAP and isinstance(stop.elements[0], Line):
            left, bottom, right, top = shapely.LineString(stop.elements[0].path).bounds
            centres.append((round((left + right) / 2, 9) + 0.0, round((bottom + top) / 2, 9) + 0.0))
    return centres


def _panel_seams_on(bag: Bag, one: SheetPart, shape: shapely.Polygon) -> list[PieceLine]:
    """The panel's seam lines where they cross a piece, in the piece's frame."""
    place = one.part.placements[0]
    lines = []
    for seam in _seams(bag, bag.seam_mm):
        path = turned(seam.path - np.asarray(place.at_mm), -place.angle_deg)
        lines += [
            PieceLine(Mark.SEAM, part) for part in lines_of(shapely.intersection(shapely.LineString(path), shape))
        ]
    return lines


def _hoop_lines(one: SheetPart, lines: list[PieceLine]) -> list[PieceLine]:
    """The middle lines of the field across the piece: they go on the frame's own marks."""
    if one.hoop is None:
        return []
    points = np.vstack([line.path for line in lines])
    low, high = points.min(axis=0) - _HOOP_PAST_MM, points.max(axis=0) + _HOOP_PAST_MM
    far = one.hoop.width + one.hoop.height
    room = shapely.box(*low, *high)
    axes = [one.to_part(np.array([[-far, 0.0], [far, 0.0]])), one.to_part(np.array([[0.0, -far], [0.0, far]]))]
    crossings = [shapely.intersection(shapely.LineString(axis), room) for axis in axes]
    return [PieceLine(Mark.HOOP, path) for crossing in crossings for path in lines_of(crossing)]


def _batting(one: SheetPart) -> list[Piece]:
    """Batting caught inside a tab: what its placement line encloses."""
    if one.name != "tab-front":
        return []
    for stop in one.part.design.stops:
        if stop.purpose is Purpose.PLACE and isinstance(stop.elements[0], Line):
            ring = closed(np.asarray(stop.elements[0].path))
            left, bottom, right, top = shapely.Polygon(ring).bounds
            note = f"batting, cut 1: {both_sizes(right - left, top - bottom)}"
            return [
                Piece("tab-batting", "Tab batting", note, shapely.Polygon(ring), (PieceLine(Mark.CUT, ring),), (), None)
            ]
    return []
