"""The same spec gives the same bytes, whatever the process around it is like."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from stitchcraft.catalogue.records import file_hashes

SPEC = """\
name = "Tëst bag"
[bag]
width = 130
height = 150
depth = 30
[machine]
formats = ["dst", "pes", "jef", "exp", "vp3"]
[style]
decoration = { kind = "meander", pitch = 9, seed = 3 }
[label]
text = "Pier"
"""


def made_by(cwd: Path, spec: str, kit: str, **surroundings: str) -> None:
    command = [sys.executable, "-m", "stitchcraft", "make", spec, "-o", kit, "--quiet"]
    root = str(Path(__file__).parents[2])
    done = subprocess.run(
        command, cwd=cwd, env={**os.environ, "PYTHONPATH": root, **surroundings}, capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr


# what numpy and its BLAS would otherwise choose by the processor; names that this one lacks are passed over
PLAIN_PROCESSOR = {
    "NPY_DISABLE_CPU_FEATURES": "X86_V3 X86_V4 AVX512_ICL AVX512_SPR AVX2 FMA3 AVX512F AVX512_SKX",
    "OPENBLAS_CORETYPE": "Prescott",
}


def test_bytes_do_not_hang_on_hash_seed_zone_locale_working_folder_or_processor(tmp_path):
    (tmp_path / "one" / "deeper").mkdir(parents=True)
    (tmp_path / "one" / "bag.toml").write_text(SPEC, encoding="utf-8")
    made_by(tmp_path / "one", "bag.toml", "kit", PYTHONHASHSEED="0", TZ="UTC", LC_ALL="C", COLUMNS="40")
    made_by(
        tmp_path / "one" / "deeper", "../bag.toml", str(tmp_path / "other name"),
        PYTHONHASHSEED="4711", TZ="Pacific/Auckland", LC_ALL="tr_TR.UTF-8", OMP_NUM_THREADS="1", **PLAIN_PROCESSOR,
    )  # fmt: skip
    first = file_hashes(tmp_path / "one" / "kit")
    assert len(first) > 40
    assert file_hashes(tmp_path / "other name") == first
