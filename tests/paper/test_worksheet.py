"""The worksheet says all that the kit knows, in words that another library reads back from its pages."""

import io
from dataclasses import replace

import numpy as np
import pdfplumber
import pypdfium2
import pytest
from PIL import Image
from reportlab import rl_config

from stitchcraft.design import Kind
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.kit.make import kit_of
from stitchcraft.kit.papers import papers_of
from stitchcraft.machine import Machine, hands_on_minutes, minutes, stop_minutes, thread_metres
from stitchcraft.paper import worksheet_pdf
from stitchcraft.paper.assembly import preparation
from stitchcraft.paper.materials import bobbin_metres, strips_across, threads
from stitchcraft.paper.words import turn_words


def text_of(data: bytes) -> str:
    """All words in the order in which they are written, cell by cell, one space apart."""
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(data)]
    return " ".join(" ".join(pages).split())


@pytest.fixture(scope="module")
def tote_pdf(tote):
    return worksheet_pdf(tote)


@pytest.fixture(scope="module")
def words(tote_pdf):
    return text_of(tote_pdf)


@pytest.fixture(scope="module")
def clutch_words(clutch):
    return text_of(worksheet_pdf(clutch))


# -- what must be there ---------------------------------------------------------------------------------


def test_every_machine_file_is_named(words, clutch_words, tote, clutch):
    for sheet, text in ((tote, words), (clutch, clutch_words)):
        files = [file for one in sheet.parts for file in one.files]
        assert len(files) == len(sheet.parts) * len(sheet.machine.formats)
        for file in files:
            assert file in text


def test_every_stop_says_what_the_hands_do_its_thread_and_its_stitches(words, clutch_words, tote, clutch):
    for sheet, text in ((tote, words), (clutch, clutch_words)):
        for one in sheet.parts:
            for number, stop in enumerate(one.plan.stops):
                assert " ".join(stop.before.split()) in text
                assert f"{stop.thread.name} {stop.thread.colour} weight {stop.thread.weight:g}" in text
                count = np.count_nonzero((one.plan.stop == number) & (one.plan.kind == Kind.STITCH))
                assert f" {count:,} {stop_minutes(one.plan, sheet.machine)[number]:.1f} " in text


def test_no_placeholder_is_left_in_the_words(words, clutch_words):
    for text in (words, clutch_words):
        assert not set("{}[]") & set(text)
    assert "Baste it within 3/16 in (4.9 mm) of the raw edge" in words  # the binding's 1/4 in less 1.5 mm


def test_every_part_says_what_to_do_after_it(words, clutch_words, tote, clutch):
    for sheet, text in ((tote, words), (clutch, clutch_words)):
        for one in sheet.parts:
            assert "Afterwards. " + " ".join(one.part.after.split()) in text


def test_minutes_of_the_stops_add_up_to_the_parts(tote, clutch):
    for sheet in (tote, clutch):
        for one in sheet.parts:
            total = sum(stop_minutes(one.plan, sheet.machine))
            assert total == pytest.approx(minutes(one.plan, sheet.machine))


def test_cover_adds_up_the_hoopings_on_this_machine(tote):
    slow = replace(tote, machine=Machine(speed=300))
    sewing = sum(minutes(one.plan, slow.machine) * max(1, len(one.part.placements)) for one in tote.parts)
    hands = sum(hands_on_minutes(one.plan, slow.machine) * max(1, len(one.part.placements)) for one in tote.parts)
    assert f"In all 13 hoopings {sewing:.0f} + {hands:.0f} " in text_of(worksheet_pdf(slow))


def test_numbers_of_the_bag_are_those_worked_by_hand(words):
    for number in (
        "14 1/2 × 12 1/4 in (368.3 × 311.2 mm)",  # 14 + 2 * 1/4, 12 + 1/4 in
        "10 × 4 in (254 × 101.6 mm) at the base, 10 in (254 mm) high",  # 14 - 4, 4, 12 - 4 / 2
        "2 1/2 × 32 in (63.5 × 812.8 mm)",  # 2 * 14 + 4
        "Cut a square of 2 in (50.8 mm) from each lower corner",  # 4 / 2
        "9 3/4 × 3 3/4 in (248 × 95.6 mm)",  # 254 - 6, 101.6 - 6
        "about 4 3/16 in (107 mm) left and right of the middle of the base and about 1 3/16 in (30.8 mm)",
        "1 1/2 in (38.1 mm) below the top edge and 2 in (50.8 mm) in from the side seams",
        "it ends up 13 1/2 in (342.9 mm) wide",  # 14 - 2 (1/2 - 1/4)
        "the top is then 10 in (254 mm) wide, and each side leans in by 13.2°",  # atan(2 / 8.5)
        "1/4 in (6.4 mm) up the back, about 3/16 in (4 mm) across the edge and 3 in (76.2 mm) down the front",
    ):
        assert number in words


def test_steps_come_in_an_order_that_can_be_sewn(words, clutch_words):
    order = [
        "Cut the panels to size.", "Magnetic snap, thick half", "Shaping snaps.", "Straps.", "Bottom seam.",
        "Side seams.", "Boxed corners.", "Base stiffener.", "Feet.", "Baste the tab.", "Lining.", "Lining in.",
        "Binding.", "Close the tab.",
    ]  # fmt: skip
    text = words[words.index("Putting the bag together") :]
    numbers = [1, 2, 3, 4, 5, 6, 7, 9, 10, 11, 12, 13, 14, 15]  # the eighth turns the shell
    places = [text.index(f" {number} {title}") for number, title in zip(numbers, order, strict=True)]
    assert places == sorted(places)
    turned = clutch_words[clutch_words.index("Putting the bag together") :]
    for missing in ("Boxed corners.", "Feet.", "Binding.", "Shaping snaps.", "Base stiffener."):
        assert missing not in turned
    assert "Leave 130 mm (5 1/8 in) open" in turned
    assert turned.index("Baste the tab.") < turned.index("Turned top.")


def test_corners_are_sewn_after_what_lies_above_them(words):
    order = [
        "Tab back", "Tab front", "Label", "Shaping marks", "Connector front", "Connector back", "Corner left",
        "Corner right",
    ]  # fmt: skip
    places = [words.index(f" {number} {title}: sew") for number, title in enumerate(order, start=1)]
    assert places == sorted(places)


def test_cautions_stand_where_they_belong(words):
    for caution in (
        "Your machine's manual", "local rules", "licensed", "The needle and the hoop move by themselves",
        "a needle that strikes metal can shatter", "close a rotary cutter after every cut",
        "Chisel: cut slits on a block",
        "hot metal and steam burn", "at least 6 in (15 cm) from pacemakers", "can be swallowed", "from children",
    ):  # fmt: skip
        assert caution in words
    snap = words[words.index("2 Magnetic snap, thick half") : words.index("3 Shaping snaps.")]
    assert "Chisel" in snap
    assert "pacemakers" in snap
    assert "swallowed" in words[words.index("10 Feet.") : words.index("11 Baste the tab.")]
    assert "shatter" in words[words.index("1 Tab back: sew") : words.index("2 Tab front: sew")]


def test_findings_stand_with_their_part_and_errors_on_the_cover(tote):
    found = (
        Finding(Level.WARNING, "label-small", "label", "Its capitals are small.", "Widen <the> label & sew."),
        Finding(Level.ERROR, "hoop-fit", "tab-back", "It fits no field.", "Take a larger one."),
        Finding(Level.NOTE, "binding-note", "", "The bag as a whole.", "Nothing."),
    )
    data = worksheet_pdf(replace(tote, findings=found))
    first = " ".join(pypdfium2.PdfDocument(data)[0].get_textpage().get_text_range().split())
    assert "An error stands." in first
    assert "Error (tab back): It fits no field. Take a larger one." in first
    assert "Note: The bag as a whole." in first
    text = text_of(data)
    label = text[text.index("3 Label: sew") : text.index("4 Shaping marks: sew")]
    assert "Warning: Its capitals are small. Widen <the> label & sew." in label
    assert "An error stands." not in text_of(worksheet_pdf(tote))


def test_part_without_a_field_still_has_its_section(tote):
    lost = tuple(replace(one, hoop=None) if one.name == "label" else one for one in tote.parts)
    text = text_of(worksheet_pdf(replace(tote, parts=lost)))
    assert "no listed field takes it" in text


def test_threads_are_listed_for_all_hoopings_with_a_margin(tote, words):
    # by hand, from the estimate of each stop: corners are sewn twice, shaping marks four times, 15 % on top
    times = {"corner-left": 2, "corner-right": 2, "shaping-marks": 4}
    mark = sum(
        used.top_m * times.get(one.name, 1)
        for one in tote.parts
        for stop, used in zip(one.plan.stops, thread_metres(one.plan).stops, strict=True)
        if stop.thread.name == "mark"
    )
    (need,) = [need for need in threads(tote) if need.thread.name == "mark"]
    assert need.metres - 1 < 1.15 * mark <= need.metres
    assert f"({need.metres} m)" in words  # the tote is in inches
    assert f"({bobbin_metres(tote)} m)" in words


@pytest.mark.parametrize(
    ("width", "length", "count"),
    [(63.5, 1066.8, 1), (63.5, 1066.9, 2), (63.5, 2070.1, 2), (63.5, 2070.2, 3)],
)
def test_binding_is_pieced_of_strips_across_the_cloth(width, length, count):
    # two strips of 42 in joined on the slant lose a strip's width: 2 * 1066.8 - 63.5 = 2070.1
    assert strips_across(width, length, 1066.8) == count


def test_threads_to_cut_by_hand_are_said_where_the_machine_cuts_none(tote):
    by_hand = replace(tote, machine=Machine(trims=False))
    cut = sum(one.plan.trims > 0 for one in tote.parts)
    assert cut > 0
    assert text_of(worksheet_pdf(by_hand)).count("threads between stitches to cut by hand") == cut


# -- its pages ------------------------------------------------------------------------------------------


def lines_on(page: pypdfium2.PdfPage) -> list[tuple[str, tuple[float, ...]]]:
    """Each run of letters on a page with its box: left, bottom, right, top, points."""
    text = page.get_textpage()
    boxes = [text.get_rect(number) for number in range(text.count_rects())]
    return [(text.get_text_bounded(*box), box) for box in boxes]


def test_no_page_is_blank_no_word_is_clipped_and_none_lies_on_another(tote_pdf, clutch):
    for data in (tote_pdf, worksheet_pdf(clutch, paper="Letter")):
        for page in pypdfium2.PdfDocument(data):
            found = lines_on(page)
            assert sum(len(words) for words, _ in found) > 300
            boxes = np.array([box for _, box in found])
            assert boxes[:, :2].min() > 14
            assert boxes[:, 2].max() < page.get_width() - 14
            assert boxes[:, 3].max() < page.get_height() - 14
            low = np.maximum(boxes[:, None, :2], boxes[None, :, :2])
            high = np.minimum(boxes[:, None, 2:], boxes[None, :, 2:])
            shared = np.clip(high - low - 0.3, 0, None).prod(axis=2)
            np.fill_diagonal(shared, 0)
            one, other = np.unravel_index(shared.argmax(), shared.shape)
            assert shared.max() < 0.5, (found[one][0], found[other][0])


def test_pages_are_numbered_through(tote_pdf):
    document = pypdfium2.PdfDocument(tote_pdf)
    for number, page in enumerate(document, start=1):
        assert f"page {number} of {len(document)}" in " ".join(page.get_textpage().get_text_range().split())


def test_same_values_give_the_same_bytes(tote, tote_pdf):
    assert worksheet_pdf(tote) == tote_pdf


def test_unknown_paper_is_refused(tote):
    with pytest.raises(ParameterError, match="A4, Letter"):
        worksheet_pdf(tote, paper="B5")


def test_all_letters_are_embedded(tote_pdf):
    with pdfplumber.open(io.BytesIO(tote_pdf)) as pdf:
        fonts = {char["fontname"] for page in pdf.pages[:3] for char in page.chars}
    assert all("+DejaVuSansCondensed" in font for font in fonts), fonts


def test_kit_gives_all_papers(tote_kit):
    names = set(papers_of(tote_kit))
    assert {"worksheet.pdf", "templates.pdf", "cut/tab-front.svg", "cut/panel-back.svg", "cut/lining.svg"} <= names


# -- names that could do harm ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [
        "<b>Bag</b> & </para> <font color='red'>",
        "Żółta łódź – ñandú",
        "Сумка Ωμέγα",
        "%(percent)s {brace} \\(backslash) ]]>",
        "O'Brien's \"best\" <!-- bag -->",
    ],
)
def test_names_are_shown_as_they_are(named, name):
    first = pypdfium2.PdfDocument(worksheet_pdf(named(name)))[0].get_textpage().get_text_range()
    assert name.replace(" ", "") in "".join(first.split())


def test_characters_without_a_shape_are_boxes_and_are_named(named):
    first = " ".join(pypdfium2.PdfDocument(worksheet_pdf(named("東京 bag")))[0].get_textpage().get_text_range().split())
    assert "□□ bag" in first
    assert "U+6771, U+4EAC" in first


def test_marks_that_turn_the_writing_about_and_controls_do_not_reach_the_page(named):
    text = text_of(worksheet_pdf(named("safe\u202egnp.exe\x00\x1b[2J\ttail")))
    assert "\u202e" not in text
    assert "\x1b" not in text
    assert "U+202E" in text


@pytest.mark.parametrize("name", ["W" * 5000, "long " * 2000, " ", "e\u0301" * 40])
def test_long_and_odd_names_still_make_a_sheet(named, name):
    with pdfplumber.open(io.BytesIO(worksheet_pdf(named(name)))) as pdf:
        assert 3 < len(pdf.pages) < 12
        for char in pdf.pages[0].chars:
            assert char["x1"] < pdf.pages[0].width - 14


def test_how_often_and_where_a_part_is_sewn_is_said_in_its_heading(words, clutch_words):
    for heading in (
        "1 Tab back: sew once, on its own cloth Field",
        "4 Shaping marks: sew 4 times, on the front and the back panel, 2 on each Field",
        "5 Connector front: sew once, on the front panel Field",
        "7 Corner left: sew twice, on the front and the back panel Field",
    ):
        # the picture and its caption stand between the heading and its facts
        before, after = heading.rsplit(" ", 1)
        assert f"{before} Seen from above" in words or f"{before} {after}" in words
    assert "Snap mark: sew once, on the front panel" in clutch_words


@pytest.mark.parametrize("angle", [0, 90, -90, 180, 270])
def test_a_part_square_to_its_field_is_not_said_to_lie_off_the_grain(angle):
    assert "grain" not in turn_words(angle)


def test_a_part_at_an_odd_angle_is_said_to_lie_off_the_grain(tote):
    first = tote.parts[0]
    odd = replace(first, placement=replace(first.placement, angle_deg=59.0))
    text = text_of(worksheet_pdf(replace(tote, parts=(odd, *tote.parts[1:]))))
    assert "turned 59.0° to the left, off the grain" in text
    assert "No listed field takes it square" in text


@pytest.mark.parametrize(("bags", "said"), [(1, "both panel cloths"), (3, "all 6 panel cloths")])
def test_fleece_goes_on_every_panel_of_every_bag(tote, bags, said):
    fuse = next(step for step in preparation(tote.family, bags=bags) if step.title == "Fuse")
    assert said in fuse.text


def test_why_parts_share_no_hooping_comes_last(tmp_path):
    spec = 'parts = ["tab", "corner"]\n[bag]\nwidth = 240\nheight = 200\n[hooping]\nshare = true\n'
    spec += '[machine]\nhoops = ["200x300"]\nformats = ["dst"]\n[style]\ndecoration = { kind = "none" }\n'
    path = tmp_path / "bag.toml"
    path.write_text(spec, encoding="utf-8")
    kit = kit_of(path)
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(papers_of(kit)["worksheet.pdf"])]
    assert "Before you start" in pages[0]
    assert not any("Not together" in page for page in pages[:-1])
    assert "Not together" in pages[-1]


def test_cloth_is_as_wide_as_shops_sell_it_where_the_bag_is_measured(tote, clutch, words, clutch_words):
    # common practice, no source: 42 of 44 in, 105 of 110 cm
    assert (tote.family.units, clutch.family.units) == ("in", "mm")
    assert "across 42 in (1066.8 mm) of usable width" in words
    assert "across 1050 mm (" in clutch_words


def test_the_bags_picture_is_on_paper_pixel_for_pixel(tote):
    pixels = np.random.default_rng(3).integers(0, 256, (90, 160, 3), dtype=np.uint8)
    for share in (1, 8):  # wide, and so high that the page has no room for its whole width
        image = Image.fromarray(np.repeat(pixels, share, axis=0))
        pdf = worksheet_pdf(replace(tote, bag_image=image))
        assert b"ASCII85" not in pdf  # plain bytes
        page = pypdfium2.PdfDocument(pdf)[0]
        (shown,) = (one for one in page.get_objects() if isinstance(one, pypdfium2.PdfImage))
        assert (np.asarray(shown.get_bitmap().to_pil().convert("RGB")) == np.asarray(image)).all()
        left, bottom, right, top = shown.get_bounds()
        assert (right - left) / (top - bottom) == pytest.approx(image.width / image.height, rel=1e-3)
        assert (left + right) / 2 == pytest.approx(page.get_width() / 2, abs=1)
    assert rl_config.useA85  # as other users of the library have it


BUSY = """
parts = ["tab", "label"]
units = "in"
[bag]
width = 15.5
height = 13
[machine]
hoops = ["200x300", "130x180"]
formats = ["pes", "dst", "jef"]
basting = true
[material]
fabric = "canvas"
cloth = "#20304a"
[tab]
width = 4
tip = "shield"
fastener = "turn-lock"
decoration = { kind = "scallops" }
[closure]
drop = "4 in"
[label]
text = "Grebe"
face = "rounded"
width = "2 3/4 in"
"""


def test_a_hooping_that_just_fills_a_page_leaves_no_empty_one_behind(tmp_path):
    """The tab's front has a warning, five stops and a long word at the end: together a page to within 6 mm."""
    (tmp_path / "bag.toml").write_text(BUSY, encoding="utf-8")
    worksheet = papers_of(kit_of(tmp_path / "bag.toml"))["worksheet.pdf"]
    for page in pypdfium2.PdfDocument(worksheet):
        words = page.get_textpage().get_text_range().split()
        assert len(words) > 20, "an empty page but for its foot"
