"""A cover stitch has to hide the cut edge."""

import pytest

from stitchcraft.bag import Bag
from stitchcraft.decoration import NoDecoration
from stitchcraft.family import Family, Style
from stitchcraft.parts import Edge


def codes(edge):
    family = Family(bag=Bag(width=300, height=260), style=Style(edge=edge, decoration=NoDecoration()))
    return {(finding.code, finding.part) for finding in family.findings()}


def test_narrow_cover_is_found_on_each_applique_and_the_remedy_helps():
    # a border of 2 mm: Images (UK), February 2022, p. 69
    assert codes(Edge(width=1.5)) == {("cover-narrow", "corner-left"), ("cover-narrow", "connector-front")}
    assert codes(Edge(width=2.0)) == set()


@pytest.mark.parametrize("width", [1, 3.5])
def test_edge_that_is_meant_to_show_needs_no_width(width):
    assert codes(Edge(kind="triple", width=width)) == set()
