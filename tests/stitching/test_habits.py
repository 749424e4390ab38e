"""Habits of whole parts: locks long enough to hold, no needless cut, stops that go on where the last one ended."""

import itertools
from pathlib import Path

import numpy as np
import pytest
import shapely

from stitchcraft.design import Area, Design, Fill, Kind, Line, Purpose, Role, Satin, Stop, Thread
from stitchcraft.family import Family
from stitchcraft.kit.make import machine_from
from stitchcraft.spec import read_spec
from stitchcraft.stitching import plan

TRIM_OVER = 3.0
SAMPLE = Path(__file__).parents[2] / "samples" / "wren_clutch.toml"
TICKED = Path(__file__).parents[2] / "samples" / "quay_satchel.toml"


@pytest.fixture(scope="module")
def plans():
    families = [Family.from_spec(read_spec(path)) for path in (SAMPLE, TICKED)]
    return [plan(part.design, trim_over=TRIM_OVER) for family in families for part in family.made()]


def test_no_stitch_of_a_lock_is_shorter_than_half_a_millimetre_where_the_line_has_room(plans):
    seen = 0
    for made in plans:
        steps = np.hypot(*np.diff(made.xy, axis=0).T)
        both = (made.role[1:] == Role.LOCK) & (made.role[:-1] == Role.LOCK) & made.is_stitch[1:] & made.is_stitch[:-1]
        purposes = np.array([stop.purpose for stop in made.stops])[made.stop[1:]]
        for purpose in (Purpose.TICKS, Purpose.PLACE, Purpose.TACK, Purpose.OUTLINE):
            seen += int((both & (purposes == purpose)).sum())
            assert steps[both & (purposes == purpose)].min(initial=1.0) >= 0.5 - 1e-9
    assert seen > 50


def test_within_a_stop_a_thread_is_cut_before_long_jumps_and_only_there(plans):
    cuts = 0
    for made in plans:
        sewn = np.flatnonzero(made.is_stitch)
        for before, after in itertools.pairwise(sewn):
            if after == before + 1 or made.stop[before] != made.stop[after]:
                continue
            gap = float(np.hypot(*(made.xy[after] - made.xy[before])))
            cut = bool((made.kind[before:after] == Kind.TRIM).any())
            cuts += cut
            assert cut == (gap > TRIM_OVER), (made.name, gap)
    assert cuts > 10


@pytest.mark.parametrize("stitch", [Fill(angle=30), Satin()], ids=["fill", "satin"])
def test_locks_of_areas_lie_within_what_they_lock(stitch):
    for size in (1.5, 3.0, 8.0):
        shape = shapely.box(0, 0, size * 2, size)
        made = plan(Design("x", (Stop(Purpose.DECORATE, Thread("#2f5d62"), (Area(shape, stitch),)),)))
        locks = made.xy[made.is_stitch & (made.role == Role.LOCK)]
        assert len(locks) >= 4
        # widened against pull by 0.1 and a share of 0.02 of the line
        assert shapely.intersects_xy(shape.buffer(0.1 + 0.02 * 2 * size + 0.01), *locks.T).all()


@pytest.mark.parametrize(("given", "cuts"), [("", 1), ('trim_over = "5 mm"', 0), ("trim_over = 3", 1)])
def test_a_spec_says_past_which_jump_its_machine_cuts(tmp_path, given, cuts):
    spec = tmp_path / "bag.toml"
    spec.write_text(f"[bag]\nwidth = 300\nheight = 250\n[machine]\n{given}\n", encoding="utf-8")
    machine = machine_from(read_spec(spec).machine)
    marks = (Line([[0, 0], [10, 0]]), Line([[14, 0], [24, 0]]))  # 4 mm apart
    made = plan(
        Design("x", (Stop(Purpose.DECORATE, Thread("#2f5d62"), marks),)),
        trims=machine.trims,
        trim_over=machine.trim_over,
    )
    assert made.trims == 1 + cuts  # and one at the end
