"""Where two pieces may not lie against each other: bit maps of both, correlated by FFT, once for each pair.

The places of a piece in a field form a grid. For two pieces at their angles, a table says by how many steps the one
may not be shifted against the other; the free places of a piece are then all but those that the tables of its
neighbours take. Maps are drawn a little large, so that a place found free is free.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from stitchcraft.arrays import turned
from stitchcraft.geometry.curves import grown
from stitchcraft.machine.fields import Hoop
from stitchcraft.machine.packing.pieces import Laid, Piece, room_of
from stitchcraft.machine.placement import Placement
from stitchcraft.units import MACHINE_UNIT_MM

BoolArray = NDArray[np.bool_]

STEP_MM: Final = 1.0
"""Between neighbouring places of a piece."""

_HALF_DIAGONAL: Final = math.sqrt(0.5) + 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """A piece at one angle in one field.

    Attributes:
        number: Its own, by which tables are kept.
        angle_deg: The angle.
        base: The shift to its lowest leftmost place, mm.
        rows: How many places there are, one above the other.
        columns: How many side by side.
        reach: From the left and the lower edge of the field to the far side of what must lie in it, mm, at that
            place.
        bits: The pixels that the shape at that place touches.
        wide: The same for the shape grown by the clearance.
        corner: Row and column of the pixel in the corner of *bits*.
        wide_corner: The same for *wide*.
    """

    number: int
    angle_deg: float
    base: tuple[float, float]
    rows: int
    columns: int
    reach: tuple[float, float]
    bits: NDArray[np.float32]
    wide: NDArray[np.float32]
    corner: tuple[int, int]
    wide_corner: tuple[int, int]


@dataclass(slots=True)
class Board:
    """A field being filled.

    Attributes:
        grid: The field's places.
        turn: The angle that all its pieces have in common, degrees.
        laid: For each piece in it: which one, how, in which row and column.
        load: Share of the largest field that is taken.
    """

    grid: Grid
    turn: float
    laid: list[tuple[int, Way, int, int]] = field(default_factory=list)
    load: float = 0.0

    @property
    def pieces(self) -> list[int]:
        """The pieces in it."""
        return [piece for piece, *_ in self.laid]

    def settled(self) -> tuple[Laid, ...]:
        """The pieces with their placements."""
        return tuple(
            Laid(
                piece,
                Placement(
                    way.angle_deg,
                    (round(way.base[0] + column * STEP_MM, 1) + 0.0, round(way.base[1] + row * STEP_MM, 1) + 0.0),
                ),
            )
            for piece, way, row, column in self.laid
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Taken:
    """By how many rows and columns a second piece may not be shifted against a first.

    Attributes:
        low: The least shift that *table* tells of, rows and columns.
        table: Boolean, True where it may not.
    """

    low: tuple[int, int]
    table: BoolArray


class Grid:
    """The places in one field.

    Args:
        hoop: The field.
        pieces: What may come to lie in it.
        clearance: Kept between two pieces, mm.
        margin: Kept free inside the edge, mm.
        pixels: To a step.
        turns: Angles, degrees, that all pieces of a field may have in common.
    """

    def __init__(
        self,
        hoop: Hoop,
        pieces: Sequence[Piece],
        *,
        clearance: float,
        margin: float,
        pixels: int,
        turns: Sequence[float],
    ) -> None:
        self.hoop, self.clearance, self.turns = hoop, clearance, tuple(turns)
        self.room = room_of(hoop, margin)
        self._pixels, self._pixel = pixels, STEP_MM / pixels
        self._pieces = tuple(pieces)
        # equal pieces share their maps
        self._first = _first_alike(self._pieces)
        self._ways: dict[tuple[int, float], Way | None] = {}
        self._taken: dict[tuple[int, int], _Taken] = {}
        self._spectra: dict[tuple[int, bool, tuple[int, int]], Any] = {}

    def ways(self, piece: int, turn: float) -> list[Way]:
        """The ways in which a piece can lie alone in the field, the common turn counted in."""
        first = self._first[piece]
        own = self._pieces[first]
        found = []
        for angle in dict.fromkeys(round((turn + angle) % 360, 9) for angle in own.turns):
            if (first, angle) not in self._ways:
                self._ways[first, angle] = self._way(own, angle)
            way = self._ways[first, angle]
            if way is not None:
                found.append(way)
        return found

    def _way(self, piece: Piece, angle: float) -> Way | None:
        hull = turned(piece.hull, angle)
        low, high = hull.min(axis=0), hull.max(axis=0)
        base, counts = [], []
        for axis, side in enumerate(self.room):
            least = math.ceil((-side / 2 - low[axis]) / MACHINE_UNIT_MM - 1e-6) * MACHINE_UNIT_MM
            most = side / 2 - high[axis]
            if most < least - 1e-7:
                return None
            base.append(round(least, 1) + 0.0)
            counts.append(math.floor((most - least) / STEP_MM + 1e-6) + 1)
        shape = shapely.transform(piece.shape, lambda xy: turned(xy, angle, base))
        more = _HALF_DIAGONAL * self._pixel
        bits, corner = self._bits(grown(shape, more))
        wide, wide_corner = self._bits(grown(shape, self.clearance + more))
        reach = (float(high[0] + base[0] + self.hoop.width / 2), float(high[1] + base[1] + self.hoop.height / 2))
        number = len(self._ways)
        return Way(number, angle, (base[0], base[1]), counts[1], counts[0], reach, bits, wide, corner, wide_corner)

    def _bits(self, shape: BaseGeometry) -> tuple[NDArray[np.float32], tuple[int, int]]:
        """The pixels whose middle a shape covers, and the row and column of the map's corner."""
        left, bottom, right, top = (side / self._pixel for side in shape.bounds)
        rows = np.arange(math.floor(bottom), math.ceil(top) + 1)
        columns = np.arange(math.floor(left), math.ceil(right) + 1)
        across, up = np.meshgrid((columns + 0.5) * self._pixel, (rows + 0.5) * self._pixel)
        shapely.prepare(shape)
        bits = np.asarray(shapely.contains_xy(shape, across, up), dtype=np.float32)
        return bits, (int(rows[0]), int(columns[0]))

    def place_for(self, board: Board, piece: int, *, leftmost: bool) -> tuple[Way, int, int] | None:
        """The lowest place for a piece, then the leftmost, of all its ways, or the other way round; None if none."""
        best: tuple[tuple[float, int], Way, int, int] | None = None
        for way in self.ways(piece, board.turn):
            row = column = 0
            if board.laid:
                busy = np.zeros((way.rows, way.columns), dtype=bool)
                for _, other, other_row, other_column in board.laid:
                    _mark(busy, self._shifts(other, way), other_row, other_column)
                if leftmost:
                    column = int(busy.all(axis=0).argmin())
                    row = int(busy[:, column].argmin())
                else:
                    row, column = divmod(int(busy.argmin()), way.columns)
                if busy[row, column]:
                    continue
            key = (way.reach[0] + column * STEP_MM, row) if leftmost else (way.reach[1] + row * STEP_MM, column)
            if best is None or key < best[0]:
                best = (key, way, row, column)
        return None if best is None else best[1:]

    def _shifts(self, one: Way, other: Way) -> _Taken:
        """By how much the second may not be shifted against the first."""
        key = (one.number, other.number)
        if key not in self._taken:
            made = self._correlated(one, other)
            self._taken[key] = made
            high = tuple(low + side - 1 for low, side in zip(made.low, made.table.shape, strict=True))
            self._taken[key[::-1]] = _Taken((-high[0], -high[1]), made.table[::-1, ::-1])
        return self._taken[key]

    def _correlated(self, one: Way, other: Way) -> _Taken:
        from scipy.fft import irfft2, next_fast_len  # heavy, and only packing needs it

        # in steps of 48 pixels, so that few different sizes of spectra are kept
        size = (
            int(next_fast_len(48 * math.ceil((one.wide.shape[0] + other.bits.shape[0]) / 48), True)),
            int(next_fast_len(48 * math.ceil((one.wide.shape[1] + other.bits.shape[1]) / 48), True)),
        )
        product = self._spectrum(one, size, wide=True) * np.conj(self._spectrum(other, size, wide=False))
        overlap = irfft2(product, size)
        picked, lows = [], []
        for axis in (0, 1):
            # the second's map, shifted by s pixels, meets the first's for these s only
            low = one.wide_corner[axis] - other.corner[axis] - other.bits.shape[axis] + 1
            high = one.wide_corner[axis] + one.wide.shape[axis] - 1 - other.corner[axis]
            steps = np.arange(math.ceil(low / self._pixels), math.floor(high / self._pixels) + 1)
            shift = steps * self._pixels + other.corner[axis] - one.wide_corner[axis]
            picked.append(shift % size[axis])
            lows.append(int(steps[0]))
        return _Taken((lows[0], lows[1]), overlap[np.ix_(*picked)] > 0.5)

    def _spectrum(self, way: Way, size: tuple[int, int], *, wide: bool) -> Any:
        from scipy.fft import rfft2

        key = (way.number, wide, size)
        if key not in self._spectra:
            self._spectra[key] = rfft2(way.wide if wide else way.bits, size)
        return self._spectra[key]


def _mark(busy: BoolArray, taken: _Taken, row: int, column: int) -> None:
    """Mark the places that a neighbour in a row and column takes."""
    top, left = row + taken.low[0], column + taken.low[1]
    first_row, first_column = max(0, top), max(0, left)
    last_row = min(busy.shape[0], top + taken.table.shape[0])
    last_column = min(busy.shape[1], left + taken.table.shape[1])
    if first_row < last_row and first_column < last_column:
        part = busy[first_row:last_row, first_column:last_column]
        part |= taken.table[first_row - top : last_row - top, first_column - left : last_column - left]


def _first_alike(pieces: Sequence[Piece]) -> tuple[int, ...]:
    """For each piece the first one that is the same."""
    seen: dict[tuple[bytes, bytes, tuple[float, ...]], int] = {}
    return tuple(
        seen.setdefault((piece.shape.wkb, piece.hull.tobytes(), piece.turns), number)
        for number, piece in enumerate(pieces)
    )
