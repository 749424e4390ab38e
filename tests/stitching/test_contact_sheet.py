"""The contact sheet of stitches shows what the planner sews today."""

import importlib.util
import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

SAMPLES = Path(__file__).parents[2] / "samples"
SPOT = 30
"""Pictures are compared in squares of so many pixels: letters and rounding may move a pixel, a stitch moves many."""


def pixels(data):
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB"), dtype=np.float64)


def unlike(one, other):
    """Share of squares whose average colour differs by more than a twentieth."""
    down, across = (size // SPOT for size in one.shape[:2])

    def means(picture):
        whole = picture[: down * SPOT, : across * SPOT]
        return whole.reshape(down, SPOT, across, SPOT, 3).mean(axis=(1, 3))

    return float((np.abs(means(one) - means(other)).max(axis=2) > 255 / 20).mean())


@pytest.fixture(scope="module")
def script():
    spec = importlib.util.spec_from_file_location("stitches_sample", SAMPLES / "stitches.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def drawn(script):
    return pixels(script.sheet())


def test_the_sheet_in_the_samples_is_what_is_sewn_today(drawn):
    kept = pixels((SAMPLES / "stitches.png").read_bytes())
    assert kept.shape == drawn.shape, "draw it anew: python samples/stitches.py"
    assert unlike(kept, drawn) < 0.002, "draw it anew: python samples/stitches.py"


def test_another_fill_in_one_field_would_be_noticed(script, drawn, monkeypatch):
    fields = script.panels()
    index = next(i for i, (title, _) in enumerate(fields) if title == "fill: spaced rows")
    other = fields[next(i for i, (title, _) in enumerate(fields) if title == "fill: star")][1]
    monkeypatch.setattr(script, "panels", lambda: [*fields[:index], (fields[index][0], other), *fields[index + 1 :]])
    assert unlike(pixels(script.sheet()), drawn) > 0.005
