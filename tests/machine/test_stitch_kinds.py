"""What a stop looks like, guessed from files of our own plans, whose kinds, pitches and angles are known."""

from collections import Counter

import numpy as np
import pytest
import shapely
from machine_plans import plan_of
from shapely import affinity

from stitchcraft.design import (
    Area,
    Column,
    Design,
    DoubleRun,
    Fill,
    Line,
    Purpose,
    Running,
    Satin,
    StitchPlan,
    Stop,
    Thread,
    Triple,
)
from stitchcraft.family import Family
from stitchcraft.machine import StitchKind, decode, encode, guess_stops
from stitchcraft.stitching import plan

THREAD = Thread("#2f5d62")
ANGLES = (0, 17, 45, 72, 133)


def guess(*elements, fabric="quilting cotton", fmt="dst"):
    one = plan(Design("x", (Stop(Purpose.DECORATE, THREAD, elements),)), fabric=fabric)
    return guess_stops(decode(encode(one, fmt), fmt).plan())[0]


def turned(xy, angle):
    t = np.radians(angle)
    return np.asarray(xy, dtype=float) @ np.array([[np.cos(t), np.sin(t)], [-np.sin(t), np.cos(t)]])


def ring(radius):
    t = np.linspace(0, 2 * np.pi, 90)
    return radius * np.column_stack([np.cos(t), np.sin(t)])


X = np.linspace(0, 60, 90)
PATHS = {
    "straight": [(0, 0), (50, 0)],
    "box": [(0, 0), (30, 0), (30, 20), (0, 20), (0, 0)],
    "thin box": [(0, 0), (40, 0), (40, 2), (0, 2), (0, 0)],
    "wave": np.column_stack([X, 8 * np.sin(X / 7)]),
    "ring": ring(12),
}


def cases():
    """Kind as planned, and its elements: every stitch at several sizes, angles and shapes."""
    for angle in ANGLES[:3]:
        for path in PATHS.values():
            line = turned(path, angle)
            for length in (1.5, 3.0):
                yield "running", (Line(line, Running(length=length)),)
                yield "running", (Line(line, DoubleRun(length=length)),)
                yield "triple", (Line(line, Triple(length=length)),)
                yield "triple", (Line(line, Triple(length=length, passes=5)),)
        for width in (1.2, 2.0, 3.5, 6.0):
            for pitch in (0.4, 0.8):
                sides = turned(PATHS["straight"], angle), turned([(0, width), (50, width)], angle)
                yield "satin", (Column(*sides, Satin(pitch=pitch)),)
                yield "satin", (Column(ring(10 + angle / 20), ring(10 + angle / 20 + width), Satin(pitch=pitch)),)
        for size in (8, 20):
            box, disc = shapely.box(0, 0, size, 0.6 * size), shapely.Point(0, 0).buffer(size / 2)
            for shape in (box, disc, disc.difference(shapely.Point(0, 0).buffer(size / 5)),
                          shapely.Polygon([(0, 0), (size, 0), (size / 2, size)])):  # fmt: skip
                for spacing in (0.25, 0.8):
                    area = affinity.rotate(shape, angle, origin=(0, 0))
                    small = spacing == 0.8 and size == 8
                    yield (
                        "small open fill" if small else "fill",
                        (Area(area, Fill(row_spacing=spacing, angle=7.0 * size)),),
                    )
        for count in (2, 6):
            yield "marks", tuple(Line(turned([(15 * k, 0), (15 * k + 6, 0)], angle)) for k in range(count))
            strokes = ([(-3, 0), (3, 0)], [(0, -3), (0, 3)])
            yield "marks", tuple(Line(turned(np.add(s, (15 * k, 0)), angle)) for k in range(count) for s in strokes)


def test_the_kinds_of_our_own_plans_are_told_from_their_files():
    table = Counter((want, guess(*elements).kind.value) for want, elements in cases())
    small = {told: table.pop(("small open fill", told), 0) for told in ("fill", "mixed", "running")}
    # planned as, told as
    assert table == {
        ("running", "running"): 60, ("triple", "triple"): 60, ("satin", "satin"): 48, ("fill", "fill"): 36,
        ("marks", "marks"): 12,
    }  # fmt: skip
    # an open fill of 8 mm has more thread in its underlay and travel than in its rows, or nearly as much
    assert sum(small.values()) == 12
    assert small["fill"] >= 6


@pytest.mark.parametrize("angle", ANGLES)
def test_measures_are_those_that_were_planned(angle):
    line = turned(PATHS["straight"], angle)
    run, twice, thrice = (
        guess(Line(line, one)) for one in (Running(length=2.5), DoubleRun(length=2), Triple(length=3))
    )
    assert (run.passes, twice.passes, thrice.passes) == (1, 2, 3)
    assert run.length_mm == pytest.approx(2.5, abs=0.1)
    assert twice.length_mm == pytest.approx(2.0, abs=0.1)
    assert thrice.length_mm == pytest.approx(50 / 17, abs=0.1)
    column = Column(line, turned([(0, 4), (50, 4)], angle), Satin(pitch=0.6, compensation=0, compensation_share=0))
    satin = guess(column, fabric="faux leather")
    assert satin.pitch_mm == pytest.approx(0.6, abs=0.05)
    assert satin.width_mm == pytest.approx(4.0, abs=0.1)
    assert satin.angle_deg == pytest.approx((angle + 90) % 180, abs=3)
    area = Area(shapely.Point(0, 0).buffer(15), Fill(row_spacing=0.4, length=4, angle=angle, underlay=False))
    rows = guess(area)
    assert rows.spacing_mm == pytest.approx(0.4, abs=0.02)
    assert rows.length_mm == pytest.approx(4.0, abs=0.1)
    assert abs((rows.angle_deg - angle + 90) % 180 - 90) < 1.0


def test_a_satin_in_a_ring_is_measured_on_its_outside_and_has_no_angle():
    one = guess(Column(ring(5), ring(9), Satin(pitch=0.4)), fabric="faux leather")
    assert one.kind is StitchKind.SATIN
    assert one.pitch_mm == pytest.approx(0.4, abs=0.05)
    assert one.angle_deg is None


def test_a_split_satin_is_called_what_it_is_built_as():
    one = guess(Column(np.array([[0.0, 0.0], [50.0, 0.0]]), np.array([[0.0, 10.0], [50.0, 10.0]]), Satin(pitch=0.8)))
    assert one.kind is StitchKind.FILL
    assert one.spacing_mm == pytest.approx(0.4, abs=0.02)


def test_halves_of_two_kinds_are_mixed():
    rows = Area(shapely.box(0, 0, 10, 10), Fill(row_spacing=0.5, underlay=False))
    lines = [Line(np.array([[0.0, 20 + k], [40.0, 20 + k]]), Triple(length=3)) for k in range(0, 16, 3)]
    runs = [Line(np.array([[60.0, k], [100.0, k]]), Running(length=3)) for k in range(0, 30, 6)]
    one = guess(rows, *lines[:2], *runs)
    assert one.kind is StitchKind.MIXED
    assert one.share < 0.5


def test_every_stop_of_a_sample_kit_is_told_for_what_it_is(request):
    family = Family.from_spec(request.config.rootpath / "samples" / "heron_tote.toml")
    for part in family.made():
        if part.name not in ("tab-front", "corner-left"):
            continue
        one = plan(part.design, fabric=family.style.fabric)
        for stop, told in zip(one.stops, guess_stops(decode(encode(one, "exp"), "exp").plan()), strict=True):
            want = {
                Purpose.TICKS: "marks", Purpose.PLACE: "running", Purpose.TACK: "running", Purpose.COVER: "satin",
                Purpose.SEAM: "running",
            }.get(stop.purpose)  # fmt: skip
            assert want is None or told.kind.value == want
            assert stop.purpose is not Purpose.SEAM or told.passes == 2


@pytest.mark.parametrize("mirror", [False, True])
@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_turning_and_mirroring_turn_and_mirror_the_guess(turn, mirror):
    stops = (
        Stop(Purpose.DECORATE, THREAD, (Area(shapely.Point(0, 0).buffer(9), Fill(angle=20)),)),
        Stop(Purpose.COVER, THREAD, (Column(turned([(0, 0), (30, 0)], 20), turned([(0, 3), (30, 3)], 20)),)),
        Stop(Purpose.TACK, THREAD, (Line(turned(PATHS["wave"], 20), Triple()),)),
    )
    one = decode(encode(plan(Design("x", stops)), "xxx"), "xxx").plan()
    quarter = np.linalg.matrix_power(np.array([[0, 1], [-1, 0]]), turn // 90)
    xy = (one.xy * (-1, 1) if mirror else one.xy) @ quarter
    other = StitchPlan("x", xy, one.kind, one.stop, one.role, one.element, one.stops)
    for ours, theirs in zip(guess_stops(one), guess_stops(other), strict=True):
        assert theirs.kind is ours.kind
        assert theirs.share == pytest.approx(ours.share, abs=0.01)
        for key in ("length_mm", "passes", "pitch_mm", "width_mm", "spacing_mm"):
            assert getattr(theirs, key) == pytest.approx(getattr(ours, key), abs=0.02), key
        if ours.angle_deg is not None:
            want = (turn + (180 - ours.angle_deg if mirror else ours.angle_deg)) % 180
            assert abs((theirs.angle_deg - want + 90) % 180 - 90) < 0.3


def test_a_stop_in_which_nothing_is_sewn_is_mixed_and_of_no_share():
    one = guess_stops(plan_of([[[(0.0, 0.0)]], [[(5.0, 5.0), (9.0, 5.0)]]]))
    assert (one[0].kind, one[0].share) == (StitchKind.MIXED, 0.0)
    assert one[1].kind is StitchKind.MARKS


def test_a_guess_says_itself_in_words_and_in_plain_values():
    one = guess(Area(shapely.box(0, 0, 20, 20), Fill(row_spacing=0.4, length=4, angle=0, underlay=False)))
    assert str(one) == "fill, stitches of 4.0 mm, rows every 0.40 mm, at 0°"
    values = one.to_dict()
    assert values["kind"] == "fill"
    assert "pitch_mm" not in values
