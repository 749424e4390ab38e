"""Fills against closed forms, published figures and another library's rasteriser."""

import math

import numpy as np
import pytest
import shapely
from PIL import Image, ImageDraw

from stitchcraft.design import Role
from stitchcraft.geometry.curves import circle
from stitchcraft.geometry.hatching import hatched
from stitchcraft.stitching.fill import fill_pieces as pieces_of_fill
from stitchcraft.stitching.fill_settings import FillSettings

MM2_PER_SQUARE_INCH = 25.4**2


def fill_pieces(polygon, *, start=None, end=None, **options):
    """Fill an area with these settings, the others as usual."""
    return pieces_of_fill(polygon, FillSettings(**options), start=start, end=end)


def disc(x: float, y: float, r: float) -> shapely.Polygon:
    return shapely.Polygon(circle((x, y), r, flatness=0.001))


SQUARE = shapely.box(0, 0, 80, 80)


@pytest.mark.parametrize("spacing", [0.4, 0.5, 0.8, 1.6])
@pytest.mark.parametrize("angle", [0.0, 31.0, 90.0])
def test_parallel_rows_cover_the_share_thread_width_over_spacing(spacing, angle):
    # lines of width w, s apart, cover min(1, w/s) of the plane
    width = 0.3
    rows = hatched(SQUARE.buffer(2, join_style="mitre"), spacing=spacing, angle=angle, base=spacing / 2)
    thread = shapely.buffer(shapely.linestrings(rows.segments()), width / 2, cap_style="flat")
    covered = shapely.intersection(thread, SQUARE)
    assert shapely.area(covered).sum() / SQUARE.area == pytest.approx(min(1, width / spacing), rel=2e-3)


@pytest.mark.parametrize("spacing", [0.4, 0.8])
def test_a_sewn_fill_covers_the_same_share_in_anothers_raster(spacing):
    # top rows drawn by Pillow's line rasteriser, 40 pixels a mm; turns at the edges are left out of the window
    scale, width = 40, 0.3
    run = fill_pieces(
        shapely.box(0, 0, 40, 40), row_spacing=spacing, length=4, angle=0, underlay=False
    )[0].sew(0)  # fmt: skip
    image = Image.new("1", (40 * scale, 40 * scale))
    draw = ImageDraw.Draw(image)
    for a, b in zip(run.xy[:-1], run.xy[1:], strict=True):
        # Pillow paints the pixels of both edges: a rectangle a pixel narrower takes as many rows as asked
        along = (b - a) / max(np.hypot(*(b - a)), 1e-9) * (width * scale - 1) / 2
        across = np.array([-along[1], along[0]])
        corners = [tuple(p) for p in (a * scale + across, b * scale + across, b * scale - across, a * scale - across)]
        draw.polygon(corners, fill=1)
    window = np.asarray(image)[4 * scale : 36 * scale, 4 * scale : 36 * scale]
    assert window.mean() == pytest.approx(width / spacing, abs=0.005)


@pytest.mark.parametrize("angle", [0.0, 20.0, 45.0, 90.0])
@pytest.mark.parametrize(
    ("shape", "area"),
    [(shapely.box(0, 0, 60, 36), 2160.0), (disc(0, 0, 30) - disc(5, 0, 10), math.pi * (900 - 100))],
    ids=["rectangle", "disc with a hole"],
)
def test_sewn_rows_add_up_to_area_over_spacing(shape, area, angle):
    # Cavalieri: the lengths of lines s apart sum to A / s
    run = fill_pieces(shape, row_spacing=0.4, length=4, angle=angle, underlay=False)[0].sew(0)
    steps = np.diff(run.xy, axis=0)
    direction = np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))])
    along = np.abs(steps @ direction)
    across = np.abs(steps @ np.array([-direction[1], direction[0]]))
    rows = along[(across < 1e-6) & (run.role[1:] == Role.TOP)].sum()
    spacing = hatched(shape, spacing=0.4, angle=angle).spacing
    assert rows == pytest.approx(area / spacing, rel=2e-3)


@pytest.mark.parametrize(
    ("spacing", "length", "per_square_inch"),
    # Printwear, July 2019, p. 24, with the area model 1 / (line spacing x length): a row of lines 0.2 mm apart is
    # what the trade calls 0.4 mm, there and back
    [(0.20, 4.0, 806), (0.20, 3.0, 1075), (0.21, 3.5, 878), (0.40, 4.0, 403)],
)
def test_penetrations_per_area_are_those_of_the_published_table(spacing, length, per_square_inch):
    # a whole number of repeats, far from the edges, whose row ends take points of their own
    run = fill_pieces(shapely.box(0, 0, 120, 84), row_spacing=spacing, length=length, angle=0, underlay=False)[0].sew(0)
    inner = (np.abs(run.xy - [60, 42]) < [42 + 1e-9, 33.6]).all(axis=1)
    found = np.count_nonzero(inner) / (84 * 67.2) * MM2_PER_SQUARE_INCH
    assert found == pytest.approx(per_square_inch, rel=0.02)


def test_the_published_rule_of_a_thousand_per_square_inch_lies_in_reach():
    # "1,000 stitches per square inch" (theembroiderybusiness.com, 2 November 2012): lines 0.2 mm apart with
    # stitches of 3 to 4 mm bracket it, edges and underlay included
    inch = shapely.box(0, 0, 25.4, 25.4)
    longer, shorter = (
        len(fill_pieces(inch, row_spacing=0.2, length=length, angle=0)[0].sew(0).xy) for length in (4.0, 3.0)
    )
    assert 0.9 * 1000 < longer < shorter < 1.5 * 1000


@pytest.mark.parametrize("length", [2.5, 3.0, 4.0])
def test_every_fourth_row_lines_up_and_the_rows_between_are_a_quarter_off(length):
    # Printwear, July 2019, p. 24: penetrations align on every fourth line
    box = shapely.box(0, 0, 60, 8)
    run = fill_pieces(box, row_spacing=0.4, length=length, angle=0, underlay=False)[0].sew(0)
    row = np.round((run.xy[:, 1] - 0.2) / 0.4).astype(int)
    middle = (run.xy[:, 0] > 2 * length) & (run.xy[:, 0] < 60 - 2 * length)
    phases = [float(np.mod(run.xy[middle & (row == r), 0][0] + 1e-9, length)) for r in range(8)]
    assert phases[:4] == pytest.approx(phases[4:], abs=1e-6)
    assert np.mod(np.diff(phases), length) == pytest.approx(length / 4, abs=1e-6)
