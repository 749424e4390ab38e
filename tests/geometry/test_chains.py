"""Trails over touching lines: each stretch once, and as few trails as Euler allows."""

from __future__ import annotations

import itertools
import math
from collections import Counter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.errors import ParameterError
from stitchcraft.geometry.chains import chained, continuous_paths
from stitchcraft.geometry.curves import circle, length_of
from stitchcraft.geometry.postman import cheapest_pairs


def segments(paths):
    """Every segment of some paths, whichever way it is run, counted."""
    found = Counter()
    for path in paths:
        for a, b in itertools.pairwise(np.round(np.asarray(path, dtype=float), 6).tolist()):
            found[frozenset((tuple(a), tuple(b)))] += 1
    return found


def odd_nodes_by_part(paths):
    """For each connected part of lines that touch at their ends only, at how many places an odd number of ends meet."""
    ends = Counter()
    near = {}
    for path in paths:
        a, b = tuple(np.round(path[0], 6)), tuple(np.round(path[-1], 6))
        ends.update((a, b))
        near.setdefault(a, set()).add(b)
        near.setdefault(b, set()).add(a)
    odd, seen = [], set()
    for root in near:
        if root in seen:
            continue
        part, waiting = {root}, [root]
        while waiting:
            new = near[waiting.pop()] - part
            part |= new
            waiting.extend(new)
        seen |= part
        odd.append(sum(ends[node] % 2 for node in part))
    return odd


@st.composite
def grid_lines(draw):
    """Lines of one or two segments between points of a small grid, no segment twice, closed ones among them."""
    points = [(float(x), float(y)) for x in range(4) for y in range(3)]
    pairs = list(itertools.combinations(points, 2))
    chosen = draw(st.lists(st.sampled_from(pairs), unique=True, max_size=14))
    lines = [np.array(pair)[:: draw(st.sampled_from([1, -1]))] for pair in chosen]
    for k in range(draw(st.integers(0, 2))):
        x, y = draw(st.sampled_from(points))
        # an ear that begins and ends at one grid point
        lines.append(np.array([(x, y), (x + 0.3 + 0.1 * k, y + 0.2), (x + 0.2, y + 0.4 + 0.1 * k), (x, y)]))
    return lines


@given(grid_lines())
def test_lines_are_covered_once_by_the_fewest_trails(lines):
    paths = continuous_paths(lines)
    assert segments(paths) == segments(lines)
    # Euler's count (R. Diestel, "Graph Theory", section 1.8)
    assert len(paths) == sum(max(1, odd // 2) for odd in odd_nodes_by_part(lines))


@given(grid_lines())
def test_doubling_leaves_one_trail_for_what_hangs_together(lines):
    result = chained(lines, allow_double=True)
    covered = segments(result.paths)
    once = segments(lines)
    assert set(covered) == set(once)
    assert set(covered.values()) <= {1, 2}
    extra = sum(math.dist(*segment) * (count - once[segment]) for segment, count in covered.items())
    assert result.doubled == pytest.approx(extra, abs=1e-6)
    assert len(result.paths) == len(odd_nodes_by_part(lines))


def cheapest_by_trying(apart):
    least = math.inf
    for free in itertools.combinations(range(len(apart)), 2):
        rest = [i for i in range(len(apart)) if i not in free]
        for order in itertools.permutations(rest):
            least = min(least, sum(apart[order[k], order[k + 1]] for k in range(0, len(order), 2)))
    return least


@pytest.mark.parametrize("count", [4, 6, 8])
def test_the_pairs_that_are_doubled_are_the_cheapest(count):
    xy = np.random.default_rng(count).uniform(0, 10, (count, 2))
    apart = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1))
    pairs = cheapest_pairs(apart)
    assert len({end for pair in pairs for end in pair}) == 2 * len(pairs) == count - 2
    assert sum(apart[pair] for pair in pairs) == pytest.approx(cheapest_by_trying(apart))


def test_many_pairs_are_found_as_cheap_as_few():
    # 16 points in 8 near pairs far from one another: all but the widest pair is the answer
    xy = np.array([(100.0 * k, y) for k in range(8) for y in (0.0, 1.0 + k)])
    apart = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1))
    assert sorted(cheapest_pairs(apart)) == [(2 * k, 2 * k + 1) for k in range(7)]


def lattice(count, spacing, *, border):
    size = (count + 1) * spacing
    lines = [[(0, k * spacing), (size, k * spacing)] for k in range(1, count + 1)]
    lines += [[(k * spacing, 0), (k * spacing, size)] for k in range(1, count + 1)]
    return [*lines, [(0, 0), (size, 0), (size, size), (0, size), (0, 0)]] if border else lines


def test_a_lattice_with_a_border_becomes_one_path_for_a_few_short_stretches():
    # 4 x 9 nodes of the border are odd: all but two are paired along the border or across a corner. A side has an
    # odd number of them, so two corners are crossed (2 spacings each) and 15 pairs lie one spacing apart; or, which
    # comes to less, the two free ones lie on sides that differ: 1 corner and 16 pairs. The least is 18 spacings.
    result = chained(lattice(9, 5.0, border=True), split_crossings=True, allow_double=True)
    assert len(result.paths) == 1
    assert result.doubled == pytest.approx(18 * 5.0)
    assert length_of(result.paths[0]) == pytest.approx(18 * 50 + 200 + 90)


def test_a_bare_lattice_takes_one_path_for_each_line_and_each_goes_straight():
    paths = continuous_paths(lattice(6, 5.0, border=False), split_crossings=True)
    assert len(paths) == 12
    for path in paths:
        assert length_of(path) == pytest.approx(math.dist(path[0], path[-1])) == pytest.approx(35.0)


@pytest.mark.parametrize("split", [False, True])
def test_a_crossing_is_passed_straight_on(split):
    arms = [[(0, 0), (5 * math.cos(a), 5 * math.sin(a))] for a in np.radians([10, 100, 190, 280])]
    paths = continuous_paths(arms, split_crossings=split)
    assert sorted(round(math.dist(path[0], path[-1]), 6) for path in paths) == [10.0, 10.0]


def test_interlocking_rings_become_one_closed_path():
    rings = [circle((12 * x + 6 * (y % 2), 10 * y), 8) for x in range(5) for y in range(4)]
    paths = continuous_paths(rings, split_crossings=True)
    assert len(paths) == 1
    assert (paths[0][0] == paths[0][-1]).all()
    assert length_of(paths[0]) == pytest.approx(sum(length_of(ring) for ring in rings))


def test_rings_that_share_a_point_where_they_begin_become_one_path():
    left, right = circle((-5, 0), 5), circle((5, 0), 5)
    right = np.vstack([right[len(right) // 2 :], right[1 : len(right) // 2 + 1]])
    right[[0, -1]] = (0.0, 0.0)
    paths = continuous_paths([left, right])
    assert len(paths) == 1
    assert length_of(paths[0]) == pytest.approx(length_of(left) + length_of(right))


def test_rings_that_cross_go_round_smoothly():
    # with two crossings each ring can be followed straight on; joining costs one kink at each end of the swap
    rings = [circle((0, 0), 5), circle((6, 0), 5)]
    (path,) = continuous_paths(rings, split_crossings=True)
    step = np.diff(np.vstack([path, path[1:2]]), axis=0)
    turn = np.abs(np.angle(np.exp(1j * np.diff(np.angle(step[:, 0] + 1j * step[:, 1])))))
    assert np.count_nonzero(turn > math.radians(30)) == 2


def test_a_ring_alone_stays_as_it_is():
    ring = circle((3, 4), 5)
    (path,) = continuous_paths([ring])
    np.testing.assert_array_equal(path, ring)


def test_ends_within_the_tolerance_are_joined_and_meet():
    lines = [[(0, 0), (5, 0)], [(5.03, 0.02), (9, 3)]]
    (path,) = continuous_paths(lines)
    assert path.tolist() == [[0.0, 0.0], [5.0, 0.0], [9.0, 3.0]]
    assert len(continuous_paths(lines, tolerance=0.01)) == 2


def test_a_line_that_ends_on_another_is_joined_to_it_when_splitting():
    third = (10 / 3, 10 / 7)
    lines = [[(0, 0), (2 * third[0], 2 * third[1])], [(0, 9), (third[0] - 0.01, third[1] + 0.01)]]
    assert len(continuous_paths(lines, split_crossings=True, allow_double=True)) == 1
    assert len(continuous_paths(lines, split_crossings=True)) == 2
    assert sorted(len(path) for path in continuous_paths(lines)) == [2, 2]


def test_what_lies_twice_on_the_same_place_is_covered_once_when_splitting():
    (path,) = continuous_paths([[(0, 0), (6, 0)], [(4, 0), (10, 0)], [(10, 0), (0, 0)]], split_crossings=True)
    assert length_of(path) == pytest.approx(10.0)


def test_the_same_lines_give_the_same_paths():
    random = np.random.default_rng(0)
    lines = list(random.uniform(0, 30, (25, 2, 2)))
    for double in (False, True):
        one = continuous_paths(lines, split_crossings=True, allow_double=double)
        other = continuous_paths(lines, split_crossings=True, allow_double=double)
        assert all((a == b).all() for a, b in zip(one, other, strict=True))


def test_random_crossing_lines_keep_their_length():
    lines = list(np.random.default_rng(1).uniform(0, 30, (30, 2, 2)))
    paths = continuous_paths(lines, split_crossings=True)
    assert sum(length_of(path) for path in paths) == pytest.approx(sum(length_of(line) for line in lines), abs=0.5)
    # no two of the 60 loose ends fall together, so they are the odd nodes: no trail count below 30 is possible
    assert len(paths) == 30


def test_no_lines_and_lines_without_length_give_no_paths():
    assert continuous_paths([]) == []
    assert continuous_paths([[(1, 1)], [(2, 2), (2, 2)], [(0, 0), (0.02, 0), (0, 0)]]) == []
    assert continuous_paths([[(1, 1)]], split_crossings=True) == []


@pytest.mark.parametrize(
    ("paths", "options", "name"),
    [
        ([[1, 2, 3]], {}, "paths[0]"),
        ([[(0, 0), (1, math.inf)]], {}, "paths[0]"),
        ([], {"tolerance": -1.0}, "tolerance"),
    ],
    ids=["no points", "not finite", "negative tolerance"],
)
def test_what_is_no_line_is_refused(paths, options, name):
    with pytest.raises(ParameterError) as error:
        continuous_paths(paths, **options)
    assert error.value.name == name
