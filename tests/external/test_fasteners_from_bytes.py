"""Kits with each fastener and each layout, measured from their DST bytes by a decoder of our own and the report.

Nothing here asks the package what it meant to sew: needle points come out of the files, sizes out of the spec's text.
"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from dst_decoder import decode_dst

from stitchcraft.kit.make import kit_of
from stitchcraft.kit.report import report_of

BAG = """
name = "Curlew"
units = "mm"
[bag]
width = 340
height = 300
wall = 5
binding = { strip = 63.5, depth = 7, overlap = 100 }
[machine]
hoops = ["130x180", "160x260"]
formats = ["dst"]
[style]
decoration = "none"
[closure]
drop = 80
[tab]
tip = "shield"
"""
SPECS = {
    "sew-in-snap": 'fastener = { kind = "sew-in-snap", diameter = 16, inset = 27 }',
    "turn-lock": 'fastener = { kind = "turn-lock", width = 36, height = 22, inset = 36 }',
    "button": 'fastener = { kind = "button", diameter = 22, thickness = 5, inset = 30 }',
    "button-across": 'fastener = { kind = "button", diameter = 22, thickness = 5, inset = 30, direction = "across" }',
    "medallion": 'fastener = "sew-in-snap"\n[connector]\nlayout = "medallion"',
    "one-end": '[connector]\nends = "left"\noutline = "ogee"',
    "off-centre": "[connector]\nsnap_up = 8\nsnap_right = -12\nheight = 60\nwidth = 230",
    "pair": 'fastener = "button"\n[connector]\nlayout = "pair"',
}


class Made:
    """One kit: its files' bytes and its report, without papers and pictures."""

    def __init__(self, kind: str, folder) -> None:
        (folder / "bag.toml").write_text(BAG + SPECS[kind] + "\n", encoding="utf-8")
        kit = kit_of(folder / "bag.toml")
        self.kind = kind
        self.data = {one.file_name("dst"): one.data["dst"] for one in kit.parts}
        self.report = json.loads(json.dumps(report_of(kit), allow_nan=False))
        self.parts = {part["name"]: part for part in self.report["parts"]}

    def points(self, name: str, purpose: str) -> np.ndarray:
        """Needle points of one purpose in the part's own frame: undo p' = R(angle) p + offset."""
        part = self.parts[name]
        sewing = decode_dst(self.data[part["files"]["dst"]])
        wanted = [stop["n"] - 1 for stop in part["stops"] if stop["purpose"] == purpose]
        xy = np.array(sewing.points, dtype=float)[np.isin(sewing.stop_of, wanted)] / 10
        turn = math.radians(part["angle_deg"])
        back = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
        return (xy - part["offset_mm"]) @ back.T


@pytest.fixture(scope="module", params=SPECS)
def made(request, tmp_path_factory) -> Made:
    return Made(request.param, tmp_path_factory.mktemp(request.param))


def middle(points: np.ndarray) -> np.ndarray:
    return (points.min(axis=0) + points.max(axis=0)) / 2


def target_on_front(made: Made) -> np.ndarray:
    name = "connector-front" if "connector-front" in made.parts else "snap-mark"
    place = made.parts[name]["placement"]
    assert place["panel"] == "front"
    return middle(made.points(name, "snap")) + place["at_mm"]


def test_every_proof_holds_and_no_error_stands(made):
    assert all(proof["ok"] for proof in made.report["proofs"])
    assert "snap-mates" in [proof["code"] for proof in made.report["proofs"]]
    assert [finding for finding in made.report["findings"] if finding["level"] == "error"] == []


def test_target_lies_at_the_drop_on_the_middle_line(made):
    assert target_on_front(made) == pytest.approx((0, -80), abs=0.15)


def test_what_is_on_the_tab_lands_on_the_target(made):
    """A strip laid from the root line: 7 up to the top edge, 5 across the wall, then down the front."""
    landed = []
    for name, mirror in (("tab-back", -1), ("tab-front", 1), ("tab-buttonhole", 1)):
        if name in made.parts and "snap" in [stop["purpose"] for stop in made.parts[name]["stops"]]:
            points = made.points(name, "snap") * [mirror, 1]
            at = middle(points)
            if name == "tab-buttonhole" and made.kind != "button-across":
                # bars of 2 mm, and the button an eighth of an inch inside the hole
                at = np.array([at[0], points[:, 1].min() + 2.0 + 25.4 / 8])
            landed.append([at[0], at[1] + 7 + 5])
    assert landed
    for at in landed:
        assert at == pytest.approx(target_on_front(made), abs=0.3)


def test_tabs_point_hangs_beyond_it_by_the_inset(made):
    seam, closure = made.points("tab-front", "seam"), made.report["closure"]
    assert seam[:, 1].min() == pytest.approx(-(7 + 5 + 80 + closure["inset_mm"]), abs=0.15)
    assert closure["tip_mm"] == pytest.approx(80 + closure["inset_mm"], abs=1e-3)


@pytest.mark.parametrize("made", ["button"], indirect=True)
def test_beads_leave_the_cut_free_and_bars_close_its_ends(made):
    """Length of the cut = diameter + thickness of the button: 22 + 5, by sewing handbooks (from memory)."""
    points = made.points("tab-buttonhole", "snap")
    points = points - middle(points)
    half = 27 / 2
    beside = points[(np.abs(points[:, 1]) < half - 0.5) & (np.abs(points[:, 0]) > 0.15)]
    assert np.abs(beside[:, 0]).min() > 0.25
    assert np.abs(points[:, 1]).max() == pytest.approx(half + 2, abs=0.3)
    assert np.abs(points[:, 0]).max() == pytest.approx(2.5, abs=0.35)


@pytest.mark.parametrize("made", ["button"], indirect=True)
def test_finished_tab_is_laid_on_an_outline_that_is_the_seam(made):
    seam, outline = made.points("tab-front", "seam"), made.points("tab-buttonhole", "place")
    assert middle(outline) == pytest.approx(middle(seam), abs=0.15)
    assert np.ptp(outline, axis=0) == pytest.approx(np.ptp(seam, axis=0), abs=0.15)


@pytest.mark.parametrize("made", ["one-end"], indirect=True)
def test_piece_with_one_end_has_one_box_and_its_back_is_its_mirror_image(made):
    front, back = made.points("connector-front", "place"), made.points("connector-back", "place") * [-1, 1]
    assert middle(front) == pytest.approx(middle(back), abs=0.1)
    assert middle(front)[0] < -10
    assert made.points("connector-front", "ticks")[:, 0].max() < 0
    assert made.points("connector-back", "ticks")[:, 0].min() > 0


@pytest.mark.parametrize("made", ["off-centre"], indirect=True)
def test_target_lies_off_the_pieces_middle_as_asked(made):
    place = made.points("connector-front", "place")
    assert middle(made.points("connector-front", "snap")) - middle(place) == pytest.approx((-12, 8), abs=0.15)
    # the straps stay where the bag has them
    boxes = made.points("connector-front", "ticks")
    assert boxes[:, 0].min() < -50
    assert boxes[:, 0].max() > 50


@pytest.mark.parametrize("made", ["medallion"], indirect=True)
def test_medallion_is_round_and_alone(made):
    place = made.points("connector-front", "place")
    radii = np.hypot(*place.T)
    assert np.ptp(radii) < 0.3
    assert "connector-back" not in made.parts
    assert "ticks" not in [stop["purpose"] for stop in made.parts["connector-front"]["stops"]]


@pytest.mark.parametrize("kind", ["sew-in-snap", "turn-lock", "button"])
def test_proof_fails_by_as_much_as_three_lengths_disagree(kind, tmp_path):
    """Root to where it closes 120 - 30 = 90; over edge and wall 12; so it lands 78 down, 4 short of the drop of 82."""
    text = BAG.replace("drop = 80", "drop = 82") + f'length = 120\nfastener = {{ kind = "{kind}", inset = 30 }}\n'
    (tmp_path / "bag.toml").write_text('parts = ["tab", "connector"]\n' + text, encoding="utf-8")
    report = report_of(kit_of(tmp_path / "bag.toml"))
    (proof,) = [proof for proof in report["proofs"] if proof["code"] == "snap-mates"]
    assert not proof["ok"]
    assert proof["measured"] == pytest.approx(4, abs=0.1)
    errors = [finding["code"] for finding in report["findings"] if finding["level"] == "error"]
    assert errors == ["closure-miss"]
