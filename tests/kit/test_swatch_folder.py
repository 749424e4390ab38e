"""The swatch's folder, and the way from a filled-in sheet to a spec that is made with the profile."""

import io
import json
import re

import numpy as np
import pytest
from PIL import Image

from stitchcraft.arrays import turned
from stitchcraft.errors import ParameterError, SpecError
from stitchcraft.kit.folder import REPORT_NAME
from stitchcraft.kit.swatch import build_swatch, calibrate_file, profile_text, swatch_png, write_swatch
from stitchcraft.machine import read_file
from stitchcraft.parts.swatch import Swatch
from stitchcraft.spec import spec_from_text
from stitchcraft.spec.measured import read_measurements


@pytest.fixture(scope="module")
def sewn():
    return build_swatch(Swatch(), fabric="denim", formats=("dst", "exp"))


@pytest.fixture
def folder(sewn, tmp_path):
    write_swatch(sewn, tmp_path / "swatch")
    return tmp_path / "swatch"


def filled(text, narrowing):
    """Fill a sheet in: each reading is what is drawn less what the function says."""

    def line(match):
        direction, nominal = float(match[1]), float(match[2])
        return f"direction = {match[1]}, nominal = {match[2]}, measured = {nominal - narrowing(direction, nominal):.4f}"

    return re.sub(r'direction = +(\d+), nominal = +(\d+), measured = "\?"', line, text)


def test_the_folder_holds_files_a_picture_a_sheet_and_a_record(sewn, folder):
    assert {file.name for file in folder.iterdir()} == {
        "swatch.dst", "swatch.exp", "swatch.png", "measured.toml", "swatch.json",
    }  # fmt: skip
    record = json.loads((folder / "swatch.json").read_text(encoding="utf-8"))
    assert record["fabric"] == "denim"
    assert len(record["to_measure"]) == 25
    for fmt in ("dst", "exp"):
        assert read_file(folder / record["files"][fmt]).stitches == record["stitches"] == sewn.plan.stitches
        assert record["proof"][fmt]["stitches_equal"]


def test_it_lies_in_the_file_as_drawn_not_turned(sewn, folder):
    # needle points in the file less those of the plan: one and the same shift, to the file's tenth of a millimetre
    read = read_file(folder / "swatch.dst").plan().needle_points
    away = read - sewn.plan.needle_points
    assert np.abs(away - np.round(away.mean(axis=0), 1)).max() <= 0.05 + 1e-6


def test_widths_in_the_file_are_those_drawn(sewn, folder):
    # upright and lying bars to the last unit; leaning ones have needle points that round to and fro by half a unit
    points = read_file(folder / "swatch.dst").plan().points_of(1)
    for one in sewn.swatch.to_measure:
        if one.kind == "bar":
            away = turned(points - np.array(one.at), -one.direction)
            mine = away[(np.abs(away[:, 1]) < 4) & (np.abs(away[:, 0]) < one.nominal / 2 + 1.5)][:, 0]
            width = mine[mine > one.nominal / 2 - 0.2].mean() - mine[mine < 0.2 - one.nominal / 2].mean()
            assert width == pytest.approx(one.nominal, abs=1e-6 if one.direction % 90 == 0 else 0.03)


def test_the_sheet_asks_for_all_there_is_to_measure(sewn, folder):
    sheet = read_measurements(folder / "measured.toml", blank=True)
    assert sheet.base == "denim"
    assert [(row.kind, row.direction, row.nominal) for row in sheet.rows] == [
        (one.kind, one.direction, one.nominal) for one in sewn.swatch.to_measure
    ]


def test_the_picture_shows_where_to_measure(sewn):
    picture = np.asarray(Image.open(io.BytesIO(swatch_png(sewn))).convert("RGB")).astype(int)
    red = (picture[..., 0] > 150) & (picture[..., 1] < 110) & (picture[..., 2] < 110)
    assert 2000 < red.sum() < 0.05 * red.size


def test_an_earlier_swatch_is_replaced_but_never_a_sheet_that_was_written_in(sewn, folder):
    write_swatch(sewn, folder)
    sheet = folder / "measured.toml"
    text = filled(sheet.read_text(encoding="utf-8"), lambda _, width: 0.2 + 0.04 * width)
    for written in (text, "cloth = my linen"):  # measured; and half typed
        sheet.write_text(written, encoding="utf-8")
        with pytest.raises(SpecError, match="holds measurements"):
            write_swatch(sewn, folder)
        assert sheet.read_text(encoding="utf-8") == written


def test_a_kit_is_no_earlier_swatch(sewn, tmp_path):
    (tmp_path / REPORT_NAME).write_text("{}", encoding="utf-8")
    with pytest.raises(SpecError, match="holds other things"):
        write_swatch(sewn, tmp_path)
    assert [file.name for file in tmp_path.iterdir()] == [REPORT_NAME]


def test_from_a_sheet_to_a_spec_that_uses_the_cloth(folder):
    sheet = folder / "measured.toml"
    cloth = {0: (0.1, 0.02), 45: (0.2, 0.03), 90: (0.1, 0.01), 135: (0.25, 0.03)}

    def narrowing(direction, width):
        pull, share = cloth[int(direction)]
        return 2 * (pull + share * width) if width < 9 else 2 * pull + 0.01 * width if width < 50 else 0.3

    sheet.write_text(filled(sheet.read_text(encoding="utf-8"), narrowing), encoding="utf-8")
    target = folder.parent / "my_fabric.toml"
    fit = calibrate_file(sheet, target)
    text = target.read_text(encoding="utf-8")
    assert text == profile_text(fit)
    assert f"strain = {fit.strain.strain:.4f}" in text
    assert "99.5 %" in text
    # the whole file can be pasted: its comments are comments
    profile = spec_from_text("bag = { width = 300, height = 300 }\n[material]\n" + text).material.fabric
    for direction, pull in cloth.items():
        assert profile.pull_at(direction) == pytest.approx(pull, abs=0.0006)
    assert profile.satin_pitch == 0.42  # denim's
    with pytest.raises(SpecError, match="is there already"):
        calibrate_file(sheet, target)
    calibrate_file(sheet, target, replace=True)


def test_a_reading_that_cannot_be_right_names_the_sheet_and_the_bar(folder):
    sheet = folder / "measured.toml"
    text = filled(sheet.read_text(encoding="utf-8"), lambda _, width: 0.1 * width)
    sheet.write_text(text.replace("nominal = 7, measured = 6.3000", "nominal = 7, measured = 63"), encoding="utf-8")
    with pytest.raises(SpecError, match=r"measured\.toml: bar of 7 mm at 0 degrees is 63\.0"):
        calibrate_file(sheet)


def test_unknown_fabrics_and_formats_are_refused():
    with pytest.raises(ParameterError, match="fabric is 'silk'"):
        build_swatch(Swatch(), fabric="silk")
    with pytest.raises(ParameterError, match="formats is 'abc'"):
        build_swatch(Swatch(), formats=("abc",))
