"""The reader: what a spec comes to, and that whatever is wrong is said in one line that names place and remedy."""

from __future__ import annotations

import contextlib
import os
import random
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.defaults import FABRICS, DirectedPull, FabricProfile
from stitchcraft.errors import ParameterError, SpecError
from stitchcraft.spec import Spec, read_spec, spec_from_text
from stitchcraft.spec.words import DECORATION_KEYS

BAG = "[bag]\nwidth = 350\nheight = 300\n"

FULL = """\
name  = "Heron tote"
units = "in"
parts = ["tab", "corner"]

[bag]
width = 14
height = 12
depth = 4
seam = "1/4 in"
lining_seam = "1/2 in"
wall = "4 mm"
top = "bound"
binding = { strip = "2 1/2 in", depth = "1/4 in", overlap = "4 in" }
shaping = { down = "1 1/2 in", over = "2 in" }
straps = { spacing = 6, width = 1 }

[machine]
hoops = ["130x180", "100x100"]
formats = ["dst", "pes", "jef", "exp", "vp3"]
speed = 650
trims = true

[material]
fabric = "quilting cotton"
thread = 40
palette = { accent = "#2f5d62", edge = "#D9A441" }

[style]
decoration = { kind = "dots", pitch = "7 mm", diameter = "3 mm" }
edge = { kind = "satin", width = "3.5 mm" }
profile = "scallop"

[tab]
width = 3
tip = "ogee"
snap = { diameter = "18 mm", inset = "1 in", prongs = "10 mm" }
decoration = { kind = "rings", pitch = "12 mm" }
slant = 5

[closure]
drop = "3 in"

[corner]
width = 4
height = 4

[connector]
layout = "bridge"
height = "2 in"

[label]
text = "Made at the pier"
width = "60 mm"
"""


def told(name: str) -> list[tuple[str, str]]:
    """The blocks of a file of specs and what is said about them."""
    blocks = (Path(__file__).parent / name).read_text(encoding="utf-8").split("\n----\n")[1:]
    return [(text, said.strip()) for text, said in (block.split("=> ") for block in blocks)]


def refusal(text: str, **options) -> SpecError:
    with pytest.raises(SpecError) as caught:
        spec_from_text(text, source="bag.toml", **options)
    return caught.value


# -- what is read ---------------------------------------------------------------------------------------


def test_a_whole_spec_comes_out_in_mm():
    spec = spec_from_text(FULL)
    assert spec.name == "Heron tote"
    assert spec.parts == ("tab", "corner")
    assert spec.bag.width == pytest.approx(355.6)  # 14 in at 25.4 mm
    assert spec.bag.depth == pytest.approx(101.6)
    assert spec.bag.seam == pytest.approx(6.35)
    assert spec.bag.wall == pytest.approx(4.0)
    assert spec.bag.binding.strip == pytest.approx(63.5)
    assert spec.bag.shaping is not None
    assert spec.bag.shaping.down == pytest.approx(38.1)
    assert spec.bag.straps.spacing == pytest.approx(152.4)
    assert spec.machine.hoops == ("130x180", "100x100")
    assert spec.machine.formats == ("dst", "pes", "jef", "exp", "vp3")
    assert spec.machine.speed == 650
    assert spec.machine.trims is True
    assert spec.material.fabric == "quilting cotton"
    assert spec.material.palette.edge == "#d9a441"
    assert spec.style.decoration is not None
    assert spec.style.decoration.given() == {"kind": "dots", "pitch": 7.0, "diameter": 3.0}
    assert spec.style.edge is not None
    assert spec.style.edge.given() == {"kind": "satin", "width": 3.5}
    assert spec.tab.tip.given() == {"name": "ogee"}
    assert spec.tab.snap.inset == pytest.approx(25.4)
    assert spec.tab.decoration is not None
    assert spec.tab.decoration.kind == "rings"
    assert spec.closure.drop == pytest.approx(76.2)
    assert spec.label.text == "Made at the pier"


def test_a_bag_alone_leaves_everything_else_open():
    spec = spec_from_text(BAG)
    assert spec.bag.given() == {
        "width": 350.0, "height": 300.0, "depth": 0.0, "binding": spec.bag.binding, "straps": spec.bag.straps,
    }  # fmt: skip
    assert spec.style.given() == {"profile": spec.style.profile}
    for table in (spec.machine, spec.style.profile, spec.closure, spec.corner, spec.connector, spec.label,
                  spec.bag.binding, spec.bag.straps, spec.material.palette, spec.tab.snap, spec.tab.tip):  # fmt: skip
        assert table.given() == {}
    assert spec.bag.shaping is None
    assert spec.units == "mm"


def test_an_empty_shaping_table_takes_the_usual_places():
    spec = spec_from_text(BAG + "shaping = {}\n")
    assert spec.bag.shaping is not None
    assert (spec.bag.shaping.down, spec.bag.shaping.over) == (38.1, 50.8)  # 1 1/2 in and 2 in: common practice


@pytest.mark.parametrize(
    ("units", "written", "mm"),
    [
        ("in", "14", 355.6), ("cm", "35.5", 355.0), ("mm", "355", 355.0), ("mm", '"14 in"', 355.6),
        ("in", '"14"', 355.6), ("in", '"35.5 cm"', 355.0), ("mm", '"14 1/2 in"', 368.3), ("cm", '"14½ in"', 368.3),
    ],
)  # fmt: skip
def test_a_length_counts_in_its_own_unit_or_the_files(units, written, mm):
    assert spec_from_text(
        f'units = "{units}"\nbag = {{ width = {written}, height = "30 cm" }}'
    ).bag.width == pytest.approx(mm)


def test_words_stand_for_tables_with_nothing_else_in_them():
    one = spec_from_text(BAG + '[style]\ndecoration = "echo"\nedge = "triple"\n[tab]\ntip = "leaf"')
    other = spec_from_text(
        BAG + '[style]\ndecoration = { kind = "echo" }\nedge = { kind = "triple" }\n[tab]\ntip = { name = "leaf" }'
    )
    assert one == other


def test_tables_written_in_any_way_read_the_same():
    dotted = 'tab.snap.inset = 25\ntab.tip = "leaf"\nbag.width = 350\nbag.height = 300'
    headed = BAG + '[tab]\ntip = "leaf"\n[tab.snap]\ninset = 25'
    assert spec_from_text(dotted) == spec_from_text(headed)


def test_a_spec_is_hashable_and_cannot_be_changed():
    spec = spec_from_text(FULL)
    assert hash(spec) == hash(spec_from_text(FULL))
    with pytest.raises(AttributeError):
        spec.bag.width = 3.0  # type: ignore[misc]


def test_a_fabric_of_ones_own_is_a_profile_in_mm_whatever_the_unit():
    text = 'units = "in"\nbag = { width = 14, height = 12 }\n[material]\n'
    fabric = 'fabric = { name = "my linen", pull = 0.15, satin_pitch = "0.42 mm", underlay = false }'
    profile = spec_from_text(text + fabric).material.fabric
    assert isinstance(profile, FabricProfile)
    assert (profile.name, profile.pull, profile.satin_pitch, profile.underlay) == ("my linen", 0.15, 0.42, False)
    assert profile.fill_length == FABRICS["quilting cotton"].fill_length


def test_a_fabric_may_hold_the_pull_by_direction():
    text = """bag = { width = 300, height = 300 }
[material]
fabric = { name = "my linen", strain = 0.01, directions = [
    { angle = 0, pull = 0.1, pull_share = 0.02 },
    { angle = 90, pull = "0.2 mm", pull_share = 0.01 },
] }"""
    profile = spec_from_text(text).material.fabric
    assert profile.directions == (DirectedPull(0, 0.1, 0.02), DirectedPull(90, 0.2, 0.01))
    assert profile.strain == 0.01


@pytest.mark.parametrize(
    ("fabric", "says"),
    [
        ("directions = 3", "4: material.fabric.directions is 3; it needs to be a list"),
        ("directions = [{ angle = 0, pul = 1, pull_share = 0 }]", 'not a key here; did you mean "pull"?'),
        ("directions = [{ angle = 0, pull_share = 0 }]", "directions.pull, item 1 is missing"),
        ("directions = [{ angle = 0, pull = 3, pull_share = 0 }]", "directions.pull, item 1 is 3"),
        (
            "directions = [{ angle = 0, pull = 0, pull_share = 0 }, { angle = 180, pull = 0, pull_share = 0 }]",
            "directions of which no two are the same",
        ),
        ("strain = 0.5", "strain is 0.5; it needs to be a number from 0 to 0.1"),
    ],
)
def test_a_pull_by_direction_that_cannot_be_used_is_named(fabric, says):
    text = f'bag = {{ width = 300, height = 300 }}\n\n[material]\nfabric = {{ name = "mine", {fabric} }}'
    with pytest.raises(SpecError) as refused:
        spec_from_text(text)
    assert says in str(refused.value)


def test_artwork_is_found_beside_the_spec(tmp_path):
    (tmp_path / "art").mkdir()
    (tmp_path / "art" / "tip.svg").write_text("<svg/>")
    file = tmp_path / "bag.toml"
    file.write_text(BAG + '[tab]\ntip = { svg = "art/tip.svg" }')
    assert read_spec(file).tab.tip.svg == tmp_path / "art" / "tip.svg"


def test_what_only_repeats_have_needs_a_pitch(tmp_path):
    (tmp_path / "fern.svg").write_text("<svg/>")
    art = '[style]\ndecoration = { kind = "artwork", svg = "fern.svg", edge = "clip", layout = "square"'
    with pytest.raises(SpecError) as refused:
        spec_from_text(BAG + art + " }", folder=tmp_path)
    assert [line.split(": ")[1] for line in refused.value.problems] == [
        f"style.decoration.{key} needs pitch beside it" for key in ("edge", "layout")
    ]
    spec = spec_from_text(BAG + art + ", pitch = 30 }", folder=tmp_path)
    assert spec.style.decoration.edge == "clip"


def test_threads_of_drawings_and_shifts_are_kept_as_pairs():
    spec = spec_from_text(
        BAG + '[material]\npalette = { drawn = { "#C03020" = "accent", "#00ff00" = "#0000FF" } }\n'
        '[style]\ndecoration = { kind = "rings", shift = [3, "-1/4 in"] }'
    )  # fmt: skip
    assert spec.material.palette.drawn == (("#c03020", "accent"), ("#00ff00", "#0000ff"))
    assert spec.style.decoration.shift == (3.0, -6.35)


def test_a_byte_order_mark_and_windows_line_ends_are_fine(tmp_path):
    file = tmp_path / "bag.toml"
    file.write_bytes(b"\xef\xbb\xbf" + BAG.replace("\n", "\r\n").encode())
    assert read_spec(str(file)).bag.width == 350.0


def test_reading_twice_gives_equal_specs():
    assert spec_from_text(FULL) == spec_from_text(FULL)


# -- what is refused ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("text", "line"), told("messages.txt"))
def test_one_line_names_place_key_value_and_what_is_allowed(text, line):
    error = refusal(text)
    assert str(error) == line
    assert error.problems == (line,)


def test_the_first_problem_in_the_file_is_told_and_the_rest_kept():
    error = refusal("[tab]\nslant = 90\n[bag]\nwidth = 350\nheight = 0\n[machine]\nsped = 3\n")
    assert str(error).startswith("bag.toml:2: tab.slant is 90; ")
    assert str(error).endswith(" (and 2 more)")
    assert [problem.split(" ")[0] for problem in error.problems] == ["bag.toml:2:", "bag.toml:5:", "bag.toml:7:"]


@pytest.mark.parametrize(("more", "said"), told("contradictions.txt"))
def test_sizes_that_cannot_be_true_together_are_named_together(more, said):
    error = refusal('units = "in"\n[bag]\nwidth = 14\nheight = 12\n' + more)
    assert error.problems[0].split(": ", 1)[1] == said


@pytest.mark.parametrize(
    "more",
    [
        "depth = 13.9\nheight = 20", "straps = { spacing = 13, width = 1 }", "shaping = { over = 6.9 }",
        "height = 12\n[tab]\nwidth = 14", "height = 12\n[corner]\nwidth = 7",
        "height = 12\ndepth = 4\n[corner]\nwidth = 2.1",        "height = 12\n[closure]\ndrop = 11.9",
    ],
)  # fmt: skip
def test_sizes_just_inside_their_limits_are_fine(more):
    height = "" if "height" in more else "height = 12\n"
    assert spec_from_text('units = "in"\n[bag]\nwidth = 14\n' + height + more).bag.width == pytest.approx(355.6)


@pytest.mark.parametrize("kind", [kind for kind in DECORATION_KEYS if kind != "artwork"])
def test_every_kind_of_decoration_takes_its_keys_and_no_others(kind):
    values = {
        "pitch": "8",
        "diameter": "4",
        "angle": "45",
        "seed": "3",
        "stitch": '"triple"',
        "inset": "1",
        "width": "30",
    }
    for key, value in values.items():
        needed = 'text = "ARK", ' if "text" in DECORATION_KEYS[kind] else ""
        text = f'{BAG}[style]\ndecoration = {{ kind = "{kind}", {needed}{key} = {value} }}'
        if key in DECORATION_KEYS[kind]:
            decoration = spec_from_text(text).style.decoration
            assert decoration is not None
            assert set(decoration.given()) - {"text"} == {"kind", key}
        else:
            assert f'{key} is not a key for "{kind}"' in str(refusal(text))


# -- files ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "written",
    [
        "../tip.svg",
        "/etc/tip.svg",
        "art/../../tip.svg",
        "art/../tip.svg",
        "C:/tip.svg",
        "art\\\\tip.svg",
        "tip.png",
        "",
        " ",
        "a\\u0000.svg",
    ],
)
def test_artwork_outside_the_folder_is_refused(tmp_path, written):
    (tmp_path / "tip.svg").write_text("<svg/>")
    (tmp_path / "tip.png").write_text("x")
    folder = tmp_path / "bag"
    folder.mkdir()
    error = refusal(f'{BAG}[tab]\ntip = {{ svg = "{written}" }}', folder=folder)
    assert "an SVG file in the spec's own folder or below it" in str(error)


def test_artwork_behind_a_link_out_of_the_folder_is_refused(tmp_path):
    (tmp_path / "tip.svg").write_text("<svg/>")
    folder = tmp_path / "bag"
    folder.mkdir()
    (folder / "tip.svg").symlink_to(tmp_path / "tip.svg")
    assert "own folder" in str(refusal(BAG + '[tab]\ntip = { svg = "tip.svg" }', folder=folder))


def test_files_that_are_no_specs_get_one_clear_line(tmp_path):
    for name, content, said in (
        ("latin.toml", "# b\xe9\n[bag]\n".encode("latin-1"), ":1: this is not UTF-8 text; save the file as UTF-8"),
        ("large.toml", b"#" * 100_001, ": this is larger than 100,000 bytes; a spec takes a few thousand"),
        ("binary.toml", bytes(range(32)), ":1: this is not TOML: this is neither a key with a value nor a [table]"),
        ("long.toml", b"a=1\nb='" + b"x" * 3000 + b"'", ":2: this line is longer than 2,000 characters"),
    ):
        file = tmp_path / name
        file.write_bytes(content)
        with pytest.raises(SpecError) as caught:
            read_spec(file)
        assert str(caught.value) == f"{file}{said}"


def test_missing_files_folders_and_devices_get_one_clear_line(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    for path, said in (
        (tmp_path / "none.toml", "there is no such file"),
        (tmp_path, "this is a folder; a spec is a TOML file"),
        (tmp_path / "pipe.toml", "this is not a plain file; a spec is a TOML file"),
        ("a\0b.toml", "there is no such file"),
        ("x" * 300, "this cannot be read: file name too long"),
    ):
        with pytest.raises(SpecError) as caught:
            read_spec(path)
        assert str(caught.value).endswith(f": {said}")
        assert "\n" not in str(caught.value)
    with pytest.raises(ParameterError):
        read_spec(5)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 900 + "]" * 900,
        ".".join("a" * 900) + " = 1",
        "a = [[[[[[[[[[1]]]]]]]]]]",
        "[" + ".".join("a" * 900) + "]",
    ],
)
def test_deep_nesting_is_refused(text):
    assert "nested too deeply" in str(refusal(text))


def test_thousands_of_digits_are_refused():
    # the interpreter itself refuses to read an integer of more than 4300 digits
    assert "more than 18 digits" in str(refusal(f"[bag]\nwidth = {'9' * 1900}\nheight = 300"))
    assert "longer than 2,000 characters" in str(refusal(f"[bag]\nwidth = {'9' * 5000}\nheight = 300"))


def test_the_package_is_cheap_to_import():
    heavy = ("pydantic", "scipy", "shapely", "svgpathtools")
    code = f"import sys, stitchcraft.spec; print([name for name in {heavy} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


# -- nothing else ever escapes --------------------------------------------------------------------------

_SCRAPS = (
    "[bag]", "[[bag]]", "[bag.straps]", "width", "height", "=", " = ", "14", "-3", "nan", '"2 in"', '"', "'''", '"""',
    "{", "}", "[", "]", ",", ".", "\n", "#", "units", '"in"', "true", "2026-01-01", "1e999",
    "0x7fffffffffffffffffff", "\\", "\t", "é", "\0",
)  # fmt: skip


def read_or_refused(text: str) -> Spec | None:
    try:
        return spec_from_text(text)
    except SpecError as error:
        for line in (str(error), *error.problems):
            if len(line.splitlines()) != 1 or len(line) > 1000:
                raise AssertionError(line) from error
        return None


@given(st.lists(st.sampled_from(_SCRAPS), max_size=30).map("".join))
def test_scraps_of_toml_are_read_or_refused(text):
    read_or_refused(text)


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text):
    read_or_refused(text)


@given(data=st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(tmp_path_factory, data):
    file = tmp_path_factory.mktemp("specs") / "bag.toml"
    file.write_bytes(data)
    with contextlib.suppress(SpecError):
        assert isinstance(read_spec(file), Spec)


@given(seed=st.integers(0, 2**32), times=st.integers(1, 4))
def test_mutated_specs_are_read_or_refused(seed, times):
    text = FULL
    dice = random.Random(seed)
    for _ in range(times):
        at, length = dice.randrange(len(text)), dice.choice((0, 1, 1, 5, 20))
        text = text[:at] + dice.choice((*_SCRAPS, "")) + text[at + length :]
    read_or_refused(text)


_VALUES = st.recursive(
    st.one_of(
        st.integers(-(10**20), 10**20), st.floats(), st.booleans(), st.dates(),
        st.text(st.characters(blacklist_categories=["Cs"]), max_size=10),
        st.sampled_from(["dots", "ogee", "2 in", "130x180", "#ffffff", "quilting cotton", "../a.svg"]),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.sampled_from(["kind", "name", "width", "x"]), inner, max_size=3)
    ),
    max_leaves=4,
)  # fmt: skip


def toml_value(value) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(letter):08x}" for letter in value) + '"'
    if isinstance(value, list):
        return "[" + ", ".join(map(toml_value, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {toml_value(item)}" for key, item in value.items()) + "}"
    return str(value)


def all_paths(table: dict, path: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    found = []
    for key, value in table.items():
        found.append((*path, key))
        if isinstance(value, dict):
            found.extend(all_paths(value, (*path, key)))
    return found


@given(path=st.sampled_from(all_paths(tomllib.loads(FULL))), value=_VALUES)
def test_any_value_under_any_key_is_read_or_named(path, value):
    document = tomllib.loads(FULL)
    table = document
    for key in path[:-1]:
        table = table[key]
    table[path[-1]] = value
    text = "\n".join(f"{key} = {toml_value(item)}" for key, item in document.items())
    assert tomllib.loads(text).keys() == document.keys()  # the writer above writes TOML
    read_or_refused(text)


@pytest.mark.parametrize("kind", ["[]", "{}", "[1]", "{ kind = 1 }", "2026-01-02"])
@pytest.mark.parametrize("place", ["tab.fastener", "tab.decoration", "style.edge", "label.text", "connector.layout"])
def test_a_kind_that_is_no_word_is_named(place, kind):
    table, key = place.split(".")
    whole = kind if key in ("text", "layout") else f"{{ kind = {kind} }}"
    assert f"{table}.{key}" in str(refusal(f"{BAG}[{table}]\n{key} = {whole}"))
