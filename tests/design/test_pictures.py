"""Designs and plans draw themselves: what the picture shows is what is sewn."""

import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from stitchcraft.design import (
    Area,
    Column,
    Design,
    DoubleRun,
    Kind,
    Line,
    Purpose,
    Running,
    StitchPlan,
    Stop,
    Thread,
)
from stitchcraft.geometry.curves import circle, polygon_from
from stitchcraft.stitching import plan

SVG = "{http://www.w3.org/2000/svg}"


def drawn(*, name="leaf", accent="#2f5d62", thread="accent"):
    disc = polygon_from(circle((0, 0), 8))
    rails = [[-8, 12], [8, 12]], [[-8, 15], [8, 15]]
    return Design(
        name,
        (
            Stop(Purpose.DECORATE, Thread(accent, thread), (Area(disc), Column(*map(np.array, rails)))),
            Stop(Purpose.SEAM, Thread("#8a8f98", "seam"), (Line(circle((0, 0), 20), DoubleRun()),)),
            Stop(Purpose.TICKS, Thread("#3a3a3a"), (Line([[24, 0], [30, 0]], Running()),)),
        ),
    )


def root_of(thing):
    return ET.fromstring(thing._repr_svg_())


def words_of(root):
    return [element.text for element in root.iter(f"{SVG}text")]


def points_in(code):
    return np.array([[float(x), -float(y)] for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", code)])


def test_a_design_names_its_stops_and_its_size():
    words = words_of(root_of(drawn()))
    assert words[:3] == ["1", "2", "3"]
    assert [word for word in words[3:] if not word.isdigit()] == [
        "decorate, accent", "seam, seam", "ticks", "50 × 40 mm (1 15/16 × 1 9/16 in)",
    ]  # fmt: skip


def test_a_design_is_drawn_in_its_threads_colours():
    strokes = {path.get("fill") for path in root_of(drawn()).iter(f"{SVG}path")}
    assert "#2f5d62" in strokes


def test_a_plan_draws_every_needle_point_where_it_is_sewn():
    sewn = plan(drawn())
    root = root_of(sewn)
    for number, group in enumerate(root.iter(f"{SVG}g")):
        paths = [path for path in group if "stroke-dasharray" not in path.attrib]
        shown = np.vstack([points_in(path.get("d")) for path in paths])
        wanted = np.round(sewn.points_of(number), 2)
        assert {tuple(point) for point in wanted + 0.0} <= {tuple(point) for point in shown + 0.0}
    assert number == 2


def test_strokes_are_the_whole_plan_each_setting_out_where_the_needle_was():
    sewn = plan(drawn())
    stitches = [path for stop in range(3) for path in sewn.strokes(stop)]
    assert sum(len(path) - 1 for path in stitches) == sewn.stitches
    moves = [path for stop in range(3) for path in sewn.strokes(stop, kind=Kind.JUMP)]
    to_the_first = int(np.argmax(sewn.is_stitch))
    assert to_the_first > 0
    assert sum(len(path) - 1 for path in moves) == sewn.jumps - to_the_first


def test_a_plan_that_begins_with_a_stitch_is_drawn_from_there():
    # a file from elsewhere may put the needle down at once
    row = np.array([[0, 0], [1, 0], [2, 0], [2, 0]])
    kinds = [Kind.STITCH, Kind.STITCH, Kind.STITCH, Kind.END]
    zeros = np.zeros(4)
    sewn = StitchPlan("", row, kinds, zeros, zeros, zeros, plan(drawn()).stops[:1])
    assert [path.tolist() for path in sewn.strokes(0)] == [[[0, 0], [1, 0], [2, 0]]]


def test_the_way_to_the_first_stitch_is_not_drawn():
    row = np.array([[10, 0], [20, 0], [30, 0], [31, 0], [40, 0], [41, 0], [41, 0]])
    kinds = [Kind.JUMP, Kind.JUMP, Kind.STITCH, Kind.STITCH, Kind.JUMP, Kind.STITCH, Kind.END]
    zeros = np.zeros(7)
    sewn = StitchPlan("", row, kinds, zeros, zeros, zeros, plan(drawn()).stops[:1])
    assert [path.tolist() for path in sewn.strokes(0, kind=Kind.JUMP)] == [[[31, 0], [40, 0]]]


def test_a_plan_counts_the_stitches_of_each_stop():
    sewn = plan(drawn())
    counts = [len(sewn.points_of(number)) for number in range(3)]
    words = " ".join(words_of(root_of(sewn)))
    assert f"decorate, accent: {counts[0]:,} stitches" in words
    assert f"seam, seam: {counts[1]} stitches" in words


def test_a_plan_read_from_a_file_claims_no_purpose():
    sewn = plan(drawn())
    blank = np.full(len(sewn.kind), -1)
    foreign = StitchPlan("", sewn.xy, sewn.kind, sewn.stop, sewn.role, blank, sewn.stops)
    assert not any(name in word for word in words_of(root_of(foreign)) for name in ("decorate", "ticks"))


@pytest.mark.parametrize(("colour", "edged"), [("#efe9dd", True), ("#ffffff", True), ("#2f5d62", False)])
def test_thread_as_pale_as_the_cloth_gets_an_edge(colour, edged):
    assert (drawn(accent=colour)._repr_svg_().count("#6b6458") > drawn()._repr_svg_().count("#6b6458")) is edged


def test_names_with_markup_in_them_are_shown_as_text():
    hostile = "<script>x</script>&"
    root = root_of(drawn(name=hostile, thread=hostile))
    assert root.find(f"{SVG}title").text == hostile
    assert f"decorate, {hostile}" in words_of(root)
    assert not list(root.iter(f"{SVG}script"))


def test_numbers_never_cover_each_other():
    tick = (Line([[0, 0], [5, 0]]),)
    crowd = Design("crowd", tuple(Stop(Purpose.TICKS, Thread("#3a3a3a"), tick) for _ in range(12)))
    circles = [(float(c.get("cx")), float(c.get("cy"))) for c in root_of(crowd).iter(f"{SVG}circle")]
    gaps = [np.hypot(a - c, b - d) for i, (a, b) in enumerate(circles) for c, d in circles[:i]]
    assert len(circles) == 24
    assert min(gaps) > 3.6


@pytest.mark.parametrize("thing", [Design("none", ()), Design("none", (Stop(Purpose.SEAM, Thread("#000000"), ()),))])
def test_nothing_to_sew_has_no_picture(thing):
    assert thing._repr_svg_() is None


def test_a_plan_without_stitches_has_no_picture():
    assert StitchPlan("none", [[0, 0]], [Kind.END], [0], [0], [-1], ())._repr_svg_() is None


def test_the_same_plan_gives_the_same_picture():
    assert plan(drawn())._repr_svg_() == plan(drawn())._repr_svg_()


def test_repr_stays_one_line():
    assert "\n" not in repr(drawn()) + repr(plan(drawn()))
