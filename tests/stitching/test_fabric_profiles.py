"""What the fabric profiles promise, measured on plans."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely

from stitchcraft.checks import check
from stitchcraft.defaults import FABRICS, FabricProfile
from stitchcraft.design import Area, Column, Design, DoubleRun, Fill, Line, Purpose, Role, Running, Stop, Thread, Triple
from stitchcraft.stitching import plan

SIDE = 40.0
WOVEN = ("quilting cotton", "canvas", "denim")


def sewn(element, fabric):
    return plan(Design("trial", (Stop(Purpose.DECORATE, Thread("#223344"), (element,)),)), fabric=fabric)


def square(**style):
    return Area(shapely.box(0, 0, SIDE, SIDE), Fill(angle=0, **style))


def tops(stitches):
    return stitches.xy[stitches.is_stitch & (stitches.role == Role.TOP)]


@pytest.mark.parametrize("name", FABRICS)
def test_a_fill_has_as_many_stitches_as_area_over_spacing_and_length(name):
    # area model: stitches per area = 1 / (row spacing x stitch length); both ends of a row take a point, which cuts
    # one stitch of the lattice in two, or none; and in one row of the four of a repeat the lattice may fit once more
    fabric = FABRICS[name]
    rows = SIDE / fabric.row_spacing
    long = SIDE + 2 * fabric.pull
    count = len(tops(sewn(square(), fabric)))
    assert 0.99 * rows * (long / fabric.fill_length + 1) < count < 1.01 * rows * (long / fabric.fill_length + 2.25)


@pytest.mark.parametrize("name", FABRICS)
def test_satin_running_triple_and_seam_take_the_fabrics_lengths(name):
    fabric = FABRICS[name]
    bar = Column([[0, 0], [0, SIDE]], [[4, 0], [4, SIDE]])
    # two penetrations a pitch (common practice: 50 to the cm at 0.40 mm)
    assert len(tops(sewn(bar, fabric))) == pytest.approx(2 * SIDE / fabric.satin_pitch, rel=0.02)
    assert np.ptp(tops(sewn(bar, fabric))[:, 0]) == pytest.approx(4 + 2 * (fabric.pull + 4 * fabric.pull_share))
    for stitch, length, passes in ((Running(), fabric.run_length, 1), (Triple(), fabric.triple_length, 3),
                                   (DoubleRun(), fabric.seam_length, 2)):  # fmt: skip
        points = tops(sewn(Line([[0, 0], [SIDE, 0]], stitch), fabric))
        steps = np.hypot(*np.diff(points, axis=0).T)
        assert steps.max() <= length + 1e-9
        assert len(steps) == pytest.approx(passes * np.ceil(SIDE / length), abs=4)


@pytest.mark.parametrize("name", FABRICS)
def test_no_fabric_gives_findings_on_plain_work(name):
    for element in (square(), Column([[0, 0], [0, SIDE]], [[4, 0], [4, SIDE]])):
        assert check(sewn(element, name)) == []


def test_faux_leather_gets_the_fewest_holes_of_all_and_no_underlay():
    # every hole stays open: longer and fewer stitches (common practice, no source)
    bar = Column([[0, 0], [0, SIDE]], [[4, 0], [4, SIDE]])
    for element in (square(), bar, Line([[0, 0], [SIDE, 0]], DoubleRun()), Line([[0, 0], [SIDE, 0]], Running())):
        counts = {name: len(tops(sewn(element, name))) for name in FABRICS}
        assert min(counts, key=counts.__getitem__) == "faux leather"
        assert counts["faux leather"] < 0.9 * min(count for name, count in counts.items() if name != "faux leather")
    assert not (sewn(square(), "faux leather").role == Role.UNDERLAY).any()
    assert (sewn(square(), "minky").role == Role.UNDERLAY).any()


def test_pile_pulls_more_than_felt_and_felt_more_than_any_woven_cloth_at_every_width():
    # order as published: wovens least, pile most (theembroiderycoach.com)
    for width in (2, 4, 7):
        pull = {name: fabric.pull + fabric.pull_share * width for name, fabric in FABRICS.items()}
        assert pull["minky"] > pull["felt"] > max(pull[name] for name in WOVEN)


def test_woven_cloth_is_widened_by_about_the_habit_of_a_tenth_at_a_bars_usual_width():
    # at least 10 % of a satin's width in all (magazinevolume.com 20387AG, p. 102), and 0.2 mm in all for wovens
    for name in WOVEN:
        fabric = FABRICS[name]
        assert 2 * (fabric.pull + fabric.pull_share * 3) == pytest.approx(0.3, abs=0.05)
        assert 2 * fabric.pull == pytest.approx(0.2, abs=0.05)


def test_every_profile_says_where_it_comes_from_and_no_two_are_alike():
    assert all(len(fabric.source) > 10 for fabric in FABRICS.values())
    plain = [replace(fabric, name="", source="") for fabric in FABRICS.values()]
    assert all(one != other for one, other in itertools.combinations(plain, 2))


def test_a_cloth_of_ones_own_takes_three_lines():
    linen = FabricProfile(
        name="quay linen", pull=0.15, pull_share=0.03
    )  # fmt: skip
    bar = Column([[0, 0], [0, SIDE]], [[4, 0], [4, SIDE]])
    assert np.ptp(tops(sewn(bar, linen))[:, 0]) == pytest.approx(4 + 2 * (0.15 + 4 * 0.03))
