"""The gallery shows everything that there is, as it is sewn today."""

from __future__ import annotations

import importlib.util
import io
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from stitchcraft.decoration import KINDS
from stitchcraft.decoration.lettering import FACE_NAMES
from stitchcraft.parts.outlines import OUTLINES
from stitchcraft.parts.profiles import PROFILES
from stitchcraft.parts.tips import TIPS

SAMPLES = Path(__file__).parents[1] / "samples"
README = (SAMPLES.parent / "README.md").read_text(encoding="utf-8")
PAGES = ("tips", "shapes", "decorations", "lettering")
SPOT = 8
ANEW = "draw it anew: python samples/gallery.py"


def pixels(png: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"), dtype=float)


def unlike(one: np.ndarray, other: np.ndarray) -> float:
    """Share of squares whose average colour differs by more than a twentieth."""
    down, across = (size // SPOT for size in one.shape[:2])

    def means(picture: np.ndarray) -> np.ndarray:
        whole = picture[: down * SPOT, : across * SPOT]
        return whole.reshape(down, SPOT, across, SPOT, 3).mean(axis=(1, 3))

    return float((np.abs(means(one) - means(other)).max(axis=2) > 255 / 20).mean())


@pytest.fixture(scope="module")
def gallery():
    spec = importlib.util.spec_from_file_location("gallery_sample", SAMPLES / "gallery.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # where its dataclasses look for themselves
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("page", PAGES)
def test_a_page_of_the_gallery_is_what_is_sewn_today(gallery, page):
    file = SAMPLES / f"gallery-{page}.png"
    kept, drawn = pixels(file.read_bytes()), pixels(gallery.page(page))
    assert kept.shape == drawn.shape, ANEW
    assert unlike(kept, drawn) < 0.002, ANEW
    assert file.stat().st_size < 400_000
    assert f"samples/gallery-{page}.png" in README


def test_another_pattern_in_one_field_would_be_noticed(gallery, monkeypatch):
    kept = pixels((SAMPLES / "gallery-tips.png").read_bytes())
    fields = gallery.tips()
    changed = [fields[1], *fields[1:]]
    monkeypatch.setitem(gallery.PAGES, "tips", (lambda: changed, *gallery.PAGES["tips"][1:]))
    assert unlike(kept, pixels(gallery.page("tips"))) > 0.002


def test_every_shape_decoration_and_typeface_is_in_it(gallery):
    assert set(gallery.PAGES) == set(PAGES)
    titles = {page: [picture.title for picture in gallery.PAGES[page][0]()] for page in PAGES}
    assert titles["tips"] == list(TIPS)
    assert titles["shapes"] == [f"profile {name}" for name in PROFILES] + [f"outline {name}" for name in OUTLINES]
    assert titles["lettering"] == list(FACE_NAMES)
    shown = {title.partition(",")[0] for title in titles["decorations"]}
    assert shown == set(KINDS) - {"none"}
