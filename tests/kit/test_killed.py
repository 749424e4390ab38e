"""Killed at any moment, or two at once: a kit's folder holds the earlier kit or the new one, whole to the last byte."""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import settings

from stitchcraft.catalogue.records import file_hashes

ROOT = Path(__file__).parents[2]
MOMENTS = settings.default.max_examples // 5
"""12 in the gate, 400 at night."""

SPEC = """\
name = "{name}"
parts = ["tab"]
[bag]
width = 120
height = 140
[machine]
formats = ["dst", "pes"]
[style]
decoration = "none"
"""


def making(spec: Path, kit: Path) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "stitchcraft", "make", str(spec), "-o", str(kit), "--quiet"],
        env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip


@pytest.fixture(scope="module")
def kits(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Path, dict[str, str]]]:
    """Two bags: the spec of each, and what its kit holds."""
    made = {}
    for name in ("Dunlin", "Knot"):
        folder = tmp_path_factory.mktemp(name)
        (folder / "bag.toml").write_text(SPEC.format(name=name), encoding="utf-8")
        assert making(folder / "bag.toml", folder / "kit").wait() == 0
        made[name] = (folder / "bag.toml", file_hashes(folder / "kit"))
    return made


def test_a_kit_is_whole_whenever_the_process_that_replaces_it_is_killed(kits, tmp_path: Path) -> None:
    (first, before), (second, after) = kits.values()
    kit = tmp_path / "kit"
    start = time.monotonic()
    assert making(first, kit).wait() == 0
    lasts = time.monotonic() - start
    chance = random.Random("killed")
    outcomes = []
    for _ in range(MOMENTS):
        # the writing comes last: half of the moments fall into the last quarter
        moment = chance.uniform(0.0, lasts) if chance.random() < 0.5 else chance.uniform(0.75 * lasts, 1.1 * lasts)
        process = making(second, kit)
        try:
            process.wait(moment)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        held = file_hashes(kit)
        assert held in (before, after)
        outcomes.append(held == after)
        if held == after:
            assert making(first, kit).wait() == 0
    assert not all(outcomes)
    assert making(first, kit).wait() == 0
    # what the killed ones left behind is gone with the next that ends well
    assert sorted(path.name for path in tmp_path.iterdir()) == ["kit"]


def test_of_two_that_make_one_folder_at_once_each_ends_and_one_kit_stands_whole(kits, tmp_path: Path) -> None:
    (first, one), (second, other) = kits.values()
    kit = tmp_path / "kit"
    for _ in range(max(2, MOMENTS // 6)):
        both = [making(first, kit), making(second, kit)]
        assert [process.wait() for process in both] == [0, 0]
        assert file_hashes(kit) in (one, other)
        assert sorted(path.name for path in tmp_path.iterdir()) == ["kit"]
