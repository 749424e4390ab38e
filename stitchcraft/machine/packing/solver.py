"""The exact answer for rectangles laid square to one field, by a solver where it is installed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from typing import Final

from stitchcraft.machine.packing.pieces import Piece
from stitchcraft.units import MACHINE_UNIT_MM

_EFFORT: Final = 6.0
"""How long the solver looks, in its own measure of work, which does not depend on the machine."""


@dataclass(frozen=True, slots=True)
class SquareAnswer:
    """What the solver found.

    Attributes:
        places: For each piece its field, lower left corner (mm from the field's own) and whether it is turned by a
            quarter; empty if none was found.
        bound: So many fields at least.
    """

    places: tuple[tuple[int, float, float, bool], ...]
    bound: int


def solver_is_there() -> bool:
    """Whether the solver can be imported."""
    return find_spec("ortools") is not None


def rectangle(piece: Piece) -> tuple[float, float] | None:
    """Width and height of a piece that is an upright rectangle and must lie in the field as a whole; None if not."""
    left, bottom, right, top = piece.shape.bounds
    whole = (right - left) * (top - bottom)
    low, high = piece.hull.min(axis=0), piece.hull.max(axis=0)
    reaches = abs(low - (left, bottom)).max() < 1e-6 and abs(high - (right, top)).max() < 1e-6
    return (right - left, top - bottom) if reaches and abs(piece.shape.area - whole) < 1e-6 * whole else None


def square_answer(
    sizes: Sequence[tuple[float, float]],
    turnable: Sequence[bool],
    room: tuple[float, float],
    *,
    clearance: float,
    most: int,
    least: int,
) -> SquareAnswer:
    """Lay rectangles square to as few fields as there are ways to.

    Args:
        sizes: Width and height of each, mm.
        turnable: Whether each may be turned by a quarter.
        room: Width and height of a field, mm.
        clearance: Kept between two, mm.
        most: So many fields are known to do.
        least: So many are known to be needed.

    Returns:
        Places for fewer than *most* fields where there are any, and what is proven.
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    gap = _up(clearance)
    wide, high = _down(room[0]) + gap, _down(room[1]) + gap
    x_intervals, y_intervals, variables = [], [], []
    for number, (size, may_turn) in enumerate(zip(sizes, turnable, strict=True)):
        w, h = (_up(side) + gap for side in size)
        turn = model.new_bool_var(f"turn{number}")
        if not may_turn or w == h:
            model.add(turn == 0)
        across, up = (model.new_int_var(min(w, h), max(w, h), f"{name}{number}") for name in ("w", "h"))
        model.add(across == w + (h - w) * turn)
        model.add(up == h + (w - h) * turn)
        place = model.new_int_var(0, min(number, most - 1), f"field{number}")
        x, y = model.new_int_var(0, wide, f"x{number}"), model.new_int_var(0, high, f"y{number}")
        model.add(x + across <= wide)
        model.add(y + up <= high)
        # the fields lie side by side, so that two pieces in different ones never overlap
        start, end = (model.new_int_var(0, most * wide, f"{name}{number}") for name in ("from", "to"))
        model.add(start == x + wide * place)
        x_intervals.append(model.new_interval_var(start, across, end, f"ix{number}"))
        y_intervals.append(model.new_interval_var(y, up, model.new_int_var(0, high, f"top{number}"), f"iy{number}"))
        variables.append((place, x, y, turn))
    model.add_no_overlap_2d(x_intervals, y_intervals)
    last = model.new_int_var(least - 1, most - 1, "last")
    model.add_max_equality(last, [place for place, *_ in variables])
    model.minimize(last)
    solver = cp_model.CpSolver()
    # one worker and its own clock: the same answer on every machine
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    solver.parameters.max_deterministic_time = _EFFORT
    status = solver.solve(model)
    bound = max(least, math.ceil(solver.best_objective_bound - 1e-6) + 1)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return SquareAnswer((), most if status == cp_model.INFEASIBLE else min(bound, most))
    places = tuple(
        (solver.value(place), solver.value(x) * MACHINE_UNIT_MM, solver.value(y) * MACHINE_UNIT_MM,
         bool(solver.value(turn)))
        for place, x, y, turn in variables
    )  # fmt: skip
    return SquareAnswer(places, bound)


def _up(mm: float) -> int:
    return math.ceil(mm / MACHINE_UNIT_MM - 1e-6)


def _down(mm: float) -> int:
    return math.floor(mm / MACHINE_UNIT_MM + 1e-6)
