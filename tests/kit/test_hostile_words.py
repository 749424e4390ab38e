"""Words made to be obeyed are shown as text in every paper, page and picture; numbers made to swallow are refused."""

from __future__ import annotations

import json
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path

import pdfplumber
import pytest
from defusedxml import ElementTree
from hypothesis import given, settings
from hypothesis import strategies as st

from stitchcraft.catalogue import local, make_catalogue
from stitchcraft.errors import SpecError
from stitchcraft.kit import make_kit
from stitchcraft.kit.make import kit_of
from stitchcraft.spec import read_spec, spec_from_text

HOSTILE = "</script><script>alert(1)</script><b>&amp;"
SPEC = """\
name = '{name}'
parts = ["tab", "label"]
[bag]
width = 120
height = 140
[machine]
formats = ["dst"]
[material]
fabric = {{ name = '{fabric}' }}
[style]
decoration = "none"
[label]
text = '{text}'
[prices]
currency = '{currency}'
thread = 1
"""
PLAIN = {"name": "Heron", "fabric": "linen", "text": "Pier", "currency": "EUR"}
WORDS = {"name": HOSTILE, "fabric": "<i onload=alert(2)>&lt;", "text": "</svg><a href='x'>", "currency": "<u>&gt;"}


class Elements(HTMLParser):
    """Counts the elements of a page and notes what would make one act."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.counted: Counter[str] = Counter()
        self.acting: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.counted[tag] += 1
        self.acting += [name for name, value in attrs if name.startswith("on") or "javascript:" in (value or "")]


@pytest.fixture(scope="module")
def kits(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    made = {}
    for which, words in (("plain", PLAIN), ("hostile", WORDS)):
        folder = tmp_path_factory.mktemp(which)
        text = SPEC.format(**{key: word.replace("'", '"') for key, word in words.items()})
        (folder / "bag.toml").write_text(text, encoding="utf-8")
        make_kit(folder / "bag.toml", folder / "kit")
        made[which] = folder
    return made


def test_the_player_has_the_elements_of_any_other_and_nothing_that_acts(kits: dict[str, Path]) -> None:
    plain, hostile = (
        Elements((kits[which] / "kit" / "player.html").read_text(encoding="utf-8")) for which in ("plain", "hostile")
    )
    assert hostile.counted == plain.counted
    assert hostile.acting == plain.acting


def test_pictures_and_cut_files_are_xml_with_no_element_more(kits: dict[str, Path]) -> None:
    names = sorted(path.relative_to(kits["plain"]) for path in kits["plain"].rglob("*.svg"))
    assert len(names) > 3
    for name in names:
        kinds = [{one.tag for one in ElementTree.parse(kits[which] / name).iter()} for which in ("plain", "hostile")]
        assert kinds[1] == kinds[0]
        assert not any("script" in tag or tag.endswith("}a") for tag in kinds[1])


def test_the_papers_show_the_words_as_they_are_written(kits: dict[str, Path]) -> None:
    said = ""
    for name in ("worksheet.pdf", "templates.pdf"):
        with pdfplumber.open(kits["hostile"] / "kit" / name) as pdf:
            assert not any(page.hyperlinks for page in pdf.pages)
            said += " ".join(page.extract_text() for page in pdf.pages)
    squeezed = "".join(said.split())
    assert "".join(HOSTILE.split()) in squeezed
    assert "<u>&gt;" in squeezed


def test_the_summary_in_a_notebook_has_the_elements_of_any_other(kits: dict[str, Path]) -> None:
    plain, hostile = (Elements(kit_of(kits[which] / "bag.toml")._repr_html_()) for which in ("plain", "hostile"))
    assert hostile.counted == plain.counted
    assert not hostile.acting


def test_an_index_of_a_catalogue_shows_hostile_names_and_errors_as_text(kits: dict[str, Path], tmp_path: Path) -> None:
    pages = []
    for which, name, width in (("plain", "Spring", "wide"), ("hostile", HOSTILE, "<script>alert(3)</script>")):
        base = kits["hostile"] / "bag.toml"
        text = f"name = '{name}'\nbase = '{base}'\n[axes.'<b>']\nx = {{ bag = {{ width = '{width}' }} }}\n"
        (tmp_path / f"{which}.toml").write_text(text, encoding="utf-8")
        made = make_catalogue(tmp_path / f"{which}.toml", tmp_path / which, engine=local(1))
        assert made.failed == 1
        pages.append((tmp_path / which / "index.html").read_text(encoding="utf-8"))
    assert "alert(3)" in pages[1]
    plain, hostile = (Elements(page) for page in pages)
    assert hostile.counted == plain.counted
    assert not hostile.acting
    assert json.loads((tmp_path / "hostile" / "catalogue.json").read_text(encoding="utf-8"))["name"] == HOSTILE


@pytest.mark.parametrize("name", ["../../etc", "/etc/passwd", "..", "a/b", "~root", "$(reboot)", "CON", "-rf"])
def test_a_name_is_never_a_path(tmp_path: Path, name: str) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "bag.toml").write_text(SPEC.format(**PLAIN | {"name": name}), encoding="utf-8")
    kit = kit_of(tmp_path / "in" / "bag.toml")
    assert all("/" not in one.file_name("dst") and ".." not in one.file_name("dst") for one in kit.parts)
    assert read_spec(tmp_path / "in" / "bag.toml").name == name


@pytest.mark.parametrize("choice", ["..", ".", "../x", "/etc", "a/../b", "a.", " a", "", "a" * 41, "a\\\\b"])
def test_a_choice_of_a_catalogue_never_leaves_its_folder(tmp_path: Path, choice: str) -> None:
    (tmp_path / "bag.toml").write_text(SPEC.format(**PLAIN), encoding="utf-8")
    (tmp_path / "all.toml").write_text(f'base = "bag.toml"\n[axes.a]\n"{choice}" = {{}}\n', encoding="utf-8")
    with pytest.raises(SpecError, match="cannot be a choice's name"):
        make_catalogue(tmp_path / "all.toml", tmp_path / "all")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["all.toml", "bag.toml"]


LEAF = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M0 0H9V9Z"/></svg>'
SWALLOWING = {
    "dots": 'kind = "dots", pitch = 2, diameter = 1.2',
    "crosshatch": 'kind = "crosshatch", pitch = 2',
    "rings": 'kind = "rings", pitch = 4, diameter = 6',
    "petals": 'kind = "petals", pitch = 5',
    "clamshell": 'kind = "clamshell", pitch = 4',
    "scallops": 'kind = "scallops", pitch = 3, spacing = 2',
    "waves": 'kind = "waves", pitch = 3, spacing = 2',
    "chevrons": 'kind = "chevrons", pitch = 3, spacing = 2',
    "echo": 'kind = "echo", pitch = 2',
    "meander": 'kind = "meander", pitch = 3',
    "a drawing": 'kind = "artwork", svg = "leaf.svg", pitch = 2, width = 1',
    "a pitch of a thousandth": 'kind = "crosshatch", pitch = 0.001',
    "a pitch past all numbers": 'kind = "crosshatch", pitch = 1e308',
    "a long text": f'kind = "lettering", text = "{"W" * 1900}"',
}


@pytest.mark.parametrize("decoration", SWALLOWING.values(), ids=SWALLOWING.keys())
def test_a_decoration_that_would_swallow_the_machine_is_refused_in_one_line(tmp_path: Path, decoration: str) -> None:
    (tmp_path / "leaf.svg").write_text(LEAF, encoding="utf-8")
    (tmp_path / "bag.toml").write_text(
        'parts = ["corner"]\n[bag]\nwidth = 1500\nheight = 1500\n[corner]\nwidth = 740\nheight = 740\n'
        f'[style]\nprofile = "straight"\ndecoration = {{ {decoration} }}\n',
        encoding="utf-8",
    )
    with pytest.raises(SpecError, match=r"decoration") as caught:
        kit_of(tmp_path / "bag.toml")
    line = str(caught.value)
    assert "bag.toml" in line
    assert "needs to be" in line
    assert line.isprintable()
    assert len(line) < 500


@settings(max_examples=max(10, settings.default.max_examples // 4))
@given(st.text(max_size=60).filter(lambda text: text.strip() and text.isprintable() and "'" not in text))
def test_any_printable_name_is_read(name: str) -> None:
    assert spec_from_text(f"name = '{name}'\n[bag]\nwidth = 120\nheight = 140\n").name == name
