"""What a kit costs is what it takes times what the maker pays, and is told where she says what she pays."""

import pytest

from stitchcraft.errors import ParameterError, SpecError
from stitchcraft.kit.make import kit_of
from stitchcraft.kit.papers import papers_of, sheet_of
from stitchcraft.kit.report import report_of
from stitchcraft.machine import hands_on_minutes, minutes, thread_metres
from stitchcraft.machine.costs import PRICED, Amounts, Prices, costs_of
from stitchcraft.paper.costs import amounts_of

SPEC = """
parts = ["tab", "corner", "shaping-marks"]
[bag]
width = 240
height = 200
shaping = {}
[machine]
formats = ["exp"]
hoops = ["200x300"]
[style]
decoration = { kind = "crosshatch", pitch = 12 }
"""
PRICES = """
[prices]
currency = "EUR"
thread = 0.008
cloth = 14
stabilizer = 4
fastener = 1.2
hour = 20
"""


@pytest.fixture(scope="module")
def make(tmp_path_factory):
    def made(text):
        path = tmp_path_factory.mktemp("costs") / "bag.toml"
        path.write_text(text, encoding="utf-8")
        return kit_of(path)

    return made


@pytest.fixture(scope="module")
def priced(make):
    return make(SPEC + PRICES)


def test_the_sum_is_that_of_a_sheet_of_paper():
    # 40 m at 0.01, half a square metre at 12.50, two fasteners at 1.20, a quarter of an hour at 20
    amounts = Amounts(thread=40, bobbin=25, cloth=0.5, stabilizer=0.3, fastener=2, hour=0.25)
    costs = costs_of(amounts, Prices(thread=0.01, cloth=12.5, fastener=1.2, hour=20))
    assert [line.cost for line in costs.lines] == [0.40, 6.25, 2.40, 5.00]
    assert costs.total == 14.05
    assert costs_of(amounts, Prices()).lines == ()


@pytest.mark.parametrize("key", PRICED)
def test_each_price_counts_by_itself_and_in_proportion(key):
    amounts = Amounts(thread=40, bobbin=25, cloth=0.5, stabilizer=0.3, fastener=2, hour=0.25)
    once, twice = (costs_of(amounts, Prices(**{key: price})).total for price in (10, 20))
    assert once == pytest.approx(10 * getattr(amounts, key))
    assert twice == pytest.approx(2 * once)


def test_amounts_are_those_of_every_hooping(priced):
    sheet = sheet_of(priced)
    amounts = amounts_of(sheet)
    times = {one.name: max(1, len(one.part.placements)) for one in priced.parts}
    assert times["corner-left"] == 2
    assert times["shaping-marks"] == 4
    thread = sum(thread_metres(one.plan).top_m * times[one.name] for one in priced.parts)
    assert amounts.thread == pytest.approx(1.15 * thread)
    spent = sum(
        times[one.name] * (minutes(one.plan, priced.machine) + hands_on_minutes(one.plan, priced.machine))
        for one in priced.parts
    )
    assert amounts.hour == pytest.approx(spent / 60)
    assert amounts.fastener == 1 + 2  # the tab's, and two sets of shaping snaps
    # 2 panels, 2 linings and a binding of a bag of 240 x 200, and the hoop's margin around
    assert 2 * 2 * 0.24 * 0.2 < amounts.cloth < 1.5
    assert amounts.stabilizer == pytest.approx(0.28 * 0.38 * sum(times.values()))


def test_report_and_worksheet_tell_the_same_sum(priced, tmp_path):
    pdfplumber = pytest.importorskip("pdfplumber")
    costs = report_of(priced)["costs"]
    assert [line["key"] for line in costs["lines"]] == ["thread", "cloth", "stabilizer", "fastener", "hour"]
    assert costs["total"] == pytest.approx(sum(line["cost"] for line in costs["lines"]))
    (tmp_path / "worksheet.pdf").write_bytes(papers_of(priced)["worksheet.pdf"])
    with pdfplumber.open(tmp_path / "worksheet.pdf") as paper:
        text = "\n".join(page.extract_text() for page in paper.pages)
    assert f"{costs['total']:,.2f} EUR" in text


def test_without_prices_there_are_no_costs(make):
    assert "costs" not in report_of(make(SPEC))


@pytest.mark.parametrize("line", ["hour = -1", 'cloth = "much"', "thread = true", 'currency = ""'])
def test_a_price_that_is_none_is_refused(make, line):
    with pytest.raises(SpecError, match=r"prices\."):
        make(f"{SPEC}\n[prices]\n{line}\n")


def test_prices_in_python_are_held_to_the_same():
    with pytest.raises(ParameterError, match=r"prices\.hour"):
        Prices(hour=-1)
    with pytest.raises(ParameterError, match=r"prices\.currency"):
        Prices(currency="a" * 11)
