"""Packings against published optima, and against a solver."""

import math

import numpy as np
import pytest
import shapely

from stitchcraft.machine import Hoop
from stitchcraft.machine.packing import ANY_TURN, QUARTER_TURNS, Piece, pack
from stitchcraft.machine.packing.pairs import core_of, never_together
from stitchcraft.machine.packing.solver import Rectangle, square_answer

MORON = (18, 15, 14, 10, 9, 8, 7, 4, 1)
"""Z. Moron, 1925: nine squares, no two alike, that fill a rectangle of 33 x 32 (from memory; the areas add up)."""


def test_nine_squares_of_moron_fill_one_field():
    pytest.importorskip("ortools")
    assert sum(side * side for side in MORON) == 33 * 32
    squares = [Piece(shapely.box(0, 0, 5 * side, 5 * side)) for side in MORON]
    packing = pack(squares, [Hoop(165, 160)], clearance=0, effort=0.01)
    assert (len(packing.fields), packing.proven) == (1, True)
    assert sum(squares[one.piece].shape.area for one in packing.fields[0].laid) == pytest.approx(165 * 160)


def test_nine_squares_of_moron_need_two_fields_that_are_a_hair_lower():
    pytest.importorskip("ortools")
    squares = [Piece(shapely.box(0, 0, 5 * side, 5 * side)) for side in MORON]
    packing = pack(squares, [Hoop(165, 159.9)], clearance=0, effort=0.01)
    assert (len(packing.fields), packing.bound, packing.proven) == (2, 2, True)


def test_two_discs_share_a_square_exactly_up_to_the_published_radius():
    # two equal circles in a unit square: r = 1 / (2 + sqrt 2), in every table of circles packed in a square
    radius = 100 / (2 + math.sqrt(2))
    for scale, apart in ((0.995, False), (1.005, True)):
        disc = core_of(Piece(shapely.Point(0, 0).buffer(scale * radius, quad_segs=24)), inset=3.0)
        assert never_together(disc, disc, (0.0,), (100.0, 100.0), 6.0) == apart
    for scale, apart in ((0.97, False), (1.15, True)):
        disc = core_of(Piece(shapely.Point(0, 0).buffer(scale * radius, quad_segs=6)), inset=3.0)
        assert never_together(disc, disc, None, (100.0, 100.0), 6.0, most_cells=60_000) == apart


def test_clearance_counts_like_discs_that_much_larger():
    radius = 100 / (2 + math.sqrt(2))
    # centres 2 r' + c apart, walls r' away: (100 - 2 r') sqrt 2 = 2 r' + c
    smaller = (100 * math.sqrt(2) - 8) / (2 + 2 * math.sqrt(2))
    assert smaller < radius
    for scale, apart in ((0.995, False), (1.005, True)):
        disc = core_of(Piece(shapely.Point(0, 0).buffer(scale * smaller, quad_segs=24)), inset=3.0)
        assert never_together(disc, disc, (0.0,), (100.0, 100.0), 14.0) == apart


def test_two_squares_share_a_square_of_twice_their_side_and_no_smaller_one():
    # F. Gobel 1979, as in E. Friedman's survey "Packing unit squares in squares": s(2) = 2 at any angles
    square = core_of(Piece(shapely.box(0, 0, 50, 50)), inset=3.0)
    assert never_together(square, square, (0.0, 90.0), (97.0, 97.0), 6.0)
    assert never_together(square, square, None, (80.0, 80.0), 6.0, most_cells=60_000)
    assert not never_together(square, square, None, (100.0, 100.0), 6.0)


def test_four_discs_share_a_field_up_to_a_quarter_of_its_side():
    for radius, count in ((0.245 * 200, 1), (0.251 * 200, 2)):
        discs = [Piece(shapely.Point(0, 0).buffer(radius, quad_segs=16))] * 4
        assert len(pack(discs, [Hoop(200, 200)], clearance=0, effort=0.02).fields) == count


@pytest.mark.parametrize("seed", range(5))
def test_rectangles_take_no_more_than_one_field_over_the_solver(seed):
    pytest.importorskip("ortools")
    random = np.random.default_rng(seed)
    sizes = [(round(float(w), 1), round(float(h), 1)) for w, h in random.uniform(30, 95, (7, 2))]
    pieces = [Piece(shapely.box(0, 0, *size), turns=QUARTER_TURNS) for size in sizes]
    rectangles = [Rectangle(*size, 0.0, 0.0, True) for size in sizes]
    answer = square_answer(rectangles, (130.0, 180.0), clearance=5.0, most=7, least=1)
    optimum = 1 + max(place for place, *_ in answer.places)
    assert answer.bound == optimum
    ours = pack(pieces, [Hoop(130, 180)], clearance=5.0, effort=0.05, solver=False)
    # any angle may do better than square to the field, so the bound may lie below
    assert ours.bound <= optimum <= len(ours.fields) <= optimum + 1
    with_solver = pack(pieces, [Hoop(130, 180)], clearance=5.0, effort=0.02)
    assert len(with_solver.fields) <= optimum
    assert with_solver.square_bound == optimum


def test_bound_holds_where_slanting_beats_laying_square():
    # a strap longer than the field's sides fits along its diagonal only
    strap = Piece(shapely.box(0, 0, 200, 10), turns=ANY_TURN)
    packing = pack([strap], [Hoop(150, 150)], clearance=5)
    assert (len(packing.fields), packing.bound) == (1, 1)


def test_solver_lets_cut_edges_reach_over_the_field_but_not_stitches():
    pytest.importorskip("ortools")
    # labels of 60 x 40 mm cut, stitched 10 mm inside: 7 mm apart, two columns of 60 fit between 107 - 20
    label = Piece(shapely.box(0, 0, 60, 40), reach=np.array([[10, 10], [50, 10], [50, 30], [10, 30]]), turns=(0.0,))
    packing = pack([label] * 6, [Hoop(107, 114)], clearance=7, effort=0.001)
    assert (len(packing.fields), packing.fields[0].gap_mm) == (1, pytest.approx(7.0))
    tighter = pack([label] * 6, [Hoop(106.9, 114)], clearance=7, effort=0.001)
    assert (len(tighter.fields), tighter.square_bound) == (2, 2)
