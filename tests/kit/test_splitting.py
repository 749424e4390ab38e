"""Parts that fit no field, sewn in pieces: where they are cut, what is sewn twice, what is promised."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from stitchcraft.bag import Bag
from stitchcraft.cli.printing import print_kit
from stitchcraft.decoration import Crosshatch
from stitchcraft.design import Area, Column, Design, Fill, Line, Purpose, Role, Running, Satin, Stop, Thread
from stitchcraft.family import Family, Part, Style
from stitchcraft.kit import build_kit
from stitchcraft.kit.cutting import ARM_MM, cuts_of
from stitchcraft.kit.hooping import Hooped
from stitchcraft.kit.hooping_options import HoopingOptions
from stitchcraft.kit.replay import player_of
from stitchcraft.kit.sewn import SewnPart
from stitchcraft.kit.split_files import split_part
from stitchcraft.kit.splitting import split_plan
from stitchcraft.machine import Hoop, Machine, centred
from stitchcraft.stitching import plan

THREAD = Thread("#2f5d62")
FIELD = Hoop(100, 100)


def planned(*elements, purpose=Purpose.DECORATE):
    return plan(Design("sample", (Stop(purpose, THREAD, elements, "Hoop the cloth."),)))


def split(stitches, hoops=(FIELD,)):
    return split_plan(stitches, list(hoops), margin=0.0, trim_over=3.0, trims=True)


def squares(*middles: float) -> list[Area]:
    return [Area(shapely.box(x - 8, -8, x + 8, 8), Fill(angle=0.0)) for x in middles]


def test_cut_runs_between_elements_where_there_is_room():
    stitches = planned(*squares(-60, -30, 0, 30, 60))
    cuts = cuts_of(stitches, [FIELD], margin=0.0)
    assert cuts.stitches_cut == 0
    assert all(abs(abs(at) - 15) <= 7.5 or abs(abs(at) - 45) <= 7.5 for at in cuts.at_mm)


def test_small_elements_are_never_cut_even_where_a_line_would_run_through_them():
    stitches = planned(*squares(*range(-63, 64, 18)))
    divided = split(stitches)
    element = stitches.element[stitches.is_stitch]
    for number in range(8):
        holders = [
            k for k, piece in enumerate(divided.pieces) if np.isin(np.flatnonzero(element == number), piece.whole).any()
        ]
        assert len(holders) == 1


def test_every_hole_is_in_some_piece_and_lines_overlap():
    stitches = planned(Line([[-90, 0], [90, 0]], Running(length=3.0)), Line([[-90, 20], [90, 20]], Running(length=3.0)))
    divided = split(stitches)
    assert len(divided.pieces) == 2
    held = [set(piece.whole.tolist()) - {-1} for piece in divided.pieces]
    assert held[0] | held[1] == set(range(stitches.stitches))
    # of either line, the stitch that the cut runs through, and what lies within the overlap
    points = stitches.needle_points
    for y in (0.0, 20.0):
        shared = [index for index in sorted(held[0] & held[1]) if points[index, 1] == pytest.approx(y)]
        assert 2 <= len(shared) <= 4
        assert shared == list(range(shared[0], shared[-1] + 1))
        past = points[shared, 0] - divided.cuts.at_mm[0]
        assert past.min() <= -1.0
        assert past.max() >= 1.0
        assert np.abs(past).max() <= 4.1


def test_column_overlaps_by_a_millimetre_and_its_underlay_is_sewn_once():
    rails = [np.array([[-90.0, y], [90.0, y]]) for y in (-3.0, 3.0)]
    stitches = planned(Column(rails[0], rails[1], Satin(underlay=True)))
    divided = split(stitches)
    role = stitches.role[stitches.is_stitch]
    at = divided.cuts.at_mm[0]
    both = np.array(sorted(set(divided.pieces[0].whole.tolist()) & set(divided.pieces[1].whole.tolist()) - {-1}))
    x = stitches.needle_points[both, 0]
    assert x[role[both] == Role.TOP].min() <= at - 1.0
    assert x[role[both] == Role.TOP].max() >= at + 1.0
    # of what lies under it, only the point where the later piece begins, which the earlier one reaches
    under = both[role[both] == Role.UNDERLAY]
    assert (stitches.needle_points[under, 0] > at).all()
    later = divided.pieces[1]
    known = later.whole[later.whole >= 0]
    covered = stitches.needle_points[known[role[known] == Role.TOP], 0].min()
    assert stitches.needle_points[known[role[known] == Role.UNDERLAY], 0].min() > covered


def test_rows_of_a_divided_fill_interlock_without_a_gap():
    stitches = planned(Area(shapely.box(-80, -20, 80, 20), Fill(angle=0.0, length=4.0)))
    divided = split(stitches)
    at = divided.cuts.at_mm[0]
    ends = []
    for piece in divided.pieces:
        known = piece.whole >= 0
        points = piece.plan.needle_points[known]
        near = points[np.abs(points[:, 0] - at) < 6]
        ends.append(near)
        assert piece.plan.trims <= 6
    a_over = ends[0][ends[0][:, 0] > at]
    b_over = ends[1][ends[1][:, 0] < at]
    # both reach past the line, by a stitch at most, and by different amounts: no straight edge shows
    for over in (a_over[:, 0] - at, at - b_over[:, 0]):
        assert 0.5 < over.max() <= 5.2
        assert np.std(over) > 0.3


def test_threads_are_locked_where_they_are_cut():
    stitches = planned(Line([[-90, 0], [90, 0]], Running(length=3.0)))
    divided = split(stitches)
    for piece in divided.pieces:
        assert np.count_nonzero((piece.whole < 0) & (piece.crosses < 0)) >= 2


def test_crosses_lie_beyond_the_stitching_at_both_ends_of_the_cut_and_the_needle_begins_in_the_first():
    stitches = planned(Area(shapely.box(-80, -20, 80, 20), Fill(angle=0.0)))
    divided = split(stitches)
    crosses = divided.cuts.crosses[0]
    assert crosses[0][1] < -20 - ARM_MM
    assert crosses[1][1] > 20 + ARM_MM
    for piece in divided.pieces:
        assert piece.plan.stops[0].purpose is Purpose.BASTE
        assert np.allclose(piece.plan.needle_points[0], crosses[0])
    assert "must meet the middle of the first cross" in divided.pieces[1].plan.stops[0].before
    assert divided.pieces[0].plan.stops[0].before.startswith("Hoop the cloth.")


def test_part_too_wide_both_ways_is_not_divided():
    assert split(planned(Area(shapely.box(-90, -90, 90, 90), Fill()))) is None


def test_satin_border_across_the_cut_keeps_its_lines_on_both_sides():
    rails = [np.array([[-90.0, y], [90.0, y]]) for y in (-2.0, 2.0)]
    stitches = planned(Column(rails[0], rails[1], Satin(underlay=False)))
    divided = split(stitches)
    assert divided.cuts.stitches_cut <= 2
    assert set(np.concatenate([piece.whole for piece in divided.pieces])) >= set(range(stitches.stitches))


def sewn(stitches) -> SewnPart:
    part = Part(Design("sample", ()))
    return SewnPart(part, stitches, Hooped(None, centred(stitches.needle_points), None), {}, {}, {})


def test_files_of_the_pieces_prove_crosses_and_holes():
    made = split_part(
        sewn(planned(*squares(-60, -30, 0, 30, 60))), (), Machine(hoops=[FIELD], formats=["dst", "vp3"]), margin=0.0
    )
    assert [proof.code for proof in made.proofs] == ["crosses-meet", "pieces-whole", "hoop-fit"]
    assert all(proof.ok for proof in made.proofs)
    assert all(proof.ok for piece in made.pieces for proof in piece.proofs.values())


@pytest.mark.parametrize("what", ["cross", "hole", "lost"])
def test_proofs_fail_when_a_file_is_spoilt(what):
    from stitchcraft.kit.split_files import _proofs

    part = sewn(planned(*squares(-60, -30, 0, 30, 60)))
    made = split_part(part, (), Machine(hoops=[FIELD], formats=["dst"]), margin=0.0)
    second = made.pieces[1]
    file = second.files["dst"]
    at = np.flatnonzero(file.is_stitch)
    rows, kind, stop = file.rows.copy(), file.kind, file.stop
    if what == "cross":
        rows[at[np.flatnonzero(second.piece.crosses >= 0)[1]]] += (3, 0)
    elif what == "hole":
        rows[at[np.flatnonzero(second.piece.whole >= 0)[30]]] += (0, 3)
    else:
        keep = np.ones(len(rows), dtype=bool)
        keep[at[-1]] = False
        rows, kind, stop = rows[keep], kind[keep], stop[keep]
    spoilt = replace(second, files={"dst": replace(file, rows=rows, kind=kind, stop=stop)})
    failing = {proof.code for proof in _proofs(part, (made.pieces[0], spoilt, *made.pieces[2:])) if not proof.ok}
    assert failing == {"cross": {"crosses-meet"}, "hole": {"pieces-whole"}}.get(what, {"crosses-meet", "pieces-whole"})


LARGE = Family(bag=Bag(width=360, height=300), style=Style(decoration=Crosshatch(pitch=40)), parts=("corner",),
               corner={"width": 150, "height": 150})  # fmt: skip
SMALL_FIELD = Machine(hoops=["130x180"], formats=["dst"])


def test_kit_with_a_part_too_large_holds_once_it_may_be_divided():
    whole = build_kit(LARGE, SMALL_FIELD)
    assert not whole.ok
    assert {finding.code for finding in whole.findings if finding.level.value == "error"} == {"hoop-fit"}
    divided = build_kit(LARGE, SMALL_FIELD, hooping=HoopingOptions(split=True))
    assert divided.ok
    assert [finding.part for finding in divided.findings if finding.code == "hoop-split"] == [
        "corner-left",
        "corner-right",
    ]
    assert {proof.code for proof in divided.proofs} >= {"corners-meet", "crosses-meet", "pieces-whole", "hoop-fit"}
    assert [one.name for one in divided.hoopings.hoopings] == [
        "corner-left-a", "corner-left-b", "corner-right-a", "corner-right-b",
    ]  # fmt: skip
    assert divided.hoopings.loadings == 8


def test_what_is_sewn_in_pieces_is_shown_by_its_pieces_and_not_as_a_part_without_a_field(capsys):
    divided = build_kit(LARGE, SMALL_FIELD, hooping=HoopingOptions(split=True))
    page = player_of(divided)
    names = [
        one["name"] for one in json.loads(page.split('type="application/json">')[1].split("</script>")[0])["parts"]
    ]
    assert names == [f"Corner {side} {piece}" for side in ("left", "right") for piece in "ab"]
    one_part = player_of(divided, part="corner-left")
    assert "Corner left b" in one_part
    assert "Corner right" not in one_part
    assert "in 2 hoopings" in divided._repr_html_()
    print_kit(divided, Path("kit"))
    rows = [line.split() for line in capsys.readouterr().out.splitlines() if line.startswith("corner")]
    assert [row[:4] for row in rows] == [["corner-left", "in", "2", "-"], ["corner-right", "in", "2", "-"]]


def test_larger_field_takes_the_note_of_division_away():
    kit = build_kit(LARGE, Machine(hoops=["200x200"], formats=["dst"]), hooping=HoopingOptions(split=True))
    assert not [finding for finding in kit.findings if finding.code.startswith("hoop")]


def test_part_whose_seam_closes_over_another_is_not_divided_and_says_why():
    family = Family(bag=Bag(width=300, height=240), style=Style(decoration=Crosshatch(pitch=40)), parts=("tab",))
    kit = build_kit(family, Machine(hoops=["100x100"], formats=["dst"]), hooping=HoopingOptions(split=True))
    said = {finding.part: finding.message for finding in kit.findings if finding.code == "hoop-not-split"}
    assert "its seam closes over the finished back" in said["tab-front"]
    assert not kit.ok
    larger = build_kit(family, Machine(hoops=["130x180"], formats=["dst"]), hooping=HoopingOptions(split=True))
    assert "hoop-not-split" not in {finding.code for finding in larger.findings}
