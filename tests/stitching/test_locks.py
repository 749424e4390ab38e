"""Locks lie on the run that they hold, in holes of their own where there is room."""

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from stitchcraft.design import Role
from stitchcraft.errors import ParameterError
from stitchcraft.stitching.locks import HOLE_GAP_MM, LEAST_LOCK_MM, lock_holes, locked


def lock_both(xy, *, start=True, end=True):
    count = len(xy)
    return locked(xy, np.full(count, Role.TOP, dtype=np.uint8), np.arange(count, dtype=np.int32), start=start, end=end)


def steps(points):
    return np.hypot(*np.diff(points, axis=0).T)


@st.composite
def runs(draw):
    """Runs whose stitches are no shorter than the planner leaves them."""
    xy = draw(arrays(np.float64, (draw(st.integers(2, 8)), 2), elements=st.floats(-30, 30, width=32)))
    assume(steps(xy).min() >= 0.3)
    return xy


def test_a_lock_walks_forward_back_and_forward_along_the_first_stitch():
    holes = lock_holes(np.array([[0.0, 0.0], [2.5, 0.0], [5.0, 0.0]]), stitch=0.7, count=3)
    assert holes[:, 0] == pytest.approx([0.7, 0.35, 1.05])
    assert holes[:, 1].tolist() == [0.0] * 3


@pytest.mark.parametrize(
    ("first", "wanted"),
    [
        (1.36, [0.7, 0.35, 1.05]),  # room for three, just: the last is a gap of 0.3 from the run's own hole
        (1.34, [0.7, 0.35]),  # room for two
        (1.01, [0.7, 0.35]),
        (0.99, [0.99, 0.0]),  # no room: back and forth through the run's own holes
        (0.51, [0.51, 0.0]),
    ],
)
def test_a_short_first_stitch_gets_fewer_holes_of_its_own(first, wanted):
    holes = lock_holes(np.array([[0.0, 0.0], [first, 0.0], [first + 1, 0.0]]), stitch=0.7, count=3)
    assert holes[:, 0] == pytest.approx(wanted)


def test_where_stitches_are_tiny_a_lock_spans_several_of_them():
    xy = np.array([[0.0, 0.0], [0.3, 0.0], [0.6, 0.0], [0.9, 0.0]])
    assert lock_holes(xy).tolist() == [[0.6, 0.0], [0.0, 0.0]]


@given(runs(), st.sampled_from([2, 3]))
def test_the_holes_of_a_lock_lie_on_the_first_stitch_and_keep_off_its_ends(xy, count):
    holes = lock_holes(xy, count=count)
    stitch = shapely.LineString(xy[:2])
    if len(holes) == 2 and (holes[1] == xy[0]).all():  # the run's own holes
        assert (holes[0] == xy).all(axis=1).any()
        return
    assert shapely.distance(stitch, shapely.points(holes)).max() < 1e-9
    assert np.hypot(*(holes - xy[1]).T).min() >= HOLE_GAP_MM - 1e-9
    apart = np.hypot(*(holes[:, None] - holes[None]).transpose(2, 0, 1)) + 9 * np.eye(len(holes))
    assert apart.min() >= HOLE_GAP_MM


@given(runs())
def test_a_run_keeps_its_own_points_and_its_ends_when_it_is_locked(xy):
    sewn, role, element = lock_both(xy)
    assert sewn[0].tolist() == xy[0].tolist()
    assert sewn[-1].tolist() == xy[-1].tolist()
    own = iter(sewn.tolist())
    assert all(point in own for point in xy.tolist())  # as a subsequence
    assert len(sewn) == len(role) == len(element)


@given(runs())
def test_both_ends_of_a_locked_run_turn_back_on_themselves_in_lock_stitches(xy):
    sewn, role, _ = lock_both(xy)
    for points, roles in ((sewn, role), (sewn[::-1], role[::-1])):
        ahead = points[1] - points[0]
        back = points[2] - points[1]
        assert ahead @ back < 0
        assert (roles[:2] == Role.LOCK).all()
    assert steps(sewn).min() > 0.25


@given(runs())
def test_a_run_locked_from_the_other_side_gets_the_same_locks(xy):
    assume(len(xy) > 2)
    there, _, _ = lock_both(xy)
    back, _, _ = lock_both(xy[::-1])
    assert there.shape == back.shape
    assert np.abs(there - back[::-1]).max() < 1e-9


def test_only_the_ends_asked_for_are_locked():
    xy = np.array([[0.0, 0.0], [2.5, 0.0], [5.0, 0.0]])
    _, role, element = lock_both(xy, end=False)
    assert role.tolist() == [3, 3, 3, 3, 0, 0]
    assert element.tolist() == [0, 0, 0, 0, 1, 2]
    _, role, element = lock_both(xy, start=False)
    assert role.tolist() == [0, 0, 0, 3, 3, 3]
    assert element.tolist() == [0, 1, 2, 2, 2, 2]
    assert lock_both(xy, start=False, end=False)[0].tolist() == xy.tolist()


def test_a_single_needle_point_cannot_be_locked_and_is_left_alone():
    assert lock_both(np.array([[1.0, 2.0]]))[0].tolist() == [[1.0, 2.0]]


def test_a_single_short_stitch_is_locked_at_both_ends():
    sewn, role, _ = lock_both(np.array([[0.0, 0.0], [1.2, 0.0]]))
    assert (role == Role.LOCK).sum() >= 4
    assert steps(sewn).min() >= 0.3
    assert steps(sewn)[[0, 1, -2, -1]].min() >= min(LEAST_LOCK_MM, 0.35)


@pytest.mark.parametrize(("name", "options"), [("stitch", {"stitch": 0.0}), ("count", {"count": 0})])
def test_numbers_out_of_range_are_refused(name, options):
    with pytest.raises(ParameterError, match=f"^{name} is 0"):
        lock_holes(np.array([[0.0, 0.0], [2.5, 0.0]]), **options)


def test_a_lock_on_travel_uses_the_holes_of_the_run_alone():
    # travel may cross a slit of the area that it gets over: a hole between two of its own might lie in it
    xy = np.array([[0.0, 0.0], [2.2, 0.0], [4.0, 0.0], [6.0, 0.0]])
    role = np.array([Role.TRAVEL, Role.TRAVEL, Role.TOP, Role.TRAVEL], dtype=np.uint8)
    made, _, _ = locked(xy, role, np.zeros(4, dtype=np.int32), start=True, end=True)
    assert set(map(tuple, made.tolist())) == set(map(tuple, xy.tolist()))
    assert made[:4].tolist() == [[0, 0], [2.2, 0], [0, 0], [2.2, 0]]
    assert made[-4:].tolist() == [[4, 0], [6, 0], [4, 0], [6, 0]]
