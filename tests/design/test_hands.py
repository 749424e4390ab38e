"""What the hands do before a stop, and how long that takes."""

import pytest

from stitchcraft.decoration import NoDecoration
from stitchcraft.design import Design, Line, Purpose, Running, Stop, Thread
from stitchcraft.machine import hands_on_minutes
from stitchcraft.parts import ClosureTab, Palette
from stitchcraft.stitching import plan


def test_hands_place_cloth_change_the_thread_or_do_nothing():
    back = plan(ClosureTab(length=120, decoration=NoDecoration()).back())
    assert back.hands_before(0).startswith("Hoop the tab's back cloth")
    assert back.hands_before(1) == "Change to the mark thread."
    assert back.hands_before(2) == "Nothing: the same thread goes on."


def test_only_cloth_that_is_handled_and_threads_that_change_take_time():
    # placing 90 s and a change of thread 60 s: common practice, no source (defaults.MACHINE)
    back = ClosureTab(length=120, decoration=NoDecoration()).back()
    assert hands_on_minutes(plan(back)) == pytest.approx((90 + 60) / 60)
    plain = Palette(mark="#8a8f98", seam="#8a8f98")
    one_thread = ClosureTab(length=120, decoration=NoDecoration(), palette=plain).back()
    assert hands_on_minutes(plan(one_thread)) == pytest.approx(90 / 60, abs=1.01)


def test_threads_of_one_name_are_told_apart_by_their_colour():
    line = Line([[0.0, 0.0], [20.0, 0.0]], Running())
    made = plan(
        Design(
            "two drawn colours",
            tuple(Stop(Purpose.DECORATE, Thread(colour, "drawing"), (line,)) for colour in ("#7d5a8c", "#c79a3b"))
            + (Stop(Purpose.COVER, Thread("#d9a441", "edge"), (line,)),),
        )
    )
    assert made.hands_before(1) == "Change to the drawing thread #c79a3b."
    assert made.hands_before(2) == "Change to the edge thread."


def test_words_of_its_own_do_not_keep_a_stop_from_saying_that_its_thread_changes():
    first, other = Thread("#2f5d62", name="accent"), Thread("#d9a441", name="edge")
    line = (Line([[0, 0], [9, 0]], Running()),)
    stops = (
        Stop(Purpose.PLACE, first, line, "Hoop the cloth."),
        Stop(Purpose.TACK, other, line, "Lay the cloth."),
        Stop(Purpose.DECORATE, other, line, "Trim the cloth."),
    )
    made = plan(Design("sample", stops))
    assert [made.hands_before(number) for number in range(3)] == [
        "Hoop the cloth.",
        "Lay the cloth. Change to the edge thread.",
        "Trim the cloth.",
    ]
