"""How the elements of a drawing look: style sheets, inheritance, and what of it a needle can follow."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Final, TypeAlias
from xml.etree.ElementTree import Element

from stitchcraft.geometry.svg_tree import link_of, local_name
from stitchcraft.geometry.svg_values import Paint, SvgError, colour, declarations, length, number, paint, shown

Note: TypeAlias = Callable[[str], None]

_PRESENTATION: Final[tuple[str, ...]] = (
    "clip-path", "color", "display", "fill", "fill-opacity", "fill-rule", "filter", "marker-end", "marker-mid",
    "marker-start", "mask", "opacity", "stroke", "stroke-dasharray", "stroke-opacity", "stroke-width", "transform",
    "transform-box", "transform-origin", "vector-effect", "visibility",
)  # fmt: skip
BLACK: Final = Paint("#000000")
UNPAINTED: Final = Paint(None)
_SELECTOR: Final = re.compile(r"(\*|[a-zA-Z]+)?((?:[.#][\w-]+)*)")


@dataclass(slots=True)
class StyleSheet:
    """The rules of a drawing's ``<style>`` elements that name kinds, classes and ids; `add` returns the others."""

    _rules: dict[str, list[tuple[tuple[int, int], frozenset[str], dict[str, str]]]] = field(default_factory=dict)
    _count: int = 0

    def add(self, text: str) -> list[str]:
        """Take in a style sheet; returns what of it is not understood."""
        plain = re.sub(r"/\*.*?\*/|<!--|-->", " ", text, flags=re.DOTALL)
        missed = re.findall(r"@[\w-]+", plain)
        plain = re.sub(r"@[\w-]+[^{};]*(?:;|\{(?:[^{}]|\{[^{}]*\})*\})", " ", plain)
        for selectors, inside in re.findall(r"([^{}]+)\{([^{}]*)\}", plain):
            found = declarations(inside)
            for selector in (item.strip() for item in selectors.split(",")):
                match = _SELECTOR.fullmatch(selector)
                if match is None or not selector:
                    missed.append(selector)
                    continue
                marks = re.findall(r"[.#][\w-]+", match[2])
                kind = [match[1]] if match[1] and match[1] != "*" else []
                weight = 100 * sum(mark[0] == "#" for mark in marks) + 10 * sum(mark[0] == "." for mark in marks)
                needs = frozenset(marks + kind)
                rule = ((weight + len(kind), self._count), needs, found)
                self._rules.setdefault((marks or kind or ["*"])[0], []).append(rule)
                self._count += 1
        return missed

    def matching(self, element: Element) -> dict[str, str]:
        """The declarations that apply to an element, the stronger over the weaker."""
        if not self._rules:
            return {}
        marks = [local_name(element), "#" + element.get("id", ""), *("." + c for c in element.get("class", "").split())]
        has = frozenset(marks)
        rules = [rule for mark in dict.fromkeys(["*", *marks]) for rule in self._rules.get(mark, ()) if rule[1] <= has]
        merged: dict[str, str] = {}
        for _, _, found in sorted(rules, key=lambda rule: rule[0]):
            merged.update(found)
        return merged


def properties(element: Element, sheet: StyleSheet) -> dict[str, str]:
    """An element's own style: attributes, then style sheets, then its ``style`` attribute on top."""
    own: dict[str, str] = {key: element.attrib[key] for key in _PRESENTATION if key in element.attrib}
    own.update(sheet.matching(element))
    own.update(declarations(element.get("style", "")))
    return own


@dataclass(frozen=True, slots=True)
class Look:
    """What elements hand down to those inside them.

    Attributes:
        fill: What areas are painted with.
        stroke: What lines are painted with.
        width: Width of lines, user units.
        rule: ``"nonzero"`` or ``"evenodd"``.
        colour: What ``currentColor`` stands for.
        visible: Whether it is drawn at all.
        fill_shows: Whether the fill is not wholly see-through.
        stroke_shows: Whether the stroke is not wholly see-through.
        dashed: Whether lines are dashed.
        marked: Whether lines carry markers.
    """

    fill: Paint = BLACK
    stroke: Paint = UNPAINTED
    width: float = 1.0
    rule: str = "nonzero"
    colour: str = "#000000"
    visible: bool = True
    fill_shows: bool = True
    stroke_shows: bool = True
    dashed: bool = False
    marked: bool = False


def look_inside(look: Look, own: dict[str, str], *, diagonal: float, note: Note) -> Look:
    """Apply an element's own style to what it inherits.

    Args:
        look: What it inherits.
        own: Its properties.
        diagonal: What 100 % of a stroke width stands for, user units.
        note: Told in a sentence about each value that is not understood, which then is inherited instead.
    """
    told = {key: value for key, value in own.items() if value.strip().lower() not in ("inherit", "unset", "")}
    changes: dict[str, object] = {}

    def take(key: str, name: str, reader: Callable[[str], object]) -> None:
        if key in told:
            try:
                changes[name] = reader(told[key])
            except SvgError as fault:
                note(f"{key} is not understood and passed over ({fault})")

    take("color", "colour", lambda text: colour(text) or look.colour)
    current = str(changes.get("colour", look.colour))
    take("fill", "fill", lambda text: paint(text, current=current))
    take("stroke", "stroke", lambda text: paint(text, current=current))
    take("fill-rule", "rule", _rule)
    take("visibility", "visible", lambda text: text.strip() == "visible")
    take("fill-opacity", "fill_shows", lambda text: opacity(text, note) > 0)
    take("stroke-opacity", "stroke_shows", lambda text: opacity(text, note) > 0)
    take("stroke-width", "width", lambda text: length(text, percent_of=diagonal, name="stroke-width"))
    take("stroke-dasharray", "dashed", lambda text: text.strip() != "none")
    if any(key in told and told[key] != "none" for key in ("marker-start", "marker-mid", "marker-end", "marker")):
        changes["marked"] = True
    return replace(look, **changes)  # type: ignore[arg-type]


def _rule(text: str) -> str:
    if text.strip() not in ("nonzero", "evenodd"):
        raise SvgError(f"{shown(text)} is no fill rule")
    return text.strip()


def opacity(text: str, note: Note) -> float:
    """Read an opacity from 0 to 1; anything between the two is noted, since thread is not see-through.

    Raises:
        SvgError: If it is no number.
    """
    plain = text.strip()
    share = number(plain[:-1]) / 100 if plain.endswith("%") else number(plain)
    if 0 < share < 1:
        note("is partly see-through, which thread is not; it is sewn solid")
    return share


def first_stop_colour(gradient: Element, by_id: dict[str, Element], sheet: StyleSheet) -> str | None:
    """The first colour of a gradient, which may borrow its stops from another; None if there is none to be seen."""
    server: Element | None = gradient
    for _ in range(8):
        if server is None:
            return None
        for child in server:
            if local_name(child) == "stop":
                own = {"stop-color": child.get("stop-color", "black")} | sheet.matching(child)
                own |= declarations(child.get("style", ""))
                try:
                    return colour(own["stop-color"])
                except SvgError:
                    return None
        server = by_id.get(link_of(server)[1:])
    return None
