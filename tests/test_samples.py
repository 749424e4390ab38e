"""The samples run as they stand, and so does what the README shows."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from stitchcraft.catalogue import read_variants
from stitchcraft.kit import make_kit
from stitchcraft.machine import read_file
from stitchcraft.spec.reading import spec_from_document

ROOT = Path(__file__).parent.parent
SCRIPTS = sorted((ROOT / "samples").glob("*.py"))
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language):
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


@pytest.mark.parametrize("script", SCRIPTS, ids=[script.stem for script in SCRIPTS])
def test_a_sample_runs_in_an_empty_folder_and_leaves_files(script, tmp_path):
    # a copy, since a sample may draw its picture beside itself
    shutil.copytree(ROOT / "samples", tmp_path / "samples", ignore=shutil.ignore_patterns("*.png", "__pycache__"))
    copy = tmp_path / "samples" / script.name
    there = set(tmp_path.rglob("*.*"))
    work = tmp_path / "work"
    work.mkdir()
    done = subprocess.run(
        [sys.executable, "-W", "error", copy], cwd=work, capture_output=True, text=True, timeout=300, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "FAILS" not in done.stdout
    assert "error [" not in done.stdout
    made = {path.suffix: path for path in sorted(tmp_path.rglob("*.*")) if path not in there}
    assert {".dst", ".png"} & made.keys()
    assert ".dst" not in made or read_file(made[".dst"]).stitches


@pytest.mark.parametrize("number", range(len(blocks("python"))))
def test_a_python_block_of_the_readme_runs(number, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    exec(compile(blocks("python")[number], f"README.md, block {number + 1}", "exec"), {"__name__": "readme"})
    said = capsys.readouterr().out
    assert "FAILS" not in said
    assert "error [" not in said


def test_the_readme_has_a_tab_and_a_family_in_python():
    assert any("save(" in block for block in blocks("python"))
    assert any("build_kit(" in block for block in blocks("python"))


SPECS = [block for block in blocks("toml") if "[axes." not in block]
CATALOGUES = [block for block in blocks("toml") if "[axes." in block]


def test_every_kit_of_a_catalogue_has_a_spec_that_can_be_used(tmp_path):
    (tmp_path / "my_bag.toml").write_text(SPECS[0], encoding="utf-8")
    (tmp_path / "readme.toml").write_text(*CATALOGUES, encoding="utf-8")
    for source in (tmp_path / "readme.toml", *(ROOT / "samples" / "catalogue").glob("*.toml")):
        variants = read_variants(source)
        specs = [spec_from_document(variant.document, folder=variants.folder) for variant in variants]
        assert len({repr(spec) for spec in specs}) == len(variants) >= 4


@pytest.mark.parametrize("number", range(len(SPECS)))
def test_a_spec_of_the_readme_makes_a_kit(number, tmp_path):
    spec = tmp_path / "bag.toml"
    spec.write_text(SPECS[number], encoding="utf-8")
    kit = make_kit(spec, tmp_path / "kit")
    assert kit.ok
    assert all(proof.ok for proof in kit.proofs)
    assert (tmp_path / "kit" / "report.json").is_file()
