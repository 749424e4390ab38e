"""Colours measured as published standards measure them, and as another library does."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageCms

from stitchcraft.checks.colours import colour_distance, lab_of
from stitchcraft.defaults import COLOURS

NAMED = ("#f0f8ff", "#8b4513", "#2e8b57", "#4682b4", "#d2691e", "#800080", "#ffd700", "#708090", "#fa8072", "#00008b")


def luminance(colour: str) -> float:
    """Relative luminance by WCAG 2.1, "Dimensions of a sRGB pixel" (its own threshold is 0.03928)."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@given(st.integers(0, 0xFFFFFF))
def test_lightness_is_that_of_the_luminance_that_wcag_defines(value):
    # CIE 15: L* = 116 Y^(1/3) - 16 above Y = 216 / 24389, and 24389 / 27 Y below
    colour = f"#{value:06x}"
    y = luminance(colour)
    wanted = 116 * y ** (1 / 3) - 16 if y > 216 / 24389 else 24389 / 27 * y
    assert lab_of(colour)[0] == pytest.approx(wanted, abs=0.02)


@pytest.mark.parametrize(
    ("colour", "lightness"),
    # Y = 0.184 is the middle grey of the L* scale: sRGB 119; one step of sRGB is 903.3 / 12.92 / 255
    [("#777777", 50.03), ("#010101", 24389 / 27 / 12.92 / 255), ("#ffffff", 100.0)],
)
def test_greys_have_the_published_lightness_and_no_hue(colour, lightness):
    assert lab_of(colour) == pytest.approx([lightness, 0, 0], abs=0.01)
    assert all(abs(lab_of(f"#{k:02x}{k:02x}{k:02x}")[1:]).max() < 1e-9 for k in range(0, 256, 15))


def lcms_lab(colours: list[str]) -> np.ndarray:
    """L*, a*, b* by LittleCMS, which adapts to the white D50 and rounds to bytes."""
    image = Image.new("RGB", (len(colours), 1))
    image.putdata([tuple(int(c[at : at + 2], 16) for at in (1, 3, 5)) for c in colours])
    transform = ImageCms.buildTransform(
        ImageCms.createProfile("sRGB"),
        ImageCms.createProfile("LAB"),
        "RGB",
        "LAB",
        ImageCms.Intent.ABSOLUTE_COLORIMETRIC,
    )
    raw = np.array(ImageCms.applyTransform(image, transform), dtype=float)[0]
    signed = np.where(raw[:, 1:] > 127, raw[:, 1:] - 256, raw[:, 1:])
    return np.column_stack([raw[:, 0] * 100 / 255, signed])


def test_lightness_of_greys_is_littlecms_own():
    greys = [f"#{k:02x}{k:02x}{k:02x}" for k in range(0, 256, 17)]
    ours = np.array([lab_of(grey)[0] for grey in greys])
    assert ours == pytest.approx(lcms_lab(greys)[:, 0], abs=0.5)


def test_colours_are_as_far_apart_as_littlecms_finds_them_to_a_tenth():
    # the two whites differ, and bytes round by half a unit: distances agree to a tenth or to 4
    theirs = lcms_lab(list(NAMED))
    for (i, one), (k, other) in itertools.combinations(enumerate(NAMED), 2):
        assert colour_distance(one, other) == pytest.approx(math.dist(theirs[i], theirs[k]), rel=0.12, abs=4)


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        # distances of the published L*a*b* of the primaries, worked by hand: red to green, red to blue, green to blue
        ("#ff0000", "#00ff00", math.dist((53.24, 80.09, 67.20), (87.73, -86.18, 83.18))),
        ("#ff0000", "#0000ff", math.dist((53.24, 80.09, 67.20), (32.30, 79.19, -107.86))),
        ("#00ff00", "#0000ff", math.dist((87.73, -86.18, 83.18), (32.30, 79.19, -107.86))),
        ("#ffff00", "#ffffff", math.dist((97.14, -21.55, 94.48), (100, 0, 0))),
        ("#00ffff", "#000000", math.hypot(91.11, 48.09, 14.13)),
    ],
)
def test_primaries_are_as_far_apart_as_published(one, other, apart):
    assert colour_distance(one, other) == pytest.approx(apart, abs=0.1)


def test_thread_lost_on_cloth_has_less_contrast_than_any_that_can_be_read():
    # what is closer than our limit has a contrast below the 3 : 1 that WCAG 2.1 (1.4.11) asks of what must be seen
    colours = [f"#{r:02x}{g:02x}{b:02x}" for r, g, b in itertools.product((0, 64, 128, 192, 255), repeat=3)]
    for one, other in itertools.combinations(colours, 2):
        if colour_distance(one, other) < COLOURS["on_cloth"].value:
            low, high = sorted((luminance(one), luminance(other)))
            assert (high + 0.05) / (low + 0.05) < 3
