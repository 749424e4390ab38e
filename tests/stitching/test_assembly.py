"""What is put between strands: locks, jumps, trims and stops, on strands set by hand."""

from __future__ import annotations

import numpy as np
import pytest

from stitchcraft.design import Kind, PlanStop, Purpose, Role, Thread
from stitchcraft.stitching.assembly import assembled, threads_of
from stitchcraft.stitching.spacing import SHORTEST_MM
from stitchcraft.stitching.strands import Strand

STOP = PlanStop(Purpose.DECORATE, Thread("#2f5d62"))


def strand(*x, y=0.0, element=0, role=Role.TOP, **options):
    xy = np.array([(float(v), y) for v in x])
    return Strand(xy, np.full(len(xy), role, dtype=np.uint8), np.full(len(xy), element, dtype=np.int32), **options)


def shapes(threads):
    return [[one.xy[:, 0].tolist() for one in thread] for thread in threads]


@pytest.mark.parametrize(
    ("gap", "trim_over", "wanted"),
    [
        (0.9, 5.0, [[[0, 3, 3.9, 7]]]),  # sewn over
        (1.0, 5.0, [[[0, 3, 4, 7]]]),
        (1.1, 5.0, [[[0, 3], [4.1, 7]]]),  # jumped
        (4.9, 5.0, [[[0, 3], [7.9, 9]]]),
        (5.0, 5.0, [[[0, 3], [8, 9]]]),
        (5.1, 5.0, [[[0, 3]], [[8.1, 9]]]),  # cut
        (0.9, 0.5, [[[0, 3]], [[3.9, 7]]]),  # cut however near, if that is wanted
    ],
)
def test_a_gap_is_sewn_jumped_or_cut_by_its_length(gap, trim_over, wanted):
    second = strand(3 + gap, 9 if gap >= 4 else 7, element=1)
    found = shapes(threads_of([strand(0, 3), second], trim_over=trim_over))
    assert [[pytest.approx(xs) for xs in thread] for thread in wanted] == found


def test_a_stitch_over_a_gap_is_travel_and_the_rest_keeps_its_own():
    ((one,),) = threads_of([strand(0, 3, element=4), strand(3.8, 7, 9, element=5, role=Role.UNDERLAY)], trim_over=5)
    assert one.role.tolist() == [Role.TOP, Role.TOP, Role.TRAVEL, Role.UNDERLAY, Role.UNDERLAY]
    assert one.element.tolist() == [4, 4, 5, 5, 5]


def test_of_two_holes_that_all_but_touch_one_is_enough():
    ((one,),) = threads_of([strand(0, 3), strand(3.05, 7)], trim_over=5)
    assert one.xy[:, 0].tolist() == [0, 3, 7]
    assert one.role.tolist() == [Role.TOP] * 3
    # a repeated stitch needs its own hole: the other goes
    ((one,),) = threads_of([strand(0, 1.5, 3), strand(3.05, 7, exact=True)], trim_over=5)
    assert one.xy[:, 0].tolist() == [0, 1.5, 3.05, 7]
    assert one.exact
    # unless nothing but it is there, or the first is one that is repeated as well
    ((one,),) = threads_of([strand(0, 3), strand(3.05, 7, exact=True)], trim_over=5)
    assert one.xy[:, 0].tolist() == [0, 3, 7]
    ((one,),) = threads_of([strand(0, 1.5, 3, exact=True), strand(3.05, 7, exact=True)], trim_over=5)
    assert one.xy[:, 0].tolist() == [0, 1.5, 3, 7]
    # or the hole before it is as near
    ((one,),) = threads_of([strand(0, 2.95, 3.0), strand(3.05, 7, exact=True)], trim_over=5)
    assert one.xy[:, 0].tolist()[-2:] == [3.0, 7]


def test_what_has_locks_of_its_own_is_never_sewn_on():
    for first, second in ((True, False), (False, True)):
        pair = [strand(0, 3, own_locks=first), strand(3.6, 7, own_locks=second)]
        assert shapes(threads_of(pair, trim_over=5)) == [[[0, 3], [3.6, 7]]]
        near = [strand(0, 3, own_locks=first), strand(3.1, 7, own_locks=second)]
        assert shapes(threads_of(near, trim_over=5)) == [[[0, 3]], [[3.1, 7]]]
        # the shortest stitch there is may be jumped
        least = [strand(-3, 0, own_locks=first), strand(SHORTEST_MM, 7, own_locks=second)]
        assert shapes(threads_of(least, trim_over=5)) == [[[-3, 0], [SHORTEST_MM, 7]]]


def test_three_strands_in_a_row_become_one_thread():
    found = threads_of([strand(0, 3), strand(3.5, 6), strand(8, 9), strand(30, 33)], trim_over=5)
    assert shapes(found) == [[[0, 3, 3.5, 6], [8, 9]], [[30, 33]]]
    found = threads_of([strand(0, 3), strand(5, 6), strand(6.5, 9), strand(11, 12)], trim_over=5)
    assert shapes(found) == [[[0, 3], [5, 6, 6.5, 9], [11, 12]]]
    found = threads_of([strand(0, 3), strand(30, 33), strand(33.5, 36)], trim_over=5)
    assert shapes(found) == [[[0, 3]], [[30, 33, 33.5, 36]]]
    assert threads_of([], trim_over=5) == []


def plan_of_strands(*stops, trims=True, trim_over=5.0, origin=(0.0, 0.0)):
    return assembled(
        "tab", [(STOP, list(strands)) for strands in stops], trim_over=trim_over, trims=trims, origin=origin
    )


def kinds(plan):
    """The kinds of the rows, runs of one kind told once."""
    found = []
    for kind in plan.kind.tolist():
        if not found or found[-1] != kind or kind in (Kind.TRIM, Kind.STOP):
            found.append(Kind(kind))
    return found


def test_a_stop_begins_with_a_jump_and_ends_with_a_trim_and_the_last_with_the_end():
    plan = plan_of_strands([strand(0, 3, 6)], [strand(10, 13, 16), strand(30, 33, 36)])
    assert kinds(plan) == [
        Kind.JUMP, Kind.STITCH, Kind.TRIM, Kind.STOP,
        Kind.JUMP, Kind.STITCH, Kind.TRIM, Kind.JUMP, Kind.STITCH, Kind.TRIM, Kind.END,
    ]  # fmt: skip
    assert plan.stop.tolist() == sorted(plan.stop.tolist())
    assert (plan.stop == 0).sum() + (plan.stop == 1).sum() == len(plan.kind)
    without = plan_of_strands([strand(0, 3, 6)], [strand(10, 13, 16), strand(30, 33, 36)], trims=False)
    assert Kind.TRIM not in kinds(without)
    assert np.array_equal(without.needle_points, plan.needle_points)


def test_trims_stops_and_the_end_stay_where_the_needle_is():
    plan = plan_of_strands([strand(0, 3, 6)], [strand(10, 13, 16)])
    for k in np.flatnonzero(np.isin(plan.kind, (Kind.TRIM, Kind.STOP, Kind.END))):
        assert plan.xy[k].tolist() == plan.xy[k - 1].tolist()
        assert (plan.role[k], plan.element[k]) == (Role.TOP, -1)


@pytest.mark.parametrize(("origin", "jumps"), [((0.0, 0.0), 4), ((40.0, 0.0), 1), ((30.0, 0.0), 1)])
def test_the_first_jump_is_counted_from_the_origin_and_divided(origin, jumps):
    # 40 mm in rows of no more than 12
    plan = plan_of_strands([strand(40, 43, 46)], origin=origin)
    first = np.flatnonzero(plan.kind == Kind.STITCH)[0]
    assert first == jumps
    way = np.vstack([[origin], plan.xy[:first]])
    assert np.hypot(*np.diff(way, axis=0).T).max() <= 12 + 1e-9
    assert way[-1].tolist() == plan.xy[first].tolist()
    assert plan.origin == origin


def test_every_thread_is_locked_at_both_ends_and_at_a_jump_within_it():
    plan = plan_of_strands([strand(0, 3, 6, 9), strand(12, 15, 18, 21)])
    assert plan.trims == 1
    stitch = np.flatnonzero(plan.kind == Kind.STITCH)
    jump = np.flatnonzero(plan.kind == Kind.JUMP)[-1]
    before, after = stitch[stitch < jump], stitch[stitch > jump]
    locks = plan.role == Role.LOCK
    # a pes file marks every move as a cut: what it parts must hold
    for end in (before[:3], before[-3:], after[:3], after[-3:]):
        assert locks[end].any()
    own = plan_of_strands([strand(0, 3, 6, 9, own_locks=True)])
    assert not (own.role == Role.LOCK).any()
    assert own.stitches == 4
