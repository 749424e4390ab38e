from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from machine_plans import COLOURS, plan_of, plans, three_stops

from stitchcraft.design import StitchPlan
from stitchcraft.errors import MachineFileError, ParameterError
from stitchcraft.geometry.curves import mirrored
from stitchcraft.machine import FORMATS, Placement, centred, decode, encode, file_colours, format_named, prove, writing
from stitchcraft.machine.writing import ascii_name
from stitchcraft.units import to_units

EVERY = pytest.mark.parametrize("fmt", FORMATS)


@EVERY
@given(plan=plans(), angle=st.sampled_from((0.0, 90.0, -37.3)), x=st.integers(-400, 400), y=st.integers(-400, 400))
def test_every_format_gives_back_each_needle_point_and_each_stop_exactly(
    fmt: str, plan: StitchPlan, angle: float, x: int, y: int
) -> None:
    spot = Placement(angle, (x / 10, y / 10))
    file = decode(encode(plan, fmt, placement=spot), fmt)
    assert np.array_equal(file.units, to_units(spot.placed(plan.needle_points)))
    assert np.array_equal(file.stop_of, plan.stop[plan.is_stitch])
    assert file.stops == len(plan.stops)
    proof = prove(plan, file, spot)
    assert proof.ok
    assert proof.max_shift_mm <= 0.0708  # half a unit on both axes


@EVERY
def test_the_same_plan_gives_the_same_bytes(fmt: str) -> None:
    assert encode(three_stops(), fmt) == encode(three_stops(), fmt)


def test_no_clock_gets_into_a_file() -> None:
    assert encode(three_stops(), "jef")[8:22] == b"20200101000000"


@EVERY
def test_a_long_run_does_not_drift(fmt: str) -> None:
    count = 20_000 if fmt == "dst" else 2_000
    angle = np.arange(count) * 0.0101
    path = [(float(x), float(y)) for x, y in np.column_stack([40 * np.cos(angle), 30 * np.sin(1.01 * angle)])]
    plan = plan_of([[path]])
    file = decode(encode(plan, fmt, placement=Placement()), fmt)
    assert prove(plan, file, Placement()).max_shift_mm <= 0.0708


@EVERY
def test_a_mirrored_plan_in_the_mirrored_placement_is_the_mirrored_file(fmt: str) -> None:
    plan, spot = three_stops(), Placement(33.3, (1.2, -7.0))
    image = StitchPlan(
        plan.name, mirrored(plan.xy), plan.kind, plan.stop, plan.role, plan.element, plan.stops, plan.origin
    )
    one = decode(encode(plan, fmt, placement=spot), fmt)
    other = decode(encode(image, fmt, placement=spot.mirrored()), fmt)
    assert np.array_equal(other.units, one.units * (-1, 1))


@EVERY
def test_a_stop_that_starts_on_an_axis_stays_where_it_is(fmt: str) -> None:
    # the vp3 reader makes nothing of a block's start if a coordinate is zero
    near = [[[(5.0, 5.0), (4.0, 3.0)]], [[(0.0, 6.0), (1.0, 2.0)]], [[(-7.0, 0.0), (3.0, 1.0)]], [[(0.0, 0.0)]]]
    far = [[[(30.0, 40.0), (31.0, 40.0)]], [[(0.0, -50.0), (2.0, -50.0)]], [[(-60.0, 0.0), (-59.0, 0.0)]]]
    plan = plan_of([*near, *far])
    file = decode(encode(plan, fmt, placement=Placement()), fmt)
    assert np.array_equal(file.units, to_units(plan.needle_points))


@EVERY
def test_as_many_stops_as_a_format_holds_come_back_and_one_more_is_refused(fmt: str) -> None:
    most = FORMATS[fmt].most_stops
    plan = plan_of([[[(k % 30, k // 30), (k % 30 + 0.5, k // 30)]] for k in range(most)])
    assert prove(plan, decode(encode(plan, fmt, placement=Placement()), fmt), Placement()).ok
    over = plan_of([[[(0, 0), (1, 0)]] for _ in range(most + 1)])
    with pytest.raises(MachineFileError, match=f"{most} at most"):
        encode(over, fmt)


@pytest.mark.parametrize("fmt", ["pes", "pec"])
def test_more_colours_than_a_palette_tells_apart_are_refused(fmt: str) -> None:
    def coloured(count: int) -> StitchPlan:
        runs = [[[(k % 30, k // 30), (k % 30 + 0.5, k // 30)]] for k in range(count)]
        return plan_of(runs, colours=[f"#{7919 * k * 31 % 0xFFFFFF:06x}" for k in range(count)])

    assert prove(coloured(64), decode(encode(coloured(64), fmt, placement=Placement()), fmt), Placement()).ok
    with pytest.raises(MachineFileError, match="65 colours"):
        encode(coloured(65), fmt)


def test_a_pes_stop_too_long_for_its_second_part_is_written_without_it(monkeypatch: pytest.MonkeyPatch) -> None:
    assert writing._MOST_IN_PES_OBJECT < 2**16
    assert b"CSewSeg" in encode(three_stops(), "pes")
    monkeypatch.setattr(writing, "_MOST_IN_PES_OBJECT", 40)
    data = encode(three_stops(), "pes", placement=Placement())
    assert b"CSewSeg" not in data
    assert prove(three_stops(), decode(data, "pes"), Placement()).ok


def test_no_change_of_thread_goes_to_the_needle_that_is_in_use() -> None:
    # a needle that is chosen while it is in use would not make the machine wait; commands 9 to 23 are needles 1 to 15
    data = encode(plan_of([[[(0.0, 0.0), (1.0, 0.0)]] for _ in range(40)]), "u01")
    needles = [data[at] & 31 for at in range(256, len(data), 3) if 9 <= data[at] & 31 <= 23]
    assert len(needles) == 40
    assert all(a != b for a, b in pairwise(needles))


@EVERY
def test_trims_come_back_as_the_format_says_they_do(fmt: str) -> None:
    runs = [[(0.0, 5.0 * k), (3.0, 5.0 * k)] for k in range(6)]
    file = decode(encode(plan_of([runs]), fmt), fmt)
    assert file.trims == {"vp3": 6}.get(fmt, 5)  # vp3 ends with one of its own
    uncut = decode(encode(plan_of([runs], cuts=False), fmt), fmt)
    assert uncut.trims == {"moves": 5}.get(FORMATS[fmt].trims, 1 if fmt == "vp3" else 0)
    assert (uncut.jumps > 0) == FORMATS[fmt].jumps


@EVERY
def test_colours_come_back_as_the_format_says_they_do(fmt: str) -> None:
    plan = plan_of([[[(0.0, 0.0), (k + 1.0, 0.0)]] for k in range(4)], colours=[COLOURS[0], COLOURS[0], *COLOURS[1:3]])
    file = decode(encode(plan, fmt), fmt)
    kept = FORMATS[fmt].colours
    if kept == "none":
        assert file.colours == ()
    elif kept == "palette":
        assert len(file.colours) == 4
        assert all(a != b for a, b in pairwise(file.colours))
    else:
        own = [stop.thread.colour for stop in plan.stops]
        assert list(file.colours) == (own if FORMATS[fmt].pause == "stop" else file_colours(plan.stops))


@EVERY
def test_a_name_that_is_not_ascii_spoils_nothing_and_is_cut_to_the_formats_length(fmt: str) -> None:
    plan = plan_of([[[(0.0, 0.0), (5.0, 0.0)]]], name="Fönster, tygväska 12345678901234567890")
    data = encode(plan, fmt)
    assert fmt != "dst" or data[:512].isascii()
    file = decode(data, fmt)
    assert prove(plan, file, centred(plan.needle_points)).ok
    assert file.name == ascii_name(plan.name, FORMATS[fmt].name_length)
    assert decode(encode(plan, fmt, name="spare"), fmt).name == ("spare" if FORMATS[fmt].name_length else "")


def test_without_a_placement_the_part_is_centred() -> None:
    file = decode(encode(plan_of([[[(100.0, 50.0), (110.0, 58.0)]]]), "dst"), "dst")
    assert file.units.tolist() == [[-50, -40], [50, 40]]


def test_a_format_that_is_not_written_is_refused_by_name() -> None:
    for bad in ("hus", "doc", "", None):
        with pytest.raises(ParameterError, match="format"):
            encode(three_stops(), bad)  # type: ignore[arg-type]
    assert format_named(".PES") is FORMATS["pes"]


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        (plan_of([[[(0.0, 0.0), (12.2, 0.0)]]]), "stop 1 is 12.2 mm long"),
        (plan_of([[[(0.0, 0.0), (1.0, 0.0)]], [[(0.0, 0.0), (13.0, 13.0)]]]), "stop 2 is 18.4 mm long"),
        (plan_of([[[(0.0, 0.0), (float("nan"), 0.0)]]]), "not a finite number"),
        (plan_of([[[(0.0, 0.0), (6000.0, 0.0)]]]), "over 5000 mm"),
        (plan_of([[[(0.0, 0.0)]]], colours=["#000000", "#ffffff"]), "stop 2 has no stitches"),
        (plan_of([[[(0.0, 0.0)]], [[(1.0, 0.0)]]], colours=["#000000"]), "stop 2 has no thread"),
    ],
    ids=["long", "long-diagonal", "nan", "far", "empty-stop", "no-thread"],
)
def test_a_plan_that_no_file_can_hold_is_refused_in_one_line(plan: StitchPlan, words: str) -> None:
    with pytest.raises(MachineFileError, match=words) as caught:
        encode(plan, "dst", placement=Placement())
    assert str(caught.value).startswith("tab-front.dst: ")


def test_a_plan_without_stitches_and_one_out_of_order_are_refused() -> None:
    plan = three_stops()
    empty = StitchPlan("none", plan.xy[:0], plan.kind[:0], plan.stop[:0], plan.role[:0], plan.element[:0], plan.stops)
    with pytest.raises(MachineFileError, match="no stitches"):
        encode(empty, "dst")
    backwards = StitchPlan("odd", plan.xy, plan.kind, plan.stop[::-1], plan.role, plan.element, plan.stops)
    with pytest.raises(MachineFileError, match="out of order"):
        encode(backwards, "dst")


@EVERY
def test_the_longest_stitch_that_is_allowed_survives_in_every_direction(fmt: str) -> None:
    points = np.cumsum([(0, 0), (12.1, 12.1), (-12.1, 12.1), (-12.1, -12.1), (12.1, -12.1), (12.1, 0)], axis=0)
    plan = plan_of([[[(float(x), float(y)) for x, y in points]]])
    assert np.array_equal(decode(encode(plan, fmt, placement=Placement()), fmt).units, to_units(points))
