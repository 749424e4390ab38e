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
        places: For each piece its field, the lower left corner of its shape (mm from the field's own) and whether it
            is turned by a quarter; empty if none was found.
        bound: So many fields at least.
    """

    places: tuple[tuple[int, float, float, bool], ...]
    bound: int


def solver_is_there() -> bool:
    """Whether the solver can be imported."""
    return find_spec("ortools") is not None


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A piece as the solver sees it.

    Attributes:
        width: mm.
        height: mm.
        over_x: By how much it may reach over the left and the right edge of the field, mm.
        over_y: The same for the lower and the upper edge.
        may_turn: Whether it may be turned by a quarter.
        spare: Added to width and height, mm, where its edges do not lie on whole 0.1 mm: it can be shifted by
            those only.
    """

    width: float
    height: float
    over_x: float
    over_y: float
    may_turn: bool
    spare: float = 0.0


def rectangle(piece: Piece) -> Rectangle | None:
    """See a piece as an upright rectangle, or None if it is none or reaches over the field on one side only."""
    left, bottom, right, top = piece.shape.bounds
    whole = (right - left) * (top - bottom)
    low, high = piece.hull.min(axis=0), piece.hull.max(axis=0)
    over = (float(low[0] - left), float(low[1] - bottom))
    alike = abs(over[0] - (right - high[0])) < MACHINE_UNIT_MM and abs(over[1] - (top - high[1])) < MACHINE_UNIT_MM
    if not alike or min(over) < -1e-6 or abs(piece.shape.area - whole) > 1e-6 * whole:
        return None
    may_turn = any(abs((turn % 180) - 90) < 1e-9 for turn in piece.turns)
    # what differs by a hair from side to side is counted at its least, so that nothing lies over the edge
    sides = (min(over[0], right - float(high[0])), min(over[1], top - float(high[1])))
    on_units = all(abs(side * 10 - round(side * 10)) < 1e-6 for side in piece.shape.bounds)
    return Rectangle(
        right - left, top - bottom, max(0.0, sides[0]), max(0.0, sides[1]), may_turn,
        0.0 if on_units else MACHINE_UNIT_MM,
    )  # fmt: skip


def square_answer(
    rectangles: Sequence[Rectangle],
    room: tuple[float, float],
    *,
    clearance: float,
    most: int,
    least: int,
) -> SquareAnswer:
    """Lay rectangles square to as few fields as there are ways to.

    Args:
        rectangles: The pieces.
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
    most_over = _up(max(max(one.over_x, one.over_y) for one in rectangles))
    field_width, field_height = _down(room[0]), _down(room[1])
    # so far apart that what reaches over one field never meets what reaches over the next
    apart = field_width + gap + 2 * most_over
    x_intervals, y_intervals, variables = [], [], []
    for number, one in enumerate(rectangles):
        w, h = _up(one.width + one.spare), _up(one.height + one.spare)
        over = (_down(one.over_x), _down(one.over_y))
        turn = model.new_bool_var(f"turn{number}")
        if not one.may_turn or (w == h and over[0] == over[1]):
            model.add(turn == 0)
        across, up = (model.new_int_var(min(w, h), max(w, h), f"{name}{number}") for name in ("w", "h"))
        model.add(across == w + (h - w) * turn)
        model.add(up == h + (w - h) * turn)
        place = model.new_int_var(0, min(number, most - 1), f"field{number}")
        x = model.new_int_var(-most_over, field_width + most_over, f"x{number}")
        y = model.new_int_var(-most_over, field_height + most_over, f"y{number}")
        over_x, over_y = over[0] + (over[1] - over[0]) * turn, over[1] + (over[0] - over[1]) * turn
        model.add(x >= -over_x)
        model.add(y >= -over_y)
        model.add(x + across <= field_width + over_x)
        model.add(y + up <= field_height + over_y)
        # the fields lie side by side, so that two pieces in different ones never overlap
        start = model.new_int_var(-most_over, most * apart, f"from{number}")
        model.add(start == x + apart * place)
        end, top = (
            model.new_int_var(-apart, (most + 1) * apart + field_height, f"{name}{number}") for name in ("to", "top")
        )
        wide, high = (model.new_int_var(min(w, h) + gap, max(w, h) + gap, f"{name}{number}") for name in ("gw", "gh"))
        model.add(wide == across + gap)
        model.add(high == up + gap)
        x_intervals.append(model.new_interval_var(start, wide, end, f"ix{number}"))
        y_intervals.append(model.new_interval_var(y, high, top, f"iy{number}"))
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
