"""How much decoration each part carries, and that none of it reaches metal, seams or straps."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from stitchcraft.bag import Bag
from stitchcraft.decoration import Decoration, decoration_from
from stitchcraft.decoration.artwork import Artwork
from stitchcraft.defaults import PARTS
from stitchcraft.design import Kind, Purpose, StitchPlan
from stitchcraft.family import Family, Style
from stitchcraft.family.decorated import decoration_counts
from stitchcraft.geometry.svg_paths import read_svg
from stitchcraft.kit import build_kit
from stitchcraft.kit.report import report_of
from stitchcraft.machine import Machine
from stitchcraft.parts import ClosureTab, StrapConnector
from stitchcraft.stitching import plan

FERN = Path(__file__).parents[2] / "samples" / "art" / "fern.svg"
LEAF = read_svg(
    '<svg width="9mm" height="9mm" viewBox="0 0 9 9"><path d="M0 4C2 1 7 1 9 4C7 7 2 7 0 4Z"/>'
    '<path d="M4.5 7V9" stroke="red" stroke-width="0.5"/></svg>', name="leaf.svg"
)  # fmt: skip
QUILTED = ("crosshatch", "rings", "clamshell", "petals", "scallops", "waves", "chevrons", "echo", "meander")
EVERY = {kind: decoration_from(kind) for kind in ("dots", *QUILTED)} | {
    "dots-cut": decoration_from("dots", {"edge": "clip"}),
    "petals-satin": decoration_from("petals", {"stitch": "satin"}),
    "artwork": Artwork(svg=FERN),
    "motifs": Artwork(svg=LEAF, pitch=13, edge="clip"),
}
every_kind = pytest.mark.parametrize("decoration", EVERY.values(), ids=EVERY.keys())
PULL_MM = 0.6
"""How far satin and fill may be sewn past what is drawn, against the pull of the thread."""


def decorating(made: StitchPlan) -> shapely.MultiPoint:
    stops = [number for number, stop in enumerate(made.stops) if stop.purpose is Purpose.DECORATE]
    return shapely.MultiPoint([xy for xy, stop, kind in zip(made.xy, made.stop, made.kind, strict=True)
                               if stop in stops and kind == Kind.STITCH])  # fmt: skip


@every_kind
def test_no_needle_of_a_decoration_comes_near_the_snap_or_under_a_strap(decoration: Decoration) -> None:
    connector = StrapConnector(decoration=decoration, height=64, spacing=120)
    sewn = decorating(plan(connector.front()))
    assert not sewn.is_empty
    snap = shapely.Point(0, 0)
    assert sewn.distance(snap) >= connector.snap.keepout_mm - PULL_MM
    for landing in connector.landings:
        assert sewn.distance(shapely.Polygon(landing)) >= 1.5 - PULL_MM
    edge = connector.edge.half_mm + PARTS["decoration_clearance"].value
    assert sewn.distance(connector.shape.exterior) >= edge - PULL_MM


@pytest.mark.parametrize("kind", ["dots-cut", "rings", "petals-satin", "motifs"])
def test_no_needle_of_a_decoration_comes_near_the_seam_of_a_tab(kind: str) -> None:
    tab = ClosureTab(width=50, length=80, decoration=EVERY[kind], tip="ogee")
    sewn = decorating(plan(tab.front()))
    assert not sewn.is_empty
    assert sewn.distance(shapely.LineString(tab.outline)) >= PARTS["decoration_seam_clearance"].value - PULL_MM
    assert sewn.bounds[3] <= PULL_MM  # nothing above the root line, where the tab is caught in the top edge


@pytest.mark.parametrize("kind", QUILTED)
def test_quilting_lines_take_few_runs(kind: str) -> None:
    """An echo takes a run for each ring, since rings do not touch; all other lines hang together by the frame."""
    assert EVERY[kind].describe(ClosureTab().decoration_area).runs <= (8 if kind == "echo" else 1)


def test_the_thread_is_cut_once_after_a_run_of_quilting() -> None:
    made = plan(ClosureTab(decoration=EVERY["scallops"]).front())
    assert made.stops[0].purpose is Purpose.DECORATE
    assert int(((made.kind == Kind.TRIM) & (made.stop == 0)).sum()) <= 1


def test_the_report_counts_the_motifs_of_each_part_and_how_dense_they_lie() -> None:
    family = Family(
        bag=Bag(width=300, height=260), style=Style(decoration=EVERY["crosshatch"]), parts=("tab", "corner")
    )
    counts = decoration_counts(family)
    assert sorted(counts) == ["corner-left", "corner-right", "tab-front"]
    report = report_of(build_kit(family, Machine(hoops=["200x200"], formats=["dst"])))
    parts = {part["name"]: part["decoration"] for part in report["parts"]}
    assert parts["tab-back"] is None
    tab = parts["tab-front"]
    assert tab["motifs"] == counts["tab-front"].motifs
    assert tab["runs"] == 1
    # two families of lines 9 mm apart: 2/9 mm of line on a square millimetre
    assert tab["line_per_mm2"] == pytest.approx(2 / 9, rel=0.03)
    assert tab["line_mm"] == pytest.approx(tab["line_per_mm2"] * tab["area_mm2"], rel=0.01)
    assert tab["cover"] == 0
