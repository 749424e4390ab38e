from pathlib import Path

import pytest

from stitchcraft.errors import ParameterError, SpecError
from stitchcraft.machine import FIELDS, FORMATS, Field, Hoop, Machine
from stitchcraft.machine.limits import limits, limits_lines
from stitchcraft.ranges import RANGES
from stitchcraft.spec import read_spec


@pytest.mark.parametrize(
    ("text", "width", "height"),
    [
        ("130x180", 130, 180), ("130 x 180 mm", 130, 180), ("130mm x 180mm", 130, 180), ("13x18 cm", 130, 180),
        ("5x7 in", 127, 177.8), ("5 1/2 in x 7 in", 139.7, 177.8), ('5"x7"', 127, 177.8), ("130×180", 130, 180),
        ("130X180", 130, 180), ("5 1/2 x 7 in", 139.7, 177.8), ("99.8x99.8", 99.8, 99.8),
    ],
)  # fmt: skip
def test_a_field_is_read_as_makers_write_it(text: str, width: float, height: float) -> None:
    hoop = Hoop.parse(text)
    assert (hoop.width, hoop.height) == pytest.approx((width, height))


@pytest.mark.parametrize(
    "text",
    ["", "130", "130x", "x180", "130x180x20", "axb", "130 by 180", "0x100", "-130x180", "9x9", "1501x100", "nanxnan",
     "infx10", "1e3x10", "130x180 furlongs", "5 1/0 x 7 in", "x" * 100, "1" * 50 + "x10", None, 130, ["130", "180"]],
)  # fmt: skip
def test_anything_else_is_refused_in_one_line_that_shows_it(text: object) -> None:
    with pytest.raises(ParameterError) as caught:
        Hoop.parse(text)  # type: ignore[arg-type]
    assert "\n" not in str(caught.value)
    assert "hoop" in str(caught.value)


def test_sides_are_lengths_in_any_unit_and_kept_in_mm() -> None:
    hoop = Hoop("13 cm", "7 in")
    assert (hoop.width, hoop.height, hoop.name) == (130.0, 177.8, "130x177.8")
    assert hoop.area == pytest.approx(130 * 177.8)
    assert Hoop.parse(hoop.name) == hoop
    assert Hoop.parse("130x180").name == "130x180"
    assert str(Hoop(100, 100)) == "100x100"


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), True, "wide", 9.99, 1000.1, -5])
def test_a_side_that_no_field_has_is_refused(bad: object) -> None:
    with pytest.raises(ParameterError, match="hoop width"):
        Hoop(bad, 100)  # type: ignore[arg-type]


def test_every_row_of_the_table_of_fields_is_different_ordered_by_area_and_sourced() -> None:
    areas = [row.hoop.area for row in FIELDS]
    assert areas == sorted(areas)
    assert len({row.hoop for row in FIELDS}) == len(FIELDS)
    assert all(row.source for row in FIELDS)
    # trade tables: a field labelled 4x4 is 100 mm, and a square of 4.00 in (101.6 mm) does not fit it
    four = next(row.hoop for row in FIELDS if row.name == "4x4 frame")
    assert four.width < 4 * 25.4


@pytest.mark.parametrize("row", FIELDS, ids=lambda row: row.name)
def test_a_field_is_taken_by_the_name_of_its_frame_here_and_in_a_spec(row: Field, tmp_path: Path) -> None:
    assert Hoop.parse(row.name) == Hoop.parse(f" {row.name.upper()} ") == row.hoop
    spec = tmp_path / "bag.toml"
    spec.write_text(f'[bag]\nwidth = 300\nheight = 250\n[machine]\nhoops = ["{row.name}"]\n', encoding="utf-8")
    assert Machine(hoops=read_spec(spec).machine.hoops or ()).hoops == (row.hoop,)


def test_spec_and_classes_hold_a_side_of_a_field_to_one_range(tmp_path: Path) -> None:
    least, most = RANGES["machine.hoops"]
    for side in (least, most):
        assert Hoop(side, 100).width == side
    for side in (least - 0.1, most + 0.1):
        with pytest.raises(ParameterError):
            Hoop(side, 100)
        spec = tmp_path / "bag.toml"
        spec.write_text(f'[bag]\nwidth = 300\nheight = 250\n[machine]\nhoops = ["{side}x100"]\n', encoding="utf-8")
        with pytest.raises(SpecError, match=f"from {least:g} to {most:g}"):
            read_spec(spec)


def test_limits_are_listed_with_every_field_and_every_format() -> None:
    values = limits()
    assert [row["name"] for row in values["fields"]] == [row.name for row in FIELDS]
    assert [row["name"] for row in values["formats"]] == list(FORMATS)
    # a DST record moves by 81 + 27 + 9 + 3 + 1 units of 0.1 mm at most: public descriptions of the format
    assert values["longest_stitch_mm"] == pytest.approx(12.1)
    assert values["trim_over_mm"] == Machine().trim_over
    text = "\n".join(limits_lines())
    assert f"jumps longer than {Machine().trim_over:g} mm" in text
    assert all(row.name in text and row.hoop.name in text for row in FIELDS)
    assert all(f"  {name}  " in text for name in FORMATS)


def test_a_machine_takes_fields_as_text_and_keeps_their_order() -> None:
    machine = Machine(hoops=["130x180", Hoop(100, 100)], formats=["dst"], speed=650, trims=False, trim_over="1/4 in")
    assert machine.hoops == (Hoop(130, 180), Hoop(100, 100))
    assert machine.trim_over == pytest.approx(6.35)
    assert set(Machine().formats) <= set(FORMATS)


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"hoops": []}, "hoops"), ({"hoops": "130x180"}, "hoops"), ({"hoops": ["130x180", "130 x 180"]}, "once"),
        ({"hoops": [3]}, "hoop"), ({"formats": []}, "formats"), ({"formats": "dst"}, "formats"),
        ({"formats": ["doc"]}, "dst"), ({"formats": ["dst", "dst"]}, "once"), ({"formats": [None]}, "formats"),
        ({"speed": 0}, "speed"), ({"speed": float("nan")}, "speed"), ({"speed": "fast"}, "speed"),
        ({"trims": 1}, "trims"), ({"trim_over": -1}, "trim_over"),
    ],
)  # fmt: skip
def test_a_machine_that_cannot_be_is_refused_by_name(changes: dict[str, object], word: str) -> None:
    with pytest.raises(ParameterError, match=word):
        Machine(**changes)  # type: ignore[arg-type]
