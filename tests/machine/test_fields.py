import pytest

from stitchcraft.errors import ParameterError
from stitchcraft.machine import FIELDS, FORMATS, Hoop, Machine


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


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), True, "wide", 9.99, 1500.1, -5])
def test_a_side_that_no_field_has_is_refused(bad: object) -> None:
    with pytest.raises(ParameterError, match="hoop width"):
        Hoop(bad, 100)  # type: ignore[arg-type]


def test_every_row_of_the_table_of_fields_is_different_ordered_by_area_and_sourced() -> None:
    areas = [row.hoop.area for row in FIELDS]
    assert areas == sorted(areas)
    assert len({row.hoop for row in FIELDS}) == len(FIELDS)
    assert all(row.source for row in FIELDS)
    # trade tables: a field labelled 4x4 is 100 mm, and a square of 4.00 in (101.6 mm) does not fit it
    four = next(row.hoop for row in FIELDS if row.label == "4x4")
    assert four.width < 4 * 25.4


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
