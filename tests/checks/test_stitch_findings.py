"""Each finding on stitches appears where there is cause, names it, and goes when its remedy is followed."""

from pathlib import Path

import numpy as np
import pytest
import shapely

from stitchcraft.checks import check
from stitchcraft.design import Area, Design, DoubleRun, Fill, Line, Purpose, Running, Satin, Stop, Thread
from stitchcraft.family import Family
from stitchcraft.parts import Label
from stitchcraft.spec import read_spec
from stitchcraft.stitching import plan

SAMPLES = sorted(Path(__file__).parents[2].joinpath("samples").glob("*.toml"))
THREAD = Thread("#2f5d62")
PATCH = shapely.box(0, 0, 12, 12)


def found(design, code):
    return [finding for finding in check(plan(design)) if finding.code == code]


def patch(spacing, length, *, weight=40, times=1):
    thread = Thread("#2f5d62", weight=weight)
    fill = Area(PATCH, Fill(angle=0, row_spacing=spacing, length=length, underlay=False))
    edge = Stop(Purpose.OUTLINE, THREAD, (Line(np.array([[40.0, 0.0], [60.0, 0.0]]), Running()),))
    return Design("patch", (edge, *(Stop(Purpose.DECORATE, thread, (fill,)) for _ in range(times))))


def rows(gap, count=6):
    lines = tuple(Line(np.array([[0.0, k * gap], [40.0, k * gap]]), Running(length=2.0)) for k in range(count))
    return Design("rows", (Stop(Purpose.TACK, THREAD, lines),))


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_no_part_of_a_sample_kit_is_too_dense_or_crowded(sample):
    family = Family.from_spec(read_spec(sample))
    for part in family.made():
        codes = {finding.code for finding in check(plan(part.design, fabric=family.style.fabric))}
        assert not codes & {"density", "needles-close", "stitch-short", "stitch-long"}, part.name


def test_a_bullet_proof_patch_is_found_with_its_stop_and_goes_when_it_is_thinned():
    # 1 / (0.08 x 0.6) = 21 needle points to the square millimetre
    findings = found(patch(0.08, 0.6), "density")
    assert len(findings) == 1
    assert findings[0].measured > 18
    assert "stop 2 (decorate)" in findings[0].message
    assert not found(patch(0.25, 4.0), "density")


def test_density_counts_every_stop_that_falls_on_the_place():
    assert not found(patch(0.2, 1.0), "density")
    assert found(patch(0.2, 1.0, times=5), "density")


def test_thick_thread_is_too_dense_where_fine_thread_is_not():
    # a 12-weight thread has 40 / 12 times the cross-section of a 40-weight one
    assert not found(patch(0.2, 0.8, weight=40), "density")
    thick = found(patch(0.2, 0.8, weight=12), "density")
    assert thick
    assert "40-weight" in thick[0].message
    assert not found(patch(0.1, 0.6, weight=60), "density")
    assert found(patch(0.1, 0.6, weight=40), "density")


def test_lines_laid_a_hair_apart_are_found_and_pass_when_moved_apart_or_together():
    close = found(rows(0.15), "needles-close")
    assert len(close) == 1
    assert "stop 1 (tack)" in close[0].message
    assert not found(rows(1.0), "needles-close")
    assert not found(rows(0.0), "needles-close")


def test_satin_and_fill_on_curves_do_not_crowd():
    ring = shapely.Point(0, 0).buffer(15).difference(shapely.Point(2, 0).buffer(9))
    for stitch in (Fill(angle=20), Fill(), Satin()):
        design = Design("ring", (Stop(Purpose.DECORATE, THREAD, (Area(ring, stitch),)),))
        assert not found(design, "needles-close")
        assert not found(design, "density")


def decorated(gap):
    seam = Stop(Purpose.SEAM, THREAD, (Line(np.array([[0.0, 0.0], [60.0, 0.0]]), DoubleRun()),))
    line = Line(np.array([[5.0, gap], [55.0, gap]]), Running(length=2.5))
    return Design("piece", (Stop(Purpose.DECORATE, THREAD, (line,)), seam))


def test_decoration_in_a_seam_is_found_with_its_place_and_goes_when_it_is_drawn_off():
    (one,) = found(decorated(0.4), "decoration-in-seam")
    assert one.measured == pytest.approx(0.4)
    assert one.stops == (1,)
    assert one.at_mm[1] == pytest.approx(0.4)
    assert not found(decorated(1.2), "decoration-in-seam")


def test_bare_ends_of_thread_are_found_in_any_plan():
    assert not found(decorated(3), "lock-missing")


@pytest.mark.parametrize("stitch", [2.0, 3.0, 5.0])
def test_the_backstitch_that_a_seam_is_sewn_over_holds_its_ends_at_every_stitch_length(stitch):
    seam = Line(np.array([[0.0, 0.0], [61.0, 0.0]]), DoubleRun(length=stitch))
    assert not found(Design("seam", (Stop(Purpose.SEAM, THREAD, (seam,)),)), "lock-missing")


def test_what_is_said_of_dense_letters_can_be_done_to_letters():
    dense = Label(text="Made at the pier", face="serif", height=6)
    told = {one.code: one.remedy for one in check(plan(dense.design()))}
    assert {"density", "needles-close"} <= set(told)
    assert all("Take a face of single lines" in told[code] for code in ("density", "needles-close"))
    assert not check(plan(Label(text="Made at the pier", face="plain", height=6).design()))
    assert "Thin the stitching" in found(patch(0.08, 0.6), "density")[0].remedy
