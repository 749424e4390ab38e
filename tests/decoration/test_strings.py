"""Dots on a string: one run sews them all, as far as the area goes on."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from stitchcraft.decoration import Dots
from stitchcraft.decoration.strings import headings, strings_of
from stitchcraft.design import Column, Design, Kind, Line, Purpose, StitchPlan, Stop, Thread
from stitchcraft.stitching import plan

ROUND = shapely.Point(0, 0).buffer(30)
NOTCHED = shapely.Point(0, 0).buffer(24).difference(shapely.box(-5, -30, 2, -6))


def sewn(decoration: Dots, area: shapely.Polygon) -> StitchPlan:
    return plan(Design("dots", (Stop(Purpose.DECORATE, Thread("#2f5d62"), decoration.elements(area)),)))


@pytest.mark.parametrize("layout", ["hexagonal", "square"])
def test_strung_dots_take_a_few_trims_where_loose_ones_take_one_each(layout: str) -> None:
    loose, strung = (Dots(layout=layout, joined=joined) for joined in (False, True))
    motifs = loose.describe(ROUND).motifs
    assert sewn(loose, ROUND).trims == motifs
    assert sewn(strung, ROUND).trims <= 5 < motifs / 8


def test_a_notch_costs_a_trim_or_two_and_no_string_crosses_it() -> None:
    elements = Dots(joined=True).elements(NOTCHED)
    assert all(NOTCHED.covers(shapely.LineString(e.path)) for e in elements if isinstance(e, Line))
    assert sewn(Dots(joined=True), NOTCHED).trims <= 5


@pytest.mark.parametrize("angle", [0, 25])
@pytest.mark.parametrize("layout", ["hexagonal", "square"])
def test_a_string_runs_over_no_dot(layout: str, angle: float) -> None:
    elements = Dots(joined=True, layout=layout, angle=angle).elements(ROUND)
    dots = shapely.union_all(
        [shapely.Polygon(np.vstack([e.rail_a, e.rail_b[::-1]])) for e in elements if isinstance(e, Column)]
    )
    for element in elements:
        if isinstance(element, Line):
            assert shapely.LineString(element.path).intersection(dots).length < 0.5


def test_strings_hold_every_dot_once_and_go_to_and_fro() -> None:
    rows = [[0, 1, 2], [3, 4, 5], [6, 7, 8]]
    centres = np.array([(x, y) for y in (0.0, 10.0, 20.0) for x in (0.0, 10.0, 20.0)])
    assert strings_of(rows, centres, 10.0, shapely.box(-5, -5, 25, 25)) == [[0, 1, 2, 5, 4, 3, 6, 7, 8]]
    parted = shapely.box(-5, -5, 25, 25).difference(shapely.box(4, -6, 6, 26))
    pieces = shapely.union(parted, shapely.box(-5, -5, 25, -4))
    strings = strings_of(rows, centres, 10.0, pieces)
    assert sorted(dot for string in strings for dot in string) == list(range(9))
    assert strings == [[0, 3, 6], [1, 2, 5, 4, 7, 8]]


def test_a_string_passes_straight_through_a_row_and_turns_at_its_end() -> None:
    ways = headings(np.array([(0.0, 0.0), (7.0, 0.0), (14.0, 0.0), (10.5, 6.06), (3.5, 6.06)]), 0.0)
    assert ways[:2] == pytest.approx([0, 0])
    # a turn of 120 degrees is met with 40, so that the string leaves at 80 from straight out
    assert ways[2] == pytest.approx(40, abs=0.1)
    assert abs(np.cos(np.radians(ways[3]))) == pytest.approx(1)


def test_strung_satin_dots_are_sewn_without_a_jump_between_trims() -> None:
    rows = sewn(Dots(joined=True), ROUND)
    jumps = np.count_nonzero((rows.kind[1:] == Kind.JUMP) & (rows.kind[:-1] == Kind.STITCH))
    assert jumps == 0
