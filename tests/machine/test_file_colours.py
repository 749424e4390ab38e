from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st
from pyembroidery import EmbThread
from pyembroidery.EmbThreadJef import get_thread_set as jef_palette
from pyembroidery.EmbThreadPec import get_thread_set as pec_palette

from stitchcraft.design import PlanStop, Purpose, Thread
from stitchcraft.machine import file_colours
from stitchcraft.machine.colours import STEP_COLOURS, palettes_merge

COLOUR = st.one_of(
    st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}"),
    st.sampled_from(("#2f5d62", "#2f5d63", "#000000", "#ffffff", *STEP_COLOURS)),
)


def stops_of(*colours: str) -> list[PlanStop]:
    return [PlanStop(Purpose.DECORATE, Thread(colour)) for colour in colours]


def entries(colour: str) -> tuple[int, int]:
    thread = EmbThread(int(colour[1:], 16))
    return thread.find_nearest_color_index(pec_palette()), thread.find_nearest_color_index(jef_palette())


@given(st.lists(COLOUR, min_size=1, max_size=12))
def test_no_two_neighbours_share_an_entry_of_either_palette(colours: list[str]) -> None:
    chosen = [entries(colour) for colour in file_colours(stops_of(*colours))]
    for a, b in pairwise(chosen):
        assert a[0] != b[0]
        assert a[1] != b[1]


def test_threads_that_differ_keep_their_own_colours() -> None:
    own = ["#2f5d62", "#d9a441", "#f2efe6", "#2f5d62"]
    assert file_colours(stops_of(*own)) == own


def test_a_pause_in_one_thread_gets_a_step_colour_that_the_next_stop_does_not_have() -> None:
    chosen = file_colours(stops_of("#2f5d62", "#2f5d62", "#ff0000"))
    assert chosen[0] == "#2f5d62"
    assert chosen[2] == "#ff0000"
    assert chosen[1] in STEP_COLOURS
    assert chosen[1] != "#ff0000"
    assert file_colours(stops_of("#2f5d62", "#2f5d62")) == ["#2f5d62", "#ff0000"]


def test_a_colour_that_only_a_palette_confuses_is_changed_too() -> None:
    assert palettes_merge("#2f5d62", "#2f5d63")
    assert file_colours(stops_of("#2f5d62", "#2f5d63"))[1] != "#2f5d63"


def test_the_step_colours_are_apart_in_both_palettes() -> None:
    chosen = [entries(colour) for colour in STEP_COLOURS]
    assert len({pec for pec, _ in chosen}) == len({jef for _, jef in chosen}) == len(STEP_COLOURS)


def test_no_stops_have_no_colours() -> None:
    assert file_colours([]) == []
