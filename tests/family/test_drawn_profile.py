"""A profile from a drawing: laid over the accent's own width and height, and refused where it cannot be one."""

from __future__ import annotations

import pytest
import shapely

from stitchcraft.errors import ArtworkError, ParameterError
from stitchcraft.family import Family
from stitchcraft.spec import spec_from_text

SPEC = """
[bag]
width = 340
height = 300
depth = {depth}
[style]
profile = {{ svg = "edge.svg" }}
[corner]
width = {width}
height = {height}
echo = 4
"""


def family_of(folder, path: str, *, width=120, height=80, depth=0) -> Family:
    line = f'<path d="{path}" fill="none" stroke="#000"/>'
    drawing = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 40">{line}</svg>'
    (folder / "edge.svg").write_text(drawing, encoding="utf-8")
    return Family.from_spec(spec_from_text(SPEC.format(width=width, height=height, depth=depth), folder=folder))


@pytest.mark.parametrize(("width", "height"), [(120, 80), (60, 110), (100, 100)])
def test_corners_of_a_drawn_line_lie_at_their_shares_of_width_and_height(tmp_path, width, height):
    """Drawn 60 x 40, y down: (30, 10) lies half way across and three quarters of the way up."""
    accent = family_of(tmp_path, "M0 0 L30 10 L60 40", width=width, height=height).corner_accent
    edge = shapely.LineString(accent.free_edge)
    for x, y in ((0, 1), (0.5, 0.75), (1, 0)):
        assert edge.distance(shapely.Point(x * width, y * height)) < 1e-6
    assert edge.length == pytest.approx(
        shapely.LineString([(0, height), (width / 2, 0.75 * height), (width, 0)]).length + 2 * accent.seam_mm
    )
    assert accent.echo_lines


def test_direction_of_drawing_does_not_matter(tmp_path):
    one = family_of(tmp_path, "M0 0 C20 0 20 30 60 40").corner_accent.free_edge
    other = family_of(tmp_path, "M60 40 C20 30 20 0 0 0").corner_accent.free_edge
    assert shapely.LineString(one).hausdorff_distance(shapely.LineString(other)) < 0.02


@pytest.mark.parametrize(
    "path", ["M0 40 L60 0", "M0 0 L60 0", "M0 0 L60 40 M5 5 L9 9", "M0 0 L50 30 L10 30 L50 5 L60 40"]
)
def test_line_that_is_no_profile_is_refused_and_named(tmp_path, path):
    with pytest.raises(ArtworkError, match=r"style\.profile\.svg: edge\.svg"):
        family_of(tmp_path, path)


def test_line_that_runs_through_the_boxed_base_is_refused_with_a_size_that_passes(tmp_path):
    with pytest.raises(ParameterError, match=r"corner\.width is 60.*passes the boxed base"):
        _ = family_of(tmp_path, "M0 0 L10 30 L60 40", width=60, height=60, depth=80).corner_accent
