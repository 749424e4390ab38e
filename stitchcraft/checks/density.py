"""How closely a plan's needle holes and its thread lie: as maps, and as findings with place and cause."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PLANNING, STANDARD_WEIGHT, FabricProfile, density_limit, thread_width
from stitchcraft.design import Purpose, StitchPlan
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.geometry.fullest import fullest_square
from stitchcraft.geometry.nearness import crowded_tiles
from stitchcraft.geometry.thread_cover import Grid, averaged, line_cover
from stitchcraft.machine import Placement, stitch_lengths
from stitchcraft.units import MACHINE_UNIT_MM, length_between, to_units
from stitchcraft.wording import listed

LAYERS_WINDOW_MM: Final = 5.0
_LEAST_SHARE: Final = 0.2  # a stop with less than this of what lies at a place is not named as its cause
_TILE_REACHES: Final = 8  # of thread: tiles of a quarter of a metre at most, however far a file is strewn


@dataclass(frozen=True, slots=True, eq=False)
class DensityMap:
    """Maps of one plan: a row of cells from left to right, the lowest row first.

    Each value is the mean over a square window about the middle of its cell; where the window reaches past the
    stitching, what lies there counts as bare.

    Attributes:
        penetrations: (rows, columns) needle penetrations to the mm2; each counts 1 whatever the thread.
        load: (rows, columns) the same, each counted by the cross-section of its thread: 1 for 40-weight.
        cover: (rows, columns) share of the cloth that lies under thread, 0 to 1.
        layers: (rows, columns) how many threads lie on one another: their area over the cloth's.
        extent_mm: Left, bottom, right, top of the map, mm.
        cell_mm: Side of a cell.
        window_mm: Side of the window.
    """

    penetrations: FloatArray
    load: FloatArray
    cover: FloatArray
    layers: FloatArray
    extent_mm: tuple[float, float, float, float]
    cell_mm: float
    window_mm: float

    def at(self, x: float, y: float) -> tuple[int, int] | None:
        """Row and column of the cell that holds a place, mm; None if it lies outside the map."""
        left, bottom, _, _ = self.extent_mm
        row, column = int(np.floor((y - bottom) / self.cell_mm)), int(np.floor((x - left) / self.cell_mm))
        rows, columns = self.cover.shape
        return (row, column) if 0 <= row < rows and 0 <= column < columns else None

    def __repr__(self) -> str:
        rows, columns = self.cover.shape
        return (
            f"<DensityMap {rows} x {columns} cells of {self.cell_mm:g} mm: at most {self.penetrations.max():.1f} "
            f"penetrations to the mm2, {self.layers.max():.1f} layers of thread>"
        )


def density_map(
    plan: StitchPlan, *, cell: float = 0.2, window: float = 1.0, placement: Placement | None = None
) -> DensityMap:
    """Map how closely a plan's needle holes and its thread lie.

    The cells lie symmetrically about the middle of the stitching, and a penetration on the edge between two counts
    half in each, so that a plan that is moved, turned by a quarter or mirrored has the moved, turned, mirrored map.
    Thread is taken as wide as it covers (`stitchcraft.defaults.thread_width`), laid straight.

    Args:
        plan: What is sewn: underlay, travel and locks count as all else.
        cell: Side of a cell, mm, from 0.05 to 10.
        window: Side of the square over which each value is the mean, mm: an odd number of cells.
        placement: How the plan lies in the field; None maps it in its own frame.

    Raises:
        ParameterError: If the plan has no stitch, *window* is no odd number of cells, or the map would be too large.
    """
    side = length_between(cell, name="cell", low=0.05, high=10)
    size = round(length_between(window, name="window", low=side, high=100) / side)
    if size % 2 == 0 or abs(size * side - window) > 1e-6:
        raise ParameterError("window", window, f"an odd number of cells of {side:g} mm")
    if not plan.stitches:
        raise ParameterError("plan", plan, "a plan with at least one stitch")
    points = plan.needle_points if placement is None else placement.placed(plan.needle_points)
    lengths = stitch_lengths(plan)
    weights = np.array([stop.thread.weight for stop in plan.stops])[lengths.stop]
    grid = Grid.around(points, cell=side, margin=window / 2 + thread_width(float(weights.min())))
    ends = np.flatnonzero(lengths.sewn)
    width = np.array([thread_width(float(stop.thread.weight)) for stop in plan.stops])[lengths.stop[ends]]
    cover, layers = line_cover(points[ends - 1], points[ends], width, grid)
    return DensityMap(
        penetrations=averaged(grid.counts(points, np.ones(len(points))), size) / side**2,
        load=averaged(grid.counts(points, STANDARD_WEIGHT / weights), size) / side**2,
        cover=np.minimum(averaged(cover, size), 1.0),
        layers=averaged(layers, size),
        extent_mm=(
            grid.left, grid.bottom, grid.left + grid.columns * side, grid.bottom + grid.rows * side,
        ),
        cell_mm=side,
        window_mm=float(window),
    )  # fmt: skip


def density_findings(
    plan: StitchPlan, name: str, *, fabric: str | FabricProfile | None, placement: Placement | None
) -> Iterator[Finding]:
    """Where holes lie too close for the cloth, and where thread lies on thread too often.

    Args:
        plan: What is sewn.
        name: What the findings call it.
        fabric: What it is sewn on; None takes a woven one.
        placement: How the plan lies in the field; None tells places in the plan's own frame.
    """
    points, stop = plan.needle_points, plan.stop[plan.is_stitch]
    if len(points) < 2:
        return
    placed = points if placement is None else placement.placed(points)
    share = np.array([STANDARD_WEIGHT / one.thread.weight for one in plan.stops])[stop]
    limit = density_limit(fabric)
    # in whole units, as the machine has them, so that no square is missed between two steps of a grid
    units = np.asarray(to_units(placed), dtype=np.float64)
    side = round(1 / MACHINE_UNIT_MM)
    low, most = fullest_square(units, share, side=side, limit=limit)
    if most > 0:
        inside = ((units >= low) & (units < low + side)).all(axis=1)
        at = (low + (side - 1) / 2) * MACHINE_UNIT_MM
        yield _too_close(plan, name, at, _causes(stop[inside], share[inside]), int(inside.sum()), float(most), limit)
    yield from _too_thick(plan, name, placed)


def _causes(stop: NDArray[np.int32], weight: FloatArray) -> tuple[int, ...]:
    """The stops, from 1, that most of it is of, the worst first; of equals the earlier."""
    sums = np.bincount(stop, weights=weight)
    order = sorted(np.flatnonzero(sums), key=lambda k: (-sums[k], k))
    return tuple(int(k) + 1 for k in order if k == order[0] or sums[k] >= _LEAST_SHARE * sums.sum())


def thinned(plan: StitchPlan, causes: tuple[int, ...], remedy: str) -> str:
    """What makes the stitching of stops, from 1, looser: letters are as they are drawn, and can only be others."""
    if not causes or any(plan.stops[k - 1].purpose is not Purpose.LETTER for k in causes):
        return remedy
    return (
        "Take a face of single lines, such as plain (label.face), in running stitch (label.stitch), or set the letters "
        "larger (label.height): they cannot be thinned in place."
    )


def _named(plan: StitchPlan, stops: tuple[int, ...]) -> str:
    """Stops by number and purpose, as in "stop 2 (decorate) and stop 3 (cover)"."""
    return listed([f"stop {k} ({plan.stops[k - 1].purpose})" for k in stops])


def _too_close(
    plan: StitchPlan, name: str, at: FloatArray, causes: tuple[int, ...], count: int, most: float, limit: float
) -> Finding:
    weight = plan.stops[causes[0] - 1].thread.weight
    thread = "" if weight == STANDARD_WEIGHT else f", as much as {most:.0f} of {STANDARD_WEIGHT:.0f}-weight thread"
    x, y = (round(float(value), 2) + 0.0 for value in at)
    return Finding(
        Level.WARNING, "density", name,
        f"{count} penetrations in one square millimetre near ({x:z.0f}, {y:z.0f}) mm{thread}, "
        f"most of them in {_named(plan, causes)}.",
        thinned(
            plan, causes,
            f"Thin the stitching of {'that stop' if len(causes) == 1 else 'those stops'} there, or the needle will cut "
            "the cloth.",
        ),
        round(most, 1), limit, (x, y), causes,
    )  # fmt: skip


def _too_thick(plan: StitchPlan, name: str, placed: FloatArray) -> Iterator[Finding]:
    """Thread that lies on thread more often than a part can bend with."""
    limit = PLANNING["layers_most"].value
    lengths = stitch_lengths(plan)
    # what is longer a machine does not sew, and a damaged file may hold by the metre
    ends = np.flatnonzero(lengths.sewn & (lengths.length <= 2 * PLANNING["longest_move"].value))
    stop = lengths.stop[ends]
    width = np.array([thread_width(one.thread.weight) for one in plan.stops])[stop]
    middle = (placed[ends - 1] + placed[ends]) / 2
    area = lengths.length[ends] * width
    reach = float(lengths.length[ends].max(initial=0.0)) + LAYERS_WINDOW_MM
    cell, size = LAYERS_WINDOW_MM / 11, 11
    best: tuple[float, tuple[float, float]] = (0.0, (0.0, 0.0))
    if not len(ends):
        return
    # what a square holds is at most what the stitches hold whose middles lie within reach of it
    for inside in crowded_tiles(middle, area, limit * LAYERS_WINDOW_MM**2, side=reach, sides=_TILE_REACHES):
        one, other = placed[ends[inside] - 1], placed[ends[inside]]
        grid = Grid.around(np.vstack([one, other]), cell=cell, margin=LAYERS_WINDOW_MM / 2)
        layers = averaged(line_cover(one, other, width[inside], grid)[1], size)
        row, column = np.unravel_index(layers.argmax(), layers.shape)
        at = (grid.left + (column + 0.5) * cell, grid.bottom + (row + 0.5) * cell)
        best = max(best, (float(layers.max()), at))
    most, (x, y) = best
    if most <= limit:
        return
    near = (np.abs(middle - (x, y)) <= LAYERS_WINDOW_MM / 2).all(axis=1)
    causes = _causes(stop[near], area[near]) if near.any() else ()
    whose = f", most of it in {_named(plan, causes)}" if causes else ""
    yield Finding(
        Level.WARNING, "thread-thick", name,
        f"{most:.1f} layers of thread lie on one another near ({x:z.0f}, {y:z.0f}) mm{whose}.",
        thinned(plan, causes, "Space its lines wider there, or sew one of the layers less."),
        round(most, 1), limit, (round(x, 1) + 0.0, round(y, 1) + 0.0), causes,
    )  # fmt: skip
