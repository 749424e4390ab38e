"""Capitals and digits of a bold sans, and drawn shapes, as satin columns: covered, within their outline, few strokes.

Outlines come from a typeface through fontTools; coverage is measured by shapely on thread 0.4 mm wide.
"""

import string
from pathlib import Path

import numpy as np
import pytest
import shapely
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont

import stitchcraft
from stitchcraft.geometry.curves import circle
from stitchcraft.geometry.strokes import columns_of
from stitchcraft.stitching.columns import Rails
from stitchcraft.stitching.satin_column import column_piece
from stitchcraft.stitching.satin_settings import SatinSettings

FONT = TTFont(Path(stitchcraft.__file__).parent / "paper/data/DejaVuSansCondensed-Bold.ttf")
GLYPHS, NAMES = FONT.getGlyphSet(), FONT.getBestCmap()
CAPITAL = FONT["glyf"]["I"].yMax
SETTINGS = SatinSettings(
    pitch=0.4, split=7.0, compensation=0.0, compensation_share=0.0, underlay=False, underlay_length=2.5,
    underlay_inset=0.6, zigzag_pitch=2.0, centre_below=1.5, zigzag_from=4.0, needle_gap=0.3,
)  # fmt: skip


def bow(start, control, stop):
    t = np.linspace(0, 1, 13)[1:, None]
    return (1 - t) ** 2 * np.array(start) + 2 * t * (1 - t) * np.array(control) + t**2 * np.array(stop)


def letter(char, height):
    pen = DecomposingRecordingPen(GLYPHS)
    GLYPHS[NAMES[ord(char)]].draw(pen)
    shape, ring = shapely.Polygon(), []
    for word, points in pen.value:
        if word in ("moveTo", "lineTo"):
            ring = [*(ring if word == "lineTo" else []), points[0]]
        elif word == "qCurveTo":
            # between two control points of a TrueType curve lies a point of the curve, half way
            controls = points[:-1]
            stops = [*((np.array(controls[:-1]) + np.array(controls[1:])) / 2), points[-1]]
            for control, stop in zip(controls, stops, strict=True):
                ring.extend(bow(ring[-1], control, stop))
        else:
            shape = shape ^ shapely.Polygon(np.array(ring) * height / CAPITAL).buffer(0)
    return shape


def leaf():
    x = np.linspace(0, 1, 100)
    upper = np.column_stack([12 * x, 2.2 * np.sin(np.pi * x)])
    return shapely.Polygon(np.vstack([upper, upper[-2:0:-1] * (1, -0.7)]))


def heart():
    t = np.linspace(0, 2 * np.pi, 200)
    y = 13 * np.cos(t) - 5 * np.cos(2 * t) - 2 * np.cos(3 * t) - np.cos(4 * t)
    return shapely.Polygon(0.3 * np.column_stack([16 * np.sin(t) ** 3, y]))


def disc(x, y, radius):
    return shapely.Polygon(circle((x, y), radius))


SHAPES = {
    "leaf": leaf(), "heart": heart(), "crescent": disc(0, 0, 5.5) - disc(2, 0.5, 4.6),
    "ring": disc(0, 0, 5.5) - disc(0, 0, 3),
    "comma": disc(0, 3, 2.2) | ((disc(-2.2, 3, 4.4) - disc(-3.2, 3.8, 3.9)) & shapely.box(-4, -5, 3, 3)),
    "drop": disc(0, -2, 2.5) | shapely.Polygon([(-2.2, -0.8), (0, 5), (2.2, -0.8)]),
    "narrow neck": shapely.union_all(
        [shapely.box(-5.5, -2, -1.5, 2), shapely.box(1.5, -2, 5.5, 2), shapely.box(-2, -0.45, 2, 0.45)]
    ),
    "cross": shapely.box(-5, -1, 5, 1) | shapely.box(-1, -5, 1, 5),
}  # fmt: skip


def judged(shape):
    """Number of columns, share covered, share of thread area outside."""
    columns = [column for part in shapely.get_parts(shape) for column in columns_of(part, step=SETTINGS.pitch / 2)]
    runs = [column_piece(Rails(*column), SETTINGS, spaced=True).sew(0).xy for column in columns]
    moves = np.vstack([np.stack([xy[:-1], xy[1:]], axis=1) for xy in runs])
    sewn = shapely.union_all(shapely.buffer(shapely.linestrings(moves), 0.2, cap_style="flat"))
    return len(columns), (sewn & shape).area / shape.area, (sewn - shape.buffer(0.05)).area / shape.area


@pytest.mark.parametrize("char", string.ascii_uppercase + string.digits)
def test_a_capital_of_eleven_millimetres_is_covered_in_few_columns(char):
    count, inside, outside = judged(letter(char, 11.0))
    assert count <= 5
    assert inside >= 0.98
    assert outside <= 0.03


@pytest.mark.parametrize("name", SHAPES)
def test_a_drawn_shape_is_covered_in_few_columns(name):
    count, inside, outside = judged(SHAPES[name])
    assert count <= 3
    assert inside >= 0.98
    assert outside <= 0.03


@pytest.mark.parametrize("name", ["leaf", "crescent", "ring", "comma", "drop", "narrow neck"])
def test_a_shape_with_one_spine_is_one_column(name):
    assert judged(SHAPES[name])[0] == 1
