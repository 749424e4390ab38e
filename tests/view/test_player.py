"""The player's page as text: what it holds, what it forbids, what hostile names become."""

import base64
import hashlib
import json
import re
from html.parser import HTMLParser

import numpy as np
import pytest
from hypothesis import given
from machine_plans import plan_of, plans, three_stops

from stitchcraft.design import Kind, PlanStop, Purpose, Role, StitchPlan, Thread
from stitchcraft.errors import ParameterError
from stitchcraft.machine import Hoop, Machine, Placement, minutes
from stitchcraft.units import to_units
from stitchcraft.view import PlayerPart, player_html

HOSTILE = [
    "</script><script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "\"'><svg onload=alert(1)>",
    "<!-- <script>",
    "a & b &lt;i&gt;",
    "\u2028line\u2029break",
    "@STYLE@ @DATA@ @WORK@",
    "\\u003c \\ \\n",
    "tab\u202efront",
]


class Page(HTMLParser):
    """A page taken apart: its tags, its scripts, its style, and its text outside them."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.inside: list[str] = []
        self.raw: dict[str, list[str]] = {"script": [], "style": []}
        self.words: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.inside.append(tag)

    def handle_endtag(self, tag):
        if tag in self.inside:
            while self.inside.pop() != tag:
                pass

    def handle_data(self, data):
        (self.raw.get(self.inside[-1] if self.inside else "", self.words)).append(data)

    @property
    def data(self) -> dict:
        return json.loads(self.raw["script"][0])

    @property
    def policy(self) -> str:
        return next(
            attrs["content"] for tag, attrs in self.tags if attrs.get("http-equiv") == "Content-Security-Policy"
        )


def spread(runs: list[int]) -> list[int]:
    """What "value, how many" pairs stand for."""
    return [value for value, many in zip(runs[::2], runs[1::2], strict=True) for _ in range(many)]


def named(text: str) -> PlayerPart:
    """A part whose every word is *text*."""
    plan = three_stops()
    stops = tuple(PlanStop(stop.purpose, Thread(stop.thread.colour, text), text) for stop in plan.stops)
    words = StitchPlan(text, plan.xy, plan.kind, plan.stop, plan.role, plan.element, stops)
    return PlayerPart(words, hoop=Hoop(100, 100), after=text, sews=(text,) * 3)


def rows_of(data: dict) -> np.ndarray:
    return np.cumsum(np.array(data["xy"]).reshape(-1, 2), axis=0)


@given(plan=plans())
def test_page_holds_every_row_of_the_plan(plan):
    data = Page(player_html("x", [PlayerPart(plan)])).data["parts"][0]
    assert rows_of(data).tolist() == to_units(plan.xy).tolist()
    assert spread(data["kind"]) == plan.kind.tolist()
    assert spread(data["stop"]) == plan.stop.tolist()
    assert spread(data["role"]) == plan.role.tolist()
    assert [stop["colour"] for stop in data["stops"]] == [stop.thread.colour for stop in plan.stops]


def test_page_lays_the_part_in_its_field_as_the_machine_file_does():
    placement = Placement(90, (3.0, -2.04))
    data = Page(player_html("x", [PlayerPart(three_stops(), placement, Hoop(130, 180))])).data["parts"][0]
    # a quarter turn to the left takes (x, y) to (-y, x)
    x, y = three_stops().xy.T
    assert np.abs(rows_of(data) / 10 - np.column_stack([-y + 3.0, x - 2.04])).max() <= 0.05 + 1e-9
    assert data["field"] == [1300, 1800]


def test_roles_are_kept_as_they_change():
    plan = three_stops()
    role = np.arange(len(plan.kind)) // 7 % 4
    mixed = StitchPlan(plan.name, plan.xy, plan.kind, plan.stop, role, plan.element, plan.stops)
    assert spread(Page(player_html("x", [PlayerPart(mixed)])).data["parts"][0]["role"]) == role.tolist()
    assert max(role) == Role.LOCK


def test_steps_are_in_the_page_itself_with_what_the_hands_do():
    plan = plan_of([[[(0, 0), (5, 0)]], [[(0, 5), (5, 5)]]], colours=["#2f5d62", "#d9a441"])
    stops = (
        PlanStop(Purpose.PLACE, Thread("#2f5d62", "mark"), "Hoop the panel."),
        PlanStop(Purpose.COVER, Thread("#d9a441", "edge"), "Lay the accent cloth on the line."),
    )
    plan = StitchPlan("corner", plan.xy, plan.kind, plan.stop, plan.role, plan.element, stops)
    words = " ".join(" ".join(Page(player_html("Wren", [PlayerPart(plan, after="Cut to size.")])).words).split())
    order = [
        "Wren",
        "corner",
        "Hoop the panel.",
        "1",
        "placement line",
        "Lay the accent cloth",
        "2",
        "cover stitch",
        "Cut",
    ]
    places = [words.index(order[0])]
    for one in order[1:]:
        places.append(words.index(one, places[-1]))
    assert places == sorted(places)


def test_minutes_are_those_of_the_machine():
    plan = plan_of([[[(k % 50, k // 50) for k in range(2000)]]])
    slow = Machine(speed=100)
    assert minutes(plan, slow) == pytest.approx(20)
    assert "about 20 min of sewing" in player_html("x", [PlayerPart(plan)], machine=slow)
    assert Page(player_html("x", [PlayerPart(plan)], machine=slow)).data["speed"] == 100


@pytest.mark.parametrize("text", HOSTILE)
def test_names_with_markup_are_shown_as_text_and_add_no_element(text):
    plain = Page(player_html("plain", [named("plain")]))
    page = Page(player_html(text, [named(text)]))
    assert [tag for tag, _ in page.tags] == [tag for tag, _ in plain.tags]
    assert page.policy == plain.policy
    assert page.raw["script"][1:] == plain.raw["script"][1:]
    assert page.raw["style"] == plain.raw["style"]
    shown = [words.strip() for words in page.words]
    assert shown.count(text.strip()) >= 3  # the heading of the page, of the part, and what the hands do
    part = page.data["parts"][0]
    assert part["name"] == part["after"] == part["stops"][0]["before"] == part["stops"][1]["sews"] == text


def test_characters_that_no_page_can_show_are_replaced():
    text = player_html("a\x00b\x1bc\ud800d\ufffe", [named("\x00\x08\ud83d")])
    assert text.encode()  # a lone surrogate could not be
    assert not re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", text)
    assert "a\ufffdb\ufffdc\ufffdd\ufffd" in text


def test_page_forbids_requests_and_every_script_and_style_but_its_own():
    page = Page(player_html("x", [named("y")]))
    rules = dict(rule.split(" ", 1) for rule in page.policy.split("; "))
    assert rules["default-src"] == "'none'"
    assert rules["img-src"] == "data:"
    assert set(rules) == {"default-src", "img-src", "style-src", "script-src", "base-uri", "form-action"}

    def digest(text: str) -> str:
        return "'sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() + "'"

    assert rules["style-src"] == digest(page.raw["style"][0])
    assert rules["script-src"].split() == [digest(script) for script in page.raw["script"][1:]]
    assert [attrs.get("type") for tag, attrs in page.tags if tag == "script"] == ["application/json", None, None, None]


def test_page_names_no_other_file_or_place():
    page = Page(player_html("x", [named("y")]))
    sources = {value for _, attrs in page.tags for key, value in attrs.items() if key in ("src", "href", "srcset")}
    assert sources == {"data:,", "#work"}
    assert not re.search(
        r"https?:|\bwss?:|url\(|@import|fetch\(|XMLHttp", "".join(page.raw["style"] + page.raw["script"])
    )


def test_same_parts_give_the_same_page():
    parts = [named("one"), PlayerPart(three_stops(), Placement(31.7, (0.3, 9.9)))]
    assert player_html("x", parts) == player_html("x", parts)


def test_a_hundred_thousand_stitches_take_less_than_a_megabyte():
    angle = np.linspace(0, 700, 100_000)
    spiral = np.column_stack([angle * np.cos(angle), angle * np.sin(angle)]) * 0.1
    text = player_html("x", [PlayerPart(plan_of([[spiral.tolist()]]))])
    page = len(player_html("x", [PlayerPart(plan_of([[spiral[:2].tolist()]]))]).encode())
    assert page < 60_000
    # two moves of at most 12.1 mm: "-121,-121," is the longest that a machine file's step could take
    assert len(text.encode()) - page < 10 * 100_000


def test_no_part_no_stitch_or_words_that_do_not_match_are_refused():
    empty = StitchPlan("empty", np.zeros((1, 2)), np.array([Kind.END]), np.zeros(1), np.zeros(1), np.zeros(1), ())
    with pytest.raises(ParameterError, match="parts is 'nothing'"):
        player_html("x", [])
    with pytest.raises(ParameterError, match="'empty'"):
        player_html("x", [PlayerPart(empty)])
    with pytest.raises(ParameterError, match="sews"):
        PlayerPart(three_stops(), sews=("one",))


def palette(css: str) -> list[dict[str, str]]:
    """The page's colours, light and dark."""
    light, dark = (
        dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{3,6})\b", block))
        for block in re.findall(r":root \{(.*?)\}", css, re.S)[:2]
    )
    return [light, light | dark]


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.1."""
    values = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    r, g, b = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in values)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
def test_words_stand_out_from_their_ground(scheme):
    # WCAG 2.1, success criterion 1.4.3: 4.5 to 1 for words; 1.4.11: 3 to 1 for the edges of controls
    colours = palette(Page(player_html("x", [named("y")])).raw["style"][0])[scheme]

    def contrast(one: str, other: str) -> float:
        low, high = sorted([luminance(colours[one]), luminance(colours[other])])
        return (high + 0.05) / (low + 0.05)

    for words, ground in (
        ("ink", "paper"), ("ink", "card"), ("ink", "hand"), ("ink", "table"), ("soft", "paper"), ("mark", "paper"),
        ("mark", "hand"), ("soft", "card"),
    ):  # fmt: skip
        assert contrast(words, ground) >= 4.5, (words, ground)
    assert contrast("field", "card") >= 3
    assert contrast("mark", "paper") >= 3
