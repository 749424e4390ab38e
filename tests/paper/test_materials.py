"""Cloth, stabilizer and fasteners, counted and measured for what is really hooped."""

import io
from dataclasses import replace

import numpy as np
import pdfplumber
import pytest

from stitchcraft.paper import worksheet_pdf
from stitchcraft.paper.materials import cloth_lengths, fasteners, framed_mm, laid_on, stabilizer, to_hoop
from stitchcraft.paper.words import bolt_words, reel_words
from stitchcraft.units import lengths_said_in


def field_corners(one) -> np.ndarray:
    """The field's corners in the part's frame, by solving the placement's equations."""
    origin, right, up = one.placement.placed([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    matrix = np.column_stack([right - origin, up - origin])
    x, y = one.hoop.width / 2, one.hoop.height / 2
    return np.array(
        [np.linalg.solve(matrix, np.array(corner) - origin) for corner in ((x, y), (x, -y), (-x, y), (-x, -y))]
    )


def test_panel_cloth_reaches_40_mm_past_every_field_on_it_and_no_further(tote):
    width, height = tote.hooping_cloth_mm()
    top = tote.above_panel_mm()
    corners = np.vstack([
        field_corners(one) + place.at_mm for one in tote.parts for place in one.part.placements
    ])  # fmt: skip
    assert width / 2 - np.abs(corners[:, 0]).max() == pytest.approx(40)
    assert top - corners[:, 1].max() == pytest.approx(40)
    assert corners[:, 1].min() - (top - height) == pytest.approx(40)


def test_cloth_to_hoop_is_listed_for_panels_and_loose_parts(tote, clutch):
    assert [(cut.name, cut.count) for cut in to_hoop(tote)] == [
        ("panel", 2), ("tab back", 1), ("tab front", 1), ("label", 1),
    ]  # fmt: skip
    # the clutch's tab front is laid over batting on bare stabilizer
    assert [cut.name for cut in to_hoop(clutch)] == ["panel", "tab back"]
    assert {"tab batting", "tab front"} <= {cut.name for cut in laid_on(clutch)}


def test_laid_on_pieces_reach_half_an_inch_past_their_lines(tote):
    accent = next(cut for cut in laid_on(tote) if cut.name == "corner accent, left")
    # 4 in and the seam allowance, and half an inch on both sides
    assert (accent.width_mm, accent.height_mm) == pytest.approx((101.6 + 6.35 + 25.4,) * 2)
    assert accent.count == 2


def test_stabilizer_has_a_piece_for_each_hooping(tote):
    assert sum(cut.count for cut in stabilizer(tote)) == sum(max(1, len(one.part.placements)) for one in tote.parts)
    tab = next(one for one in tote.parts if one.name == "tab-back")
    assert framed_mm(tab.hoop) == (130 + 80, 180 + 80)


def test_cloth_is_laid_out_in_rows(tote):
    panel = to_hoop(tote)[0]
    # two panels side by side, the tab's 210 x 260 mm under them
    assert 2 * panel.width_mm < 1066.8 < 2 * panel.width_mm + 210
    assert dict(cloth_lengths(tote))["outer cloth"] == pytest.approx(panel.height_mm + 260)
    # two linings of 368.3 and the tab's back of 210 mm in one row, as high as the higher
    assert dict(cloth_lengths(tote))["lining cloth"] == pytest.approx(311.15)


@pytest.mark.parametrize(("mm", "words"), [(914.4, "1 yd"), (914.5, "1 1/8 yd"), (100, "1/8 yd"), (1371.6, "1 1/2 yd")])
def test_cloth_is_bought_by_the_eighth_of_a_yard(mm, words):
    with lengths_said_in("in"):
        assert bolt_words(mm) == words


@pytest.mark.parametrize(("mm", "words"), [(50, "0.05 m"), (51, "0.10 m"), (1000, "1.00 m"), (1210, "1.25 m")])
def test_cloth_is_bought_by_the_twentieth_of_a_metre_where_it_is_measured_so(mm, words):
    for unit in ("mm", "cm"):
        with lengths_said_in(unit):
            assert bolt_words(mm) == words


def test_thread_is_bought_in_the_makers_own_unit():
    assert reel_words(100) == "100 m (109 yd)"  # the yard is 0.9144 m: NIST SP 811, appendix B
    with lengths_said_in("in"):
        assert reel_words(100) == "109 yd (100 m)"


def test_fasteners_are_counted(tote, clutch):
    counts = {what: many for what, many, _ in fasteners(tote)}
    assert counts == {"magnetic snap": "1 set", "shaping snap": "2 sets", "bag foot": "4", "strap": "2"}
    assert {what for what, _, _ in fasteners(clutch)} == {"magnetic snap", "strap"}
    with lengths_said_in("in"):
        straps = next(mind for what, _, mind in fasteners(tote) if what == "strap")
    # the drop of 3 in and half of the connector's 2 in, at both ends
    assert "add about 8 11/16 in (220.1 mm)" in straps


def test_thread_list_says_what_each_format_does_with_colours(tote, clutch):
    # dst and exp hold no colours, pes holds them as they are, jef the nearest of its list: layouts of the formats
    for sheet, formats, said in (
        (tote, ("dst", "exp"), "A dst or exp file holds no colours"),
        (tote, ("jef", "pes"), "A jef file names for each thread the nearest colour of a fixed list"),
        (clutch, ("pes",), None),
    ):
        with pdfplumber.open(
            io.BytesIO(worksheet_pdf(replace(sheet, machine=replace(sheet.machine, formats=formats))))
        ) as pdf:
            words = " ".join(" ".join(word["text"] for word in page.extract_words()) for page in pdf.pages)
        assert ("Go by the stops on this sheet." in words) == (said is not None)
        assert said is None or said in words
