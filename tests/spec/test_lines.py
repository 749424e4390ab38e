"""The line of each key, against a plain reading of the text by eye and against the parser's own tree."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.spec.lines import key_lines


def every_path(value, path=()):
    if path:
        yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        yield from every_path(item, (*path, key))


AWKWARD = '''\
# = [not a table]
title = "a # b = [c]"      # trailing = comment

[bag] # here
"wi dth" = 3
'single.quoted' = { a = 1, "b" = [1, { c = 2 }], d.e = 3 }
text = """
[fake]
width = 1
quote \\""" still
"""
raw = \'\'\'
[fake2]
""" \\
\'\'\'
after = 1
list = [
  "one, ]",   # [comment
  [2, 3],
  { x = 1 },
]
a.b.c = 1
a.b.d = 2
empty = ""
empties = ["", \'\']
date = 1979-05-27 07:32:00
"\\u00e9\\n" = 1

[ bag . "sub" . deep ]
key=1
[[pieces]]
n = 1
[pieces.inner]
m = 1
[[pieces]]
n = 2
[[pieces.inner]]
m = 1
last = 1'''


def test_every_path_of_an_awkward_file_has_its_line():
    lines = key_lines(AWKWARD)
    assert set(lines) == set(every_path(tomllib.loads(AWKWARD)))
    written = AWKWARD.split("\n")
    for path, line in lines.items():
        key = path[-1]
        if isinstance(key, str) and key.isalnum() and key.isascii():
            assert key in written[line - 1], path
    for path, start in (
        (("bag", "after"), "after = 1"),
        (("bag", "list", 0), '  "one'),
        (("bag", "list", 2, "x"), "  { x"),
        (("bag", "single.quoted", "b", 1, "c"), "'single"),
        (("bag", "a", "b"), "a.b.c"),
        (("bag", "a", "b", "d"), "a.b.d"),
        (("bag", "é\n"), '"\\u00e9'),
        (("bag", "sub", "deep"), "[ bag ."),
        (("pieces", 0, "n"), "n = 1"),
        (("pieces", 1), "[[pieces]]"),
        (("pieces", 1, "inner", 0, "last"), "last"),
    ):
        assert written[lines[path] - 1].startswith(start), path
    assert lines["pieces", 1] > lines["pieces", 0, "inner", "m"]


def test_paths_come_in_the_order_of_the_file():
    lines = list(key_lines(AWKWARD).values())
    assert lines == sorted(lines)


def test_windows_line_ends_count_once():
    assert key_lines("a = 1\r\n[b]\r\nc = 2\r\n") == {("a",): 1, ("b",): 2, ("b", "c"): 3}


@pytest.mark.parametrize(
    "text", ['a = """x"""""', "a = ''''x'''''", 'a = """"""', 'a = "\\\\"', 'a = "\\"]"', "a = '\\'", 'a = """\\\\"""'],
)  # fmt: skip
def test_strings_end_where_the_parser_says(text):
    both = text + "\nb = 1"
    assert "b" in tomllib.loads(both)
    assert key_lines(both) == {("a",): 1, ("b",): 2}


_KEYS = st.sampled_from(["a", "b-c", '"d e"', "'f.g'", '"h\\"]"'])
_VALUES = st.recursive(
    st.sampled_from(["1", "-2.5", "true", '"x"', "'y'", '"""z\n#"""', "'''[w]\n'''", "2026-01-01", '"]"', '"}"', "''"]),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda items: "[\n" + ",\n".join(items) + "]"),
        st.lists(st.tuples(_KEYS, inner), max_size=3, unique_by=lambda pair: pair[0]).map(
            lambda pairs: "{" + ", ".join(f"{key} = {value}" for key, value in pairs) + "}"
        ),
    ),
    max_leaves=6,
)


@given(st.lists(st.tuples(st.sampled_from(["[t]\n", "[[u]]\n", "", "# c\n"]), _KEYS, _VALUES), max_size=5))
def test_any_file_has_a_line_for_every_path_of_its_tree(rows):
    text = "\n".join(f"{before}{key} = {value}" for before, key, value in rows)
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    assert set(key_lines(text)) == set(every_path(document))
