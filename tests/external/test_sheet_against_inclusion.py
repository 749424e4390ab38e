"""The sheet model against closed forms of elasticity.

A circular patch in an infinite sheet in plane stress, as stiff as the sheet, with an eigenstrain e* along x: the
strain inside is uniform (Eshelby, Proc. Roy. Soc. A 241, 1957), e_xx = (5 + nu) / 8 e*, e_yy = (3 nu - 1) / 8 e*.
The factors follow from Eshelby's tensor of a long cylinder, as printed in T. Mura, "Micromechanics of Defects in
Solids" (1987), 11.22: S1111 = (5 - 4 v) / (8 (1 - v)), S2211 = (4 v - 1) / (8 (1 - v)) for plane strain, with
v = nu / (1 + nu) for plane stress (from memory; the test below checks that the two agree).
"""

import math

import numpy as np
import pytest
import shapely

from stitchcraft.geometry.sheet import Patch, Sheet, outline_error, precompensated

EPS, R = 0.04, 5.0


def strains(half: float, nu: float, *, angle: float = 0.0, stiffening: float = 0.0, step: float = 1.0):
    """Strain along and across the direction of shrinking, as shares of the eigenstrain, in a square sheet."""
    sheet = Sheet((-half, -half, half, half), step=step, poisson=nu)
    patch = Patch(shapely.Point(0, 0).buffer(R, 64), angle, EPS, stiffening)
    moved = sheet.displacement([patch])
    turn = math.radians(angle)
    along, across = np.array([math.cos(turn), math.sin(turn)]), np.array([-math.sin(turn), math.cos(turn)])
    ends = sheet.at(moved, 0.6 * R * np.array([-along, along, -across, across]))
    return (ends[1] - ends[0]) @ along / (1.2 * R * -EPS), (ends[3] - ends[2]) @ across / (1.2 * R * -EPS)


@pytest.mark.parametrize("nu", [0.0, 0.3, 0.45])
def test_the_closed_form_is_eshelbys_tensor_for_plane_stress(nu):
    v = nu / (1 + nu)
    assert (5 + nu) / 8 == pytest.approx((5 - 4 * v) / (8 * (1 - v)))
    assert (3 * nu - 1) / 8 == pytest.approx((4 * v - 1) / (8 * (1 - v)))


@pytest.mark.parametrize("nu", [0.0, 0.3, 0.45])
def test_a_circular_patch_shrinks_as_eshelby_says_within_one_percent_in_a_sheet_of_twelve_radii(nu):
    along, across = strains(12 * R, nu, step=0.8)
    assert along == pytest.approx((5 + nu) / 8, rel=0.01)
    assert across == pytest.approx((3 * nu - 1) / 8, abs=0.01 * (5 + nu) / 8)


def test_what_is_left_is_the_frame_it_falls_with_the_square_of_the_sheets_size():
    exact = (5 + 0.3) / 8
    errors = np.array([strains(k * R, 0.3, step=0.8)[0] / exact - 1 for k in (4, 8, 12)])
    assert (errors < 0).all()
    assert errors[0] / errors[1] == pytest.approx(4, rel=0.15)
    assert errors[1] / errors[2] == pytest.approx((12 / 8) ** 2, rel=0.15)
    # carried on to a sheet without end, two sheets give the closed form
    assert (12**2 * errors[2] - 8**2 * errors[1]) / (12**2 - 8**2) == pytest.approx(0, abs=0.0015)


@pytest.mark.parametrize("angle", [45.0, 90.0, 150.0])
def test_the_direction_of_shrinking_makes_no_difference(angle):
    assert strains(8 * R, 0.3, angle=angle) == pytest.approx(strains(8 * R, 0.3), abs=0.006)


def test_a_strip_from_side_to_side_of_a_wide_sheet_shrinks_as_a_bar_between_walls():
    # far from the ends of a wide frame all depends on x alone: the stress is the same everywhere, so a strip that is
    # w of W wide comes out shorter by e* w (1 - w / W), whatever nu is (one-dimensional equilibrium)
    wide, tall, strip = 60.0, 300.0, 12.0  # the strip ends between two cells: no cell is shared
    sheet = Sheet((-wide / 2, -tall / 2, wide / 2, tall / 2), step=1.0)
    moved = sheet.displacement([Patch(shapely.box(-strip / 2, -tall / 2, strip / 2, tall / 2), 0, EPS)])
    ends = sheet.at(moved, [[-strip / 2, 0], [strip / 2, 0]])
    assert ends[0, 0] - ends[1, 0] == pytest.approx(EPS * strip * (1 - strip / wide), rel=0.002)


def test_a_finer_grid_changes_little():
    assert strains(6 * R, 0.3, step=1.0)[0] == pytest.approx(strains(6 * R, 0.3, step=0.5)[0], rel=0.005)


@pytest.mark.parametrize(("strain", "stiffening", "before"), [(0.02, 0.0, 0.29), (0.03, 4.0, 0.6)])
def test_two_passes_bring_a_large_filled_part_within_two_hundredths_of_its_outline(strain, stiffening, before):
    part = shapely.box(-25, -45, 25, 45).difference(shapely.Point(0, 20).buffer(9))
    patches = [Patch(part, 0.0, strain, stiffening)]
    sheet = Sheet((-65, -90, 65, 90), step=1.5)
    assert outline_error(patches, [shapely.segmentize(part, 1.0)], sheet) > before
    drawn = precompensated(patches, sheet)
    assert outline_error(patches, drawn, sheet) < 0.02
    # and it is no other outline than the one that a finer grid asks for
    finer = precompensated(patches, Sheet((-65, -90, 65, 90), step=1.0))
    assert shapely.hausdorff_distance(drawn[0].boundary, finer[0].boundary) < 0.02
