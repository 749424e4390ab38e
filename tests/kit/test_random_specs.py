"""Whole specs at random, valid and broken: each gives a kit whose proofs hold, findings, or one clear line.

What came up in long runs is kept below as named cases, so that it stays mended.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from spec_writer import DRAWINGS, broken, documents, toml_text

from stitchcraft.errors import Level, SpecError
from stitchcraft.kit import Kit, make_kit

# dots in satin and fills take most of the time to plan, and are held to their promises elsewhere
QUICK = ("crosshatch", "rings", "petals", "scallops", "waves", "chevrons", "echo", "none", "artwork")
# a quarter of what the profile asks for: 15 in the gate, hundreds at night; each is a whole kit
SHARE = settings(max_examples=settings.default.max_examples // 4, suppress_health_check=list(HealthCheck))


def made_of(text: str) -> Kit | str:
    """Make the kit of a spec in a folder of its own: the kit, or the line that refuses the spec."""
    folder = Path(tempfile.mkdtemp(prefix="spec-"))
    try:
        for name, drawing in DRAWINGS.items():
            (folder / name).write_text(drawing, encoding="utf-8")
        (folder / "bag.toml").write_text(text, encoding="utf-8")
        target = folder / "kit"
        try:
            kit = make_kit(folder / "bag.toml", target)
        except SpecError as error:
            assert sorted(path.name for path in folder.iterdir()) == sorted([*DRAWINGS, "bag.toml"])
            return str(error)
        held = {path.name for path in target.iterdir()}
        assert {one.file_name(fmt) for one in kit.parts for fmt in one.data} <= held
        assert {"report.json", "preview.png", "worksheet.pdf", "templates.pdf", "player.html"} <= held
        return kit
    finally:
        shutil.rmtree(folder)


def holds(made: Kit | str) -> None:
    """One clear line that names the file, or a kit: proved, or with an error that says what to do."""
    if isinstance(made, str):
        assert "\n" not in made
        assert "bag.toml" in made
        assert len(made) < 1500
        return
    assert made.parts
    assert all(proof.ok for one in made.parts for proof in one.proofs.values())
    errors = [finding for finding in made.findings if finding.level is Level.ERROR]
    assert all(finding.remedy and "report the spec" not in finding.remedy for finding in errors), errors
    assert bool(errors) != made.ok
    assert errors or all(proof.ok for proof in made.proofs)


@SHARE
@given(documents(formats=("dst", "exp"), kinds=QUICK, largest_mm=220.0).map(toml_text))
def test_any_spec_gives_a_proven_kit_or_says_what_is_wrong(text):
    holds(made_of(text))


KEPT = {
    "a bag so high and narrow that its picture was too large": """
parts = ["tab"]
[bag]
width = 40
height = 1400
[machine]
formats = ["dst"]
hoops = ["360x500"]
""",
    "a kit without any part": """
parts = ["label", "shaping-marks"]
[bag]
width = 120
height = 200
""",
    "a tip of two lines": """
parts = ["tab"]
[bag]
width = 240
height = 200
[tab]
tip = { svg = "leaf.svg" }
""",
    "the slits of a snap on a narrow tab": """
parts = ["tab"]
[bag]
width = 60
height = 60
[machine]
formats = ["dst"]
[style]
decoration = "none"
""",
    "accents where the base takes their place": """
[bag]
width = 200
height = 300
depth = 190
[machine]
formats = ["dst"]
[style]
decoration = "none"
""",
    "a seam stitch shorter than a tab would take": """
parts = ["tab"]
[bag]
width = 200
height = 200
[machine]
formats = ["dst"]
[material]
fabric = { name = "own", seam_length = 0.5 }
[style]
decoration = "none"
""",
}


@pytest.mark.parametrize("text", KEPT.values(), ids=KEPT.keys())
def test_specs_that_once_failed(text):
    holds(made_of(text))


@SHARE
@given(broken(documents(formats=("dst",), kinds=QUICK, largest_mm=160.0)).map(toml_text))
def test_broken_spec_is_refused_in_one_line_or_makes_a_kit_all_the_same(text):
    holds(made_of(text))
