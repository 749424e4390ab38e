"""A kit shows itself at a glance."""

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest

from stitchcraft.bag import Bag, Shaping
from stitchcraft.errors import Finding, Level
from stitchcraft.family import Family
from stitchcraft.kit import build_kit
from stitchcraft.machine import Hoop, Machine

HOSTILE = "<b>Teal</b> & tern"


@pytest.fixture(scope="module")
def kit():
    bag = Bag(width=300, height=240, shaping=Shaping(down=30, over=40))
    family = Family(bag=bag, parts=("shaping-marks",), name=HOSTILE)
    return build_kit(family, Machine(hoops=["100x100"], formats=["dst"]))


def tables(kit):
    return ET.fromstring(f"<page>{kit._repr_html_()}</page>").findall("table")


def test_parts_proofs_and_findings_each_have_a_table(kit):
    parts, proofs, findings = tables(kit)
    cells = [cell.text for cell in parts.iter("td")]
    assert cells[:3] == ["shaping-marks", "100x100", "1"]
    assert cells[3] == f"{kit.parts[0].plan.stitches:,}"
    assert [cell.text for cell in proofs.iter("td")][3] == "holds"
    assert [cell.text for cell in findings.iter("td")][-1] == "No findings."


def test_the_bags_name_is_shown_as_text(kit):
    assert tables(kit)[0].find("caption").text == HOSTILE
    assert not re.search("<b>", kit._repr_html_())


def test_a_broken_promise_is_plain_to_see(kit):
    finding = Finding(Level.ERROR, "hoop-fit", "shaping-mark", "It fits at no angle.")
    small = build_kit(kit.family, Machine(hoops=[Hoop(10, 10)], formats=["dst"]))
    assert "FAILS" in small._repr_html_()
    assert "none large enough" in small._repr_html_()
    worse = replace(kit, findings=(finding,))
    assert next(cell.text for cell in tables(worse)[2].iter("td")) == "error"


def test_repr_is_one_line(kit):
    assert repr(kit) == f"<Kit {HOSTILE!r}: 1 parts, 1 of 1 proofs hold, 0 findings>"
