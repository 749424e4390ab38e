"""Writes and compares the golden manifest: the SHA-256 of every file of three sample kits.

``python tests/golden/manifest.py`` writes it anew, after a change that is meant to alter files. What changed in it
shows, in a review, which files a commit alters and which it does not.
"""

from __future__ import annotations

import json
import sys
import tempfile
import zlib
from pathlib import Path
from typing import Any

from stitchcraft import make_kit
from stitchcraft.catalogue.records import file_hashes, library_releases

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
MANIFEST = HERE / "manifest.json"
SAMPLES = ("heron_tote", "wren_clutch", "thistle_satchel")


def releases() -> dict[str, str]:
    """Installed releases of all that the bytes hang on."""
    return library_releases() | {"zlib": zlib.ZLIB_RUNTIME_VERSION}


def sums(sample: str) -> dict[str, str]:
    """Make a sample's kit and return the SHA-256 of each of its files, by path within the kit."""
    with tempfile.TemporaryDirectory() as folder:
        kit = Path(folder) / "kit"
        make_kit(ROOT / "samples" / f"{sample}.toml", kit)
        return file_hashes(kit)


def read() -> dict[str, Any]:
    """The manifest as it is committed."""
    held: dict[str, Any] = json.loads(MANIFEST.read_text(encoding="utf-8"))
    return held


def write() -> None:
    """Make the samples and write their manifest."""
    made = {"releases": releases(), "kits": {sample: sums(sample) for sample in SAMPLES}}
    MANIFEST.write_text(json.dumps(made, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write()
    sys.stdout.write(f"{MANIFEST.relative_to(ROOT)}: written\n")
