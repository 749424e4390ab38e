"""The spec that a maker starts from: it reads, and it has every key of the schema."""

from __future__ import annotations

import re
import tomllib
from dataclasses import fields, is_dataclass
from typing import get_args, get_type_hints

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from stitchcraft.errors import ParameterError
from stitchcraft.spec import Spec, read_spec, spec_from_text, spec_text, words
from stitchcraft.spec.fabric_key import FABRIC_KEYS
from stitchcraft.spec.part_tables import DecorationTable, FastenerTable

TOP = ("name", "units", "parts")


def schema_keys(table: type = Spec, path: tuple[str, ...] = ()) -> set[tuple[str, ...]]:
    found = set()
    for name, hint in get_type_hints(table).items():
        if name not in {field.name for field in fields(table)}:
            continue
        inner = next((kind for kind in (hint, *get_args(hint)) if is_dataclass(kind) and isinstance(kind, type)), None)
        found.add((*path, name))
        # the keys of a decoration and of a fastener depend on its kind: they have tests of their own
        if inner is not None and inner not in (DecorationTable, FastenerTable) and name != "fabric":
            found |= schema_keys(inner, (*path, name))
    return found


def uncommented() -> list[str]:
    """The template with every commented key live: one spec for each, since many exclude one another."""
    lines = spec_text().splitlines()
    specs = []
    for at, line in enumerate(lines):
        if re.match(r"# [a-z_]+\s*= ", line):
            key = line[2:].split("=")[0].strip()
            table = next((i for i in range(at, -1, -1) if lines[i].startswith("[")), 0)
            rest = [
                # the live line of the same key would stand twice
                "" if table < i and re.match(rf"{key}\s*=", other) and not any(
                    lines[k].startswith("[") for k in range(table + 1, i + 1)) else other
                for i, other in enumerate(lines)
            ]  # fmt: skip
            specs.append("\n".join([*rest[:at], line[2:], *rest[at + 1 :]]))
    return specs


def paths_of(document: dict, path: tuple[str, ...] = ()) -> set[tuple[str, ...]]:
    found = set()
    for key, value in document.items():
        found.add((*path, key))
        if isinstance(value, dict):
            found |= paths_of(value, (*path, key))
    return found


def test_the_template_reads_as_it_stands(tmp_path):
    file = tmp_path / "new.toml"
    file.write_text(spec_text("Heron tote"), encoding="utf-8")
    spec = read_spec(file)
    assert spec.name == "Heron tote"
    assert spec.units == "in"
    assert spec.bag.width == pytest.approx(14 * 25.4)


@pytest.mark.parametrize("text", [pytest.param(text, id=str(i)) for i, text in enumerate(uncommented())])
def test_every_commented_key_reads_once_it_is_live(text, tmp_path):
    (tmp_path / "art").mkdir()
    for name in ("tip", "heron", "profile"):
        (tmp_path / "art" / f"{name}.svg").write_text("<svg/>")
    (tmp_path / "art" / "letters.otf").write_bytes(b"")
    assert isinstance(spec_from_text(text, folder=tmp_path), Spec)


def test_every_key_of_the_schema_is_in_the_template():
    shown = set()
    for text in (spec_text(), *uncommented()):
        shown |= paths_of(tomllib.loads(text))
    assert schema_keys() - shown == set()


def test_every_word_that_a_key_takes_is_in_the_template():
    text = spec_text()
    for choices in (words.UNITS, words.TOPS, words.PARTS, words.FORMATS, words.EDGES, words.PROFILES, words.TIPS,
                    words.LAYOUTS, words.ENDS, words.DIRECTIONS, words.OUTLINES, words.FACES, words.STITCHES,
                    words.FRAMES, words.DECORATIONS):  # fmt: skip
        assert [word for word in choices if not re.search(rf"\b{re.escape(word)}\b", text)] == []


@pytest.mark.parametrize("kind", [kind for kind in words.DECORATIONS if kind != "none"])
def test_the_template_shows_each_decoration_with_all_its_keys(kind):
    lines = [line for line in spec_text().splitlines() if f'# decoration = {{ kind = "{kind}"' in line]
    keys = [set(tomllib.loads(line[2:])["decoration"]) for line in lines]
    # of keys that cannot stand together, such as face and font, each is on a line of its own
    assert {"kind", *words.DECORATION_KEYS[kind]} == set().union(*keys)


@pytest.mark.parametrize("kind", words.FASTENERS)
def test_the_template_shows_each_fastener_with_all_its_keys(kind):
    (line,) = [line for line in spec_text().splitlines() if f'# fastener = {{ kind = "{kind}"' in line]
    assert set(tomllib.loads(line[2:])["fastener"]) == {"kind", *words.FASTENER_KEYS[kind]}


def test_the_template_shows_every_key_of_a_fabric():
    line = next(line for line in spec_text().splitlines() if line.startswith("# fabric ="))
    assert set(tomllib.loads(line[2:])["fabric"]) == set(FABRIC_KEYS)


@example('a "b" \\ c\\')
@given(st.text(min_size=1, max_size=80).filter(lambda name: name.isprintable() and name.strip()))
def test_any_printable_name_survives(name):
    assert spec_from_text(spec_text(name)).name == name


@pytest.mark.parametrize("name", ["", "  ", "a\nb", "x" * 81, "\x07", 5])
def test_other_names_are_refused(name):
    with pytest.raises(ParameterError, match="printable characters"):
        spec_text(name)
