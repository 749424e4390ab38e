"""What the hands do is never lost with a stop that sews nothing."""

import pytest

from stitchcraft.decoration import decoration_from
from stitchcraft.design import Purpose
from stitchcraft.parts import ClosureTab, CornerAccent, StrapConnector

NONE = decoration_from("none")


@pytest.mark.parametrize(
    ("design", "purpose", "words"),
    [
        (ClosureTab(decoration=NONE).front(), Purpose.TICKS, "Hoop the tab's front cloth"),
        (ClosureTab(decoration=NONE, batting=True).front(), Purpose.TICKS, "lay the tab's front cloth over all"),
        (CornerAccent(width=80, height=80, decoration=NONE).left(), Purpose.COVER, "trim the accent cloth close"),
        (StrapConnector(decoration=NONE).back(), Purpose.COVER, "trim the connector cloth close"),
    ],
)
def test_without_decoration_its_work_by_hand_comes_before_the_next_stop(design, purpose, words):
    (stop,) = [stop for stop in design.stops if stop.purpose is purpose]
    assert words in stop.before
    assert Purpose.DECORATE not in [stop.purpose for stop in design.stops]


def test_with_decoration_every_stop_keeps_its_own_words():
    design = ClosureTab(batting=True).front()
    befores = [stop.before for stop in design.stops]
    assert [stop.purpose for stop in design.stops][:3] == [Purpose.PLACE, Purpose.TACK, Purpose.DECORATE]
    assert befores[1] == "Lay the batting over the whole placement line."
    assert "trim the batting" in befores[2]
    assert "lay the tab's front cloth" in befores[2]
