"""Shared and divided hoopings, measured from DST bytes by a decoder of our own and from report.json alone.

The file of each part alone is the measure: what is sewn together or in pieces must make the same holes.
"""

import itertools
import json
import math
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from dst_decoder import decode_dst
from scipy.spatial import cKDTree

from stitchcraft.kit import make_kit

TOGETHER = """
name = "Three clutches"
[bag]
width = 230
height = 150
shaping = { down = 30, over = 45 }
[machine]
hoops = ["360x200", "130x180"]
formats = ["dst"]
[hooping]
share = true
bags = 3
gap = 9
[style]
decoration = { kind = "crosshatch", pitch = 30 }
[label]
text = "Quay"
"""
DIVIDED = """
name = "Large tote"
parts = ["corner"]
[bag]
width = 360
height = 300
depth = 100
[machine]
hoops = ["130x180"]
formats = ["dst"]
[hooping]
split = true
[style]
decoration = { kind = "dots", pitch = 24, diameter = 5, stitch = "fill" }
[corner]
width = 150
height = 150
"""


class Made:
    def __init__(self, folder: Path, text: str) -> None:
        folder.mkdir()
        (folder / "bag.toml").write_text(text, encoding="utf-8")
        make_kit(folder / "bag.toml", folder / "kit")
        self.folder = folder / "kit"
        self.report = json.loads((self.folder / "report.json").read_text(encoding="utf-8"))
        self.parts = {part["name"]: part for part in self.report["parts"]}

    def points(self, files: dict[str, str]) -> np.ndarray:
        return np.array(decode_dst((self.folder / files["dst"]).read_bytes()).points, dtype=float) / 10


@pytest.fixture(scope="module")
def together(tmp_path_factory) -> Made:
    return Made(tmp_path_factory.mktemp("together") / "kit", TOGETHER)


@pytest.fixture(scope="module")
def divided(tmp_path_factory) -> Made:
    return Made(tmp_path_factory.mktemp("divided") / "kit", DIVIDED)


def placed(points: np.ndarray, at: dict) -> np.ndarray:
    turn = math.radians(at["angle_deg"])
    matrix = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    return points @ matrix.T + at["offset_mm"]


def taken_back(points: np.ndarray, at: dict) -> np.ndarray:
    turn = math.radians(at["angle_deg"])
    matrix = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    return (points - at["offset_mm"]) @ matrix.T


def own_points(made: Made, name: str) -> np.ndarray:
    part = made.parts[name]
    return taken_back(made.points(part["files"]), part)


def test_shared_files_hold_the_holes_of_their_parts_and_no_others(together):
    shared = [one for one in together.report["hoopings"] if "pieces" in one]
    assert len(shared) >= 4
    for one in shared:
        found = together.points(one["files"])
        wanted = np.vstack([placed(own_points(together, piece["part"]), piece) for piece in one["pieces"]])
        assert len(found) == len(wanted) == one["stitches"]
        # each is rounded once in either file
        assert cKDTree(found).query(wanted)[0].max() <= 0.15
        assert cKDTree(wanted).query(found)[0].max() <= 0.15


def test_shared_pieces_lie_in_the_field_and_keep_the_gap(together):
    for one in together.report["hoopings"]:
        if "pieces" not in one:
            continue
        width, height = (float(side) for side in one["hoop"].split("x"))
        found = together.points(one["files"])
        assert np.abs(found[:, 0]).max() <= width / 2
        assert np.abs(found[:, 1]).max() <= height / 2
        clouds = [placed(own_points(together, piece["part"]), piece) for piece in one["pieces"]]
        least = min(cKDTree(a).query(b)[0].min() for k, a in enumerate(clouds) for b in clouds[:k])
        assert least >= (9.0 if not one["panels"] else one["gap_mm"]) - 0.15


def test_every_part_is_sewn_as_often_as_three_bags_need_it(together):
    sewn: Counter[str] = Counter()
    for one in together.report["hoopings"]:
        for name in one["parts"]:
            sewn[name] += one["times"]
    for name, part in together.parts.items():
        assert sewn[name] == 3 * max(1, len(part["placements"]))
    plan = together.report["hooping_plan"]
    assert plan["loadings"] == sum(one["times"] for one in together.report["hoopings"]) == plan["fewest"]
    assert plan["bound"] <= plan["fewest"] < plan["alone"] == sum(sewn.values())


def test_parts_on_a_panel_keep_their_places_to_each_other(together):
    for one in together.report["hoopings"]:
        if "pieces" not in one or not one["panels"]:
            continue
        for panel in one["panels"]:
            # each part's origin in the field, and the same origin on the panel, differ by one and the same shift
            free = {
                name: [p for p in part["placements"] if p["panel"] == panel] for name, part in together.parts.items()
            }
            shifts = []
            for piece in one["pieces"]:
                origins = [
                    placed(np.array([p["at_mm"]]), piece | {"offset_mm": [0, 0]})[0] for p in free[piece["part"]]
                ]
                options = [np.array(piece["offset_mm"]) - origin for origin in origins]
                shifts.append(options)
            assert any(
                all(min(np.abs(option - first).max() for option in options) < 1e-3 for options in shifts)
                for first in shifts[0]
            )


def test_threads_change_less_often_than_in_the_files_of_the_parts(together):
    for one in together.report["hoopings"]:
        if "pieces" not in one:
            continue
        colours = [stop["colour"] for stop in one["stops"]]
        most = max(len(together.parts[name]["stops"]) for name in one["parts"])
        changes = sum(a != b for a, b in itertools.pairwise(colours))
        alone = sum(
            sum(a["colour"] != b["colour"] for a, b in itertools.pairwise(stops))
            for stops in (together.parts[name]["stops"] for name in one["parts"])
        )
        assert changes <= alone / 2 or alone <= 1
        # every part's own stops come in its own order
        for number, name in enumerate(one["parts"], start=1):
            own = [stop["colour"] for stop in one["stops"] if number in stop["pieces"]]
            assert own == [stop["colour"] for stop in together.parts[name]["stops"]]
        assert len(one["stops"]) >= most


def test_pieces_of_a_divided_part_make_every_hole_of_it(divided):
    names = {one["parts"][0] for one in divided.report["hoopings"] if "piece" in one}
    assert "corner-left" in names
    for name in names:
        pieces = [one for one in divided.report["hoopings"] if "piece" in one and one["parts"] == [name]]
        assert [one["piece"]["n"] for one in pieces] == list(range(1, len(pieces) + 1))
        whole = own_points(divided, name)
        clouds = [taken_back(divided.points(one["files"]), one) for one in pieces]
        assert cKDTree(np.vstack(clouds)).query(whole)[0].max() <= 0.15
        for one, cloud in zip(pieces, clouds, strict=True):
            crosses = np.array(one["crosses_mm"])
            at_cross = cKDTree(crosses).query(cloud)[0] <= 4.3
            far = cKDTree(whole).query(cloud[~at_cross])[0]
            # what is neither the part's nor a cross is a lock, which lies on the run that it holds
            assert np.count_nonzero(far > 0.15) <= one["added_stitches"]
            assert far.max() <= 2.0


def test_crosses_of_neighbouring_pieces_coincide(divided):
    checked = 0
    hoopings = [one for one in divided.report["hoopings"] if "piece" in one]
    for one, other in itertools.pairwise(hoopings):
        if one["parts"] != other["parts"]:
            continue
        common = [cross for cross in one["crosses_mm"] if cross in other["crosses_mm"]]
        assert len(common) == 2
        assert math.dist(*common) > 40
        clouds = [taken_back(divided.points(each["files"]), each) for each in (one, other)]
        for cross in common:
            arms = [cloud[np.hypot(*(cloud - cross).T) <= 4.3] for cloud in clouds]
            assert len(arms[0]) >= 5
            assert cKDTree(arms[0]).query(arms[1])[0].max() <= 0.15
            assert cKDTree(arms[1]).query(arms[0])[0].max() <= 0.15
            checked += 1
    assert checked >= 4


def test_divided_pieces_lie_in_their_field(divided):
    for one in divided.report["hoopings"]:
        if "piece" in one:
            width, height = (float(side) for side in one["hoop"].split("x"))
            assert (np.abs(divided.points(one["files"])).max(axis=0) <= (width / 2, height / 2)).all()
    assert all(proof["ok"] for proof in divided.report["proofs"])
    assert {"crosses-meet", "pieces-whole"} <= {proof["code"] for proof in divided.report["proofs"]}
