"""What an order promises whatever the pieces are."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stitchcraft.errors import ParameterError
from stitchcraft.stitching import order as order_module
from stitchcraft.stitching.order import best_order, travel_of
from stitchcraft.stitching.order_exact import task_of
from stitchcraft.stitching.order_search import reversible_ways
from stitchcraft.stitching.order_ways import best_ways, nearest_first, travel_along


def scattered(count, ways, seed, *, kind="columns"):
    random = np.random.default_rng(seed)
    middle = random.uniform(0, 120, (count, 1, 2))
    if kind == "dots":
        return list(middle), list(middle)
    ends = middle + random.normal(0, 5, (count, ways, 2))
    if kind == "rings":
        return list(ends), list(ends)
    if kind == "one way":
        return list(ends), list(middle + random.normal(0, 5, (count, ways, 2)))
    return list(ends), [e[::-1] for e in ends]


def nearest_travel(entries, exits, start):
    """Always to the nearest entry, worked out here on its own."""
    left = dict(enumerate(entries))
    at, travel = start, 0.0
    while left:
        options = [
            (math.dist(at, e) if at is not None else 0.0, p, w) for p, own in left.items() for w, e in enumerate(own)
        ]
        step, piece, way = min(options)
        travel += step
        at = exits[piece][way]
        del left[piece]
    return travel


@st.composite
def piece_sets(draw):
    count = draw(st.integers(0, 24))
    kind = draw(st.sampled_from(["columns", "dots", "rings", "one way", "mixed"]))
    random = np.random.default_rng(draw(st.integers(0, 2**16)))
    # a coarse grid, so that coincident points are common
    entries, exits = [], []
    for _ in range(count):
        own = random.choice(["columns", "dots", "rings", "one way"]) if kind == "mixed" else kind
        ways = 2 if own == "columns" else 1 if own == "dots" else int(random.integers(1, 4))
        a = random.integers(0, 12, (ways, 2)).astype(float)
        b = random.integers(0, 12, (ways, 2)).astype(float)
        entries.append(a)
        exits.append(a[::-1] if own == "columns" else b if own == "one way" else a)
    point = st.none() | st.just((0.0, 0.0))
    return entries, exits, draw(point), draw(point)


@given(piece_sets())
@settings(max_examples=20)
def test_every_piece_is_sewn_once_and_never_worse_than_nearest_first(case):
    entries, exits, start, end = case
    order = best_order(entries, exits, start=start, end=end)
    assert sorted(piece for piece, _ in order) == list(range(len(entries)))
    assert all(0 <= way < len(entries[piece]) for piece, way in order)
    if entries:
        task = task_of(entries, exits, start, end)
        nearest = travel_of(task.order(nearest_first(task)), entries, exits, start, end)
        assert travel_of(order, entries, exits, start, end) <= nearest + 1e-9


@pytest.mark.parametrize("kind", ["columns", "dots", "rings", "one way"])
def test_many_pieces_need_less_travel_than_nearest_first(kind):
    entries, exits = scattered(70, 2, 1, kind=kind)
    travel = travel_of(best_order(entries, exits, start=(0, 0)), entries, exits, (0, 0))
    assert travel < 0.95 * nearest_travel(entries, exits, (0, 0))


@pytest.mark.parametrize("kind", ["columns", "dots", "rings", "one way"])
def test_the_same_seed_gives_the_same_order(kind):
    entries, exits = scattered(24, 2, 5, kind=kind)
    assert best_order(entries, exits, seed=3) == best_order(entries, exits, seed=3)


def test_moving_everything_aside_changes_nothing():
    entries, exits = scattered(60, 2, 8)
    far = [e + (256.0, -512.0) for e in entries], [e + (256.0, -512.0) for e in exits]
    here = travel_of(best_order(entries, exits), entries, exits)
    assert travel_of(best_order(*far), *far) == pytest.approx(here, rel=0.01)


def test_the_ways_are_the_best_for_their_order():
    entries, exits = scattered(40, 4, 2, kind="rings")
    task = task_of(entries, exits, None, None)
    order = best_order(entries, exits)
    states = np.array([task.first[p] + w for p, w in order])
    assert travel_along(task, best_ways(task, states)) == pytest.approx(travel_along(task, states))


def test_ways_chosen_with_the_order_beat_ways_chosen_after_it():
    saved = []
    for seed in range(2):
        entries, exits = scattered(40, 2, seed)
        middles = [(e[:1] + x[:1]) / 2 for e, x in zip(entries, exits, strict=True)]
        task = task_of(entries, exits, None, None)
        first = np.array([task.first[piece] for piece, _ in best_order(middles, middles)])
        after = travel_along(task, best_ways(task, first))
        saved.append(1 - travel_of(best_order(entries, exits), entries, exits) / after)
    assert min(saved) > 0
    assert np.mean(saved) > 0.015


def test_no_piece_gives_no_order():
    assert best_order([], []) == []
    assert travel_of([], [], []) == 0.0
    assert travel_of([], [], [], (0, 0), (3, 4)) == pytest.approx(5.0)


def test_one_piece_is_sewn_the_way_that_lies_best():
    assert best_order([[(0, 0), (9, 0)]], [[(9, 0), (0, 0)]], start=(10, 0)) == [(0, 1)]
    assert best_order([[(0, 0), (9, 0)]], [[(9, 0), (0, 0)]], end=(-1, 0)) == [(0, 1)]


@pytest.mark.parametrize("count", [3, 40])
def test_pieces_at_one_point_need_no_travel(count):
    dots = [np.zeros((1, 2))] * count
    order = best_order(dots, dots)
    assert len(order) == count
    assert travel_of(order, dots, dots) == 0.0


@pytest.mark.parametrize("count", [5, 60])
def test_start_and_end_are_where_the_sewing_begins_and_ends(count):
    dots = [np.array([[3.0 * i, 0.0]]) for i in np.random.default_rng(0).permutation(count)]
    right = 3.0 * (count - 1)
    order = best_order(dots, dots, start=(right + 1, 0), end=(-1, 0))
    assert travel_of(order, dots, dots, (right + 1, 0), (-1, 0)) == pytest.approx(right + 2)
    assert dots[order[0][0]][0, 0] == right
    assert dots[order[-1][0]][0, 0] == 0.0


def test_more_pieces_than_one_table_holds_are_ordered_in_stretches(monkeypatch):
    entries, exits = scattered(90, 2, 9)
    monkeypatch.setattr(order_module, "MOST_PIECES", 40)
    order = best_order(entries, exits)
    assert sorted(piece for piece, _ in order) == list(range(90))
    task = task_of(entries, exits, None, None)
    assert travel_of(order, entries, exits) < 0.92 * travel_along(task, nearest_first(task))


def test_a_way_and_its_reverse_are_found_together():
    task = task_of([[(0, 0), (5, 0), (2, 2)]], [[(5, 0), (0, 0), (2, 2)]], None, None)
    assert reversible_ways(task) == [[(0, 1), (2, 2)]]


@pytest.mark.parametrize(
    ("entries", "exits", "name", "needs"),
    [
        ([[(0, 0)]], [], "exits", "one array for each of the 1 entries"),
        ([[(0, 0)]], [[(0, 0), (1, 1)]], "exits[0]", "as many as the 1 entries of that piece"),
        ([[]], [[]], "entries[0]", "an array of shape (k, 2) with k of at least 1"),
        ([[(0, math.nan)]], [[(0, 0)]], "entries[0]", "finite coordinates in mm"),
    ],
    ids=["lengths differ", "ways differ", "no way", "not finite"],
)
def test_what_is_no_piece_is_refused(entries, exits, name, needs):
    with pytest.raises(ParameterError) as error:
        best_order(entries, exits)
    assert (error.value.name, error.value.needs) == (name, needs)


def test_an_order_that_names_what_is_not_there_is_refused():
    with pytest.raises(ParameterError, match="made of pieces and ways that are there"):
        travel_of([(0, 1)], [[(0, 0)]], [[(0, 0)]])
    with pytest.raises(ParameterError, match="one point"):
        best_order([[(0, 0)]], [[(0, 0)]], start=(1, 2, 3))
