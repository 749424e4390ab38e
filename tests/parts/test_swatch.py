"""The swatch: what is on it, that it is sewn exactly as drawn, and that everything can be read."""

import itertools
from collections import Counter

import numpy as np
import pytest
import shapely

from stitchcraft.arrays import turned
from stitchcraft.checks import check
from stitchcraft.defaults import FABRICS
from stitchcraft.design import Area, Column, Line, Role
from stitchcraft.errors import ParameterError
from stitchcraft.machine import Hoop, centred, fit_at
from stitchcraft.parts.swatch import DIRECTIONS, LAYOUTS, WIDTHS_MM, Swatch
from stitchcraft.stitching import plan
from stitchcraft.stitching.layers import shape_of
from stitchcraft.units import MACHINE_UNIT_MM, to_units


@pytest.fixture(params=LAYOUTS)
def swatch(request):
    return Swatch(field=request.param)


def test_there_are_bars_of_five_widths_and_a_square_in_each_direction_and_one_ruler(swatch):
    kinds = Counter((one.kind, one.direction) for one in swatch.to_measure)
    assert kinds == {
        **{("bar", direction): 5 for direction in DIRECTIONS}, **{("square", direction): 1 for direction in DIRECTIONS},
        ("ruler", 0.0): 1,
    }  # fmt: skip
    bars = {(one.direction, one.nominal) for one in swatch.to_measure if one.kind == "bar"}
    assert bars == set(itertools.product(DIRECTIONS, WIDTHS_MM))


def test_it_fits_its_field_unturned_and_nothing_is_said_of_it_though_its_labels_cost_trims(swatch):
    stitches = plan(swatch.design())
    hoop = Hoop.parse(swatch.field)
    fit = fit_at(stitches.needle_points, hoop, centred(stitches.needle_points))
    assert fit is not None
    assert fit.slack_mm > 1
    # each of the labels stands by itself, a trim away from the next
    assert not check(stitches, hoop=hoop)


@pytest.mark.parametrize("fabric", FABRICS)
def test_needles_of_a_bar_or_square_lie_on_its_drawn_edges_to_within_rounding_whatever_the_fabric(fabric):
    # the machine knows tenths of a millimetre: rounding to them puts a needle point off by half their diagonal at
    # most, and the planner shifts it no farther out than that; the mean of both edges comes nearer
    off = 0.1 / np.sqrt(2) + 1e-6
    swatch = Swatch()
    stitches = plan(swatch.design(), fabric=FABRICS[fabric])
    top = stitches.xy[stitches.is_stitch & (stitches.role == Role.TOP) & (stitches.stop == 1)]
    sewn = to_units(top) * MACHINE_UNIT_MM
    for one in swatch.to_measure:
        if one.kind == "ruler":
            continue
        # in a frame in which the threads lie along x, within a band across the middle
        away = turned(sewn - np.array(one.at), -one.direction)
        mine = away[(np.abs(away[:, 1]) < 2.5) & (np.abs(away[:, 0]) < one.nominal / 2 + 1.5), 0]
        assert (mine.min(), mine.max()) == pytest.approx((-one.nominal / 2, one.nominal / 2), abs=off), one
        if one.kind == "bar":
            right, left = mine[mine > 0.3 * one.nominal], mine[mine < -0.3 * one.nominal]
            assert right.mean() - left.mean() == pytest.approx(one.nominal, abs=0.05), one


def test_the_ruler_is_sewn_between_its_marks_at_its_length(swatch):
    ruler = next(one for one in swatch.to_measure if one.kind == "ruler")
    stitches = plan(swatch.design())
    marks = stitches.points_of(0) - np.array(ruler.at)
    on_line = marks[np.abs(marks[:, 1]) < 1e-6]
    assert (on_line[:, 0].min(), on_line[:, 0].max()) == pytest.approx((-ruler.nominal / 2, ruler.nominal / 2))
    assert {stop.purpose.value for stop in stitches.stops} == {"letter", "decorate"}


def test_columns_and_areas_lie_where_the_table_says_with_their_threads_in_its_direction(swatch):
    sewn = swatch.design().stops[1].elements
    for one in swatch.to_measure:
        here = [
            element
            for element in sewn
            if np.hypot(*(np.array(shape_of(element).centroid.coords[0]) - one.at)) < 1e-6
        ]  # fmt: skip
        assert len(here) == (one.kind != "ruler")
        if one.kind == "bar":
            assert isinstance(here[0], Column)
            across = here[0].rail_b[0] - here[0].rail_a[0]
            assert np.hypot(*across) == pytest.approx(one.nominal)
            assert np.degrees(np.arctan2(across[1], across[0])) % 180 == pytest.approx(one.direction)
        elif one.kind == "square":
            assert isinstance(here[0], Area)
            assert here[0].stitch.angle == one.direction
            assert here[0].polygon.area == pytest.approx(one.nominal**2)


def test_nothing_touches_anything_else_and_bars_keep_apart(swatch):
    marks, measured = swatch.design().stops
    shapes = [shape_of(element) for element in measured.elements]
    least = min(shapely.distance(a, b) for a, b in itertools.combinations(shapes, 2))
    assert least >= 2
    lines = shapely.MultiLineString([line.path for line in marks.elements if isinstance(line, Line)])
    assert min(shapely.distance(lines, shape) for shape in shapes) > 1


def test_a_bar_is_more_than_twice_as_long_as_wide_so_that_its_middle_knows_nothing_of_its_ends(swatch):
    for element in swatch.design().stops[1].elements:
        if isinstance(element, Column):
            width = np.hypot(*(element.rail_a[0] - element.rail_b[0]))
            assert np.hypot(*(element.rail_a[-1] - element.rail_a[0])) > 2 * width


def test_another_field_is_refused_by_name():
    with pytest.raises(ParameterError, match="one of 100x100, 130x180"):
        Swatch(field="90x90")
