"""Colours are measured as the standards say, and a thread that cannot be seen or told from another is found."""

import numpy as np
import pytest

from stitchcraft.checks import check
from stitchcraft.checks.colours import colour_distance, lab_of
from stitchcraft.defaults import COLOURS, PALETTE
from stitchcraft.design import Design, Line, Purpose, Stop, Thread
from stitchcraft.errors import Level, ParameterError
from stitchcraft.stitching import plan


@pytest.mark.parametrize(
    ("colour", "lab"),
    [
        # L*, a*, b* of the sRGB primaries, white D65: published tables of colour conversions
        ("#ff0000", (53.24, 80.09, 67.20)),
        ("#00ff00", (87.73, -86.18, 83.18)),
        ("#0000ff", (32.30, 79.19, -107.86)),
        ("#ffffff", (100.0, 0.0, 0.0)),
        ("#000000", (0.0, 0.0, 0.0)),
        ("#808080", (53.59, 0.0, 0.0)),
    ],
)
def test_lab_of_the_primaries_is_the_published_one(colour, lab):
    assert lab_of(colour) == pytest.approx(lab, abs=0.05)


def test_distances_are_those_of_a_space():
    rng = np.random.default_rng(1)
    colours = ["#" + "".join(f"{k:02x}" for k in rng.integers(0, 256, 3)) for _ in range(20)]
    for a, b, c in zip(colours, colours[1:], colours[2:], strict=False):
        assert colour_distance(a, b) == colour_distance(b, a) >= 0
        assert colour_distance(a, c) <= colour_distance(a, b) + colour_distance(b, c) + 1e-9


def found(code, *colours, purpose=Purpose.DECORATE, **options):
    stops = tuple(
        Stop(purpose, Thread(colour), (Line(np.array([[0.0, 5 * k], [30.0, 5 * k]])),))
        for k, colour in enumerate(colours)
    )
    return [one for one in check(plan(Design("x", stops)), **options) if one.code == code]


def test_thread_of_the_colour_of_the_cloth_is_found_and_goes_when_another_is_taken():
    (one,) = found("colour-lost", "#e9e4d0", cloth="#e9e4da")
    assert one.level is Level.NOTE
    assert one.measured < one.limit == COLOURS["on_cloth"].value
    assert one.stops == (1,)
    assert not found("colour-lost", "#8a5a2a", cloth="#e9e4da")
    assert not found("colour-lost", "#e9e4d0")  # nothing is known of the cloth
    assert not found("colour-lost", "#e9e4d0", purpose=Purpose.TACK, cloth="#e9e4da")


def test_lettering_that_is_lost_is_worse_than_decoration():
    (one,) = found("colour-lost", "#e9e4d0", purpose=Purpose.LETTER, cloth="#e9e4da")
    assert one.level is Level.WARNING
    assert "unless it is meant" not in one.remedy


def test_threads_that_look_alike_are_found_and_go_when_they_are_one():
    (one,) = found("colours-alike", "#2f5d62", "#305e60")
    assert one.stops == (1, 2)
    assert not found("colours-alike", "#2f5d62", "#2f5d62")
    assert not found("colours-alike", "#2f5d62", "#d9a441")


def test_the_threads_of_a_kit_that_names_none_are_told_apart():
    names = list(PALETTE.values())
    apart = [colour_distance(a, b) for k, a in enumerate(names) for b in names[k + 1 :]]
    assert min(apart) > COLOURS["alike"].value


def test_a_cloth_that_is_no_colour_is_refused():
    with pytest.raises(ParameterError, match="colour"):
        found("colour-lost", "#2f5d62", cloth="sand")


@pytest.mark.parametrize("purpose", [Purpose.SNAP, Purpose.TICKS, Purpose.OUTLINE])
def test_marks_that_cannot_be_found_again_are_a_warning_and_go_when_their_thread_is_another(purpose):
    (one,) = found("colour-lost", "#3a3a3a", "#3a3a3a", purpose=purpose, cloth="#303236")
    assert (one.level, one.stops, one.limit) == (Level.WARNING, (1, 2), COLOURS["on_cloth"].value)
    assert f"stop 1 ({purpose}) and stop 2 ({purpose})" in one.message
    assert "material.palette.mark" in one.remedy
    assert not found("colour-lost", "#f2efe6", purpose=purpose, cloth="#303236")
    assert not found("colour-lost", "#3a3a3a", purpose=purpose)
