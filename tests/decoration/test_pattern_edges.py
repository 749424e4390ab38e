"""What becomes of motifs that the area's edge cuts: cut, left out, or shrunk."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from stitchcraft.decoration import (
    Chevrons,
    Clamshell,
    Crosshatch,
    Decoration,
    Dots,
    Petals,
    Rings,
    Scallops,
    Waves,
)
from stitchcraft.decoration.base import Polygonal
from stitchcraft.design import Column, Line
from stitchcraft.errors import Level, ParameterError

TAB = shapely.Point(0, 0).buffer(38, quad_segs=32).union(shapely.box(-38, 0, 38, 60))
LINED = [Crosshatch, Rings, Clamshell, Petals, Scallops, Waves, Chevrons]


def lines_of(decoration: Decoration, area: Polygonal) -> shapely.Geometry:
    elements = decoration.elements(area)
    return shapely.union_all([shapely.LineString(one.path) for one in elements if isinstance(one, Line)])


@pytest.mark.parametrize(("columns", "rows"), [(4, 3), (1, 1), (5, 2)])
def test_whole_squares_of_a_hatch_are_as_many_as_fit_and_share_their_sides(columns: int, rows: int) -> None:
    """A grid of m x n squares of side s has m (n + 1) + n (m + 1) sides."""
    hatch = Crosshatch(pitch=10, angle=0, edge="whole", border=False)
    count = hatch.describe(shapely.box(-3, -4, 10 * columns + 6, 10 * rows + 5))
    assert count.motifs == columns * rows
    assert count.line_mm == pytest.approx(10 * (columns * (rows + 1) + rows * (columns + 1)))


def test_the_cells_of_a_leaning_hatch_are_diamonds_a_pitch_across() -> None:
    """Parallels p apart that cross at an angle g enclose p^2 / sin g."""
    hatch = Crosshatch(pitch=9, angle=20, between=60, edge="whole", border=False)
    cells = shapely.get_parts(shapely.polygonize([lines_of(hatch, TAB)]))
    assert len(cells) == hatch.describe(TAB).motifs > 30
    assert [cell.area for cell in cells] == pytest.approx([81 / np.sin(np.radians(60))] * len(cells), rel=1e-6)


@pytest.mark.parametrize(("cls", "pitch"), [(Scallops, 12), (Waves, 24), (Chevrons, 16)])
def test_whole_repeats_of_a_row_are_as_many_as_fit(cls: type[Decoration], pitch: float) -> None:
    one_row = cls(edge="whole", border=False, spacing=40)  # type: ignore[call-arg]
    room = shapely.box(-0.1, -8, 3 * pitch + 0.1, 12)
    assert one_row.describe(room).motifs == 3
    assert lines_of(one_row, room).bounds[::2] == pytest.approx((0, 3 * pitch), abs=1e-6)
    assert len(one_row.elements(room)) == 1
    assert one_row.describe(shapely.box(0.1, -8, 3 * pitch - 0.1, 12)).motifs == 1


@pytest.mark.parametrize("cls", LINED)
def test_whole_motifs_are_part_of_those_that_the_edge_cuts(cls: type[Decoration]) -> None:
    cut, whole = (lines_of(cls(edge=edge, border=False), TAB) for edge in ("clip", "whole"))  # type: ignore[call-arg]
    # clipped lines are joined along the edge, which whole ones are not
    inner = TAB.buffer(-0.05)
    assert shapely.intersection(whole, inner).difference(cut.buffer(0.02)).length < 0.01
    assert 100 < whole.length < cut.length


def test_satin_petals_fade_towards_the_edge_and_outlines_do_not() -> None:
    petals = [e for e in Petals(stitch="satin", edge="fade", pitch=10).elements(TAB) if isinstance(e, Column)]
    lengths = np.array([np.hypot(*(petal.rail_a[-1] - petal.rail_a[0])) for petal in petals])
    room = np.array([TAB.boundary.distance(shapely.Point((p.rail_a + p.rail_b).mean(axis=0) / 2)) for p in petals])
    assert (np.diff(lengths[np.argsort(room)]) > -1e-6).all()
    assert np.ptp(lengths) > 2
    with pytest.raises(ParameterError, match=r"edge is 'fade'; it needs to be one of clip, whole"):
        Petals(edge="fade")


@pytest.mark.parametrize("cls", LINED)
def test_line_patterns_do_not_fade(cls: type[Decoration]) -> None:
    with pytest.raises(ParameterError, match=r"edge is 'fade'; it needs to be one of clip, whole"):
        cls(edge="fade")  # type: ignore[call-arg]


@pytest.mark.parametrize(
    ("empty", "follows"),
    [
        (Rings(pitch=30, edge="whole"), Rings(pitch=30, edge="clip")),
        (Rings(pitch=30, edge="whole"), Rings(pitch=5, edge="whole")),
        (Dots(pitch=13, diameter=13), Dots(pitch=6, diameter=5)),
    ],
)
def test_a_room_that_gets_nothing_of_its_pattern_is_a_finding_that_its_remedy_ends(
    empty: Decoration, follows: Decoration
) -> None:
    room = shapely.box(-300, 2, 300, 14)
    (finding,) = empty.findings(room, part="tab-front")
    assert (finding.level, finding.code, finding.part) == (Level.WARNING, "decoration-empty", "tab-front")
    assert finding.remedy == 'Set its edge to "clip", or a smaller pitch or inset.'
    assert follows.findings(room) == ()
    assert empty.findings(shapely.box(-5, 2, 5, 11)) == ()  # so small an area may well stay plain


@pytest.mark.parametrize(("cls", "most"), [(Scallops, 3), (Waves, 2), (Chevrons, 3)])
def test_whole_rows_that_are_joined_take_few_runs_and_keep_their_motifs(cls: type[Decoration], most: int) -> None:
    apart, joined = (cls(edge="whole", border=False, joined=joined) for joined in (False, True))  # type: ignore[call-arg]
    rows, runs = apart.describe(TAB), joined.describe(TAB)
    assert rows.runs >= 12
    assert runs.runs <= most
    assert runs.motifs == rows.motifs
    assert runs.line_mm == pytest.approx(rows.line_mm)
    # a way from row to row for each run that it saves, none longer than a repeat and a row apart
    width, _, spacing = joined.sizes  # type: ignore[attr-defined]
    assert 0 < runs.link_mm <= (rows.runs - runs.runs) * 1.01 * np.hypot(width, spacing)
    drawn = lines_of(joined, TAB)
    assert TAB.buffer(1e-6).covers(drawn)
