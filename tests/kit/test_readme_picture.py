"""The picture in the README is that of today's heron tote."""

import runpy
from pathlib import Path

import numpy as np
from PIL import Image

SAMPLES = Path(__file__).parents[2] / "samples"


def pixels(picture):
    return np.asarray(picture.convert("RGB").resize((400, 560)), dtype=float)


def test_picture_of_the_readme_shows_the_kit_as_it_is_made_now():
    now = runpy.run_path(str(SAMPLES / "picture.py"))["picture"]()
    shown = Image.open(SAMPLES / "heron_tote.png")
    # python samples/picture.py draws it anew; fonts and scaling may differ by a shade
    assert now.size == shown.size
    assert np.abs(pixels(now) - pixels(shown)).mean() < 1.5


def test_a_changed_picture_would_be_noticed():
    shown = Image.open(SAMPLES / "heron_tote.png").convert("RGB")
    moved = Image.new("RGB", shown.size, "#ffffff")
    moved.paste(shown, (25, 25))
    assert np.abs(pixels(moved) - pixels(shown)).mean() > 1.5
