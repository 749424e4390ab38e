"""Passes over the sections of a fill: each begins and ends where it is priced, and halves make up a whole."""

import numpy as np
import pytest
import shapely

from stitchcraft.geometry.curves import circle
from stitchcraft.stitching.fill_moves import Neighbours
from stitchcraft.stitching.fill_passes import FEWEST_ROWS, HALVES, Kind, Variants, passes_of
from stitchcraft.stitching.fill_sections import Rows, rows_of

RING = shapely.Polygon(circle((0, 0), 12)) - shapely.Polygon(circle((1, 0.5), 5))


def ends_of(rows: Rows, sewn) -> tuple[list[float], list[float]]:
    """Where the first row of a pass begins and where its last one ends."""
    spans, backward = sewn.spans(rows), sewn.backward(rows)
    first = (rows.right if backward[0] else rows.left)[spans[0]]
    last = (rows.left if backward[-1] else rows.right)[spans[-1]]
    return [first, rows.y[spans[0]]], [last, rows.y[spans[-1]]]


@pytest.mark.parametrize("height", [10.0, 10.3], ids=["even", "odd"])
@pytest.mark.parametrize("kind", Kind)
def test_every_kind_of_pass_begins_and_ends_at_the_corners_it_is_priced_by(kind, height):
    rows = rows_of(shapely.box(0, 0, 20, height), spacing=0.4, angle=0.0)
    variants = Variants(rows)
    corners = [(x, y) for y in (0.0, height) for x in (0.0, 20.0)]
    for mode in range(4):
        number = 4 * kind + mode
        (sewn,) = passes_of(np.array([number]))
        for end, corner in zip(ends_of(rows, sewn), (variants.enter[number], variants.leave[number]), strict=True):
            # the end of the row at the corner, or of one of its neighbours that another half has left over
            assert end[0] == corners[corner][0]
            assert abs(end[1] - corners[corner][1]) < 3.6 * 0.4
        assert variants.turned[variants.turned[number]] == number


@pytest.mark.parametrize("rows_in_it", range(FEWEST_ROWS, 16))
def test_two_halves_sew_every_row_once_and_never_leave_out_two_together(rows_in_it):
    rows = rows_of(shapely.box(0, 0, 20, rows_in_it), spacing=1.0, angle=0.0)
    for pair in HALVES:
        some, others = (passes_of(np.array([4 * kind]))[0].spans(rows) for kind in pair)
        assert sorted([*some, *others]) == list(range(rows_in_it))
        assert np.abs(np.diff(some)).max() <= 2
        assert np.abs(np.diff(others)).max(initial=1) <= 2


def test_a_row_is_crossed_where_the_section_is_narrowest():
    waist = shapely.Polygon([(0, 0), (20, 0), (12, 5), (20, 10), (0, 10), (8, 5)])
    rows = rows_of(waist, spacing=0.4, angle=0.0)
    variants = Variants(rows)
    crossed = 4 * Kind.THROUGH_CROSSED
    (sewn,) = passes_of(np.array([crossed]))
    spans = sewn.spans(rows)
    assert rows.y[spans[sewn.crossing(rows)]] == pytest.approx(5.0, abs=0.4)
    assert variants.extra[crossed] == pytest.approx(4.0, abs=2.0)
    # one side is changed and nothing else
    assert variants.leave[crossed] == variants.leave[4 * Kind.THROUGH] ^ 1


def test_ragged_and_small_sections_are_sewn_row_after_row():
    teeth = [(20.0 + (0.0 if i % 3 else 2.0), 0.4 * i) for i in range(31)]
    ragged = shapely.Polygon([(0, 0), *teeth, (0, 12)])
    small = shapely.box(0, 0, 20, 0.4 * (FEWEST_ROWS - 1))
    for shape, allowed in ((ragged, 8), (small, 4)):
        extra = Variants(rows_of(shape, spacing=0.4, angle=0.0)).extra[:32]
        assert np.isfinite(extra).tolist() == [True] * allowed + [False] * (32 - allowed)


def test_what_a_change_is_said_to_add_is_what_it_adds():
    rows = rows_of(RING, spacing=0.4, angle=0.0)
    variants = Variants(rows)
    corners = 4 * rows.sections
    price = np.random.default_rng(3).uniform(1.0, 30.0, (corners + 1, corners + 1))

    def total(tour):
        before, after = np.append(-1, variants.leave[tour]), np.append(variants.enter[tour], -1)
        return price[before, after].sum() + variants.extra[tour].sum()

    whole = 32 * np.arange(rows.sections)
    half = [
        32 * 0 + 4 * Kind.EVEN,
        32 * 1 + 4 * Kind.MOST,
        32 * 0 + 4 * Kind.ODD,
        32 * 2,
        32 * 3,
        32 * 1 + 4 * Kind.REST,
    ]
    beside = [32 * 0 + 4 * Kind.EVEN, 32 * 0 + 4 * Kind.ODD, 32 * 1, 32 * 2, 32 * 3]
    checked = 0
    for tour in (whole, np.array(half), np.array(beside)):
        for adds, made in Neighbours(price, variants, tour, 50).moves():
            other = made()
            assert adds == pytest.approx(total(other) - total(tour), abs=1e-9)
            sewn = np.concatenate([one.spans(rows) for one in passes_of(other)])
            assert sorted(sewn.tolist()) == list(range(len(rows.row)))
            checked += 1
    assert checked > 40
