"""What a name holds is shown, never obeyed."""

from html.parser import HTMLParser

import pytest

from stitchcraft.errors import Finding, Findings, Level
from stitchcraft.markup import html_table, html_text, shown

HOSTILE = '<img src=x onerror="alert(1)"> & </table>'


class Page(HTMLParser):
    """Tags and words as an HTML parser sees them."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.words = [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):  # noqa: ARG002  the parser's own signature
        self.tags.append(tag)

    def handle_data(self, data):
        if data.strip():
            self.words.append(data)


@pytest.mark.parametrize("text", ["plain", "2 1/2 in × 64 mm", "héron\nand gull", "\U0001f9f5"])
def test_words_stay_as_they_are(text):
    assert shown(text) == text


@pytest.mark.parametrize("letter", ["\x00", "\x1b", "\x7f", "\x85", "\ud800", "\ufffe"])
def test_what_no_page_can_hold_leaves_a_mark(letter):
    assert shown(f"a{letter}b") == "a\ufffdb"
    html_text(letter).encode()


def test_every_cell_of_a_table_is_text():
    page = Page(html_table((HOSTILE, "b"), [(HOSTILE, 2)], caption=HOSTILE))
    assert page.words == [HOSTILE, HOSTILE, "b", HOSTILE, "2"]
    assert set(page.tags) == {"table", "caption", "thead", "tbody", "tr", "th", "td"}


def test_a_finding_shows_level_code_part_message_and_remedy():
    finding = Finding(Level.ERROR, "hoop-fit", HOSTILE, "It fits at no angle.", "Take a larger field.")
    page = Page(finding._repr_html_())
    assert page.words[4:] == ["error", "hoop-fit", HOSTILE, "It fits at no angle. Take a larger field."]
    assert "img" not in page.tags


def test_findings_are_a_list_that_shows_itself():
    note = Finding(Level.NOTE, "thread-uncut", "a", "One.")
    found = Findings([note, note])
    assert found == [note, note]
    assert repr(found) == repr([note, note])
    assert Page(found._repr_html_()).tags.count("tr") == 3


def test_no_findings_says_so():
    assert Page(Findings()._repr_html_()).words[-1] == "No findings."
