import numpy as np
import pytest
from machine_plans import plan_of, three_stops

from stitchcraft.defaults import MACHINE
from stitchcraft.design import PlanStop, Purpose, StitchPlan, Thread
from stitchcraft.errors import ParameterError
from stitchcraft.machine import (
    Machine,
    decode,
    encode,
    hands_on_minutes,
    minutes,
    stitch_lengths,
    thread_metres,
    threads_of,
    uncut_moves,
)
from stitchcraft.parts import CornerAccent
from stitchcraft.stitching import plan as planned


def seam(length: float, stitch: float) -> StitchPlan:
    count = round(length / stitch)
    return plan_of([[[(k * stitch, 0.0) for k in range(count + 1)]]])


@pytest.mark.parametrize(
    ("stitch", "thickness", "ratio"),
    [
        (2.54, 0.254, 2.20),  # 10 stitches an inch through 0.01 in: worked problem 02, textilecalculations.com
        (25.4 / 14, 0.4536, 2.5),  # 14 an inch, 2.5 for stitch type 301: Coats, Standard Stitch Type Classification
        (2.5, 1.0, 2.80),  # C = 2 + 2TS by hand
        (2.5, 2.0, 3.60),
    ],
)
def test_a_seam_takes_the_published_length_of_thread(stitch: float, thickness: float, ratio: float) -> None:
    use = thread_metres(seam(stitch * 2000, stitch), thickness=thickness)
    sewn = stitch * 2000 / 1000
    assert (use.top_m + use.bobbin_m) / sewn == pytest.approx(ratio, rel=2e-3)


@pytest.mark.parametrize("stitch", [2.5, 3.0, 3.5])
def test_1000_stitches_take_what_thread_makers_say(stitch: float) -> None:
    # 4.5 to 6 m of top and 2.5 to 3.5 m of bobbin thread: spool makers' figures, and sewingmachinefun.com
    use = thread_metres(seam(stitch * 1000, stitch))
    assert 4.5 <= use.top_m <= 6.0
    assert 2.5 <= use.bobbin_m <= 3.51


def test_5000_m_of_thread_sew_a_million_stitches_of_3_mm() -> None:
    # 5,000 m to 1,000,000 stitches: melgeecrafts.com
    assert thread_metres(seam(3000, 3.0)).top_m * 1000 == pytest.approx(5000, rel=0.01)


def test_thread_is_laid_along_a_jump_but_not_over_a_cut_and_counted_by_stop() -> None:
    runs = [[(0.0, 0.0), (3.0, 0.0)], [(3.0, 40.0), (6.0, 40.0)]]
    cut = thread_metres(plan_of([runs], cuts=True), thickness=0)
    uncut = thread_metres(plan_of([runs], cuts=False), thickness=0)
    assert cut.bobbin_m == pytest.approx(0.006)
    assert uncut.bobbin_m == pytest.approx(0.046)
    two = thread_metres(plan_of([[runs[0]], [runs[1]]]), thickness=0)
    assert [stop.top_m for stop in two.stops] == pytest.approx([0.003, 0.003])
    assert two.top_m == pytest.approx(0.006)


def test_lengths_tell_sewn_from_laid() -> None:
    plan = plan_of([[[(0.0, 0.0), (3.0, 4.0)], [(3.0, 14.0)]], [[(0.0, 0.0)]]], cuts=False)
    lengths = stitch_lengths(plan)
    assert lengths.length.tolist() == pytest.approx([0, 5, 10, np.hypot(3, 14)])
    assert lengths.sewn.tolist() == [False, True, False, False]
    assert lengths.laid.tolist() == [False, True, True, False]
    assert lengths.stop.tolist() == [0, 0, 0, 1]


def test_the_same_thread_is_estimated_from_the_plan_and_from_its_file() -> None:
    plan = three_stops()
    from_file = thread_metres(decode(encode(plan, "xxx"), "xxx").plan())
    assert from_file.top_m == pytest.approx(thread_metres(plan).top_m, rel=0.01)


@pytest.mark.parametrize("bad", [-1, 21, float("nan"), "thick"])
def test_a_thickness_out_of_reason_is_refused(bad: object) -> None:
    with pytest.raises(ParameterError, match="thickness"):
        thread_metres(three_stops(), thickness=bad)  # type: ignore[arg-type]


def test_6000_stitches_take_ten_minutes_at_600_and_eight_at_750() -> None:
    # theembroiderywarehouse.com, "How long does it take"
    plan = seam(5999, 1.0)
    assert plan.stitches == 6000
    assert minutes(plan, Machine(speed=600)) == pytest.approx(10)
    assert minutes(plan, Machine(speed=750)) == pytest.approx(8)
    assert minutes(plan) == pytest.approx(10)


def stop_of(colour: str, before: str = "") -> PlanStop:
    return PlanStop(Purpose.DECORATE, Thread(colour), before)


def test_hands_are_needed_for_threads_for_cloth_and_for_cuts_that_the_machine_does_not_make() -> None:
    base = plan_of([[[(0.0, 0.0), (1.0, 0.0)], [(5.0, 0.0), (6.0, 0.0)]], [[(0.0, 0.0)]], [[(1.0, 0.0)]]])
    stops = (stop_of("#000000"), stop_of("#000000", "Lay the lining on the ticks."), stop_of("#ffffff"))
    plan = StitchPlan(base.name, base.xy, base.kind, base.stop, base.role, base.element, stops)
    assert plan.trims == 1
    assert hands_on_minutes(plan) == pytest.approx((90 + 60) / 60)
    assert hands_on_minutes(plan, Machine(trims=False)) == pytest.approx((90 + 60 + 8) / 60)
    assert minutes(plan) - minutes(plan, Machine(trims=False)) == pytest.approx(8 / 60)


def test_a_machine_without_a_trimmer_leaves_the_same_cuts_to_the_hands() -> None:
    design = CornerAccent(width=60, height=60).left()
    trimmed, loose = planned(design), planned(design, trims=False)
    by_hand = Machine(trims=False)
    inside = trimmed.trims - len(trimmed.stops)  # the last of each stop is cut with the change of thread
    assert len(uncut_moves(trimmed)) == 0
    assert len(uncut_moves(loose, by_hand)) == inside > 0
    more = hands_on_minutes(loose, by_hand) - hands_on_minutes(trimmed)
    assert more == pytest.approx(inside * MACHINE["trim_seconds"].value / 60)


def test_ends_of_threads_are_locked_as_planned_and_bare_ones_are_counted() -> None:
    accent = planned(CornerAccent(width=60, height=60).left())
    held = threads_of(decode(encode(accent, "exp"), "exp").plan())
    assert len(held.first) > 2
    assert held.held_first.all()
    assert held.held_last.all()
    run = [(k * 2.5, 0.0) for k in range(10)]
    locked = [(0.0, 9.0), (1.0, 9.0), (0.5, 9.0), *[(k * 2.5, 9.0) for k in range(1, 10)]]
    bare = threads_of(plan_of([[run, locked], [run]]))
    assert bare.stop.tolist() == [0, 0, 1]
    assert bare.held_first.tolist() == [False, True, False]
    assert not bare.held_last.any()


def test_a_narrow_zigzag_holds_itself_and_a_wide_one_does_not() -> None:
    narrow = threads_of(plan_of([[[(k * 0.2, 1.5 * (k % 2)) for k in range(30)]]]))
    wide = threads_of(plan_of([[[(k * 0.2, 4.0 * (k % 2)) for k in range(30)]]]))
    assert (bool(narrow.held_first), bool(wide.held_first)) == (True, False)


def test_a_thread_laid_along_a_jump_is_one_thread() -> None:
    runs = [[(0.0, 0.0), (2.5, 0.0)], [(9.0, 0.0), (12.0, 0.0)]]
    assert len(threads_of(plan_of([runs], cuts=False)).first) == 1
    assert len(threads_of(plan_of([runs])).first) == 2
