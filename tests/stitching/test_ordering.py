"""Parts of a stop in order, layer by layer, and the way of each: against trying all ways."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stitchcraft.design import Role
from stitchcraft.stitching.elements_to_pieces import Part
from stitchcraft.stitching.ordering import MOST_WAYS, best_ways, in_order
from stitchcraft.stitching.pieces import Piece, piece_of, run_of

POINT = st.tuples(st.integers(-20, 20), st.integers(-20, 20))


def travel(ways, entries, exits, start, end):
    at, total = start, 0.0
    for way, ins, outs in zip(ways, entries, exits, strict=True):
        total += 0.0 if at is None else math.dist(at, ins[way])
        at = outs[way]
    return total if end is None else total + math.dist(at, end)


@settings(max_examples=40)
@given(st.data())
def test_ways_are_the_best_of_all_in_a_given_order(data):
    counts = data.draw(st.lists(st.integers(1, 4), min_size=1, max_size=5))
    entries = [np.array(data.draw(st.lists(POINT, min_size=k, max_size=k)), dtype=float) for k in counts]
    exits = [np.array(data.draw(st.lists(POINT, min_size=k, max_size=k)), dtype=float) for k in counts]
    start, end = (data.draw(st.none() | POINT.map(lambda xy: np.array(xy, dtype=float))) for _ in range(2))
    ways = best_ways(entries, exits, start=start, end=end)
    least = min(travel(some, entries, exits, start, end) for some in itertools.product(*map(range, counts)))
    assert travel(ways, entries, exits, start, end) == pytest.approx(least)


def line(x, y, other_x, other_y):
    xy = np.array([(x, y), (other_x, other_y)], dtype=float)
    return piece_of(run_of(xy, Role.TOP), run_of(xy[::-1], Role.TOP))


def part(piece, layer=0):
    return Part(piece, (0,), layer)


def order_of(parts, **ends):
    """Where each part begins and ends, in order."""
    return [
        (tuple(p.piece.entries[way].tolist()), tuple(p.piece.exits[way].tolist())) for p, way in in_order(parts, **ends)
    ]


def test_a_lower_layer_is_sewn_first_however_far_it_lies():
    parts = [part(line(50, 0, 60, 0)), part(line(0, 0, 10, 0), 1), part(line(12, 0, 20, 0), 1)]
    found = order_of(parts, start=np.array([0.0, 0.0]))
    assert set(found[0]) == {(50.0, 0.0), (60.0, 0.0)}
    assert travel_of_order(found, (0, 0)) == pytest.approx(
        min(travel_of_order(some, (0, 0)) for some in all_ways([[0], [1, 2]], parts))
    )


def travel_of_order(found, start, end=None):
    at, total = start, 0.0
    for entry, leave in found:
        total, at = total + math.dist(at, entry), leave
    return total if end is None else total + math.dist(at, end)


def all_ways(layers, parts):
    for orders in itertools.product(*(list(itertools.permutations(layer)) for layer in layers)):
        sequence = [parts[k] for layer in orders for k in layer]
        for ways in itertools.product((0, 1), repeat=len(sequence)):
            yield [
                (tuple(p.piece.entries[w].tolist()), tuple(p.piece.exits[w].tolist()))
                for p, w in zip(sequence, ways, strict=True)
            ]


@settings(max_examples=20)
@given(st.integers(0, 2**20), st.booleans())
def test_one_layer_is_sewn_with_the_least_travel_between_its_ends(seed, ends):
    random = np.random.default_rng(seed)
    parts = [part(line(*random.integers(0, 40, 4))) for _ in range(4)]
    start, end = (0.0, 0.0), (40.0, 40.0) if ends else None
    found = order_of(parts, start=np.array(start), end=None if end is None else np.array(end))
    assert len(found) == 4
    least = min(travel_of_order(some, start, end) for some in all_ways([[0, 1, 2, 3]], parts))
    assert travel_of_order(found, start, end) == pytest.approx(least)


def test_only_the_last_layer_minds_where_the_needle_goes_afterwards():
    # the first layer ends at either end of its line; the last one decides how the needle leaves
    parts = [part(line(0, 0, 10, 0)), part(line(20, 0, 30, 0), 1)]
    right = order_of(parts, start=np.array([0.0, 0.0]), end=np.array([31.0, 0.0]))
    left = order_of(parts, start=np.array([0.0, 0.0]), end=np.array([15.0, 0.0]))
    assert right[-1] == ((20.0, 0.0), (30.0, 0.0))
    assert right[0] == left[0] == ((0.0, 0.0), (10.0, 0.0))
    assert travel_of_order(left, (0, 0), (15, 0)) == min(
        travel_of_order(some, (0, 0), (15, 0)) for some in all_ways([[0], [1]], parts)
    )


def test_a_piece_with_very_many_ways_is_entered_at_the_nearest_of_them():
    # only some of the ways are looked at to find the order; the one that is sewn is the best of all
    angle = np.linspace(0, 2 * np.pi, 2601)[:-1]
    ring = 10 * np.column_stack([np.cos(angle), np.sin(angle)])
    piece = Piece(ring, ring, lambda way: run_of(ring[[way, way]], Role.TOP))
    assert len(ring) > MOST_WAYS
    target = 25 * np.array([math.cos(1.2345), math.sin(1.2345)])
    ((_, way),) = in_order([part(piece)], start=target)
    assert way == int(np.hypot(*(ring - target).T).argmin())


def test_where_nothing_is_said_of_the_start_every_part_is_sewn_once():
    parts = [part(line(5 * k, 0, 5 * k, 3), k // 3) for k in range(9)]
    found = in_order(parts, start=None)
    assert sorted(id(p) for p, _ in found) == sorted(map(id, parts))
    assert [p.layer for p, _ in found] == sorted(p.layer for p in parts)


@pytest.mark.parametrize("seed", range(6))
def test_the_order_within_the_last_layer_minds_where_the_needle_goes_afterwards(seed):
    random = np.random.default_rng(seed)
    parts = [part(line(5, 5, 5, 5)), *(part(line(*random.integers(0, 40, 4)), 1) for _ in range(3))]
    found = order_of(parts, start=np.array([0.0, 0.0]), end=np.array([40.0, 0.0]))
    least = min(travel_of_order(some, (0, 0), (40, 0)) for some in all_ways([[0], [1, 2, 3]], parts))
    assert travel_of_order(found, (0, 0), (40, 0)) == pytest.approx(least)
