"""Pieces into few fields: the search, the bound, and the exact check of what was found."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import turned
from stitchcraft.errors import ParameterError
from stitchcraft.machine.fields import Hoop
from stitchcraft.machine.fit import fit_at, fit_in_field, smallest_fit
from stitchcraft.machine.packing.bounds import area_shares, fewest_fields, kept_apart
from stitchcraft.machine.packing.pieces import Laid, PackedField, Packing, Piece, largest_fields, room_of
from stitchcraft.machine.packing.raster import Grid
from stitchcraft.machine.packing.search import dealt
from stitchcraft.machine.packing.solver import rectangle, solver_is_there, square_answer
from stitchcraft.machine.placement import Placement
from stitchcraft.units import length_between

MOST_PIECES: Final = 200

_STEPS: Final = 600_000
_KINDS_FOR_ALL_STEPS: Final = 8
_FEW: Final = 14
_PIXELS: Final = 2
"""With few pieces the maps may be finer."""

_MOST_FOR_SOLVER: Final = 15


def pack(
    pieces: Sequence[Piece],
    hoops: Sequence[Hoop],
    *,
    clearance: float | str,
    margin: float | str = 0.0,
    common_turns: Sequence[float] = (0.0, 90.0),
    apart: Iterable[tuple[int, int]] = (),
    effort: float = 1.0,
    solver: bool | None = None,
) -> Packing:
    """Deal pieces to few fields, and say how few would do at best.

    Args:
        pieces: The pieces.
        hoops: The fields at hand, each as often as it is needed.
        clearance: Kept between two pieces, a length up to 100 mm.
        margin: Kept free inside the edge of a field, a length.
        common_turns: Angles, degrees, at which the cloth of a field may lie; a piece has one of its own turns
            added.
        apart: Pairs of pieces, by index, that must not share a field.
        effort: How long to look; 1 takes seconds for 30 pieces. It counts steps, not time.
        solver: Whether to ask the solver for rectangles; None asks it where it is installed.

    Returns:
        The fields. Every piece is in one, all distances were measured on the shapes themselves, and the same
        arguments give the same answer.

    Raises:
        ParameterError: If a piece fits no field, or an argument is out of range.
    """
    gap = length_between(clearance, name="clearance", low=0, high=100)
    inset = length_between(margin, name="margin", low=0)
    if len(pieces) > MOST_PIECES:
        raise ParameterError("pieces", len(pieces), f"at most {MOST_PIECES} at a time")
    if not hoops:
        raise ParameterError("hoops", "nothing", "at least one field")
    if not pieces:
        return Packing((), 0, 0)
    fields = largest_fields(hoops)
    asked = _apart_matrix(len(pieces), apart)
    pieces = [_fitting(piece, number, fields, inset, common_turns) for number, piece in enumerate(pieces)]
    shares = area_shares(pieces, fields, clearance=gap, margin=inset)
    kept = kept_apart(pieces, fields, shares, asked, clearance=gap, margin=inset)
    bound = fewest_fields(shares, kept)
    grids = [
        Grid(
            hoop, pieces, clearance=gap, margin=inset, pixels=_PIXELS if len(pieces) <= _FEW else 1, turns=common_turns
        )
        for hoop in fields
    ]
    # the fewer kinds of pieces, the fewer ways there are of dealing them
    kinds = len({(piece.shape.wkb, piece.hull.tobytes()) for piece in pieces})
    steps = round(_STEPS * effort * min(1.0, kinds / _KINDS_FOR_ALL_STEPS))
    boards = dealt(grids, shares, kept, bound=bound, steps=steps)
    found = [(board.grid.hoop, board.settled()) for board in boards]
    square = bound
    if len(found) > bound and (solver_is_there() if solver is None else solver):
        found, square = _by_solver(pieces, fields, found, bound, gap=gap, inset=inset, free=not asked.any())
    return Packing(tuple(_settled(pieces, hoops, *one, gap, inset) for one in found), bound, square)


def _apart_matrix(count: int, apart: Iterable[tuple[int, int]]) -> np.ndarray:
    matrix = np.zeros((count, count), dtype=bool)
    for one, other in apart:
        if not (0 <= one < count and 0 <= other < count and one != other):
            raise ParameterError("apart", (one, other), f"pairs of two different numbers below {count}")
        matrix[one, other] = matrix[other, one] = True
    return matrix


def _fitting(piece: Piece, number: int, fields: Sequence[Hoop], inset: float, common: Sequence[float]) -> Piece:
    """The piece, with the angle that alone lets it lie in a field added to its turns where none of them does."""
    for hoop in fields:
        for angle in {(turn + own) % 360 for turn in common for own in piece.turns}:
            if _lies(piece, hoop, angle, inset):
                return piece
    for hoop in fields:
        fit = fit_in_field(piece.hull, hoop, margin=inset)
        if fit is not None and _lies(piece, hoop, fit.placement.angle_deg, inset):
            angle = fit.placement.angle_deg
            return Piece(piece.shape, piece.hull, (*piece.turns, *(angle - turn for turn in common)))
    raise ParameterError("pieces", f"piece {number}", "pieces that fit one of the fields each")


def _lies(piece: Piece, hoop: Hoop, angle: float, inset: float) -> bool:
    """Whether there is a whole number of 0.1 mm by which it can be shifted into the field."""
    hull = turned(piece.hull, angle)
    for axis, side in enumerate(room_of(hoop, inset)):
        least = np.ceil((-side / 2 - hull[:, axis].min()) * 10 - 1e-6) / 10
        if least > side / 2 - hull[:, axis].max() + 1e-7:
            return False
    return True


def _by_solver(
    pieces: Sequence[Piece],
    fields: Sequence[Hoop],
    found: list[tuple[Hoop, tuple[Laid, ...]]],
    bound: int,
    *,
    gap: float,
    inset: float,
    free: bool,
) -> tuple[list[tuple[Hoop, tuple[Laid, ...]]], int]:
    """What the solver makes of rectangles in a single field; what there was for anything else."""
    seen = [rectangle(piece) for piece in pieces]
    rectangles = [one for one in seen if one is not None]
    if len(fields) > 1 or len(pieces) > _MOST_FOR_SOLVER or not free or len(rectangles) < len(pieces):
        return found, bound
    hoop = fields[0]
    answer = square_answer(rectangles, room_of(hoop, inset), clearance=gap, most=len(found), least=bound)
    count = 1 + max((place[0] for place in answer.places), default=len(found))
    if count >= len(found):
        return found, bound if any(one.spare for one in rectangles) else min(answer.bound, len(found))
    laid: list[list[Laid]] = [[] for _ in range(count)]
    for number, (place, x, y, quarter) in enumerate(answer.places):
        angle = 90.0 if quarter else 0.0
        low = turned(shapely.get_coordinates(pieces[number].shape), angle).min(axis=0)
        corner = np.array([x, y]) - np.array(room_of(hoop, inset)) / 2
        offset = np.round(np.ceil((corner - low) * 10 - 1e-6) / 10, 1)
        laid[place].append(Laid(number, Placement(angle, (float(offset[0]), float(offset[1])))))
    better = [(hoop, tuple(one)) for one in laid if one]
    return better, bound if any(one.spare for one in rectangles) else answer.bound


def _settled(
    pieces: Sequence[Piece], hoops: Sequence[Hoop], hoop: Hoop, laid: tuple[Laid, ...], gap: float, inset: float
) -> PackedField:
    """The smallest field that takes what lies in one, all of it in the middle; every promise measured."""
    laid = tuple(sorted(laid, key=lambda one: one.piece))
    reach = np.vstack([one.placement.placed(pieces[one.piece].hull) for one in laid])
    fit = smallest_fit(reach, [other for other in hoops if other.area <= hoop.area], margin=inset)
    if fit is not None and fit[1].placement.angle_deg in (0.0, 90.0):
        hoop, move = fit[0], fit[1].placement
        laid = tuple(Laid(one.piece, moved(one.placement, move)) for one in laid)
    shapes = [pieces[one.piece].laid(one.placement) for one in laid]
    gaps = [float(shapely.distance(one, other)) for k, one in enumerate(shapes) for other in shapes[:k]]
    inside = all(fit_at(pieces[one.piece].hull, hoop, one.placement, margin=inset) is not None for one in laid)
    if not inside or min(gaps, default=gap) < gap - 1e-6:
        raise AssertionError("pieces were laid where they must not lie")  # a fault of the program, not of the caller
    return PackedField(hoop, laid, min(gaps) if gaps else None)


def moved(placement: Placement, move: Placement) -> Placement:
    """A placement, and then another one for the field as a whole."""
    x, y = move.placed([placement.offset_mm])[0]
    return Placement((placement.angle_deg + move.angle_deg) % 360, (float(round(x, 6)), float(round(y, 6))))
