"""Squares of sides 1, 2, ... n in one field, against the published least sides, and against areas."""

from __future__ import annotations

import math

import pytest
import shapely

from stitchcraft.machine import Hoop
from stitchcraft.machine.packing import Piece, pack

LEAST_SIDE = {1: 1, 2: 3, 3: 5, 4: 7, 5: 9, 6: 11}
"""Side of the smallest square that holds squares of 1 to n, none turned: OEIS A005842 (from memory)."""

DUIJVESTIJN = (50, 35, 27, 8, 19, 15, 17, 11, 6, 24, 29, 25, 9, 2, 7, 18, 16, 42, 4, 37, 33)
"""A. J. W. Duijvestijn 1978: the 21 different squares that fill a square of 112 (from memory; the areas add up)."""


def squares(count: int, scale: float) -> list[Piece]:
    return [Piece(shapely.box(0, 0, scale * side, scale * side)) for side in range(1, count + 1)]


@pytest.mark.parametrize("count", [3, 4, 5, 6])
def test_consecutive_squares_fit_the_published_square(count: int) -> None:
    side = 10.0 * LEAST_SIDE[count]
    packing = pack(squares(count, 10.0), [Hoop(side, side)], clearance=0, effort=0.05)
    assert (len(packing.fields), packing.bound) == (1, 1)


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6])
def test_a_square_that_is_a_hair_smaller_is_proven_not_to_hold_them(count: int) -> None:
    pytest.importorskip("ortools")
    side = 10.0 * LEAST_SIDE[count] - 0.2
    packing = pack(squares(count, 10.0), [Hoop(side, side)], clearance=0, effort=0.05)
    assert (len(packing.fields), packing.square_bound) == (2, 2)


def test_a_field_is_never_said_to_need_more_than_a_perfect_square_that_is_known() -> None:
    # the bound from below must not be above the truth, which is one field
    assert sum(side**2 for side in DUIJVESTIJN) == 112**2
    pieces = [Piece(shapely.box(0, 0, 2.0 * side, 2.0 * side)) for side in DUIJVESTIJN]
    packing = pack(pieces, [Hoop(224, 224)], clearance=0, effort=0.01, solver=False)
    assert packing.bound == 1 <= len(packing.fields) <= 2
    # each is laid once, and no field holds more than its own area
    laid = [one.piece for field in packing.fields for one in field.laid]
    assert sorted(laid) == list(range(21))
    for field in packing.fields:
        shapes = [pieces[one.piece].laid(one.placement) for one in field.laid]
        assert shapely.union_all(shapes).area == pytest.approx(sum(shape.area for shape in shapes), rel=1e-6)


@pytest.mark.parametrize(
    ("count", "radius"),
    [
        # the largest equal circles in a unit square, proven for so few: E. Specht, "The best known packings of equal
        # circles in a square" (formulas from memory)
        (3, (8 - 5 * math.sqrt(2) + 4 * math.sqrt(3) - 3 * math.sqrt(6)) / 2),
        (5, (math.sqrt(2) - 1) / 2),
        (9, 1 / 6),
    ],
)
def test_discs_never_share_a_field_beyond_the_published_radius(count: int, radius: float) -> None:
    assert count * math.pi * radius**2 < 1
    larger = [Piece(shapely.Point(0, 0).buffer(150 * 1.01 * radius, quad_segs=16))] * count
    assert len(pack(larger, [Hoop(150, 150)], clearance=0, effort=0.01).fields) == 2
    smaller = [Piece(shapely.Point(0, 0).buffer(150 * 0.9 * radius, quad_segs=16))] * count
    assert len(pack(smaller, [Hoop(150, 150)], clearance=0, effort=0.05).fields) == 1
