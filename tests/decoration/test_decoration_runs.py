"""Pattern lines come out as few continuous runs, joined along the area's edge where that is short."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from stitchcraft.decoration import Chevrons, Clamshell, Crosshatch, Decoration, Petals, Rings, Scallops, Waves
from stitchcraft.decoration.runs import cut_to, edge_links, sewn_lines
from stitchcraft.design import Line, Running, Triple
from stitchcraft.geometry.curves import arc, circle, length_of

SQUARE = shapely.box(0, 0, 60, 60)
TAB = shapely.Polygon(np.vstack([[(-38, 0)], arc((0, -92), 38, 180, 360), [(38, 0)]]))
TAB_WITH_SNAP = TAB.difference(shapely.Point(0, -100).buffer(14, quad_segs=32))


def lines_across(*heights: float) -> list[np.ndarray]:
    return [np.array([[-5.0, y], [65.0, y]]) for y in heights]


def test_parallel_lines_become_one_serpentine_and_the_links_lie_on_the_edge() -> None:
    lines = lines_across(10, 20, 30, 40, 50)
    drawing = sewn_lines([[line] for line in lines], SQUARE_PARTS, stitch="running", reach=12, crumb=1.5)
    (run,) = drawing.elements
    assert drawing.line_mm == pytest.approx(5 * 60)
    assert drawing.link_mm == pytest.approx(4 * 10)
    assert length_of(run.path) == pytest.approx(340)
    links = edge_links(cut_to([[line] for line in lines], SQUARE, grazing=0.6).pieces, SQUARE, reach=12)
    assert all(SQUARE.boundary.buffer(1e-9).covers(shapely.LineString(link)) for link in links)


SQUARE_PARTS = [SQUARE]


def test_no_link_is_longer_than_the_reach() -> None:
    lines = [[line] for line in lines_across(10, 20, 45, 55)]
    drawing = sewn_lines(lines, SQUARE_PARTS, stitch="running", reach=12, crumb=1.5)
    assert len(drawing.elements) == 2
    assert drawing.link_mm == pytest.approx(20)


def test_links_turn_the_corners_of_the_area() -> None:
    bent = [np.array([[10.0, 70], [10, -10]]), np.array([[-10.0, 6], [70, 6]])]
    links = edge_links(cut_to([[line] for line in bent], SQUARE, grazing=0.6).pieces, SQUARE, reach=20)
    assert [round(length_of(link), 6) for link in links] == [16]
    assert any(np.allclose(point, (0, 0)) for point in links[0])


@pytest.mark.parametrize(("height", "links"), [(0.8, 0), (8.0, 1)], ids=["beside", "apart"])
def test_a_link_that_would_run_beside_a_line_is_not_sewn(height: float, links: int) -> None:
    low = np.array([[20.0, -5], [20, height], [39, height], [39, 30], [-5, 30]])
    upright = np.array([[40.0, -5], [40, 65]])
    pieces = cut_to([[low], [upright]], SQUARE, grazing=0.5).pieces
    assert len(pieces) == 2
    assert len(edge_links(pieces, SQUARE, reach=25)) == links


def test_lines_that_only_graze_the_edge_are_left_out() -> None:
    grazing = circle((30, -9.5), 10)
    deeper = circle((30, -5), 10)
    assert cut_to([[grazing]], SQUARE, grazing=0.6).motifs == 0
    assert cut_to([[deeper]], SQUARE, grazing=0.6).motifs == 1
    on_the_edge = np.array([[0.0, 0], [60, 0]])
    assert cut_to([[on_the_edge]], SQUARE, grazing=0.6).pieces == []


def test_whole_motifs_may_touch_the_edge_but_not_pass_it() -> None:
    touching, passing = circle((10, 10), 10), circle((9.99, 10), 10)
    assert cut_to([[touching]], SQUARE, grazing=0.6, whole=True).motifs == 1
    assert cut_to([[passing]], SQUARE, grazing=0.6, whole=True).motifs == 0


def test_a_line_that_two_motifs_share_is_sewn_once() -> None:
    shared = np.array([[10.0, 10], [30, 10]])
    motifs = [[shared, np.array([[10.0, 10], [20, 25]])], [shared[::-1], np.array([[30.0, 10], [20, 25]])]]
    cut = cut_to(motifs, SQUARE, grazing=0.6)
    assert (len(cut.pieces), cut.motifs) == (3, 2)
    crossing = [[np.array([[10.0, 10], [30, 30]])], [np.array([[10.0, 30], [30, 10]])]]
    assert len(cut_to(crossing, SQUARE, grazing=0.6).pieces) == 2


@pytest.mark.parametrize(
    "decoration",
    [Crosshatch(), Crosshatch(angle=0), Rings(), Clamshell(), Petals(), Scallops(), Waves(), Chevrons()],
    ids=lambda decoration: f"{decoration.kind}-{decoration.angle:g}",
)
@pytest.mark.parametrize(("shape", "most"), [(TAB, 4), (TAB_WITH_SNAP, 9)], ids=["tab", "with-snap"])
def test_a_tab_takes_a_handful_of_runs(decoration: Decoration, shape: shapely.Polygon, most: int) -> None:
    count = replace(decoration, border=False).describe(shape)
    assert count.runs <= most
    assert count.motifs > 10
    assert count.link_mm < 0.12 * count.line_mm


def test_a_border_frames_the_pattern_in_one_run() -> None:
    plain, framed = Crosshatch(border=False).describe(TAB), Crosshatch(border=True).describe(TAB)
    (run,) = Crosshatch(border=True).elements(TAB)
    assert framed.line_mm == pytest.approx(plain.line_mm)
    assert framed.link_mm >= TAB.exterior.length
    assert shapely.LineString(run.path).buffer(1e-6).covers(TAB.exterior)


def test_lines_are_sewn_as_the_stitch_says() -> None:
    assert all(isinstance(e, Line) and isinstance(e.stitch, Running) for e in Rings().elements(TAB))
    assert all(isinstance(e, Line) and isinstance(e.stitch, Triple) for e in Rings(stitch="triple").elements(TAB))
