"""Hoopings that parts share: which may, how few they are, and what the maker is told."""

import json
from dataclasses import replace

import numpy as np
import pypdfium2 as pdfium
import pytest

from stitchcraft.bag import Bag, Shaping
from stitchcraft.decoration import Crosshatch
from stitchcraft.design import Kind
from stitchcraft.errors import ParameterError
from stitchcraft.family import Family, Style
from stitchcraft.kit import build_kit, write_kit
from stitchcraft.kit.hooping_options import HoopingOptions
from stitchcraft.kit.hooping_plan import HoopingPlan
from stitchcraft.kit.hooping_report import fewest_words
from stitchcraft.kit.papers import sheet_of
from stitchcraft.kit.replay import player_of
from stitchcraft.kit.report import report_of
from stitchcraft.machine import Machine, decode
from stitchcraft.paper.costs import amounts_of
from stitchcraft.paper.hooping_page import places_words
from stitchcraft.paper.materials import fasteners, for_bag
from stitchcraft.paper.words import times_words

CLUTCH = Family(
    bag=Bag(width=230, height=150, shaping=Shaping(down=30, over=45)),
    style=Style(decoration=Crosshatch(pitch=40)),
    label={"text": "Quay"},
    name="Clutch",
)
WIDE = Machine(hoops=["360x200", "130x180"], formats=["dst", "pes"])


@pytest.fixture(scope="module")
def alone():
    return build_kit(CLUTCH, WIDE)


@pytest.fixture(scope="module")
def shared():
    return build_kit(CLUTCH, WIDE, hooping=HoopingOptions(share=True, bags=2))


def test_without_asking_each_part_keeps_its_hooping_and_the_report_says_how_few_would_do(alone):
    report = report_of(alone)
    assert [one["parts"] for one in report["hoopings"]] == [[part.name] for part in alone.parts]
    plan = report["hooping_plan"]
    assert plan["loadings"] == plan["alone"] == sum(max(1, len(part.part.placements)) for part in alone.parts)
    # tab back, tab front, label; on either panel the accents with the connector, and the marks, too near it, alone
    assert (plan["fewest"], plan["bound"], plan["proven"], plan["shared"]) == (7, 7, True, False)
    assert alone.hoopings.shared == ()


def test_sharing_leaves_the_files_of_the_parts_as_they_are(alone, shared):
    for part in alone.parts:
        assert shared[part.name].data == part.data


def test_two_bags_share_what_lies_on_one_cloth(shared):
    loads = {one.name: (sorted(copy.part.name for copy in one.copies), one.times) for one in shared.hoopings.hoopings}
    held = list(loads.values())
    assert (["tab-back", "tab-back"], 1) in held
    assert (["tab-front", "tab-front"], 1) in held
    assert (["label", "label"], 1) in held
    panels = [one for one in shared.hoopings.shared if one.panels]
    assert {one.panels: one.times for one in panels} == {("front",): 2, ("back",): 2, ("front", "back"): 4}
    assert shared.hoopings.loadings == shared.hoopings.fewest == shared.hoopings.bound


def test_promises_are_measured_on_the_shared_files(shared):
    codes = {proof.code for proof in shared.hoopings.proofs}
    assert {"ticks-meet", "halves-meet", "seam-doubled", "mouth-open", "corners-meet", "hoop-fit"} <= codes
    assert all(proof.ok for proof in shared.hoopings.proofs)
    for one in shared.hoopings.shared:
        assert all(proof.ok for proof in one.shared.proofs.values())
        assert all(proof.stitches_equal and proof.stops_equal for member in one.shared.members
                   for proof in member.proofs.values())  # fmt: skip


def test_proof_of_a_shared_file_fails_when_one_hole_is_moved(shared):
    from stitchcraft.kit.hooping_plan import _proofs

    one = next(one for one in shared.hoopings.shared if one.copies[0].part.name == "tab-front")
    member = one.shared.members[1]
    seam = len(member.plan.stops) - 1
    moved = {}
    for fmt, file in member.files.items():
        rows = file.rows.copy()
        rows[np.flatnonzero(file.stop == seam)[40]] += (5, 5)
        moved[fmt] = replace(file, rows=rows)
    members = (one.shared.members[0], replace(member, files=moved))
    spoilt = replace(one, shared=replace(one.shared, members=members))
    failing = {proof.code for proof in _proofs(CLUTCH, shared.parts, [spoilt], ()) if not proof.ok}
    assert failing >= {"halves-meet", "seam-doubled"}


def test_merged_stops_wait_once_for_hands_that_do_the_same_on_all_pieces(shared):
    fronts = next(one for one in shared.hoopings.shared if one.copies[0].part.name == "tab-front")
    plan = fronts.shared.together.plan
    assert [stop.purpose.value for stop in plan.stops] == [
        stop.purpose.value for stop in shared["tab-front"].plan.stops
    ]
    assert plan.stops[-1].before.startswith("At each of the 2 pieces: Cut off any thread")
    assert plan.stops[0].before.startswith("Hoop the tab's front cloth")
    panel = next(one for one in shared.hoopings.shared if one.panels == ("front",))
    first = panel.shared.together.plan.stops[0].before
    assert first.startswith("Hoop the front panel cloth")
    assert "on the middle line" in first
    # said once, for it is the same on both corners
    words = " ".join(stop.before for stop in panel.shared.together.plan.stops)
    assert words.count("Lay the accent cloth") == 1


def test_shared_plan_is_sound_row_by_row(shared):
    for one in shared.hoopings.shared:
        plan = one.shared.together.plan
        assert (np.diff(plan.stop) >= 0).all()
        assert plan.kind[-1] == Kind.END
        assert np.count_nonzero(plan.kind == Kind.STOP) == len(plan.stops) - 1
        steps = np.hypot(*np.diff(plan.xy, axis=0).T)
        assert steps.max() <= 12.0
        for number in range(len(plan.stops)):
            rows = np.flatnonzero(plan.stop == number)
            assert plan.kind[rows[0]] == Kind.JUMP


def test_every_pair_that_never_shares_has_its_reason(alone):
    reasons = {(one, other): why for one, other, why in alone.hoopings.reasons}
    assert reasons["tab-back", "tab-front"] == "different cloths are hooped: lining cloth and outer cloth"
    assert reasons["connector-front", "connector-back"] == "they are sewn on two panels, front and back"
    assert "on the hooped panel" in reasons["label", "connector-front"]
    assert ("corner-left", "corner-right") not in reasons


def test_parts_too_far_apart_on_the_panel_say_what_field_both_would_need():
    kit = build_kit(
        Family(bag=Bag(width=300, height=200), style=CLUTCH.style, parts=("corner",)),
        Machine(hoops=["130x180"], formats=["dst"]),
        hooping=HoopingOptions(share=True),
    )
    assert kit.hoopings.shared == ()
    ((one, other, why),) = kit.hoopings.reasons
    assert (one, other) == ("corner-left", "corner-right")
    assert why.startswith("they lie too far apart on the panel: a field for both would be 31")


def test_parts_too_near_on_the_panel_are_kept_apart():
    # accents that leave less than the margin of the cloth laid on between them
    family = Family(bag=Bag(width=150, height=140), style=CLUTCH.style, parts=("corner",),
                    corner={"width": 70, "height": 50})  # fmt: skip
    kit = build_kit(family, WIDE, hooping=HoopingOptions(share=True))
    assert kit.hoopings.shared == ()
    assert "mm apart on the panel, and the cloth laid on" in kit.hoopings.reasons[0][2]


def test_grain_is_kept_unless_told_otherwise(shared):
    for one in shared.hoopings.shared:
        if not one.panels:
            turns = {placement.angle_deg % 180 for placement in one.placements}
            assert len(turns) == 1


def test_shared_kit_is_written_whole_with_its_page_and_its_replay(shared, tmp_path):
    write_kit(shared, tmp_path / "kit")
    report = json.loads((tmp_path / "kit" / "report.json").read_text(encoding="utf-8"))
    for one in report["hoopings"]:
        for fmt, name in one["files"].items():
            file = decode((tmp_path / "kit" / name).read_bytes(), fmt)
            if "pieces" in one:
                assert file.stitches == one["stitches"]
    pages = pdfium.PdfDocument(tmp_path / "kit" / "worksheet.pdf")
    text = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in pages)
    assert "Tab back × 2: sew together, once, on its own cloth" in text
    assert "This sheet is for 2 bags alike." in text
    assert f"{shared.hoopings.loadings} hoopings; fewer cannot do" in text
    assert "Connector front (1): Lay the connector cloth" in text
    html = player_of(shared)
    assert "Shared 1: tab back × 2" in html


@pytest.mark.parametrize(
    ("options", "named"),
    [
        ({"bags": 0}, "hooping.bags"), ({"bags": 51}, "hooping.bags"), ({"bags": True}, "hooping.bags"),
        ({"gap": -1}, "hooping.gap"), ({"gap": "wide"}, "hooping.gap"), ({"share": "yes"}, "hooping.share"),
        ({"grain": 1}, "hooping.grain"), ({"split": None}, "hooping.split"),
    ],
)  # fmt: skip
def test_options_that_cannot_be_used_are_named(options, named):
    with pytest.raises(ParameterError) as caught:
        HoopingOptions(**options)
    assert caught.value.name == named


def test_what_is_sewn_in_a_shared_hooping_is_not_sewn_again_alone():
    family = Family(
        bag=Bag(width=381, height=317.5, shaping=Shaping(down=38, over=51)),
        style=Style(decoration=Crosshatch(pitch=40)),
        parts=("connector", "shaping-marks"),
    )
    machine = Machine(hoops=["200x200", "130x180", "100x100"], formats=["dst"])
    made = build_kit(family, machine, hooping=HoopingOptions(share=True, bags=2))
    alone = [one for one in made.hoopings.hoopings if [c.part.name for c in one.copies] == ["shaping-marks"]]
    together = [
        (copy.place.at_mm, one.times) for one in made.hoopings.shared for copy in one.copies
        if copy.part.name == "shaping-marks"
    ]  # fmt: skip
    assert alone
    assert together  # one side's mark is sewn with the connector
    left = {place.at_mm for one in alone for place in one.places}
    assert not left & {at for at, _ in together}
    # four marks on each of two bags, however they are sewn
    assert sum(one.times for one in alone) + sum(times for _, times in together) == 8
    sheet = sheet_of(made)
    for work in sheet.plan.work:
        if isinstance(work, tuple) and work[0].name == "shaping-marks":
            assert len(places_words(work[0])) == len(left)
            assert times_words(work[0], work[1], 2) == "4 times, on the front and the back panel of each bag"


def test_the_worksheet_counts_what_all_bags_take(alone, shared):
    for one, two in zip(fasteners(sheet_of(alone)), fasteners(sheet_of(shared)), strict=True):
        numbers = [int(many.split()[0]) for _, many, _ in (one, two)]
        assert numbers[1] == 2 * numbers[0]
    backings = [sum(cut.count for cut in for_bag(sheet_of(kit)) if "backing" in cut.name) for kit in (alone, shared)]
    assert backings[1] == 2 * backings[0]
    amounts = [amounts_of(sheet_of(kit)) for kit in (alone, shared)]
    assert amounts[1].thread == pytest.approx(2 * amounts[0].thread)
    assert amounts[1].fastener == 2 * amounts[0].fastener
    # fewer loadings than two bags sewn part by part
    assert amounts[0].hour < amounts[1].hour < 2 * amounts[0].hour


def test_what_is_known_of_the_number_of_hoopings_is_said_as_it_was_proven():
    def said(fewest: int, bound: int, square: int) -> str:
        return fewest_words(HoopingPlan(HoopingOptions(), (), fewest, fewest, bound, square))

    assert said(3, 3, 3) == "3 hoopings; fewer cannot do, whatever the angle of the cloth"
    assert "square to the field, and at other angles at least 2" in said(3, 2, 3)
    assert said(3, 2, 2) == "3 hoopings; at least 2 are needed; whether fewer than 3 do is open"
