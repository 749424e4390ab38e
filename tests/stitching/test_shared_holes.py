"""Lines that come near one another share holes, and nothing else about them changes."""

from collections import Counter
from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.design import Design, Line, Purpose, Role, Running, Stop, Thread, Triple
from stitchcraft.geometry.curves import circle
from stitchcraft.stitching import plan
from stitchcraft.stitching.running import corners_of, repeated, run_points
from stitchcraft.stitching.shared_holes import SHARE_MM, with_shared_holes
from stitchcraft.stitching.spacing import far_enough
from stitchcraft.stitching.strands import Strand


def strand(points, *, passes=1):
    xy = repeated(np.asarray(points, dtype=np.float64), passes=passes)
    return Strand(xy, np.full(len(xy), Role.TOP, dtype=np.uint8), np.zeros(len(xy), dtype=np.int32), exact=passes > 1)


def steps(points):
    return np.hypot(*np.diff(points, axis=0).T)


@st.composite
def crossing_lines(draw):
    found = []
    for _ in range(draw(st.integers(1, 6))):
        x, y, angle = draw(st.floats(-8, 8)), draw(st.floats(-8, 8)), draw(st.floats(0, 6.3))
        kind, passes = draw(st.sampled_from(["line", "ring", "wave"])), draw(st.sampled_from([1, 3]))
        t = np.linspace(-10, 10, 200)
        if kind == "ring":
            path = circle((x, y), draw(st.floats(1, 8)))
        else:
            wave = np.column_stack([t, np.sin(t) if kind == "wave" else 0 * t])
            turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
            path = wave @ turn + [x, y]
        found.append(strand(run_points(path, length=draw(st.floats(1, 3))), passes=passes))
    return found


def test_two_lines_that_cross_within_a_hair_of_their_holes_share_one():
    across = strand([[0, 0], [2, 0], [4, 0], [6, 0]])
    along = strand([[2.1, -4], [2.1, -2], [2.1, 0.1], [2.1, 2], [2.1, 4]])
    first, second = with_shared_holes([across, along])
    assert first.xy.tolist() == across.xy.tolist()
    assert second.xy[2].tolist() == [2.0, 0.0]
    assert np.delete(second.xy, 2, axis=0).tolist() == np.delete(along.xy, 2, axis=0).tolist()


@pytest.mark.parametrize(("gap", "shared"), [(0.19, True), (0.21, False)])
def test_holes_are_shared_within_half_the_width_of_a_thread(gap, shared):
    across = strand([[0, 0], [2, 0], [4, 0]])
    along = strand([[2, -3], [2, gap], [2, 3]])
    assert bool(with_shared_holes([across, along])[1].xy[1, 1] == 0.0) is shared


@pytest.mark.parametrize("angle", range(0, 360, 15))
def test_holes_are_shared_whichever_way_the_other_lies(angle):
    away = 0.19 * np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    for shift in np.linspace(0, SHARE_MM, 5):
        # the grid in which near holes are looked for begins at the lowest coordinates
        across = strand(np.array([[-shift, 0], [2, 0], [4 + shift, 0]]))
        along = strand(np.array([[2, -3 - shift], [2, 0], [2, 3]]) + away)
        assert with_shared_holes([across, along])[1].xy[1].tolist() == [2.0, 0.0]


def test_ends_and_corners_stay_and_the_other_hole_comes_to_them():
    straight = strand([[0, 0], [2, 0], [4, 0]])
    corner = strand([[0, 2], [2.1, 0.1], [4, 2]])
    end = strand([[2, 5], [2, 3.1]])
    other = strand([[0, 3], [2.1, 3], [4, 3]])
    for one in (straight, corner):
        made = with_shared_holes([one, corner if one is straight else straight])
        assert all([2.1, 0.1] in each.xy.tolist() for each in made)
    made = with_shared_holes([other, end])
    assert made[0].xy[1].tolist() == [2.0, 3.1]
    assert made[1].xy.tolist() == end.xy.tolist()


def test_a_hole_stays_if_its_stitch_would_become_too_short():
    across = strand([[0, 0], [2, 0], [4, 0]])
    tight = strand([[2.12, -2], [2.12, -0.25], [2.12, 0.15], [2.12, 2]])
    # moving (2.12, 0.15) into (2, 0) would leave 0.28 mm to the hole before it
    assert with_shared_holes([across, tight])[1].xy.tolist() == tight.xy.tolist()


def test_all_passes_of_a_repeated_stitch_move_together():
    across = strand([[0, 0], [2, 0], [4, 0]])
    along = strand([[2.1, -3], [2.1, 0.1], [2.1, 3]], passes=3)
    second = with_shared_holes([across, along])[1].xy
    assert second.tolist() == repeated(np.array([[2.1, -3], [2.0, 0.0], [2.1, 3]])).tolist()


@given(crossing_lines())
def test_no_hole_moves_far_none_is_lost_and_no_stitch_becomes_too_short(lines):
    made = with_shared_holes(lines)
    for before, after in zip(lines, made, strict=True):
        assert before.xy.shape == after.xy.shape
        assert np.hypot(*(after.xy - before.xy).T).max() < SHARE_MM
        assert after.xy[[0, -1]].tolist() == before.xy[[0, -1]].tolist()
        assert steps(after.xy).min() >= min(0.3, steps(before.xy).min()) - 1e-9
        # the same needle points still share the same holes
        same = [a.tobytes() == b.tobytes() for a, b in pairwise(before.xy)]
        assert same == [a.tobytes() == b.tobytes() for a, b in pairwise(after.xy)]


@given(crossing_lines())
def test_a_near_pair_is_left_only_where_neither_hole_may_move(lines):
    lines = [each for each in lines if not each.exact]
    made = with_shared_holes(lines)
    uses = Counter(point.tobytes() for each in made for point in np.unique(each.xy, axis=0))
    spots = [(s, i) for s, each in enumerate(made) for i in range(len(each.xy))]

    def may_move(s, i, target):
        xy = made[s].xy
        firm = i in corners_of(lines[s].xy) or i in (0, len(xy) - 1)
        moved = uses[xy[i].tobytes()] > 1 or not np.array_equal(xy[i], lines[s].xy[i])
        return not firm and not moved and all(len(far_enough(np.vstack([xy[j], target]))) == 2 for j in (i - 1, i + 1))

    for (s, i), (r, j) in combinations(spots, 2):
        one, other = made[s].xy[i], made[r].xy[j]
        if 1e-9 < np.hypot(*(one - other)) < SHARE_MM - 1e-9:
            assert not may_move(s, i, other)
            assert not may_move(r, j, one)


def test_only_decoration_and_letters_are_mended_in_a_plan():
    across = Line(np.array([[0.0, 0.0], [2.0, 0.0], [4.0, 0.0]]), Running(length=2.0))
    along = Line(np.array([[2.1, -3.9], [2.1, 4.1]]), Triple(length=2.0))
    for purpose, shared in ((Purpose.DECORATE, True), (Purpose.LETTER, True), (Purpose.SNAP, False)):
        made = plan(Design("part", (Stop(purpose, Thread("#2f5d62"), (across, along)),)))
        holes = made.needle_points.round(6).tolist()
        assert ([2.1, 0.1] in holes and [2.0, 0.0] in holes) is not shared
