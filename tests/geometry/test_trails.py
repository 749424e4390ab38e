"""Trails go as straight on as they can, against all ways of pairing the ends that meet."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stitchcraft.geometry.chains import chained, continuous_paths
from stitchcraft.geometry.curves import arc, circle, length_of
from stitchcraft.geometry.trails import Graph, trails


def ray(degrees, length=5.0):
    a = math.radians(degrees)
    return np.array([(0.0, 0.0), (length * math.cos(a), length * math.sin(a))])


def bend(one, other):
    """How far from straight on a way from one ray into another is: 0 for straight, 2 for back."""
    return 1 + math.cos(math.radians(one - other))


def bends_of(paths):
    """The same at the origin, of each path that passes it."""
    found = []
    for path in paths:
        for before, at, after in zip(path, path[1:], path[2:], strict=False):
            if np.hypot(*at) < 1e-9:
                a, b = (before - at) / np.hypot(*(before - at)), (after - at) / np.hypot(*(after - at))
                found.append(1 + float(a @ b))
    return found


def least_bending(angles):
    """The least sum over all ways of pairing, one ray left over if they are odd."""
    if len(angles) < 2:
        return 0.0
    first, rest = angles[0], angles[1:]
    best = min(bend(first, other) + least_bending([r for r in rest if r != other]) for other in rest)
    return min(best, least_bending(rest)) if len(angles) % 2 else best


@settings(max_examples=30)
@given(st.lists(st.integers(0, 359), min_size=2, max_size=8, unique=True))
def test_ends_that_meet_are_paired_for_the_least_bending_of_all(angles):
    paths = continuous_paths([ray(angle) for angle in angles])
    bends = bends_of(paths)
    assert len(bends) == len(angles) // 2
    assert sum(bends) == pytest.approx(least_bending(angles), abs=1e-6)


@pytest.mark.parametrize("count", [10, 12, 16])
def test_many_rays_are_paired_with_the_one_opposite(count):
    angles = np.random.default_rng(count).permutation(count) * 360 / count
    paths = continuous_paths([ray(angle) for angle in angles])
    assert len(paths) == count // 2
    assert all(math.dist(path[0], path[-1]) == pytest.approx(10) for path in paths)


def test_many_rays_take_the_straightest_pair_first_and_none_twice():
    # eleven rays, three pairs of them straight; the rest have no partner within 8 degrees
    angles = [0, 180, 31, 211, 77, 257, 100, 120, 140, 160, 290]
    paths = continuous_paths([ray(angle) for angle in angles])
    bends = sorted(bends_of(paths))
    assert len(bends) == 5
    assert bends[:3] == pytest.approx([0, 0, 0])
    assert bends[3] > 1e-4
    assert sum(length_of(path) for path in paths) == pytest.approx(55)


def test_a_tiny_first_segment_does_not_decide_where_a_line_leads():
    hooked = np.array([(0.0, 0.0), (-0.05, 0.0), (0.4, 0.1), (5.0, 0.0)])
    paths = continuous_paths([hooked, ray(180), ray(75)])
    through = next(path for path in paths if any(np.allclose(point, (5, 0)) for point in (path[0], path[-1])))
    assert sorted([through[0][0], through[-1][0]]) == pytest.approx([-5, 5])


@pytest.mark.parametrize("side", [-1, 1])
def test_a_line_that_ends_on_a_ring_goes_on_round_it_the_way_it_came(side):
    ring = circle((0, 5), 5)
    start = int(np.argmin(np.hypot(*ring.T)))
    ring = np.vstack([ring[start:-1], ring[: start + 1]])
    ring[[0, -1]] = (0.0, 0.0)
    (path,) = continuous_paths([ring, np.array([(side * -10.0, 0.0), (0.0, 0.0)])])
    path = path if abs(path[0][0]) > 9 else path[::-1]
    assert length_of(path) == pytest.approx(length_of(ring) + 10)
    assert path[2][0] * side > 0


@pytest.mark.parametrize("mirror", [-1, 1])
@pytest.mark.parametrize("first", [0, 1])
def test_a_line_that_ends_in_the_corner_of_a_ring_takes_its_straighter_side(mirror, first):
    # the sides leave the corner at 20 and at 110 degrees; the line comes from 180
    corner = [(0.0, 0.0), (6 * math.cos(math.radians(20)), 6 * math.sin(math.radians(20)))]
    corner += [(6 * math.cos(math.radians(110)), 6 * math.sin(math.radians(110))), (0.0, 0.0)]
    ring = np.array(corner[:: -1 if first else 1]) * (1, mirror)
    for lines in ([ring, ray(180)], [ray(180), ring[::-1]]):
        (path,) = continuous_paths(lines)
        path = path if path[0][0] == -5 else path[::-1]
        assert path[2] == pytest.approx(np.array(corner[1]) * (1, mirror))


@pytest.mark.parametrize("backwards", [False, True])
@pytest.mark.parametrize("order", list(itertools.permutations(range(3))))
def test_a_ring_that_touches_a_line_is_taken_in_where_that_bends_least(order, backwards):
    # the ring leaves the line along it, so that nothing is bent by more than the ring's own chords
    ring = np.vstack([arc((0, 4), 4, -90, 270)])
    ring[[0, -1]] = (0.0, 0.0)
    lines = [np.array([(-9.0, 0.0), (0.0, 0.0)]), np.array([(0.0, 0.0), (9.0, 0.0)]), ring[:: -1 if backwards else 1]]
    (path,) = continuous_paths([lines[k] for k in order])
    assert length_of(path) == pytest.approx(18 + length_of(ring))
    step = np.diff(path, axis=0)
    turn = np.abs(np.angle(np.exp(1j * np.diff(np.angle(step[:, 0] + 1j * step[:, 1])))))
    assert turn.max() < math.radians(12)


@pytest.mark.parametrize("mirror", [-1, 1])
@pytest.mark.parametrize("backwards", [False, True])
def test_a_ring_that_is_straightest_in_itself_is_entered_by_its_nearer_side(mirror, backwards):
    # its sides leave at 0 and at 140 degrees; the line at 255, which is 115 from one and 105 from the other
    corner = [(0.0, 0.0), (6.0, 0.0), (6 * math.cos(math.radians(140)), 6 * math.sin(math.radians(140))), (0.0, 0.0)]
    ring = np.array(corner[:: -1 if backwards else 1]) * (1, mirror)
    tail = ray(255) * (1, mirror)
    for lines in ([ring, tail], [tail[::-1], ring]):
        (path,) = continuous_paths(lines)
        path = path if path[0] == pytest.approx(tail[-1]) else path[::-1]
        assert path[2] == pytest.approx(np.array(corner[2]) * (1, mirror))  # 115 degrees bend less than 105


@pytest.mark.parametrize("rings", [2, 3, 5])
def test_rings_that_share_a_point_become_one_trail_whatever_their_order(rings):
    loops = []
    for k in range(rings):
        a = 2 * math.pi * k / rings
        loop = circle((4 * math.cos(a), 4 * math.sin(a)), 4)
        start = int(np.argmin(np.hypot(*loop.T)))
        loop = np.vstack([loop[start:-1], loop[: start + 1]])
        loop[[0, -1]] = (0.0, 0.0)
        loops.append(loop)
    for order in itertools.islice(itertools.permutations(range(rings)), 6):
        (path,) = continuous_paths([loops[k] for k in order])
        assert path[0].tolist() == path[-1].tolist()
        assert length_of(path) == pytest.approx(sum(map(length_of, loops)))


def test_trails_come_in_the_order_of_the_first_edge_in_each():
    lines = [ray(0) + (20, 0), ray(0), ray(180), ray(90) + (20, 0)]
    edges = tuple(lines)
    graph = Graph(edges, ((0, 1), (2, 3), (2, 4), (0, 5)))
    first, second = trails(graph)
    assert {tuple(first[0]), tuple(first[-1])} == {(25.0, 0.0), (20.0, 5.0)}
    assert sorted([second[0][0], second[-1][0]]) == [-5.0, 5.0]
    assert graph.ends_at() == {0: [0, 6], 1: [1], 2: [2, 4], 3: [3], 4: [5], 5: [7]}


def test_lines_are_not_split_unless_it_is_asked():
    cross = [np.array([(-1.0, 0.0), (1.0, 0.0)]), np.array([(0.0, -1.0), (0.0, 1.0)])]
    result = chained(cross)
    assert [len(path) for path in result.paths] == [2, 2]
    assert result.doubled == 0
    # nor is a stretch sewn twice
    three = chained([ray(0), ray(120), ray(240)])
    assert (len(three.paths), three.doubled) == (2, 0)


@pytest.mark.parametrize(("length", "kept"), [(0.08, 0), (0.12, 1)])
def test_what_closes_on_itself_within_twice_the_tolerance_is_left_out(length, kept):
    there_and_back = np.array([(0.0, 0.0), (length / 2, 0.0), (0.0, 0.0)])
    assert len(continuous_paths([there_and_back], tolerance=0.05)) == kept
