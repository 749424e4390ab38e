"""Cut files are true to scale, as two libraries that have no part in writing them read them."""

import io

import ezdxf
import numpy as np
import pytest
import svgelements

from stitchcraft.paper import cut_files, pieces_of


def read(text: str) -> tuple[svgelements.SVG, tuple[float, float]]:
    """The drawing at one pixel a millimetre, and the width and height of its path."""
    drawing = svgelements.SVG.parse(io.StringIO(text), ppi=25.4)
    (path,) = [item for item in drawing.elements() if isinstance(item, svgelements.Path)]
    left, top, right, bottom = path.bbox()
    return drawing, (right - left, bottom - top)


@pytest.mark.parametrize(
    ("name", "size"),
    [
        # by hand from 14 x 12 x 4 in with 1/4 in seams; the tab as in the templates' tests
        ("panel-front", (368.3, 311.15)), ("panel-back", (368.3, 311.15)), ("lining", (368.3, 311.15)),
        ("binding-strip", (812.8, 63.5)), ("base-stiffener", (248.0, 95.6)), ("tab-front", (88.9, 137.35)),
        ("tab-back", (88.9, 137.35)), ("corner-left", (101.6 + 6.35, 101.6 + 6.35)),
    ],
)  # fmt: skip
def test_cut_file_measures_what_is_cut(tote, name, size):
    drawing, measured = read(cut_files(tote)[f"{name}.svg"])
    assert measured == pytest.approx(size, abs=0.02)
    assert (drawing.width, drawing.height) == pytest.approx((size[0] + 2, size[1] + 2), abs=0.02)


def test_dxf_holds_the_same_outline_as_svg(tote):
    files = cut_files(tote)
    for piece in pieces_of(tote):
        if piece.shape is None:
            continue
        document = ezdxf.read(io.StringIO(files[f"{piece.name}.dxf"]))
        assert document.header["$INSUNITS"] == 4  # millimetres
        assert not document.audit().has_errors
        (line,) = document.modelspace()
        assert line.is_closed
        points = np.array([vertex.dxf.location.vec2 for vertex in line.vertices])
        left, bottom, _, _ = piece.shape.bounds
        assert np.abs(points + [left, bottom] - np.asarray(piece.shape.exterior.coords)[:-1]).max() < 0.001


def test_every_piece_that_is_cut_has_a_file(tote, clutch):
    for sheet in (tote, clutch):
        cut = [piece.name for piece in pieces_of(sheet) if piece.shape is not None]
        assert set(cut_files(sheet)) == {f"{name}.{kind}" for name in cut for kind in ("svg", "dxf")}
    assert "tab-batting.svg" in cut_files(clutch)
    assert "shaping-marks.svg" not in cut_files(tote)


def test_left_and_right_accents_are_mirror_images(tote):
    files = cut_files(tote)
    areas = []
    for side in ("left", "right"):
        drawing, _ = read(files[f"corner-{side}.svg"])
        (path,) = [item for item in drawing.elements() if isinstance(item, svgelements.Path)]
        points = [(point.x if side == "left" else drawing.width - point.x, point.y) for point in path.as_points()]
        areas.append(sorted((round(x, 2), round(y, 2)) for x, y in points))
    assert areas[0] == areas[1]
