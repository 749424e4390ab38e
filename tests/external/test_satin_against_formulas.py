"""Satin held against closed forms that the project did not choose.

Stitches per centimetre and thread per centimetre: exact geometry of a zigzag. Pitch on the inner side of a ring:
similar triangles. Coverage of a zigzag of thread width w at pitch p: a line of width w leaves, at a distance y
from the side where two lines meet, a gap of p * y / W - w, whose mean over the column is 1 - (1 - w/p)^2.
Coverage is measured by shapely's union of the threads, not by the project's own checks.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from stitchcraft.geometry.borders import border_rails
from stitchcraft.geometry.curves import circle
from stitchcraft.stitching.satin import satin_piece
from stitchcraft.stitching.satin_settings import SatinSettings

PLAIN = SatinSettings(
    pitch=0.4, split=12.0, compensation=0.0, compensation_share=0.0, underlay=False, underlay_length=2.5,
    underlay_inset=0.6, zigzag_pitch=2.0, centre_below=1.5, zigzag_from=4.0, needle_gap=0.0,
)  # fmt: skip


def sewn(path, width, pitch, **changes):
    left, right = border_rails(path, width=width)
    return satin_piece(left, right, replace(PLAIN, pitch=pitch, **changes)).sew(0).xy


@pytest.mark.parametrize("pitch", [0.4, 0.6, 0.8, 1.2])
@pytest.mark.parametrize("width", [2.0, 4.0, 7.0])
def test_stitches_per_centimetre_are_twenty_over_the_pitch(pitch, width):
    points = sewn([(0, 0), (60, 0)], width, pitch)
    per_cm = (len(points) - 1) / 6
    assert per_cm == pytest.approx(20 / pitch)


def test_a_pitch_of_0_4_makes_50_penetrations_and_200_mm_of_thread_a_centimetre_at_4_mm():
    # 50 lines of sqrt(4^2 + 0.2^2) mm: 200.2 mm on the face, as trade arithmetic has it
    points = sewn([(0, 0), (60, 0)], 4.0, 0.4)
    assert (len(points) - 1) / 6 == pytest.approx(50)
    assert np.hypot(*np.diff(points, axis=0).T).sum() / 6 == pytest.approx(200.25, abs=0.01)


@pytest.mark.parametrize(("radius", "width"), [(6.0, 4.0), (10.0, 3.5), (30.0, 7.0)])
def test_pitch_on_a_ring_follows_the_radius(radius, width):
    # p_inner / p_outer = (R - w/2) / (R + w/2); the pitch asked for is kept on the outer side
    rails = [circle((0, 0), radius + side * width / 2, flatness=1e-7) for side in (1, -1)]
    points = satin_piece(rails[0], rails[1], PLAIN).sew(0).xy[:-1]
    outer, inner = points[0::2], points[1::2]
    outer_pitch = np.hypot(*np.diff(outer, axis=0).T)
    inner_pitch = np.hypot(*np.diff(inner, axis=0).T)
    steps = round(2 * math.pi * (radius + width / 2) / 0.4)
    assert len(outer) == steps
    chord = 2 * math.sin(math.pi / steps)
    assert outer_pitch == pytest.approx((radius + width / 2) * chord, rel=1e-6)
    assert inner_pitch == pytest.approx((radius - width / 2) * chord, rel=1e-6)
    assert np.ptp(outer_pitch) / outer_pitch.mean() <= 1e-6


@pytest.mark.parametrize("pitch", [0.4, 0.5, 0.6, 0.8, 1.2])
def test_coverage_of_a_zigzag_is_1_less_the_square_of_1_less_thread_over_pitch(pitch):
    thread, width = 0.4, 4.0
    points = sewn([(0, 0), (80 * pitch, 0)], width, pitch)
    threads = shapely.buffer(
        shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1)), thread / 2, cap_style="flat"
    )
    window = shapely.box(10 * pitch, -width / 2, 70 * pitch, width / 2)
    measured = shapely.union_all(threads).intersection(window).area / window.area
    # a line is wider along the column than across itself
    along = thread / math.cos(math.atan2(pitch / 2, width))
    formula = 1 - max(0.0, 1 - along / pitch) ** 2
    # the threads' square ends add up to 0.005 at the edges
    assert measured == pytest.approx(formula, abs=0.006)


def test_outer_spacing_is_even_whichever_side_is_the_outer_one():
    # an S of two half rings about (0, 0) and (10, 0), each with radii 3 and 7, lengths of exact arcs
    angle = np.linspace(math.pi, 0, 4001)
    over = np.column_stack([np.cos(angle), np.sin(angle)])
    under = over * (1, -1)
    a = np.vstack([7 * over, 3 * under + (10, 0)])
    b = np.vstack([3 * over, 7 * under + (10, 0)])
    points = satin_piece(a, b, PLAIN).sew(0).xy
    gaps = []
    for centre, half in (((0, 0), points[points[:, 1] > 1e-6]), ((10, 0), points[points[:, 1] < -1e-6])):
        outer = half[np.abs(np.hypot(*(half - centre).T) - 7) < 1e-3]
        gaps.append(np.hypot(*np.diff(outer, axis=0).T))
        assert len(gaps[-1]) >= 52
    every = np.concatenate(gaps)
    assert np.ptp(every) / every.mean() <= 1e-6
    assert every.mean() == pytest.approx(0.4, abs=0.002)
