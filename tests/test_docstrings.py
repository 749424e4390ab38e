"""The examples in docstrings give what they say."""

import doctest
import importlib
import pkgutil

import pytest

import stitchcraft

MODULES = ["stitchcraft"] + [
    found.name
    for found in pkgutil.walk_packages(stitchcraft.__path__, "stitchcraft.")
    if not found.name.endswith("__main__")
]
FINDER = doctest.DocTestFinder(exclude_empty=True)
EXAMPLES = {
    test.name: test for name in MODULES for test in FINDER.find(importlib.import_module(name), name) if test.examples
}


def test_there_are_examples_of_lengths_fields_and_plans():
    assert {"stitchcraft", "stitchcraft.units.to_mm", "stitchcraft.machine.fields.Hoop.parse"} <= EXAMPLES.keys()


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_an_example_in_a_docstring_is_true(name):
    said: list[str] = []
    result = doctest.DocTestRunner().run(EXAMPLES[name], out=said.append)
    assert result.failed == 0, "".join(said)
