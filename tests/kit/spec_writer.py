"""Writes whole specs as TOML text: sensible ones, extreme ones, and broken ones by mutation."""

from __future__ import annotations

import copy
import datetime as dt
import random
from collections.abc import Callable
from typing import Any

from hypothesis import strategies as st

from stitchcraft.defaults import FABRIC_NAMES
from stitchcraft.spec import words
from stitchcraft.spec.words import DECORATION_KEYS

MM_PER = {"mm": 1.0, "cm": 10.0, "in": 25.4}
ARTWORK = ("leaf.svg", "tip.svg")
PROFILE = "edge.svg"
FONT = "letters.ttf"
"""A font that the tests lay beside the spec, as `DRAWINGS`."""

_LEAF = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 30">
<path d="M5 15 C10 2 30 2 35 15 C30 28 10 28 5 15 Z" fill="#2f5d62"/>
<path d="M8 15 L32 15" fill="none" stroke="#d9a441" stroke-width="1"/></svg>
"""
_TIP = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 40">
<path d="M0 0 C4 24 22 28 30 40 C38 28 56 24 60 0" fill="none" stroke="#000"/></svg>
"""
_PROFILE = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 50 50">
<path d="M0 0 C22 4 12 18 24 24 S44 30 50 50" fill="none" stroke="#000"/></svg>
"""
DRAWINGS = {"leaf.svg": _LEAF, "tip.svg": _TIP, PROFILE: _PROFILE}
DRAWN = ("#2f5d62", "#d9a441")
"""The colours of the leaf."""

Draw = Callable[[st.SearchStrategy[Any]], Any]


def toml_text(document: dict[str, Any]) -> str:
    """Write a document as TOML: plain keys first, then its tables; what is deeper stands inline."""
    plain = [f"{_key(key)} = {_value(value)}" for key, value in document.items() if not isinstance(value, dict)]
    tables = [
        f"\n[{_key(key)}]\n" + "\n".join(f"{_key(inner)} = {_value(held)}" for inner, held in value.items())
        for key, value in document.items()
        if isinstance(value, dict)
    ]
    return "\n".join(plain + tables) + "\n"


def _key(key: str) -> str:
    return key if key.replace("_", "").isascii() and key.replace("_", "").isalnum() else _quoted(key)


def _quoted(text: str) -> str:
    kept = "".join(
        f"\\u{ord(sign):04x}" if ord(sign) < 32 or sign == "\x7f" else sign for sign in text.replace("\\", "\\\\")
    )
    return '"' + kept.replace('"', '\\"') + '"'


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(key)} = {_value(held)}" for key, held in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_value(held) for held in value) + "]"
    return repr(value)


class Sizes:
    """Draws lengths: all of them usual, or any of them anything allowed, at its very ends too.

    Args:
        draw: From hypothesis.
        unit: What a number without a unit counts as.
        extremes: Whether lengths out of the usual come at all.
    """

    def __init__(self, draw: Draw, unit: str, *, extremes: bool) -> None:
        self.unit = unit
        self.draw = draw
        self.wild = draw(st.sampled_from([0, 0, 0, 0, 1, 4])) if extremes else 0

    def between(self, usual: tuple[float, float], allowed: tuple[float, float]) -> st.SearchStrategy[float | str]:
        """A length written in one of the ways there are; the allowed range is that of the schema."""
        low, high = (min(max(end, allowed[0]), allowed[1]) for end in usual)
        mm = tenths(low, max(low, high))
        if self.wild:
            extreme = st.one_of(tenths(*allowed), st.sampled_from(allowed))
            mm = st.one_of(*[mm] * (5 - self.wild), *[extreme] * self.wild)
        ways = st.sampled_from(["bare", "bare", "mm", "cm", "in", "fraction"])
        return st.builds(lambda value, how: written(value, how, self.unit, allowed), mm, ways)


def tenths(low: float, high: float) -> st.SearchStrategy[float]:
    """To a tenth of a millimetre, as a maker measures at best."""
    return st.integers(round(low * 10), round(high * 10)).map(lambda count: count / 10)


def written(mm: float, how: str, unit: str, allowed: tuple[float, float] = (0.0, 1e9)) -> float | str:
    """A length as TOML holds it; what rounds out of its range is written in mm."""
    if how == "fraction":
        whole, eighths = divmod(round(mm / 25.4 * 8), 8)
        if allowed[0] <= (whole + eighths / 8) * 25.4 <= allowed[1] and whole + eighths:
            return f"{whole} {eighths}/8 in" if eighths and whole else f"{eighths}/8 in" if eighths else f"{whole} in"
        how = "mm"
    name = unit if how == "bare" else how
    value = round(mm / MM_PER[name], 5)
    if not allowed[0] <= value * MM_PER[name] <= allowed[1]:
        return f"{mm:g} mm"
    return value if how == "bare" else f"{value:g} {how}"


_FACED = st.text(
    st.sampled_from("abcdefgh ABCGKMQ ijlrst'&<>\"\\/.,-!?0123456789äöüßéèñçåøłœŒ"), min_size=1, max_size=24
)
_LETTERS = st.text(
    st.one_of(
        st.sampled_from("abcdefgh ABCGKMQ ijlrst'&<>\"\\/.,-!?0123456789äöüßéèñçåøłœŒÐþ€£½—’“"),
        st.characters(categories=["L", "N", "P", "S", "Zs"]),
    ),
    min_size=1,
    max_size=24,
)
NAMES = st.one_of(
    st.sampled_from(["Heron tote", "<b>Heron</b> & 'Quay'", "</script><script>alert(1)</script>", "../../etc", "Å·Ω"]),
    _LETTERS,
)
TEXTS = st.one_of(
    st.sampled_from(["Made at the pier", "Æble & Østers", "l", "W" * 40, "…", "</text>"]), _FACED, _FACED, _LETTERS
)


def _decoration(draw: Draw, sizes: Sizes, kinds: tuple[str, ...]) -> dict[str, Any] | str:
    """One decoration, with any of the keys that go with its kind."""
    kind = draw(st.sampled_from(kinds))
    if kind not in ("artwork", "lettering", "monogram") and draw(st.integers(0, 3)) == 0:
        return str(kind)
    stitches = words.DECORATION_STITCHES.get(kind, words.LINE_STITCHES)
    pitch = draw(tenths(45, 70) if kind == "artwork" else tenths(3, 25))
    share = (1.0, 2.0) if kind == "rings" else (0.4, 0.9)
    keys: dict[str, st.SearchStrategy[Any]] = {
        "pitch": sizes.between((pitch, pitch), (1, 200)),
        "diameter": sizes.between((share[0] * pitch, share[1] * pitch), (0.5, 200)),
        "angle": st.one_of(st.sampled_from([0, 45, 30.0, 90, -360, 360]), st.floats(-360, 360)),
        "seed": st.integers(0, 2**31 - 1),
        "width": sizes.between((10, 80), (1, 500)),
        "stitch": st.sampled_from(stitches),
        "inset": sizes.between((0, 4), (0, 100)),
        "border": st.booleans(),
        "joined": st.booleans(),
        "edge": st.sampled_from(words.DECORATION_EDGES.get(kind, ("clip", "whole"))),
        "layout": st.sampled_from(words.DOT_LAYOUTS),
        "colours": st.sampled_from(words.DRAWN_COLOURS),
        "bare": st.sampled_from(["#ffffff", "#d9a441"]),
        "depth": sizes.between((1, pitch / 2), (0.5, 200)),
        "spacing": sizes.between((2, 20), (2, 200)),
        "shift": st.tuples(st.floats(-30, 30), st.floats(-30, 30)).map(list),
        "face": st.sampled_from(words.FACES),
        "height": sizes.between((8, 16), (1, 300)),
        "letter_spacing": sizes.between((-0.2, 2), (-10, 100)),
        "arc": sizes.between((20, 200), (3, 2000)),
        "font": st.just(FONT),
        "side": st.sampled_from(words.TEXT_SIDES),
        "frame": st.sampled_from(words.FRAMES),
    }
    table = {"kind": kind}
    if kind == "artwork":
        table["svg"] = draw(st.sampled_from(ARTWORK))
    if kind in ("lettering", "monogram"):
        table["text"] = draw(st.one_of(st.sampled_from(["ARK", "J", "mw"]), TEXTS if kind == "lettering" else MARKS))
    table |= _some(draw, {key: keys[key] for key in DECORATION_KEYS[kind] if key in keys})
    if "font" in table:
        table.pop("face", None)
    if kind in ("lettering", "monogram") and table.get("stitch") in ("satin", "fill") and "font" not in table:
        table["face"] = draw(st.sampled_from(OUTLINED))  # single lines have no width to fill
    if kind == "artwork" and "pitch" not in table:  # what only repeats have
        table = {key: value for key, value in table.items() if key not in ("edge", "layout")}
    if kind == "petals" and table.get("edge") == "fade":
        table["stitch"] = "satin"
    if ("diameter" in table or "depth" in table) and not sizes.wild:
        table["pitch"] = written(pitch, "mm", sizes.unit)
    return table


OUTLINED = ("sans", "serif", "hand", "rounded")
MARKS = st.text(st.sampled_from("ABCDEFGHJKMQSWÅÆØß&<'7"), min_size=1, max_size=3)


def _some(draw: Draw, keys: dict[str, st.SearchStrategy[Any]], *, often: int = 2) -> dict[str, Any]:
    """Some of the keys: one in *often* of them, and few or none at times."""
    how = draw(st.sampled_from(["some", "some", "some", "few", "none"]))
    if how == "none":
        return {}
    least = often if how == "some" else 3 * often
    return {key: draw(values) for key, values in keys.items() if draw(st.integers(1, least)) == 1}


@st.composite
def documents(
    draw: Draw,
    *,
    formats: tuple[str, ...] = words.FORMATS,
    kinds: tuple[str, ...] = words.DECORATIONS,
    largest_mm: float = 1500.0,
    extremes: bool = True,
) -> dict[str, Any]:
    """A whole spec as TOML would give it: every value by itself in its range, most of them sensible together.

    Args:
        draw: From hypothesis.
        formats: File formats to choose from.
        kinds: Decorations to choose from.
        largest_mm: Largest bag.
        extremes: Whether bags and lengths of any size come too.
    """
    unit = draw(st.sampled_from(words.UNITS))
    sizes = Sizes(draw, unit, extremes=extremes)
    between = sizes.between
    side = tenths(40, largest_mm) if sizes.wild else tenths(100, min(450.0, largest_mm))
    width, height = draw(side), draw(side)
    depth = draw(st.sampled_from([0.0, 0.0, 0.15, 0.3, 0.5, 0.9])) * min(width, 2 * height)
    standing = height - depth / 2

    def decoration() -> st.SearchStrategy[Any]:
        return st.builds(lambda: _decoration(draw, sizes, kinds))

    def some(keys: dict[str, st.SearchStrategy[Any]], *, often: int = 2) -> st.SearchStrategy[dict[str, Any]]:
        return st.builds(lambda: _some(draw, keys, often=often))

    edge = st.one_of(
        st.sampled_from(words.EDGES),
        some({"kind": st.sampled_from(words.EDGES), "width": between((2, 5), (1, 12))}),
    )
    corner = ((depth / 2 + 15, min(width / 2, depth / 2 + 90)), (depth / 2 + 15, min(height * 0.7, depth / 2 + 90)))
    tables = {
        "bag": {
            "seam": between((5, 12), (2, 50)),
            "lining_seam": between((5, 15), (2, 60)),
            "wall": between((1, 8), (0, 30)),
            "top": st.sampled_from(words.TOPS),
            "binding": some({"strip": between((50, 90), (10, 300)), "depth": between((4, 9), (1, 50)),
                             "overlap": between((50, 120), (0, 500))}),
            "shaping": some({"down": between((0.1 * standing, 0.3 * standing), (5, 500)),
                             "over": between((5, 0.4 * width), (5, 500))}),
            "straps": st.one_of(
                st.just("none"),
                some({"spacing": between((0.35 * width, 0.6 * width), (10, 1000)),
                      "width": between((8, 0.2 * width), (3, 150))}),
            ),
        },
        "machine": {
            "hoops": st.lists(_hoops(extremes=extremes), min_size=1, max_size=5, unique=True),
            "formats": st.lists(st.sampled_from(formats), min_size=1, max_size=4, unique=True),
            "speed": st.one_of(st.integers(400, 1000), st.floats(50, 2000)),
            "trims": st.booleans(),
            "trim_over": between((2, 6), (0, 100)),
            "basting": st.booleans(),
            "margin": between((0, 3), (0, 100)),
        },
        "material": _material(),
        "hooping": {
            "share": st.booleans(), "bags": st.one_of(st.integers(1, 3), st.just(50) if sizes.wild else st.just(1)),
            "gap": between((3, 10), (0, 100)), "grain": st.booleans(), "split": st.booleans(),
        },
        "style": {"decoration": decoration(), "edge": edge, "profile": _profiles()},
        "tab": _tab(sizes, width, standing, decoration()),
        "closure": {"drop": between((0.15 * standing, 0.6 * standing), (5, 1000))},
        "corner": {"width": between(corner[0], (10, 750)), "height": between(corner[1], (10, 750)), "edge": edge,
                   "echo": between((3, 8), (1.5, 100)),
                   "decoration": decoration()},
        "connector": {
            "layout": st.sampled_from(words.LAYOUTS), "outline": st.sampled_from(words.OUTLINES),
            "ends": st.sampled_from(words.ENDS), "snap_up": between((-5, 5), (-200, 200)),
            "snap_right": between((-5, 5), (-500, 500)),
            "height": between((25, 60), (12, 400)), "width": between((0.85 * width, 0.95 * width), (12, 1000)),
            "decoration": decoration(),
        },
        "label": {
            "text": TEXTS, "width": between((30, 80), (5, 400)), "height": between((5, 12), (2, 100)),
            "stitch": st.sampled_from(words.LETTER_STITCHES),
            draw(st.sampled_from(["face", "face", "font"])): st.sampled_from(words.FACES),
            "letter_spacing": between((-0.2, 2), (-10, 100)), "arc": between((20, 200), (3, 2000)),
            "side": st.sampled_from(words.TEXT_SIDES),
        },
        "prices": {
            "currency": st.one_of(st.sampled_from(["EUR", "$", "<b>", "Kč"]), _FACED.map(lambda text: "<" + text[:9])),
        } | dict.fromkeys(("thread", "bobbin", "cloth", "stabilizer", "fastener", "hour"), _prices()),
    }  # fmt: skip
    document: dict[str, Any] = {"units": unit}
    document |= _some(draw, {
        "name": NAMES, "parts": st.lists(st.sampled_from(words.PARTS), min_size=1, max_size=6, unique=True),
    })  # fmt: skip
    document |= {name: held for name, keys in tables.items() if (held := _some(draw, keys))}
    ways = st.sampled_from(["bare", "mm", "cm", "in"])
    needed = {"width": written(width, draw(ways), unit), "height": written(height, draw(ways), unit)}
    if depth:
        needed["depth"] = written(round(depth, 1), "bare", unit)
    document["bag"] = needed | document.get("bag", {})
    document["machine"] = {"formats": list(formats[:2])} | document.get("machine", {})
    shaping, connector = document.get("bag", {}).get("shaping"), document.get("connector", {})
    if shaping is not None and not sizes.wild:
        shaping |= {"over": written(0.3 * width, "mm", unit), "down": written(max(5.0, 0.2 * standing), "mm", unit)}
    if not sizes.wild and document["bag"].get("straps") == "none" and "layout" in connector:
        connector["layout"] = "medallion"
    if not sizes.wild and connector.get("layout", "bridge") != "bridge":
        for key in ("ends", "snap_up", "snap_right"):
            connector.pop(key, None)
    if "font" in document.get("label", {}):
        document["label"]["font"] = FONT
    # the default decoration is the slowest to plan
    document["style"] = {"decoration": draw(decoration())} | document.get("style", {})
    return document


def _hoops(*, extremes: bool) -> st.SearchStrategy[str]:
    common = st.sampled_from(["130x180", "100x100", "160x260", "200x200", "360x200"])
    if not extremes:
        return common
    return st.one_of(common, common, st.builds(lambda w, h: f"{w}x{h}", st.integers(10, 1000), st.integers(10, 1000)))


def _profiles() -> st.SearchStrategy[Any]:
    named = st.sampled_from(words.PROFILES)
    return st.one_of(named, named, named.map(lambda name: {"name": name}), st.just({"svg": PROFILE}), st.just({}))


def _prices() -> st.SearchStrategy[float]:
    return st.one_of(st.sampled_from([0, 0.002, 1_000_000]), st.floats(0, 1_000_000), st.integers(0, 60))


def _material() -> dict[str, st.SearchStrategy[Any]]:
    own = st.fixed_dictionaries({"name": _LETTERS}, optional={
        "pull": st.floats(0, 2), "pull_share": st.floats(0, 0.2), "satin_pitch": st.floats(0.2, 5),
        "row_spacing": st.floats(0.1, 5), "fill_length": st.floats(1, 12), "run_length": st.floats(0.5, 12),
        "triple_length": st.floats(0.5, 12), "seam_length": st.floats(0.5, 5), "underlay": st.booleans(),
        "strain": st.floats(0, 0.1), "stiffening": st.floats(0, 20),
        "directions": st.lists(st.fixed_dictionaries({
            "angle": st.sampled_from([0, 45, 90, 135]), "pull": st.floats(0, 1), "pull_share": st.floats(0, 0.1),
        }), min_size=1, max_size=4, unique_by=lambda table: table["angle"]),
    })  # fmt: skip
    colours = st.from_regex(r"#[0-9a-fA-F]{6}", fullmatch=True)
    uses = ("accent", "edge", "detail", "mark", "seam")
    return {
        "fabric": st.one_of(st.sampled_from(FABRIC_NAMES), st.sampled_from(FABRIC_NAMES), own),
        "thread": st.one_of(st.sampled_from([40, 60, 30]), st.floats(8, 200)),
        "palette": st.fixed_dictionaries({}, optional=dict.fromkeys(uses, colours) | {
            "drawn": st.dictionaries(
                st.one_of(st.sampled_from(DRAWN), colours), st.one_of(st.sampled_from(uses), colours),
                min_size=1, max_size=3,
            )}),
        "cloth": colours,
        "accent_cloth": colours,
    }  # fmt: skip


def _tab(sizes: Sizes, bag_width: float, standing: float, decoration: st.SearchStrategy[Any]) -> dict[str, Any]:
    between = sizes.between
    tips = st.one_of(
        st.sampled_from(words.TIPS), st.sampled_from(words.TIPS),
        st.sampled_from([{"name": "leaf"}, {"svg": "tip.svg"}]),
    )  # fmt: skip
    snap = st.fixed_dictionaries({}, optional={
        "diameter": between((8, 15), (5, 60)), "inset": between((20, 40), (3, 500)), "prongs": between((4, 7), (2, 60)),
        "slit": between((2, 5), (1, 30)),
    })  # fmt: skip
    inset = between((20, 40), (3, 500))
    fasteners = st.one_of(
        st.sampled_from(words.FASTENERS),
        st.fixed_dictionaries({"kind": st.just("sew-in-snap")}, optional={
            "diameter": between((8, 15), (5, 80)), "inset": inset, "holes": st.integers(2, 8)}),
        st.fixed_dictionaries({"kind": st.just("turn-lock")}, optional={
            "width": between((20, 40), (10, 120)), "height": between((14, 24), (6, 120)),
            "hole_width": between((8, 16), (3, 110)), "hole_height": between((5, 10), (3, 110)), "inset": inset,
            "prongs": between((16, 30), (2, 119)), "post_prongs": between((6, 12), (2, 119)),
            "slit": between((2, 5), (1, 30))}),
        st.fixed_dictionaries({"kind": st.just("button")}, optional={
            "diameter": between((10, 24), (5, 80)), "thickness": between((2, 8), (1, 40)), "inset": inset,
            "direction": st.sampled_from(words.DIRECTIONS), "bead": between((1.5, 2.5), (1, 4))}),
    )  # fmt: skip
    closing = sizes.draw(st.sampled_from(["snap", "fastener"]))
    return {
        "width": between((0.25 * bag_width, 0.4 * bag_width), (15, 400)),
        # long enough for any drop that is usual
        "length": between((0.7 * standing + 45, 0.8 * standing + 60), (15, 1000)),
        "tip": tips,
        closing: snap if closing == "snap" else fasteners,
        "decoration": decoration,
        "slant": st.one_of(st.sampled_from([0, 5, -10]), st.floats(-40, 40) if sizes.wild else st.floats(-20, 20)),
        "batting": st.booleans(),
        "waist": between((0.12 * bag_width, 0.2 * bag_width), (5, 400)),
        "tip_radius": between((0, 8), (0, 100)),
        "tip_depth": between((10, 40), (1, 400)),
    }


@st.composite
def catalogues(draw: Draw) -> dict[str, Any]:
    """A catalogue of a spec named bag.toml: up to three axes, each choice a piece of a spec."""
    names = st.text(st.sampled_from("abcXYZ09 _.+-"), min_size=1, max_size=12).map(lambda name: f"a{name}z")
    pieces = documents(kinds=("none", "crosshatch", "lettering"), extremes=False).map(
        lambda whole: {key: held for key, held in whole.items() if isinstance(held, dict)}
    )
    choices = st.dictionaries(names, pieces, min_size=1, max_size=2)
    axes = draw(st.dictionaries(names, choices, min_size=1, max_size=3))
    return {"name": draw(NAMES), "base": "bag.toml", "axes": axes}


# -- broken ones ----------------------------------------------------------------------------------------

WRONG: tuple[Any, ...] = (
    float("nan"), float("inf"), -float("inf"), -1, 0, -0.0, 1e-9, 1e9, 10**30, "", " ", "wide", "nan in", "1/0 in",
    "-2 in", "999999999 mm", "1e9 mm", "../../../etc/passwd", "/dev/zero", "a\u0000b", "\u202e", "x" * 300, True, False,
    1e308, -1e308, 5e-324, "1e308 mm", "1e999", [1, 2], [float("nan"), 1], {"svg": "../tip.svg"},
    {"font": "/etc/passwd"},
    {"#2f5d62": "accent"}, "#12345g", dt.date(2026, 1, 2), dt.time(7, 32), "\u2028", "\ud7ff\ufffe",
    "W" * 61,
    [], [[]], [1], ["130x180"] * 3, {}, {"kind": "dots"}, {"width": {"width": 1}}, "0x0", "1e3x5", "dots", "none",
)  # fmt: skip
_UNKNOWN = ("options", "arc", "font", "drawn", "share", "joined", "wdith", "colour", "", "a.b", "ключ", "x" * 80, "svg",
            "kind", "units", "bag")  # fmt: skip


def broken(document: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """A copy with up to three things wrong: a wrong value, an unknown key, a key or a table gone."""
    document = copy.deepcopy(document)
    for _ in range(chance.randint(1, 3)):
        places = list(_places(document))
        if not places:
            break
        holder, key = chance.choice(places)
        how = chance.choice(["value", "value", "value", "unknown", "gone"])
        if how == "gone":
            del holder[key]
        else:
            holder[key if how == "value" else chance.choice(_UNKNOWN)] = copy.deepcopy(chance.choice(WRONG))
    return document


def _places(table: dict[str, Any]) -> list[tuple[dict[str, Any], str]]:
    found: list[tuple[dict[str, Any], str]] = []
    for key, value in table.items():
        found.append((table, key))
        if isinstance(value, dict):
            found += _places(value)
    return found
