"""Whole kits, measured from their DST bytes by a decoder of our own and from report.json, and from nothing else.

Nothing here asks the package what it meant to sew: the needle points come out of the files, the bag's numbers
out of the spec as text.
"""

from __future__ import annotations

import itertools
import json
import math
from pathlib import Path

import numpy as np
import pytest
from dst_decoder import decode_dst

from stitchcraft.kit import make_kit

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.toml"))


class Made:
    """One kit on disk."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
        self.parts = {part["name"]: part for part in self.report["parts"]}

    def sewing(self, name: str):
        return decode_dst((self.folder / self.parts[name]["files"]["dst"]).read_bytes())

    def points(self, name: str, purpose: str) -> np.ndarray:
        """Needle points of one purpose in the part's own frame: undo p' = R(angle) p + offset."""
        part, sewing = self.parts[name], self.sewing(name)
        wanted = [stop["n"] - 1 for stop in part["stops"] if stop["purpose"] == purpose]
        xy = np.array(sewing.points, dtype=float)[np.isin(sewing.stop_of, wanted)] / 10
        turn = math.radians(part["angle_deg"])
        back = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
        return (xy - part["offset_mm"]) @ back.T


@pytest.fixture(scope="module", params=SAMPLES, ids=[path.stem for path in SAMPLES])
def made(request, tmp_path_factory) -> Made:
    folder = tmp_path_factory.mktemp("kits") / request.param.stem
    make_kit(request.param, folder)
    return Made(folder)


def nearest(one: np.ndarray, other: np.ndarray) -> float:
    gaps = np.hypot(*(one[:, None] - other[None]).transpose(2, 0, 1))
    return float(max(gaps.min(axis=0).max(), gaps.min(axis=1).max()))


def circle_of(points: np.ndarray) -> tuple[np.ndarray, float]:
    """Centre and radius of the outermost ring of points, by averaging those near the largest radius twice over."""
    centre = (points.min(axis=0) + points.max(axis=0)) / 2
    radius = np.hypot(*(points - centre).T)
    ring = points[radius > radius.max() - 0.6]
    centre = (ring.min(axis=0) + ring.max(axis=0)) / 2
    return centre, float(np.median(np.hypot(*(ring - centre).T)))


def test_report_counts_what_an_independent_reader_counts(made):
    for name, part in made.parts.items():
        sewing = made.sewing(name)
        assert part["stitches"] == len(sewing.points)
        assert [stop["stitches"] for stop in part["stops"]] == [
            sewing.stop_of.count(k) for k in range(len(part["stops"]))
        ]
        size = np.ptp(np.array(sewing.points), axis=0) / 10
        assert part["size_mm"] == pytest.approx(size.tolist())


def test_every_part_lies_within_its_field(made):
    for name, part in made.parts.items():
        field = np.array([float(side) for side in part["hoop"].split("x")])
        assert (np.abs(made.sewing(name).points) / 10 <= field / 2 + 1e-9).all()


def test_no_stitch_is_longer_than_is_planned_and_none_has_no_length(made):
    for name in made.parts:
        sewing = made.sewing(name)
        assert np.abs(sewing.moves).max() <= 120  # jumps alone may take all 121 units that a record holds
        assert (np.abs(np.diff(sewing.points, axis=0)).sum(axis=1) > 0).all()


def test_halves_of_the_tab_meet(made):
    front, back = "tab-front", "tab-back"
    mirror = np.array([-1.0, 1.0])
    assert nearest(made.points(front, "ticks"), made.points(back, "ticks") * mirror) <= 0.1
    seam, outline = made.points(front, "seam"), made.points(back, "outline") * mirror
    for a, line in ((outline, seam), (seam, outline)):
        for point in a:
            gaps = [distance_to_segment(point, *pair) for pair in itertools.pairwise(line)]
            assert min(gaps) <= 0.1


def distance_to_segment(point: np.ndarray, start: np.ndarray, end: np.ndarray) -> float:
    along = end - start
    share = float(np.clip((point - start) @ along / max(1e-12, float(along @ along)), 0, 1))
    return float(np.hypot(*(point - start - share * along)))


def test_ticks_are_four_and_leave_with_the_trimmings(made):
    ticks, seam = made.points("tab-front", "ticks"), made.points("tab-front", "seam")
    clusters: list[np.ndarray] = []
    for tick in ticks:
        if not any(np.hypot(*(tick - other)) < 10 for other in clusters):
            clusters.append(tick)
    assert len(clusters) == 4
    # 1/4 in allowance: common practice, no source
    for tick in ticks:
        assert min(distance_to_segment(tick, *pair) for pair in itertools.pairwise(seam)) > 6.35


def test_seam_uses_every_hole_twice_and_leaves_the_mouth_open(made):
    sewing, part = made.sewing("tab-front"), made.parts["tab-front"]
    number = next(stop["n"] for stop in part["stops"] if stop["purpose"] == "seam") - 1
    holes = np.array(sewing.points)[np.array(sewing.stop_of) == number]
    _, used = np.unique(holes, axis=0, return_counts=True)
    assert set(used.tolist()) == {2}
    seam = made.points("tab-front", "seam")
    top = seam[:, 1].max()
    near_top = seam[seam[:, 1] > top - 0.2][:, 0]
    width = near_top.max() - near_top.min()
    assert width > 20
    inside = (seam[:, 1] > top - 5) & (np.abs(seam[:, 0]) < width / 2 - 1)
    assert not inside.any()


def test_snap_on_the_tab_lands_on_its_target(made):
    if "snap" not in [stop["purpose"] for stop in made.parts["tab-back"]["stops"]]:
        pytest.skip("a buttonhole goes through the finished tab: see test_fasteners_from_bytes.py")
    bag, closure = made.report["bag"], made.report["closure"]
    back, _ = circle_of(made.points("tab-back", "snap"))
    target_part = "connector-front" if "connector-front" in made.parts else "snap-mark"
    target, _ = circle_of(made.points(target_part, "snap"))
    place = made.parts[target_part]["placement"]
    assert place["panel"] == "front"
    on_bag = target + place["at_mm"]
    # the strip: up to the top edge, across the wall, down the front
    drop = -back[1] - bag["root_depth_mm"] - bag["wall_mm"]
    assert on_bag[1] == pytest.approx(-drop, abs=0.2)
    assert on_bag[0] == pytest.approx(-back[0], abs=0.2)
    assert drop == pytest.approx(closure["drop_mm"], abs=0.2)


def test_corner_accents_mirror_each_other_and_their_covers_meet_on_the_seams(made):
    left = made.points("corner-left", "cover")
    right = made.points("corner-right", "cover") * [-1, 1]
    for axis in (0, 1):
        at = [np.abs(side[np.abs(side[:, axis]) < 1.5][:, 1 - axis]) for side in (left, right)]
        assert np.mean(at[0]) == pytest.approx(np.mean(at[1]), abs=0.5)
    assert nearest(made.points("corner-left", "place"), made.points("corner-right", "place") * [-1, 1]) <= 0.15


def test_snap_target_is_the_last_stop_of_the_front_connector_only(made):
    if "connector-front" in made.parts:
        assert made.parts["connector-front"]["stops"][-1]["purpose"] == "snap"
        # a medallion has no back
        back = made.parts.get("connector-back", {"stops": []})
        assert "snap" not in [stop["purpose"] for stop in back["stops"]]
    else:
        assert {"connector-left", "connector-right", "snap-mark"} <= made.parts.keys()


def test_every_proof_in_the_report_holds(made):
    assert all(proof["ok"] for proof in made.report["proofs"])
    assert not [finding for finding in made.report["findings"] if finding["level"] == "error"]
    for part in made.report["parts"]:
        for proof in part["proof"].values():
            assert proof["stitches_equal"]
            assert proof["stops_equal"]
            assert proof["max_shift_mm"] <= 0.1
