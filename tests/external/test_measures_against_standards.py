"""Units, paper, thread and stitch counts against standards and trade units, worked from their definitions."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from machine_plans import plan_of
from reportlab.lib import pagesizes

from stitchcraft.defaults import PARTS, STANDARD_WIDTH_MM, thread_width
from stitchcraft.design import PlanStop, Purpose, StitchPlan, Thread
from stitchcraft.machine import Machine, minutes, thread_metres
from stitchcraft.paper.pages import PAPERS
from stitchcraft.units import inch_text, to_mm, to_units


def iso_216(number: int) -> tuple[int, int]:
    """ISO 216: A0 has an area of 1 m2 and sides as 1 to the root of 2, to the millimetre; each next is half of it."""
    long, short = round(1000 * 2**0.25), round(1000 / 2**0.25)
    for _ in range(number):
        long, short = short, long // 2
    return short, long


def test_paper_has_the_size_of_its_standard():
    assert iso_216(0) == (841, 1189)
    assert PAPERS["A4"] == iso_216(4)
    assert PAPERS["Letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))  # ANSI/ASME Y14.1, size A
    # and as another library knows it, in points of 1/72 in
    for name, theirs in (("A4", pagesizes.A4), ("Letter", pagesizes.LETTER)):
        assert [side / 25.4 * 72 for side in PAPERS[name]] == pytest.approx(list(theirs), abs=0.01)


@pytest.mark.parametrize(
    ("text", "exact"),
    # NIST SP 811, appendix B.8: 1 in is 25.4 mm exactly; a foot, a yard and a mil follow
    [
        ("12 in", Fraction(3048, 10)), ("36 in", Fraction(9144, 10)), ("1/1000 in", Fraction(254, 10000)),
        ("3 7/16 in", Fraction(55, 16) * Fraction(254, 10)), ("17/64", Fraction(17, 64) * Fraction(254, 10)),
        ("2 ⅞ in", Fraction(23, 8) * Fraction(254, 10)), ("⅓ in", Fraction(254, 30)), ("1⅔ in", Fraction(254, 6)),
    ],
)  # fmt: skip
def test_inches_are_turned_by_their_definition(text, exact):
    assert to_mm(text, unit="in") == pytest.approx(float(exact), abs=1e-12)


def test_every_sixteenth_of_a_ruler_is_written_in_lowest_terms():
    # fractions.Fraction knows the lowest terms
    for sixteenths in range(1, 200):
        whole, rest = divmod(Fraction(sixteenths, 16), 1)
        words = " ".join(
            [*([str(whole)] if whole else []), *([f"{rest.numerator}/{rest.denominator}"] if rest else [])]
        )
        assert inch_text(sixteenths * 25.4 / 16) == f"{words} in"


def test_positions_are_rounded_as_ieee_754_rounds_halves_to_even():
    # IEEE 754-2019, 4.3.1; Python's round is the second opinion, on decimal halves that binary cannot hold
    tenths = [k + 0.5 for k in range(-40, 40)]
    assert to_units([t / 10 for t in tenths]).tolist() == [round(t) for t in tenths]


def test_a_button_of_thirty_two_ligne_suits_the_default():
    # the button trade's ligne is a fortieth of an inch: 32 of them are 20.32 mm
    assert PARTS["button_diameter"].value == pytest.approx(32 * 25.4 / 40, abs=0.5)


@pytest.mark.parametrize("weight", [10, 12, 30, 40, 60, 100])
def test_width_of_a_thread_follows_from_its_count(weight):
    # a count is a length to a mass (ISO 1144 turns it into tex, 1000 / Nm): the section of a round thread of one
    # density goes with 1 / count, its width with the root of that
    tex = 1000 / weight
    assert thread_width(weight) == pytest.approx(STANDARD_WIDTH_MM * math.sqrt(tex / (1000 / 40)))
    assert thread_width(weight) ** 2 * weight == pytest.approx(STANDARD_WIDTH_MM**2 * 40)


def lockstitch(count: int, stitch: float, thickness: float) -> float:
    plan = plan_of([[[(k * stitch, 0.0) for k in range(count + 1)]]])
    use = thread_metres(plan, thickness=thickness)
    return (use.top_m + use.bobbin_m) / (count * stitch / 1000)


@pytest.mark.parametrize(
    ("per_cm", "thickness", "ratio"), [(4, 1.0, 2.8), (5, 0.5, 2.5), (4, 0.6, 2.48), (3, 2.0, 3.2)]
)
def test_a_lockstitch_takes_twice_its_seam_and_twice_the_thickness_a_stitch(per_cm, thickness, ratio):
    # stitch type 301 of ISO 4915: each thread lies along the seam once and goes half through the cloth and back at
    # each stitch, together 2 + 2 T S; by hand for S stitches to the centimetre and a thickness of T mm
    assert ratio == pytest.approx(2 + 2 * thickness * per_cm / 10)
    assert lockstitch(4000, 10 / per_cm, thickness) == pytest.approx(ratio, rel=2e-3)


def test_minutes_are_stitches_over_speed():
    plan = plan_of([[[(k * 2.0, 0.0) for k in range(1201)]]])
    bare = StitchPlan(
        "x", plan.xy, plan.kind, plan.stop, plan.role, plan.element, (PlanStop(Purpose.TACK, Thread("#000000")),)
    )
    assert minutes(bare, Machine(speed=400)) == pytest.approx(1201 / 400)
