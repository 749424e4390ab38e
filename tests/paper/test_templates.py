"""Templates are true to scale: their lines are measured by two readers that share no code with their writer."""

import ctypes
import io
import math
import re

import numpy as np
import pdfplumber
import pypdfium2
import pytest
from pdfminer.pdftypes import resolve1

from stitchcraft.errors import ParameterError
from stitchcraft.paper import pieces_of, templates_pdf

MM = 25.4 / 72  # a point is 1/72 in
TRUE_MM = 0.1


@pytest.fixture(scope="module")
def tote_pdf(tote):
    return templates_pdf(tote)


@pytest.fixture(scope="module")
def pages(tote_pdf):
    with pdfplumber.open(io.BytesIO(tote_pdf)) as pdf:
        yield pdf.pages


def title_of(page) -> str:
    """The largest words on a page."""
    largest = max(char["size"] for char in page.chars)
    return "".join(char["text"] for char in page.chars if char["size"] > largest - 0.01)


def page_titled(pages, title: str):
    return next(page for page in pages if title_of(page).replace(" ", "") == title.replace(" ", ""))


def outlines(page) -> list[np.ndarray]:
    """Every path of a page in mm, y up."""
    found = [*page.curves, *page.rects, *page.lines]
    height = float(page.height)
    return [np.array([(x, height - y) for x, y in item["pts"]], dtype=float) * MM for item in found]


def sized(page, width: float, height: float, within: float = TRUE_MM) -> list[np.ndarray]:
    """The paths of a page with a bounding box of one size, mm."""
    return [path for path in outlines(page) if np.allclose(np.ptp(path, axis=0), (width, height), atol=within)]


def middle(path: np.ndarray) -> np.ndarray:
    return (path.min(axis=0) + path.max(axis=0)) / 2


def the_panel(page) -> np.ndarray:
    """The cut line of a panel: by hand, (14 + 2 * 1/4) x (12 + 1/4) in."""
    (cut,) = sized(page, 368.3, 311.15)
    return cut


# -- check squares and pages ----------------------------------------------------------------------------


def test_every_page_has_a_check_square_of_50_mm_and_one_of_2_in(pages):
    assert len(pages) > 10
    for page in pages:
        for side in (50.0, 50.8):
            assert len(sized(page, side, side, within=0.01)) == 1, page.page_number


def corners_by_pdfium(item) -> np.ndarray:
    """The points of a path object in mm on the page, by the second reader: its own points through its matrix."""
    raw = pypdfium2.raw
    matrix = item.get_matrix()
    points = []
    for number in range(raw.FPDFPath_CountSegments(item.raw)):
        x, y = ctypes.c_float(), ctypes.c_float()
        raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(item.raw, number), x, y)
        points.append(matrix.on_point(x.value, y.value))
    return np.array(points) * MM


def test_another_reader_measures_the_same_squares(tote_pdf):
    for page in pypdfium2.PdfDocument(tote_pdf):
        paths = page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH])
        sizes = [np.ptp(corners_by_pdfium(item), axis=0) for item in paths]
        for side in (50.0, 50.8):
            assert sum(np.allclose(size, side, atol=0.01) for size in sizes) == 1


def test_another_reader_measures_the_same_panel(tote_pdf):
    page = pypdfium2.PdfDocument(tote_pdf)[1]
    paths = [corners_by_pdfium(item) for item in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH])]
    same = [path for path in paths if np.allclose(np.ptp(path, axis=0), (368.3, 311.15), atol=0.01)]
    # eight corners and the way back; the notches reach as far, but have two points each
    assert [len(path) for path in same if len(path) != 8] == [9]


def test_printed_square_is_50_mm_in_pixels(tote_pdf):
    # 254 dots an inch are 10 a millimetre
    page = pypdfium2.PdfDocument(tote_pdf)[1]
    ink = 255 - page.render(scale=254 / 72, grayscale=True).to_numpy().astype(float)
    with pdfplumber.open(io.BytesIO(tote_pdf)) as pdf:
        (square,) = sized(pdf.pages[1], 50.0, 50.0, within=0.01)
    left, right = square[:, 0].min() * 10, square[:, 0].max() * 10
    row = ink[round(float(page.get_height()) * MM * 10 - (square[:, 1].min() * 10 + 100))]

    def centre(at: float) -> float:
        span = np.arange(round(at) - 6, round(at) + 7)
        return float((row[span] * (span + 0.5)).sum() / row[span].sum())

    assert centre(right) - centre(left) == pytest.approx(500.0, abs=0.5)


def test_printers_are_asked_not_to_scale(tote_pdf):
    with pdfplumber.open(io.BytesIO(tote_pdf)) as pdf:
        preferences = resolve1(pdf.doc.catalog["ViewerPreferences"])
        assert preferences["PrintScaling"].name == "None"


@pytest.mark.parametrize(("paper", "size"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))])
def test_pages_have_the_size_of_the_paper(clutch, paper, size):
    with pdfplumber.open(io.BytesIO(templates_pdf(clutch, paper=paper))) as pdf:
        for page in pdf.pages:
            assert sorted((page.width * MM, page.height * MM)) == pytest.approx(sorted(size), abs=0.01)


def test_unknown_paper_is_refused(clutch):
    with pytest.raises(ParameterError, match="paper is 'A3'"):
        templates_pdf(clutch, paper="A3")


def test_same_values_give_the_same_bytes(tote, tote_pdf):
    assert templates_pdf(tote) == tote_pdf


# -- the panels, against the numbers of the bag worked by hand -------------------------------------------


def test_panel_is_cut_to_size_with_2_inch_squares_taken_from_its_corners(pages):
    cut = the_panel(page_titled(pages, "Panel, front")) - 0.0
    left, bottom = cut.min(axis=0)
    notch = [(left, bottom + 50.8), (left + 50.8, bottom + 50.8), (left + 50.8, bottom)]
    for corner in notch:
        assert np.hypot(*(cut - corner).T).min() < TRUE_MM


def test_seam_runs_a_quarter_inch_inside_the_panels_cut_line(pages):
    page = page_titled(pages, "Panel, front")
    cut = the_panel(page)
    (seam,) = sized(page, 355.6, 304.8)
    assert seam[:, 0].min() - cut[:, 0].min() == pytest.approx(6.35, abs=TRUE_MM)
    assert seam[:, 1].min() - cut[:, 1].min() == pytest.approx(6.35, abs=TRUE_MM)


def test_edges_that_meet_at_the_linings_boxed_corner_are_equal(pages):
    # the side allowance is 1/2 in and the bottom's 1/4: each edge less the allowance at its end
    cut = the_panel(page_titled(pages, "Lining"))
    left, bottom = cut.min(axis=0)
    inner = cut[(cut[:, 0] > left + 20) & (cut[:, 0] < left + 100) & (cut[:, 1] > bottom + 20)][0]
    assert inner[0] - left - 12.7 == pytest.approx(inner[1] - bottom - 6.35, abs=TRUE_MM)
    assert inner[1] - bottom == pytest.approx(50.8, abs=TRUE_MM)


def test_snap_target_is_3_inches_below_the_top_edge_on_the_middle_line(pages):
    page = page_titled(pages, "Panel, front")
    cut = the_panel(page)
    (target,) = sized(page, 18.0, 18.0, within=0.05)
    assert middle(target)[0] == pytest.approx(middle(cut)[0], abs=TRUE_MM)
    assert cut[:, 1].max() - middle(target)[1] == pytest.approx(76.2, abs=TRUE_MM)


def test_shaping_snaps_are_2_in_from_the_sides_and_1_and_a_half_below_the_top(pages):
    for panel in ("front", "back"):
        page = page_titled(pages, f"Panel, {panel}")
        cut = the_panel(page)
        spots = sorted(middle(ring)[0] - middle(cut)[0] for ring in sized(page, 14.0, 14.0, within=0.05))
        # 14 / 2 - 2 in
        assert spots == pytest.approx([-127.0, 127.0], abs=TRUE_MM)
        downs = [cut[:, 1].max() - middle(ring)[1] for ring in sized(page, 14.0, 14.0, within=0.05)]
        assert downs == pytest.approx([38.1, 38.1], abs=TRUE_MM)


def test_feet_stand_20_mm_inside_the_base_on_panel_and_stiffener(pages):
    # 10 x 4 in base: (254 / 2 - 20, 101.6 / 2 - 20) from its middle, which lies on the bottom seam
    page = page_titled(pages, "Panel, front")
    cut = the_panel(page)
    feet = sorted(
        tuple(middle(ring) - [middle(cut)[0], cut[:, 1].min() + 6.35]) for ring in sized(page, 3.0, 3.0, 0.02)
    )
    assert np.allclose(feet, [(-107.0, 30.8), (107.0, 30.8)], atol=TRUE_MM)
    page = page_titled(pages, "Base stiffener")
    (base,) = sized(page, 248.0, 95.6)
    feet = sorted(tuple(middle(ring) - middle(base)) for ring in sized(page, 3.0, 3.0, 0.02))
    assert np.allclose(feet, [(-107, -30.8), (-107, 30.8), (107, -30.8), (107, 30.8)], atol=TRUE_MM)


def test_crosshairs_stand_at_the_origins_of_the_parts(pages, tote):
    for panel in ("front", "back"):
        page = page_titled(pages, f"Panel, {panel}")
        cut = the_panel(page)
        rings = [middle(ring) - [middle(cut)[0], cut[:, 1].max()] for ring in sized(page, 5.0, 5.0, within=0.02)]
        wanted = [place.at_mm for one in tote.parts for place in one.part.placements if place.panel == panel]
        assert len(wanted) == 5
        for spot in wanted:
            assert min(math.dist(spot, ring) for ring in rings) < TRUE_MM


# -- other pieces ---------------------------------------------------------------------------------------


def test_tab_is_cut_a_quarter_inch_outside_its_seam(pages):
    # by hand: 3 in + 2 * 1/4 in wide; drop 76.2 + b 6.35 + t 4 + inset 25.4 long, + 12.7 beyond the root, + 2 * 6.35
    for title in ("Tab back", "Tab front"):
        page = page_titled(pages, title)
        assert len(sized(page, 88.9, 111.95 + 12.7 + 12.7)) == 1
        assert len(sized(page, 76.2, 111.95 + 12.7)) == 1


def test_snap_on_the_tabs_back_is_its_inset_from_the_tip(pages):
    page = page_titled(pages, "Tab back")
    (seam,) = sized(page, 76.2, 111.95 + 12.7)
    (ring,) = sized(page, 18.0, 18.0, within=0.05)
    assert middle(ring)[1] - seam[:, 1].min() == pytest.approx(25.4, abs=TRUE_MM)


def test_binding_strip_has_its_length_and_one_end_at_45_degrees(pages):
    # 2 * 14 + 4 in
    (strip,) = sized(page_titled(pages, "Binding strip"), 812.8, 63.5)
    right = strip[np.argmax(strip[:, 0])]
    slant = strip[(strip[:, 1] > right[1] + 1) & (strip[:, 0] > right[0] - 100)][0]
    assert slant - right == pytest.approx([-63.5, 63.5], abs=TRUE_MM)


def test_every_piece_has_its_pages_and_its_name_on_the_first_page(pages, tote):
    titles = [title_of(page) for page in pages[1:]]
    text = pages[0].extract_text()
    for piece in pieces_of(tote):
        assert piece.title.replace(" ", "") in [title.replace(" ", "") for title in titles]
        assert piece.title in text


def test_turned_panel_has_an_allowance_at_the_top_and_square_corners(clutch):
    with pdfplumber.open(io.BytesIO(templates_pdf(clutch))) as pdf:
        page = page_titled(pdf.pages, "Panel, front")
        # 240 + 2 * 8 by 150 + 2 * 8
        (cut,) = sized(page, 256.0, 166.0)
        assert len(np.unique(np.round(cut, 2), axis=0)) == 4


def test_batting_is_cut_inside_the_seam(clutch):
    with pdfplumber.open(io.BytesIO(templates_pdf(clutch))) as pdf:
        # 62 wide less 2 mm on each side
        page = page_titled(pdf.pages, "Tab batting")
        assert any(np.ptp(path[:, 0]) == pytest.approx(58.0, abs=TRUE_MM) for path in outlines(page))


# -- joining sheets -------------------------------------------------------------------------------------


def test_marks_with_one_letter_lie_on_one_another_when_sheets_are_joined(pages):
    sheets = [page for page in pages if title_of(page).replace(" ", "") == "Panel,front"]
    assert len(sheets) == 4
    marks: dict[str, list[np.ndarray]] = {}
    for page in sheets:
        cut = the_panel(page)
        diamonds = [path for path in sized(page, 10.0, 10.0, within=0.02) if len(path) in (4, 5)]
        for word in page.extract_words(x_tolerance=1):
            at = np.array([(word["x0"] + word["x1"]) / 2, page.height - (word["top"] + word["bottom"]) / 2]) * MM
            for diamond in diamonds:
                if re.fullmatch("[A-Z]", word["text"]) and math.dist(at, middle(diamond)) < 2:
                    # where the mark lies on the panel itself
                    marks.setdefault(word["text"], []).append(middle(diamond) - cut.min(axis=0))
                    break
    shared = {name: spots for name, spots in marks.items() if len(spots) > 1}
    assert len(shared) >= 8
    for spots in shared.values():
        assert np.ptp(np.array(spots), axis=0).max() < TRUE_MM


def test_every_page_of_a_tiled_piece_shows_the_same_piece_at_one_scale(pages):
    sheets = [page for page in pages if title_of(page).replace(" ", "") == "Panel,front"]
    shapes = [the_panel(page) - the_panel(page).min(axis=0) for page in sheets]
    for shape in shapes[1:]:
        assert np.abs(shape - shapes[0]).max() < 0.01


def test_nothing_is_printed_outside_the_page_or_over_the_check_squares(pages):
    for page in pages:
        for char in page.chars:
            assert char["x0"] > 0
            assert char["x1"] < page.width
        squares = [sized(page, side, side, within=0.01)[0] for side in (50.0, 50.8)]
        low, high = squares[0].min(axis=0), squares[1].max(axis=0)
        for char in page.chars:
            middle_y = (page.height - (char["top"] + char["bottom"]) / 2) * MM
            if char["x0"] * MM < low[0] < char["x1"] * MM:
                assert not low[1] < middle_y < high[1], char["text"]


def test_no_words_lie_on_one_another(tote_pdf, clutch):
    for data in (tote_pdf, templates_pdf(clutch, paper="Letter")):
        for page in pypdfium2.PdfDocument(data):
            text = page.get_textpage()
            boxes = np.array([text.get_rect(number) for number in range(text.count_rects())])
            low = np.maximum(boxes[:, None, :2], boxes[None, :, :2])
            high = np.minimum(boxes[:, None, 2:], boxes[None, :, 2:])
            shared = np.clip(high - low - 0.3, 0, None).prod(axis=2)
            np.fill_diagonal(shared, 0)
            one, other = np.unravel_index(shared.argmax(), shared.shape)
            assert shared.max() < 0.5, [text.get_text_bounded(*boxes[row]) for row in (one, other)]
