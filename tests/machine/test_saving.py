import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from machine_plans import plan_of, three_stops

from stitchcraft.errors import MachineFileError
from stitchcraft.machine import FORMATS, Hoop, Placement, fit_in_field, read_file, save, saving
from stitchcraft.units import to_units


@pytest.mark.parametrize("fmt", FORMATS)
def test_a_saved_file_says_where_the_part_lies_and_is_proved_from_disk(fmt: str, tmp_path: Path) -> None:
    plan = three_stops()
    fit = fit_in_field(plan.needle_points, Hoop(100, 100))
    assert fit is not None
    saved = save(plan, tmp_path / f"tab.{fmt}", placement=fit.placement)
    assert (saved.fmt, saved.placement, saved.path) == (fmt, fit.placement, tmp_path / f"tab.{fmt}")
    assert saved.proof.ok
    assert np.array_equal(read_file(saved.path).units, to_units(fit.placement.placed(plan.needle_points)))
    assert [path.name for path in tmp_path.iterdir()] == [f"tab.{fmt}"]


def test_a_part_without_a_placement_is_centred_in_whole_units(tmp_path: Path) -> None:
    saved = save(plan_of([[[(10.03, 0.0), (15.0, 4.0)]]]), str(tmp_path / "a.DST"))
    assert saved.placement == Placement(0.0, (-12.5, -2.0))
    assert saved.fmt == "dst"


def test_saving_again_replaces_the_file_with_the_same_bytes(tmp_path: Path) -> None:
    path = tmp_path / "a.jef"
    save(three_stops(), path)
    first = path.read_bytes()
    save(three_stops(), path)
    assert path.read_bytes() == first


@pytest.mark.parametrize(
    ("name", "words"),
    [("a.doc", "suffix"), ("a", "suffix"), ("a.hus", "suffix"), ("missing/a.dst", "there is no folder"),
     ("taken.dst", "is a folder"), ("x" * 300 + ".dst", "cannot be written"), ("nul\0.dst", "cannot be written")],
)  # fmt: skip
def test_a_place_that_takes_no_file_is_refused_in_one_line_that_names_it(name: str, words: str, tmp_path: Path) -> None:
    (tmp_path / "taken.dst").mkdir()
    with pytest.raises(MachineFileError, match=words) as caught:
        save(three_stops(), tmp_path / name)
    assert str(tmp_path / name) in str(caught.value)
    assert [path.name for path in tmp_path.iterdir()] == ["taken.dst"]


def test_a_file_that_reads_back_differently_is_not_put_in_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "tab.dst"
    save(three_stops(), path)
    before = path.read_bytes()
    other = saving.encode(plan_of([[[(0.0, 0.0), (5.0, 5.0)]]]), "dst")
    monkeypatch.setattr(saving, "encode", lambda *_, **__: other)
    with pytest.raises(MachineFileError, match="differs from the plan"):
        save(three_stops(), path)
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["tab.dst"]


def test_a_full_disk_leaves_the_earlier_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "tab.dst"
    save(three_stops(), path)
    before = path.read_bytes()

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(MachineFileError, match="No space left on device"):
        save(plan_of([[[(0.0, 0.0), (5.0, 5.0)]]]), path)
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["tab.dst"]


def test_loading_the_package_does_not_load_the_file_library() -> None:
    code = "import sys, stitchcraft.machine; sys.exit('pyembroidery' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
