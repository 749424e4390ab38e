"""Decorations against the closed forms of their patterns: count, cover and line length per area.

A pattern is laid over a field of a known area whose edges cut it evenly: whole periods each way, so that what
the field holds is a whole number of repeats and edge effects cancel, or a field so large that they are small.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from stitchcraft.decoration import Clamshell, Crosshatch, Dots, Meander, Petals, Rings, Scallops, Waves
from stitchcraft.geometry.curves import joined

SQRT3 = math.sqrt(3)


def field_of_periods(x: float, y: float, count: int, *, shift: float = 0.37) -> shapely.Polygon:
    """A box of whole periods that no lattice line runs along."""
    return shapely.box(shift * x, shift * y, (shift + count) * x, (shift + count) * y)


@pytest.mark.parametrize(("pitch", "diameter"), [(10, 4), (7, 3), (8, 8)])
def test_hexagonal_dots_cover_and_number_what_the_lattice_says(pitch: float, diameter: float) -> None:
    # OEIS A093766, pi / (2 sqrt 3), is the cover at d = p; it falls with (d / p)^2, and the count is 2 / (sqrt3 p^2)
    oeis_a093766 = 0.9068996821171089
    dots = Dots(pitch=pitch, diameter=diameter, stitch="fill", edge="clip")
    count = dots.describe(field_of_periods(pitch, pitch * SQRT3, 12))
    assert count.cover == pytest.approx(oeis_a093766 * (diameter / pitch) ** 2, rel=0.015)
    whole = Dots(pitch=pitch, diameter=diameter).describe(shapely.box(0, 0, 60 * pitch, 60 * pitch))
    # whole dots have their centres in the field less half a diameter all round
    room = (60 * pitch - diameter) ** 2
    assert whole.motifs / room == pytest.approx(2 / (SQRT3 * pitch**2), rel=0.02)


def test_the_worked_case_of_ten_by_four() -> None:
    # p = 10, d = 4: cover 0.145104 and 1.1547 per cm2, both from OEIS A093766 by arithmetic
    count = Dots(pitch=10, diameter=4, stitch="fill", edge="clip").describe(field_of_periods(10, 10 * SQRT3, 20))
    assert count.cover == pytest.approx(0.145104, rel=0.006)


def test_square_dots_cover_what_the_lattice_says() -> None:
    # OEIS A003881, pi / 4, times (d / p)^2: 0.125664 at p = 10, d = 4
    dots = Dots(pitch=10, diameter=4, layout="square", stitch="fill", edge="clip")
    assert dots.describe(field_of_periods(10, 10, 12)).cover == pytest.approx(0.125664, rel=0.006)


@pytest.mark.parametrize("angle", [0, 15, 45, 77])
@pytest.mark.parametrize("between", [90, 60])
def test_a_crosshatch_of_spacing_s_has_two_over_s_of_line_per_area(angle: float, between: float) -> None:
    # lines s apart have the length 1 / s per area, whatever their angle; two families twice that
    count = Crosshatch(pitch=10, angle=angle, between=between).describe(shapely.Point(3, 1).buffer(200, quad_segs=64))
    assert count.line_per_mm2 == pytest.approx(2 / 10, rel=0.01)


def test_a_square_of_100_takes_2000_of_crosshatch_at_10() -> None:
    count = Crosshatch(pitch=10, angle=0).describe(shapely.box(-5, -5, 95, 95))
    assert count.line_mm == pytest.approx(2000, abs=1e-6)
    assert count.motifs == 20


@pytest.mark.parametrize(("pitch", "diameter"), [(12, 15), (10, 10), (10, 13.5)])
def test_rings_have_a_circumference_of_line_for_each_cell(pitch: float, diameter: float) -> None:
    count = Rings(pitch=pitch, diameter=diameter).describe(field_of_periods(pitch, pitch, 20))
    # what is lost is the crumbs at the edge
    assert count.line_per_mm2 == pytest.approx(math.pi * diameter / pitch**2, rel=0.015)


def test_the_overlap_of_two_rings_is_the_circle_circle_intersection() -> None:
    # MathWorld, "Circle-Circle Intersection": A = 2 r^2 acos(D / 2r) - (D / 2) sqrt(4 r^2 - D^2)
    radius, apart = 7.5, 12.0
    expected = 2 * radius**2 * math.acos(apart / (2 * radius)) - apart / 2 * math.sqrt(4 * radius**2 - apart**2)
    rings = Rings(pitch=apart, diameter=2 * radius).elements(shapely.box(-40, -40, 40, 40))
    (lens,) = (cell for cell in cells_of(rings) if cell.contains(shapely.Point(apart / 2, 0)))
    assert lens.area == pytest.approx(expected, rel=0.01)


def test_a_vesica_has_its_published_area_and_height() -> None:
    # MathWorld, "Vesica Piscis" (D = r): area 1.2283696987 r^2, height sqrt(3) r. Rings whose pitch is their radius
    # cross further, so the lens is taken from two of them alone.
    radius = 10.0
    pair = Rings(pitch=radius, diameter=2 * radius, edge="whole").elements(
        shapely.box(-radius, -radius, 2 * radius, radius)
    )
    (lens,) = (cell for cell in cells_of(pair) if cell.contains(shapely.Point(radius / 2, 0)))
    assert lens.area == pytest.approx(1.2283696987 * radius**2, rel=0.005)
    _, bottom, _, top = lens.bounds
    assert top - bottom == pytest.approx(math.sqrt(3) * radius, rel=0.002)


def test_petals_divide_the_area_as_orange_peel_does() -> None:
    # circles of radius r on a square lattice of sqrt(2) r: lenses (pi/2 - 1) r^2 each and (pi - 2) / 2 of the area,
    # concave squares (4 - pi) / 2 of it, line pi / r per area; derived from "Circle-Circle Intersection" at D = sqrt2 r
    length = 14.0
    radius = length / math.sqrt(2)
    decoration = Petals(pitch=length, angle=0)
    count = decoration.describe(field_of_periods(length, length, 16))
    assert count.line_per_mm2 == pytest.approx(math.pi / radius, rel=0.012)
    cells = [cell for cell in cells_of(decoration.elements(shapely.box(-60, -60, 60, 60))) if within(cell, 40)]
    areas = sorted(cell.area for cell in cells)
    lenses = [area for area in areas if area < 0.7 * radius**2]
    squares = [area for area in areas if area >= 0.7 * radius**2]
    assert np.allclose(lenses, (math.pi / 2 - 1) * radius**2, rtol=0.01)
    assert np.allclose(squares, (4 - math.pi) * radius**2, rtol=0.01)
    lens = min(cells, key=lambda cell: cell.area)
    width, long = sorted((np.ptp(np.array(lens.exterior.coords)[:, 0]), np.ptp(np.array(lens.exterior.coords)[:, 1])))
    assert long == pytest.approx(math.sqrt(2) * radius, rel=1e-3)
    assert width == pytest.approx((2 - math.sqrt(2)) * radius, rel=5e-3)
    assert lens.length == pytest.approx(math.pi * radius, rel=2e-3)


def test_clamshells_have_their_area_outline_and_line() -> None:
    # scale of radius r, rows offset and stepped by r: area 2 r^2, outline 2 pi r, line pi / (2 r) per area; by geometry
    radius = 10.0
    count = Clamshell(pitch=2 * radius).describe(field_of_periods(2 * radius, 2 * radius, 12))
    assert count.line_per_mm2 == pytest.approx(math.pi / (2 * radius), rel=0.012)
    cells = cells_of(Clamshell(pitch=2 * radius).elements(shapely.box(-75, -75, 75, 75)))
    whole = [cell for cell in cells if within(cell, 50)]
    assert len(whole) > 8
    assert np.allclose([cell.area for cell in whole], 2 * radius**2, rtol=0.005)
    assert np.allclose([cell.length for cell in whole], 2 * math.pi * radius, rtol=0.005)


def test_a_row_of_scallops_is_as_long_as_its_arcs() -> None:
    # an arc of chord w and height h has r = (w^2 / 4 + h^2) / 2h and the angle 4 atan(2h / w)
    width, depth, spacing = 12.0, 3.5, 6.0
    radius = (width**2 / 4 + depth**2) / (2 * depth)
    bow = radius * 4 * math.atan(2 * depth / width)
    count = Scallops(pitch=width, depth=depth, spacing=spacing).describe(field_of_periods(width, 2 * spacing, 14))
    assert count.line_per_mm2 == pytest.approx(bow / (width * spacing), rel=0.015)


def test_a_wave_is_as_long_as_the_elliptic_integral_says() -> None:
    # the arc length of a sin(kx) over one period is (4 / k) sqrt(1 + m) E(m / (1 + m)) with m = (a k)^2
    from scipy.special import ellipe

    width, depth, spacing = 24.0, 6.0, 6.0
    k = 2 * math.pi / width
    m = (depth / 2 * k) ** 2
    one_wave = 4 / k * math.sqrt(1 + m) * ellipe(m / (1 + m))
    count = Waves(pitch=width, depth=depth, spacing=spacing).describe(field_of_periods(width, spacing, 14))
    assert count.line_per_mm2 == pytest.approx(one_wave / (width * spacing), rel=0.02)


@pytest.mark.parametrize("gap", [5, 6, 8])
@pytest.mark.parametrize("seed", [1, 2])
def test_a_meander_is_about_area_over_gap_long(gap: float, seed: int) -> None:
    # a line that keeps the distance s from itself sweeps a band of s, so its length is about A / s
    count = Meander(pitch=gap, seed=seed).describe(shapely.box(0, 0, 100, 100))
    assert count.line_mm == pytest.approx(100 * 100 / gap, rel=0.12)


def cells_of(elements: tuple) -> list[shapely.Polygon]:
    """The polygons that the lines of a decoration enclose between them."""
    noded = shapely.union_all([shapely.LineString(joined(element.path)) for element in elements])
    return list(shapely.get_parts(shapely.polygonize([noded])))


def within(cell: shapely.Polygon, reach: float) -> bool:
    return max(abs(value) for value in cell.bounds) < reach
