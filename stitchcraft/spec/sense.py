"""What is wrong with a spec although each of its values is fine by itself."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from stitchcraft.spec import words
from stitchcraft.spec.problems import KeyPath, Problem, key_text, not_a_key, shown
from stitchcraft.spec.tables import Spec
from stitchcraft.units import MM_PER, mm_text

DECORATED: Final[tuple[KeyPath, ...]] = tuple(
    (table, "decoration") for table in ("style", "tab", "corner", "connector")
)

_SAME_MM: Final = 1e-6
"""Lengths nearer than this are equal: 13 in and 1 in make 14 in, whatever floats say."""


def kind_problems(document: dict[str, Any]) -> list[Problem]:
    """Find keys that do not go with the kind of decoration or with the other keys beside them.

    Args:
        document: The file as the TOML parser gives it.
    """
    problems: list[Problem] = []
    for path in DECORATED:
        table = _inside(document, path)
        kind = table.get("kind")
        if kind in words.DECORATIONS:
            problems.extend(_decoration_problems(path, kind, table))
            if "options" in table:
                problems.append(not_a_key((*path, "options"), words.DECORATION_KEYS[kind], here=f"for {shown(kind)}"))
    if {"face", "font"} <= set(_inside(document, ("label",))):
        problems.append(Problem(("label", "font"), "cannot stand beside face; letters have the one or the other"))
    fastener = _inside(document, ("tab", "fastener"))
    kind = fastener.get("kind")
    if isinstance(kind, str) and kind in words.FASTENER_KEYS:
        known = {key for keys in words.FASTENER_KEYS.values() for key in keys}
        problems.extend(
            not_a_key(("tab", "fastener", key), words.FASTENER_KEYS[kind], here=f"for {shown(kind)}")
            for key in fastener
            if key in known and key not in words.FASTENER_KEYS[kind]
        )
    if {"snap", "fastener"} <= set(_inside(document, ("tab",))):
        problems.append(
            Problem(("tab", "fastener"), "cannot stand beside snap; a tab has one fastener, and a snap is one")
        )
    for path in (("tab", "tip"), ("style", "profile")):
        if {"name", "svg"} <= set(_inside(document, path)):
            told = f"cannot stand beside name; a {path[-1]} has the one or the other"
            problems.append(Problem((*path, "svg"), told))
    return problems


def _decoration_problems(path: KeyPath, kind: str, table: dict[str, Any]) -> Iterator[Problem]:
    allowed = words.DECORATION_KEYS[kind]
    known = {key for keys in words.DECORATION_KEYS.values() for key in keys}
    for key in table:
        if key in known and key not in allowed:
            yield not_a_key((*path, key), allowed, here=f"for {shown(kind)}")
    stitch, stitches = table.get("stitch"), words.DECORATION_STITCHES.get(kind, words.LINE_STITCHES)
    if "stitch" in allowed and stitch in words.STITCHES and stitch not in stitches:
        yield Problem(
            (*path, "stitch"), f"is {shown(stitch)}; for {shown(kind)} it needs to be one of {', '.join(stitches)}"
        )
    edge, edges = table.get("edge"), words.DECORATION_EDGES.get(kind, words.PATTERN_EDGES[:2])
    if kind == "petals" and stitch != "satin":
        edges = words.PATTERN_EDGES[:2]
    if "edge" in allowed and edge in words.PATTERN_EDGES and edge not in edges:
        satin = ' or stitch needs to be "satin"' if kind == "petals" else ""
        yield Problem((*path, "edge"), f"is {shown(edge)}; it needs to be one of {', '.join(edges)}{satin}")
    if kind == "artwork" and "pitch" not in table:
        yield from (
            Problem((*path, key), "needs pitch beside it: without one the drawing is sewn once")
            for key in ("layout", "edge")
            if key in table
        )
    if kind == "artwork" and "svg" not in table:
        yield Problem((*path, "svg"), 'is missing; "artwork" needs the drawing, such as svg = "art/heron.svg"')
    if kind in ("lettering", "monogram") and "text" not in table:
        yield Problem((*path, "text"), f'is missing; {shown(kind)} needs the letters, such as text = "ARK"')
    if "font" in allowed and {"face", "font"} <= set(table):
        yield Problem((*path, "font"), "cannot stand beside face; letters have the one or the other")


def _inside(document: dict[str, Any], path: KeyPath) -> dict[str, Any]:
    found: Any = document
    for key in path:
        found = found.get(key) if isinstance(found, dict) else None
    if path[-1] in ("decoration", "fastener") and isinstance(found, str):
        return {"kind": found}
    return found if isinstance(found, dict) else {}


def contradictions(spec: Spec) -> list[Problem]:
    """Find sizes that cannot be true together, as far as the spec alone tells."""
    sizes = _Sizes(spec)
    sizes.below("bag.depth", "bag.width", 1, "smaller than the width")
    sizes.below("bag.depth", "bag.height", 2, "smaller than twice the height")
    sizes.below("bag.shaping.over", "bag.width", 0.5, "less than half the width")
    sizes.below("bag.shaping.down", "bag.height", 1, "less than the height", less="bag.depth")
    sizes.below("bag.straps.width", "bag.straps.spacing", 1, "less than the spacing", same=True)
    sizes.below("bag.straps.spacing", "bag.width", 1, "no more than the bag's width with a strap's",
                plus="bag.straps.width", same=True)  # fmt: skip
    sizes.problems += _strapless_problems(spec)
    sizes.below("bag.binding.depth", "bag.binding.strip", 0.5, "less than half the strip")
    sizes.below("tab.width", "bag.width", 1, "no more than the bag's width", same=True)
    sizes.below("tab.waist", "tab.width", 1, "no more than the tab's width", same=True)
    sizes.below("tab.snap.diameter", "tab.width", 1, "smaller than the tab's width")
    sizes.below("tab.snap.prongs", "tab.snap.diameter", 1, "less than the snap's diameter")
    sizes.below("tab.snap.inset", "tab.length", 1, "less than the tab's length")
    sizes.below("tab.fastener.diameter", "tab.width", 1, "smaller than the tab's width")
    sizes.below("tab.fastener.width", "tab.width", 1, "smaller than the tab's width")
    sizes.below("tab.fastener.inset", "tab.length", 1, "less than the tab's length")
    sizes.below("tab.tip_depth", "tab.length", 1, "less than the tab's length")
    sizes.below("closure.drop", "bag.height", 1, "less than the height", less="bag.depth")
    sizes.below("corner.width", "bag.width", 0.5, "no more than half the bag's width", same=True)
    sizes.below("corner.height", "bag.height", 1, "no more than the bag's height", same=True)
    for side in ("corner.width", "corner.height"):
        sizes.above(side, "bag.depth", 0.5, "more than half the depth, which the boxed base cuts away")
    sizes.below("connector.height", "bag.height", 1, "less than the bag's height")
    sizes.below("connector.width", "bag.width", 1, "no more than the bag's width", same=True)
    sizes.below("label.width", "bag.width", 1, "no more than the bag's width", same=True)
    for path in DECORATED:
        table = _at(spec, path)
        pitch, diameter = f"{path[0]}.decoration.pitch", f"{path[0]}.decoration.diameter"
        if table is not None and table.kind == "dots":
            sizes.below(diameter, pitch, 1, "smaller than the pitch, or the dots touch")
        if table is not None and table.kind == "rings":
            sizes.below(pitch, diameter, 1, "no more than the diameter, so that the rings interlock", same=True)
            sizes.below(diameter, pitch, 2, "no more than twice the pitch, so that the rings interlock", same=True)
    return sizes.problems


def _strapless_problems(spec: Spec) -> Iterator[Problem]:
    """What a bag without straps cannot have: a piece that holds strap ends."""
    if spec.bag.straps is not None:
        return
    beside = 'and bag.straps is "none"; it needs to be'
    layout, ends = spec.connector.layout, spec.connector.ends
    if layout not in (None, "medallion"):
        yield Problem(
            ("connector", "layout"), f'is {shown(layout)} {beside} "medallion", as there are no strap ends to hold'
        )
    elif ends not in (None, "both"):
        yield Problem(("connector", "ends"), f"is {shown(ends)} {beside} left out, as there are no strap ends to hold")


def _at(spec: Spec, path: KeyPath) -> Any:
    found: Any = spec
    for key in path:
        found = None if found is None else getattr(found, str(key))
    return found


class _Sizes:
    """Compares sizes by name; what the spec leaves out is not compared."""

    def __init__(self, spec: Spec) -> None:
        self.spec = spec
        self.problems: list[Problem] = []

    def _mm(self, name: str) -> float | None:
        value: float | None = _at(self.spec, tuple(name.split(".")))
        return value

    def below(
        self, small: str, large: str, share: float, rule: str, *, same: bool = False, plus: str = "", less: str = ""
    ) -> None:
        """Hold *small* (and *plus*) below *share* of *large*, of which half of *less* is taken off first."""
        low, high = self._mm(small), self._mm(large)
        if low is None or high is None:
            return
        low += (self._mm(plus) or 0.0) if plus else 0.0
        room = share * high - ((self._mm(less) or 0.0) / 2 if less else 0.0)
        if low > room + _SAME_MM or (low > room - _SAME_MM and not same):
            others = [name for name in (plus, large, less) if name and self._mm(name)]
            self._refuse(small, others, rule + (" that the base leaves" if less and self._mm(less) else ""))

    def above(self, large: str, small: str, share: float, rule: str) -> None:
        """Hold *large* above *share* of *small*."""
        high, low = self._mm(large), self._mm(small)
        if high is not None and low and high < share * low + _SAME_MM:
            self._refuse(large, [small], rule)

    def _refuse(self, name: str, others: list[str], rule: str) -> None:
        path = tuple(name.split("."))
        beside = " and ".join(f"{key_text(tuple(other.split('.')))} is {self._shown(other)}" for other in others)
        self.problems.append(Problem(path, f"is {self._shown(name)} and {beside}; it needs to be {rule}"))

    def _shown(self, name: str) -> str:
        mm, unit = self._mm(name) or 0.0, self.spec.units
        return mm_text(mm) if unit == "mm" else f"{round(mm / MM_PER[unit], 3):g} {unit}"
