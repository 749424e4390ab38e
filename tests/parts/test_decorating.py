"""The stops of a decoration: one for each thread, the hands' work before the first."""

from __future__ import annotations

import numpy as np
import pytest

from stitchcraft.decoration import Dots, NoDecoration
from stitchcraft.decoration.artwork import Artwork
from stitchcraft.design import Column, Design, Line, Purpose, Stop
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.svg_paths import read_svg
from stitchcraft.machine import decode, encode
from stitchcraft.parts import ClosureTab, CornerAccent, Palette, StrapConnector
from stitchcraft.stitching import plan

THREE = read_svg(
    """<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="30mm" viewBox="0 0 30 30">
    <rect x="2" y="2" width="26" height="26" fill="#2f5d62"/><circle cx="15" cy="15" r="8" fill="#C03020"/>
    <path d="M4 29H26" stroke="#123456" stroke-width="0.5"/><rect x="13" y="13" width="4" height="4" fill="#c03020"/>
    </svg>""",
    name="three.svg",
)
ART = Artwork(svg=THREE)


def decorating(design: Design) -> list[Stop]:
    return [stop for stop in design.stops if stop.purpose is Purpose.DECORATE]


def test_three_colours_are_three_stops_in_the_drawing_s_own_threads() -> None:
    stops = decorating(ClosureTab(decoration=ART).front())
    assert [stop.thread.colour for stop in stops] == ["#2f5d62", "#c03020", "#123456"]
    # the first colour is the accent's own: it is not bought twice
    assert [stop.thread.name for stop in stops] == ["accent", "drawing", "drawing"]
    assert [bool(stop.before) for stop in stops] == [True, False, False]


def test_the_palette_overrides_the_drawing_by_colour_or_by_use() -> None:
    palette = Palette(drawn={"#C03020": "edge", "#123456": "#fefefe"}, weight=60)
    stops = decorating(ClosureTab(decoration=ART, palette=palette).front())
    assert [(stop.thread.colour, stop.thread.name) for stop in stops] == [
        ("#2f5d62", "accent"), (palette.edge, "edge"), ("#fefefe", "drawing"),
    ]  # fmt: skip
    assert {stop.thread.weight for stop in stops} == {60}


def test_colours_that_get_one_thread_are_one_stop() -> None:
    palette = Palette(drawn={"#c03020": "accent", "#123456": "accent"})
    (stop,) = decorating(ClosureTab(decoration=ART, palette=palette).front())
    assert stop.thread.name == "accent"
    assert len(stop.elements) == len(ART.elements(ClosureTab().decoration_area))


def test_a_drawing_in_one_colour_and_a_drawing_in_one_thread_take_the_accent() -> None:
    one = Artwork(svg=read_svg('<svg width="20mm" height="20mm"><rect width="60" height="60" fill="red"/></svg>'))
    for decoration in (one, Artwork(svg=THREE, colours="one"), Dots()):
        (stop,) = decorating(ClosureTab(decoration=decoration).front())
        assert stop.thread == Palette().thread("accent")


def test_without_a_decoration_the_hands_work_goes_to_the_next_stop() -> None:
    plain, dotted = (CornerAccent(width=90, height=90, decoration=d).left() for d in (NoDecoration(), Dots()))
    assert decorating(plain) == []
    assert plain.stops[-1].before == decorating(dotted)[0].before


def test_the_other_corner_has_the_same_stops_mirrored() -> None:
    accent = CornerAccent(width=110, height=110, decoration=Artwork(svg=THREE, pitch=40, edge="clip", width=20))
    left, right = decorating(accent.left()), decorating(accent.right())
    assert [stop.thread for stop in left] == [stop.thread for stop in right]
    assert len(left) == 3
    for one, other in zip(left, right, strict=True):
        for a, b in zip(one.elements, other.elements, strict=True):
            if isinstance(a, Line):
                assert np.allclose(a.path * [-1, 1], b.path)
            if isinstance(a, Column):
                assert np.allclose(a.rail_a * [-1, 1], b.rail_a)


def test_a_connector_is_decorated_in_colours_too_and_the_file_waits_at_each() -> None:
    connector = StrapConnector(decoration=Artwork(svg=THREE, width=12), height=70)
    made = plan(connector.back())
    assert len(decorating(connector.back())) == 3
    read = decode(encode(made, "dst"), "dst")
    assert len(read.plan().stops) == len(made.stops)


@pytest.mark.parametrize(
    ("drawn", "words"),
    [
        ({"red": "accent"}, "palette.drawn is 'red'; it needs to be a colour like"),
        ({"#ff0000": "gold"}, "palette.drawn is 'gold'; it needs to be a colour like .* or one of accent, edge"),
        ({"#ff0000": 3}, "palette.drawn is 3"),
        ((("#ff0000", "#00"),), "palette.drawn is '#00'"),
    ],
)
def test_a_thread_that_is_none_is_refused(drawn: dict[str, str], words: str) -> None:
    with pytest.raises(ParameterError, match=words):
        Palette(drawn=drawn)
