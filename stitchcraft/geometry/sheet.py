"""A sheet held at its frame that shrinks in patches: how far each place moves, and what to draw so that it comes out.

Plane stress in an isotropic sheet, clamped along its whole frame. A patch would shrink along one direction by a
given share of its length if nothing held it (an eigenstrain); the sheet around it holds it back. Solved with bilinear
elements on a regular grid and one sparse factorisation. A cell that a patch covers in part shares its strain out
evenly, which misplaces the patch's edge by a quarter of the strain times the cell at most: 0.0075 mm at a strain of 3 %
and cells of 1 mm. Nothing here knows of thread or cloth.

Sources: the eigenstrain of an inclusion, J. D. Eshelby, Proc. Roy. Soc. A 241 (1957); the elements, any text on the
finite element method.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import ArrayLike

from stitchcraft.arrays import FloatArray, IntArray
from stitchcraft.errors import ParameterError
from stitchcraft.units import number_between

PASSES: Final = 2
"""Corrections of an outline. Each takes what is missed down by about the strain: measured on a tab of 50 x 90 mm that
would come out 0.67 mm off (strain 3 %, five times as stiff), 0.008 mm after one pass and 0.0002 mm after two."""

POISSON: Final = 0.3
STEP_MM: Final = 1.0
MOST_CELLS: Final = 24_000
"""The grid grows coarser rather than take more cells than this."""

_GAUSS: Final = 1 / math.sqrt(3)


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """A part of the sheet that shrinks.

    Attributes:
        polygon: Where, mm; holes and several parts allowed.
        angle_deg: The direction along which it shrinks, degrees counter-clockwise from x.
        strain: By which share of its length it would shrink if it were free, 0 to 0.2.
        stiffening: How much stiffer than the bare sheet it is: 0 for equally stiff, 1 for twice as stiff.
    """

    polygon: shapely.Polygon | shapely.MultiPolygon
    angle_deg: float
    strain: float
    stiffening: float = 0.0

    def __post_init__(self) -> None:
        number_between(self.angle_deg, name="angle_deg", low=-3600, high=3600)
        number_between(self.strain, name="strain", low=0, high=0.2)
        number_between(self.stiffening, name="stiffening", low=0, high=100)
        if not isinstance(self.polygon, shapely.Polygon | shapely.MultiPolygon) or not self.polygon.is_valid:
            raise ParameterError("polygon", "a shape that cannot be used", "a valid Polygon or MultiPolygon, mm")


class Sheet:
    """A rectangular sheet clamped at its frame.

    Args:
        frame: Left, bottom, right and top of the frame, mm.
        step: Side of a cell, mm; larger where the frame would take more than `MOST_CELLS` of them.
        poisson: How much the sheet narrows across when it is drawn out along, as a share, 0 to 0.49.

    Raises:
        ParameterError: If the frame encloses nothing or a number is out of range.
    """

    def __init__(
        self, frame: tuple[float, float, float, float], *, step: float = STEP_MM, poisson: float = POISSON
    ) -> None:
        left, bottom, right, top = (float(side) for side in frame)
        width, height = right - left, top - bottom
        if not (math.isfinite(width) and math.isfinite(height) and width > 0 and height > 0):
            raise ParameterError("frame", frame, "left, bottom, right and top in mm, enclosing an area")
        number_between(step, name="step", low=0.05, high=100)
        number_between(poisson, name="poisson", low=0, high=0.49)
        step = max(step, math.sqrt(width * height / MOST_CELLS))
        self.frame = (left, bottom, right, top)
        self.across, self.up = (max(4, math.ceil(side / step - 1e-9)) for side in (width, height))
        self.cell = np.array([width / self.across, height / self.up])
        self._elastic = np.array([[1, poisson, 0], [poisson, 1, 0], [0, 0, (1 - poisson) / 2]]) / (1 - poisson**2)
        self._bends = [_strain_of_corners(x, y, self.cell) for x in (-_GAUSS, _GAUSS) for y in (-_GAUSS, _GAUSS)]
        column, row = np.meshgrid(np.arange(self.across), np.arange(self.up))
        first = (row * (self.across + 1) + column).ravel()
        corners = np.stack([first, first + 1, first + self.across + 2, first + self.across + 1], axis=1)
        self._unknowns = np.stack([2 * corners, 2 * corners + 1], axis=2).reshape(-1, 8)
        x, y = np.meshgrid(np.arange(self.across + 1), np.arange(self.up + 1))
        clamped = ((x == 0) | (x == self.across) | (y == 0) | (y == self.up)).ravel()
        self._free = np.flatnonzero(~np.repeat(clamped, 2))
        self._size = 2 * (self.across + 1) * (self.up + 1)
        self._weight = float(self.cell.prod()) / 4
        self._bare: Any = None

    def shares(self, polygon: shapely.Polygon | shapely.MultiPolygon) -> FloatArray:
        """Which share of each cell a shape covers, (cells,), row by row from the lower left, exact."""
        left, bottom, right, top = polygon.bounds
        low = np.floor((np.array([left, bottom]) - self.frame[:2]) / self.cell).astype(int)
        high = np.ceil((np.array([right, top]) - self.frame[:2]) / self.cell).astype(int)
        low, high = np.clip(low, 0, [self.across, self.up]), np.clip(high, 0, [self.across, self.up])
        column, row = (grid.ravel() for grid in np.meshgrid(np.arange(low[0], high[0]), np.arange(low[1], high[1])))
        x, y = self.frame[0] + column * self.cell[0], self.frame[1] + row * self.cell[1]
        cells = shapely.box(x, y, x + self.cell[0], y + self.cell[1])
        shapely.prepare(polygon)
        share = shapely.contains_properly(polygon, cells).astype(np.float64)
        edge = (share == 0) & shapely.intersects(polygon, cells)
        share[edge] = shapely.area(shapely.intersection(cells[edge], polygon)) / float(self.cell.prod())
        covered = np.zeros(self.across * self.up)
        covered[row * self.across + column] = share
        return covered

    def displacement(self, patches: Sequence[Patch]) -> FloatArray:
        """How far each node moves when the patches shrink: (rows + 1, columns + 1, 2), mm.

        Where patches overlap, their strains and their stiffening add up.

        Raises:
            ParameterError: If a patch reaches past the frame.
        """
        frame = shapely.box(*self.frame)
        strain, stiff = np.zeros((self.across * self.up, 3)), np.ones(self.across * self.up)
        for patch in patches:
            if not frame.covers(patch.polygon):
                raise ParameterError("frame", self.frame, "large enough to hold every patch")
            share = self.shares(patch.polygon)
            along = math.radians(patch.angle_deg)
            cos, sin = math.cos(along), math.sin(along)
            strain -= patch.strain * share[:, None] * np.array([cos * cos, sin * sin, 2 * cos * sin])
            stiff += patch.stiffening * share
        pulls = (strain * stiff[:, None]) @ self._elastic @ sum(self._bends) * self._weight
        force = np.bincount(self._unknowns.ravel(), weights=pulls.ravel(), minlength=self._size)
        moved = np.zeros(self._size)
        moved[self._free] = self._factors(stiff).solve(force[self._free])
        return moved.reshape(self.up + 1, self.across + 1, 2)

    def _factors(self, stiff: FloatArray) -> Any:
        """Factors of the stiffness matrix; those of the bare sheet are kept, since most patches do not stiffen it."""
        # the solver is loaded with the first sheet: planning without one needs none
        from scipy.sparse import csc_matrix
        from scipy.sparse.linalg import splu

        bare = bool((stiff == 1).all())
        if bare and self._bare is not None:
            return self._bare
        one: Any = sum(bend.T @ self._elastic @ bend for bend in self._bends) * self._weight
        rows, columns = np.repeat(self._unknowns, 8, axis=1).ravel(), np.tile(self._unknowns, (1, 8)).ravel()
        matrix = csc_matrix(((stiff[:, None, None] * one).ravel(), (rows, columns)), (self._size, self._size))
        inner = matrix[self._free][:, self._free]
        # the matrix is symmetric and positive: this order keeps its factors sparse
        factors = splu(inner, permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True}, diag_pivot_thresh=0.0)
        if bare:
            self._bare = factors
        return factors

    def at(self, moved: FloatArray, points: ArrayLike) -> FloatArray:
        """How far points within the frame move, (n, 2) mm, between the nodes of `displacement`."""
        place = (np.asarray(points, dtype=np.float64).reshape(-1, 2) - self.frame[:2]) / self.cell
        cell: IntArray = np.clip(np.floor(place).astype(np.int64), 0, [self.across - 1, self.up - 1])
        share = place - cell
        (x, y), (across, up) = cell.T, (share[:, :1], share[:, 1:])
        low = moved[y, x] * (1 - across) + moved[y, x + 1] * across
        high = moved[y + 1, x] * (1 - across) + moved[y + 1, x + 1] * across
        return low * (1 - up) + high * up


def precompensated(patches: Sequence[Patch], sheet: Sheet, *, passes: int = PASSES) -> list[shapely.MultiPolygon]:
    """Change the outlines of patches so that, once all of them have shrunk, they lie where they were wanted.

    Each pass moves every point of an outline back from where it is wanted by what the model says the last outline
    would move.

    Args:
        patches: The outlines as wanted, all on one sheet.
        sheet: The sheet.
        passes: How many corrections.

    Returns:
        An outline to draw for each patch, with points no further apart than a cell of the sheet.

    Raises:
        ParameterError: If a patch reaches past the frame, as wanted or as drawn.

    Example:
        >>> square = shapely.box(-10, -10, 10, 10)
        >>> drawn = precompensated([Patch(square, 0, 0.03)], Sheet((-40, -40, 40, 40)))[0]
        >>> round(drawn.bounds[2] - 10, 2), round(drawn.bounds[3] - 10, 2)
        (0.19, 0.02)
    """
    number_between(passes, name="passes", low=1, high=20)
    fine = float(sheet.cell.min())
    wanted = [shapely.segmentize(_parts(patch.polygon), fine) for patch in patches]
    drawn = wanted
    for _ in range(passes):
        moved = sheet.displacement(_redrawn(patches, drawn))
        drawn = [
            shapely.set_coordinates(want, _points(want) - sheet.at(moved, _points(draw)))
            for want, draw in zip(wanted, drawn, strict=True)
        ]
    return [patch.polygon for patch in _redrawn(patches, drawn)]  # type: ignore[misc]


def outline_error(patches: Sequence[Patch], drawn: Sequence[shapely.MultiPolygon], sheet: Sheet) -> float:
    """How far outlines that were drawn would miss the outlines wanted, at worst, mm, as the model has it.

    Args:
        patches: The outlines as wanted.
        drawn: What is drawn for each.
        sheet: The sheet.
    """
    moved = sheet.displacement(_redrawn(patches, drawn))
    worst = 0.0
    for patch, shape in zip(patches, drawn, strict=True):
        come_out = shapely.points(_points(shape) + sheet.at(moved, _points(shape)))
        worst = max(worst, float(shapely.distance(patch.polygon.boundary, come_out).max()))
    return worst


def _redrawn(patches: Sequence[Patch], drawn: Sequence[Any]) -> list[Patch]:
    # a gap much finer than a cell may close when its two sides move: the model's own precision ends there
    shapes = [
        shape if shape.is_valid else _parts(shapely.make_valid(shape, method="structure", keep_collapsed=False))
        for shape in drawn
    ]
    return [
        Patch(shape, patch.angle_deg, patch.strain, patch.stiffening)
        for patch, shape in zip(patches, shapes, strict=True)
    ]


def _parts(shape: Any) -> shapely.MultiPolygon:
    return shapely.MultiPolygon([part for part in shapely.get_parts(shape) if isinstance(part, shapely.Polygon)])


def _points(shape: Any) -> FloatArray:
    return shapely.get_coordinates(shape)


def _strain_of_corners(x: float, y: float, cell: FloatArray) -> FloatArray:
    """The strains (along x, along y, shear) at a place of a cell, x and y from -1 to 1, for its corners' moves."""
    by_x = np.array([-(1 - y), 1 - y, 1 + y, -(1 + y)]) / (2 * cell[0])
    by_y = np.array([-(1 - x), -(1 + x), 1 + x, 1 - x]) / (2 * cell[1])
    strains = np.zeros((3, 8))
    strains[0, 0::2] = strains[2, 1::2] = by_x
    strains[1, 1::2] = strains[2, 0::2] = by_y
    return strains
