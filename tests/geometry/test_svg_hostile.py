"""Drawings made to break a reader: each is refused in one line that names the file, or read; none hangs."""

from __future__ import annotations

import contextlib
import gzip
import os
import random
import resource
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from stitchcraft.defaults import ARTWORK
from stitchcraft.errors import ArtworkError
from stitchcraft.geometry.svg_paths import Drawing, polygons_of_shape, read_svg, tip_path

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">'
CASES = sorted((Path(__file__).parent / "svg_cases").glob("*.svg"))


def page(body: str) -> str:
    return HEAD + body + "</svg>"


def random_path(count: int) -> str:
    dice = random.Random(7)
    return "M0 0L" + " ".join(f"{dice.uniform(0, 99):.2f} {dice.uniform(0, 79):.2f}" for _ in range(count))


def laughing(levels: int) -> str:
    lines = "".join(
        f'<!ENTITY l{n} "{"&l" + str(n - 1) + ";" if n else "ha"}' + (f"&l{n - 1};" if n else "") * 9 + '">'
        for n in range(levels)
    )
    return f"<!DOCTYPE svg [{lines}]>" + page(f"<title>&l{levels - 1};</title><rect width='1' height='1'/>")


QUADRATIC = '<!DOCTYPE svg [<!ENTITY a "' + "x" * 80_000 + '">]>' + page("<title>" + "&a;" * 20_000 + "</title>")
EXTERNAL = '<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>' + page("<title>&a;</title>")
PARAMETER = '<!DOCTYPE svg [<!ENTITY % a SYSTEM "http://127.0.0.1:9/x"> %a;]>' + page("")
ATTLIST = '<!DOCTYPE svg [<!ATTLIST path d CDATA "M0 0L9 9">]>' + page("<path/>" * 9)
USE_BOMB = "".join(
    f'<g id="g{n}">' + (f'<use href="#g{n - 1}"/>' * 10 if n else "<rect width='1' height='1'/>") + "</g>"
    for n in range(12)
)

REFUSED = {
    "billion-laughs": (laughing(10), "drawing: has a document type with declarations in it"),
    "quadratic-entities": (QUADRATIC, "has a document type with declarations in it"),
    "external-entity": (EXTERNAL, "has a document type with declarations in it"),
    "parameter-entity": (PARAMETER, "has a document type with declarations in it"),
    "attribute-defaults": (ATTLIST, "has a document type with declarations in it"),
    "undeclared-entity": (page("&nothing;"), "is not well-formed XML (undefined entity"),
    "html": ("<!DOCTYPE html><html><body><p>no</p></body></html>", "is not an SVG drawing; it begins with <html>"),
    "other-xml": ("<feed xmlns='urn:x'/>", "is not an SVG drawing; it begins with <feed>"),
    "svg-of-another-namespace": ("<svg xmlns='urn:x'/>", "is not an SVG drawing"),
    "cut-short": (HEAD + "<rect", "is not well-formed XML"),
    "nothing": (b"", "is not well-formed XML (no element found"),
    "compressed": (gzip.compress(page("").encode()), "is compressed; save it as plain SVG"),
    "unknown-encoding": (b"<?xml version='1.0' encoding='klingon'?><svg/>", "cannot be read as XML"),
    "empty": (page(""), "drawing: holds nothing that can be sewn"),
    "only-text": (page("<text>Hi</text>"), "holds nothing that can be sewn (text#1: text is left out"),
    "nested-5000": (page("<g>" * 5000 + "</g>" * 5000), "nested deeper than the 64 levels allowed"),
    "elements-100000": (page("<g/>" * 100_000), "holds more than the 5000 elements allowed"),
    "file-of-3-MB": (page("<title>" + "x" * 3_000_000 + "</title>"), "is larger than the 2000 kB allowed"),
    "path-of-a-megabyte": (page(f'<path d="{random_path(75_000)}"/>'),
                           "path#1: the drawing has more than the 30000 path"),
    "many-paths": (page('<path d="M0 0h9v9h-4v-3h1v1h1z"/>' * 4_990), "path commands allowed"),
    "many-points": (page('<circle r="5000"/>' * 600), "curves take more than the 500000 points allowed"),
    "use-of-itself": (page('<g id="a"><use href="#a"/></g>'), "#a: is nested or reused deeper than the 64 levels"),
    "use-cycle": (page('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'), "deeper than the 64 levels"),
    "use-of-an-ancestor": (HEAD.replace("<svg", "<svg id='r'") + '<use href="#r"/></svg>', "deeper than the 64 levels"),
    "use-bomb": (page(USE_BOMB), "the drawing draws more than the 5000 elements allowed"),
    "use-of-another-file": (page('<use href="http://127.0.0.1:9/a.svg#x"/>'), "use#1: refers to another file"),
    "number-1e400": (page('<path id="big" d="M0 0L1e400 5"/>'), "#big: a number is too large in '1e400 5'"),
    "number-nan": (page('<path d="M0 0L nan 5"/>'), "path#1: path data cannot be read at 'nan 5'"),
    "number-inf": (page('<rect width="inf" height="3"/>'), "rect#1: width is 'inf'; it needs to be a number with px"),
    "number-1e300": (page('<path d="M0 0L1e300 5 1e300 9z"/>'), "path#1: reaches"),
    "past-5-m": (page('<rect x="4990" width="11" height="3"/>'), "rect#1: reaches 5001 mm"),
    "scale-1e600": (page('<g transform="scale(1e300)"><rect width="9" height="9" transform="scale(1e300)"/></g>'),
                    "rect#1: it has coordinates that are no finite numbers"),
    "junk-after-a-path": (page('<path d="M0 0L9 9 X 90 90"/>'), "path#1: path data cannot be read at 'X 90 90'"),
    "path-without-moveto": (page('<path d="L9 9"/>'), "path#1: path data cannot be read at 'L9 9'"),
    "path-cut-short": (page('<path d="M0 0C1 2 3 4"/>'), "path data cannot be read at '1 2 3 4'"),
    "arc-flag-of-two": (page('<path d="M0 0A5 5 0 2 0 9 9"/>'), "path data cannot be read"),
    "odd-points": (page('<polygon points="0 0 5 5 9"/>'), "polygon#1: points hold an x without its y"),
    "negative-size": (page('<rect width="-5" height="3"/>'), "rect#1: width and height need to be at least 0"),
    "negative-radius": (page('<circle r="-5"/>'), "circle#1: a radius needs to be at least 0"),
    "unknown-unit": (page('<rect width="5 furlongs" height="3"/>'), "rect#1: width is '5 furlongs'"),
    "unknown-transform": (page('<g id="t" transform="perspective(3)"/>'), "#t: transform 'perspective(3)' cannot be"),
    "half-a-transform": (page('<g transform="rotate(3"/>'), "g#1: transform 'rotate(3' cannot be read"),
    "viewbox-of-three": ('<svg viewBox="0 0 5"/>', "svg#1: viewBox is '0 0 5'; it needs to be four numbers"),
    "viewbox-flat": ('<svg viewBox="0 0 5 0"/>', "it needs to be four numbers, the last two above 0"),
    "page-of-nothing": ('<svg width="0" height="9"><rect width="1" height="1"/></svg>', "the page needs to be larger"),
    "page-of-a-mile": ('<svg width="63360in" height="9"/>', "larger than nothing and at most 5000 mm"),
}  # fmt: skip


@pytest.fixture(autouse=True)
def _no_hang_and_no_500_megabytes() -> Iterator[None]:
    """A hang fails the test instead of standing still; the minute is far above what any of them takes."""

    def stop(*_: object) -> None:
        raise AssertionError("still at it after a minute")

    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    signal.signal(signal.SIGALRM, stop)
    signal.alarm(60)
    yield
    signal.alarm(0)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 500_000  # kB


@pytest.mark.parametrize("case", REFUSED)
def test_a_hostile_drawing_is_refused_in_one_line(case: str) -> None:
    text, words = REFUSED[case]
    with pytest.raises(ArtworkError) as refusal:
        read_svg(text)
    message = str(refusal.value)
    assert message.startswith("drawing: ")
    assert words in message
    assert message.isprintable()
    assert len(message) < 300


def test_what_is_just_inside_the_limits_is_read() -> None:
    depth = int(ARTWORK["depth"].value) - 2
    commands = int(ARTWORK["commands"].value) - 2
    rect = "<rect width='4990' height='3'/>"
    assert read_svg(page("<g>" * depth + rect + "</g>" * depth)).shapes[0].label == "rect#1"
    straight = "M0 0" + "".join(f"H{1 + n % 90}V{n % 70}" for n in range(commands // 2))
    assert len(read_svg(page(f'<path d="{straight}"/>')).shapes[0].subpaths[0]) > 10_000


def test_a_name_in_the_message_cannot_break_the_line() -> None:
    with pytest.raises(ArtworkError) as refusal:
        read_svg(page('<path id="a&#10;b&#x202e;" d="M0 0 Z9&#10;9"/>'), name="x\ny.svg")
    assert str(refusal.value) == "x?y.svg: #a?b?: path data cannot be read at '9?9'"


def test_a_pipe_a_folder_and_a_missing_file_are_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.svg")
    for path, words in (
        (tmp_path / "pipe.svg", "pipe.svg: is not a file"),
        (tmp_path, "is not a file"),
        (tmp_path / "gone.svg", "gone.svg: cannot be read (No such file or directory)"),
        ("a\0b.svg", "a?b.svg: is not the name of a file"),
    ):
        with pytest.raises(ArtworkError) as refusal:
            read_svg(path)
        assert words in str(refusal.value)


def test_an_external_picture_is_never_fetched_but_noted() -> None:
    drawing = read_svg(
        page('<image href="http://127.0.0.1:9/a.png" width="9" height="9"/><rect width="9" height="9"/>')
    )
    assert drawing.notes == ("image#1: a picture cannot be sewn and is left out; trace it first",)


def test_a_scribble_that_would_take_minutes_to_fill_is_refused() -> None:
    shape = read_svg(page(f'<path d="{random_path(20_000)}"/>')).shapes[0]
    with pytest.raises(ArtworkError, match=r"path#1: its outline crosses itself more than the \d+ times"):
        polygons_of_shape(shape)


def read_or_refused(data: bytes) -> Drawing | None:
    with contextlib.suppress(ArtworkError):
        drawing = read_svg(data)
        assert drawing.shapes
        for shape in drawing.shapes:
            assert all(len(path) > 1 for path in shape.subpaths)
            assert polygons_of_shape(shape).is_valid
        with contextlib.suppress(ArtworkError):
            tip_path(drawing)
        return drawing
    return None


@given(st.binary(max_size=300))
@example(b"\xff\xfe<\x00")
@example(b"<?xml version='1.0' encoding='utf-7'?><svg/>")
@example(b"<?xml version='1.0' encoding='shift_jis'?><svg/>")
def test_random_bytes_are_only_ever_refused(data: bytes) -> None:
    assert read_or_refused(data) is None or b"svg" in data


@given(st.text(max_size=60))
def test_random_names_and_texts_are_only_ever_refused(text: str) -> None:
    with contextlib.suppress(ArtworkError):
        read_svg(text)


@st.composite
def damaged(draw: st.DrawFn) -> bytes:
    """One of the tricky cases with a few bytes cut, doubled, swapped for others or spliced from another case."""
    data = bytearray(draw(st.sampled_from(CASES)).read_bytes())
    other = draw(st.sampled_from(CASES)).read_bytes()
    for _ in range(draw(st.integers(1, 4))):
        place, size = draw(st.integers(0, len(data))), draw(st.integers(0, 12))
        donor = draw(st.integers(0, len(other)))
        new = draw(
            st.one_of(
                st.sampled_from(
                    [b"", b"0", b"-", b"e99", b"%", b"e", b"nan", b".", b"1e400", b'"', b"<", b"999999", b"z"]
                ),
                st.binary(max_size=4),
                st.just(other[donor : donor + 40]),
            )
        )
        data[place : place + size] = new
    return bytes(data)


@settings(max_examples=150)
@given(damaged())
def test_a_damaged_drawing_is_read_or_refused_and_nothing_else(data: bytes) -> None:
    read_or_refused(data)


@settings(max_examples=100)
@given(st.lists(st.sampled_from([*"MmLlHhVvCcSsQqTtAaZz", "0", "1", "-7", "3.5", ".5", "1e3", "1e-3", ",", " ", "90"])))
def test_random_path_data_is_read_or_refused_and_nothing_else(items: list[str]) -> None:
    read_or_refused(page(f'<path d="M5 5{" ".join(items)}"/>').encode())


ATTRIBUTES = (
    "x", "y", "width", "height", "rx", "r", "cx", "d", "points", "transform", "style", "fill", "stroke",
    "stroke-width", "fill-rule", "viewBox", "preserveAspectRatio", "opacity", "class", "transform-origin",
)  # fmt: skip
VALUES = st.one_of(
    st.text(max_size=12),
    st.sampled_from(["0", "-1", "50%", "1e308", "1e-308", "url(#a)", "url(#a) red", "hsl(1,2,3)", "rgb(1%,2,3/0)",
                     "none", "inherit", "transform:rotate(1turn)", "skewX(90)", "matrix(0 0 0 0 0 0)",
                     "M0 0a1 1 0 01 9 9"]),
)  # fmt: skip


@settings(max_examples=150)
@given(st.sampled_from(["rect", "circle", "ellipse", "path", "polygon", "svg", "g", "line"]),
       st.dictionaries(st.sampled_from(ATTRIBUTES), VALUES, max_size=5))  # fmt: skip
def test_random_attributes_are_read_or_refused_and_nothing_else(kind: str, values: dict[str, str]) -> None:
    from xml.sax.saxutils import quoteattr

    attributes = " ".join(f"{key}={quoteattr(value)}" for key, value in values.items())
    rect = '<rect width="5" height="5"/>'
    read_or_refused(page(f"<{kind} {attributes}>{rect}</{kind}>{rect}").encode("utf-8", "surrogatepass"))


def test_thousands_of_outlines_in_one_path_are_filled_in_a_moment() -> None:
    boxes = "".join(f"M{x} {y}h.6v.6h-.6z" for x in range(90) for y in range(50))
    shape = read_svg(page(f'<path d="{boxes}"/>')).shapes[0]
    polygons = polygons_of_shape(shape)
    assert len(polygons.geoms) == 4500
    assert polygons.area == pytest.approx(4500 * 0.36)
