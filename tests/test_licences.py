"""The table of libraries in the contributors' guide is true: all that a plain install needs, under their licences."""

import re
from importlib.metadata import metadata
from pathlib import Path

import pytest

from stitchcraft.catalogue.records import library_releases

GUIDE = (Path(__file__).parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")
SECTION = GUIDE.split("## Libraries and their licences")[1].split("\n## ")[0]
LISTED = dict(re.findall(r"^\| ([A-Za-z][\w-]+) \| ([\w.-]+) \| .*\|$", SECTION, re.MULTILINE)[1:])


def licence_of(name: str) -> str:
    """What the library itself says."""
    said = metadata(name)
    kinds = [line.split("::")[-1] for line in said.get_all("Classifier") or [] if line.startswith("License")]
    return " ".join([said.get("License-Expression") or "", (said.get("License") or "")[:200], *kinds])


def test_the_table_lists_all_that_a_plain_install_needs() -> None:
    assert {name.lower() for name in LISTED} == {name.lower() for name in library_releases()}


@pytest.mark.parametrize("name", LISTED)
def test_a_library_is_under_the_licence_that_the_table_names(name: str) -> None:
    words = licence_of(name)
    # older releases write the same licence out in words
    family = LISTED[name].split("-")[0]
    assert LISTED[name] in words or family in words
    assert "GPL" not in words.replace("LGPL", "")
