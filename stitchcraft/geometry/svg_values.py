"""What stands in an SVG attribute, as numbers: lengths, transforms, colours, style declarations.

Everything here is in SVG's own terms: px, y down. Sources: W3C SVG 2 and CSS Values 4.
"""

from __future__ import annotations

import colorsys
import math
import re
from dataclasses import dataclass
from typing import Final, TypeAlias

Matrix: TypeAlias = tuple[float, float, float, float, float, float]
"""An affine map as SVG writes it: x' = a x + c y + e, y' = b x + d y + f."""

IDENTITY: Final[Matrix] = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
NUMBER: Final = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
PX_PER: Final[dict[str, float]] = {
    "": 1.0, "px": 1.0, "in": 96.0, "mm": 96 / 25.4, "cm": 96 / 2.54, "q": 96 / 101.6, "pt": 96 / 72, "pc": 16.0,
    "em": 16.0, "ex": 8.0,
}  # fmt: skip
"""Px in each unit: 96 to the inch (CSS Values 4, section 6.2); em and ex for the initial font of 16 px."""
_DEG_PER: Final = {"": 1.0, "deg": 1.0, "grad": 0.9, "rad": 180 / math.pi, "turn": 360.0}
_LENGTH: Final = re.compile(rf"\s*({NUMBER})\s*(%|[a-zA-Z]*)\s*", re.ASCII)
_ITEM: Final = re.compile(rf"\s*,?\s*({NUMBER})", re.ASCII)
_SPLIT: Final = re.compile(r"\s*,\s*|\s+", re.ASCII)
_CALL: Final = re.compile(r"[\s,]*([a-zA-Z]+)\s*\(([^()]*)\)[\s,]*", re.ASCII)
_BASIC_COLOURS: Final = {
    "black": "#000000", "white": "#ffffff", "red": "#ff0000", "lime": "#00ff00", "blue": "#0000ff",
    "green": "#008000", "gray": "#808080", "grey": "#808080", "none": None, "transparent": None,
}  # fmt: skip


class SvgError(Exception):
    """A value in a drawing that cannot be used; the reader adds the file and the element and raises `ArtworkError`."""


def shown(text: str) -> str:
    """Cut a piece of somebody's file down to something that fits into a line."""
    plain = "".join(char if char.isprintable() else "?" for char in text[:41])
    return repr(plain if len(plain) <= 40 else plain[:37] + "...")


def number(text: str) -> float:
    """Turn one plain number into a float.

    Raises:
        SvgError: If it is none, or not finite.
    """
    if not re.fullmatch(rf"\s*{NUMBER}\s*", text, re.ASCII):
        raise SvgError(f"{shown(text)} is not a number")
    value = float(text)
    if not math.isfinite(value):
        raise SvgError(f"{shown(text)} is too large to be a number")
    return value


def numbers(text: str) -> list[float]:
    """Turn a list of numbers into floats; a sign or a second point may stand for the space between two.

    Raises:
        SvgError: If there is anything else between them, or one is not finite.
    """
    plain = text.strip()
    found, position = [], 0
    while position < len(plain):
        match = _ITEM.match(plain, position)
        if match is None:
            raise SvgError(f"{shown(plain[position:])} is not a list of numbers")
        found.append(number(match[1]))
        position = match.end()
    return found


def length(text: str, *, percent_of: float, name: str) -> float:
    """Turn a length into px.

    Args:
        text: A number with or without a unit.
        percent_of: What 100 % stands for, px.
        name: The attribute, for the message.

    Raises:
        SvgError: If it is no length in a known unit.
    """
    match = _LENGTH.fullmatch(text)
    unit = match[2].lower() if match else ""
    if match is None or (unit != "%" and unit not in PX_PER):
        raise SvgError(
            f"{name} is {shown(text)}; it needs to be a number with px, mm, cm, in, pt, pc, Q, em, ex, % or no unit"
        )
    value = number(match[1])
    return value * percent_of / 100 if unit == "%" else value * PX_PER[unit]


def times(outer: Matrix, inner: Matrix) -> Matrix:
    """The map that does *inner* first and *outer* after it."""
    a, b, c, d, e, f = outer
    k, m, n, p, q, r = inner
    return (a * k + c * m, b * k + d * m, a * n + c * p, b * n + d * p, a * q + c * r + e, b * q + d * r + f)


def moved(x: float, y: float) -> Matrix:
    """The map that shifts by (x, y)."""
    return (1.0, 0.0, 0.0, 1.0, x, y)


def transform(text: str) -> Matrix:
    """Turn a ``transform`` attribute or style property into a map.

    Raises:
        SvgError: If any of it is not understood; half a transform would put the drawing in the wrong place.
    """
    if text.strip().lower() in ("", "none"):
        return IDENTITY
    matrix, position = IDENTITY, 0
    while position < len(text):
        call = _CALL.match(text, position)
        if call is None:
            raise SvgError(f"transform {shown(text[position:])} cannot be read")
        matrix = times(matrix, _one_transform(call[1].lower(), call[2]))
        position = call.end()
    if not all(math.isfinite(value) for value in matrix):
        raise SvgError(f"transform {shown(text)} is too large")
    return matrix


def _one_transform(word: str, inside: str) -> Matrix:
    given = _SPLIT.split(inside.strip()) if inside.strip() else []
    fits = {
        "matrix": (6,), "translate": (1, 2), "translatex": (1,), "translatey": (1,), "scale": (1, 2), "scalex": (1,),
        "scaley": (1,), "rotate": (1, 3), "skew": (1, 2), "skewx": (1,), "skewy": (1,),
    }  # fmt: skip
    if len(given) not in fits.get(word, ()):
        known = "matrix, translate, scale, rotate, skewX and skewY are understood"
        raise SvgError(f"transform {shown(word + '(' + inside + ')')} cannot be read; {known}")
    if word in ("matrix", "scale", "scalex", "scaley"):
        return _scaling(word, [number(item) for item in given])
    if word.startswith("translate"):
        shift = [length(item, percent_of=math.nan, name="translate") for item in given]
        if any(math.isnan(value) for value in shift):
            raise SvgError("translate in percent cannot be read; give it in units")
        x, y = (0.0, shift[0]) if word == "translatey" else (shift[0], shift[1] if len(shift) > 1 else 0.0)
        return moved(x, y)
    if word == "rotate":
        turn = math.radians(_degrees(given[0]))
        centre = [length(item, percent_of=0, name="rotate") for item in given[1:]] or [0.0, 0.0]
        cos, sin = math.cos(turn), math.sin(turn)
        return times(times(moved(*centre), (cos, sin, -sin, cos, 0.0, 0.0)), moved(-centre[0], -centre[1]))
    slants = [math.tan(math.radians(_degrees(item))) for item in given]
    along_x, along_y = {"skewy": (0.0, slants[0])}.get(word, (slants[0], slants[1] if len(slants) > 1 else 0.0))
    return (1.0, along_y, along_x, 1.0, 0.0, 0.0)


def _scaling(word: str, values: list[float]) -> Matrix:
    if word == "matrix":
        a, b, c, d, e, f = values
        return (a, b, c, d, e, f)
    x, y = {"scalex": (values[0], 1.0), "scaley": (1.0, values[0])}.get(word, (values[0], values[-1]))
    return (x, 0.0, 0.0, y, 0.0, 0.0)


def _degrees(text: str) -> float:
    match = _LENGTH.fullmatch(text)
    if match is None or match[2].lower() not in _DEG_PER:
        raise SvgError(f"{shown(text)} is not an angle")
    return number(match[1]) * _DEG_PER[match[2].lower()]


def view_box_map(width: float, height: float, view_box: list[float], aspect: str) -> Matrix:
    """The map from the coordinates of a ``viewBox`` to a viewport of *width* by *height* (SVG 2, section 8.2).

    Raises:
        SvgError: If *aspect* is no ``preserveAspectRatio``.
    """
    left, top, wide, high = view_box
    words = [word for word in aspect.split() if word != "defer"] or ["xMidYMid"]
    align = re.fullmatch(r"x(Min|Mid|Max)Y(Min|Mid|Max)|none", words[0])
    if align is None or words[1:] not in ([], ["meet"], ["slice"]):
        raise SvgError(f"preserveAspectRatio is {shown(aspect)}; it needs to be like 'xMidYMid meet' or 'none'")
    across, down = width / wide, height / high
    if words[0] == "none":
        return (across, 0.0, 0.0, down, -left * across, -top * down)
    scale = max(across, down) if words[1:] == ["slice"] else min(across, down)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    x = (width - wide * scale) * share[align[1]] - left * scale
    y = (height - high * scale) * share[align[2]] - top * scale
    return (scale, 0.0, 0.0, scale, x, y)


def declarations(text: str) -> dict[str, str]:
    """Split the inside of a ``style`` attribute or rule into lower-case properties and their values."""
    found = {}
    for item in re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL).split(";"):
        key, colon, value = item.partition(":")
        if colon:
            found[key.strip().lower()] = re.sub(r"\s*!\s*important\s*$", "", value).strip()
    return found


@dataclass(frozen=True, slots=True)
class Paint:
    """What a ``fill`` or ``stroke`` says.

    Attributes:
        colour: ``"#rrggbb"``, or None for no paint.
        server: Id of the gradient or pattern asked for, if any; *colour* is then what it falls back on.
    """

    colour: str | None
    server: str = ""


def paint(text: str, *, current: str) -> Paint:
    """Read a ``fill`` or ``stroke``.

    Args:
        text: The value.
        current: The colour that ``currentColor`` stands for.

    Raises:
        SvgError: If it is no paint.
    """
    plain = text.strip()
    link = re.match(r"url\(\s*['\"]?([^'\")]*)['\"]?\s*\)\s*(.*)", plain, re.DOTALL)
    if link:
        fallback = paint(link[2], current=current).colour if link[2].strip() else None
        return Paint(fallback, link[1].strip() or "?")
    return Paint(current if plain.lower() in ("currentcolor", "context-fill", "context-stroke") else colour(plain))


def colour(text: str) -> str | None:
    """Turn a CSS colour into ``"#rrggbb"``; None for one that cannot be seen at all.

    Raises:
        SvgError: If it is no colour.
    """
    word = text.strip().lower()
    if word in _BASIC_COLOURS:
        return _BASIC_COLOURS[word]
    if re.fullmatch(r"#(?:[0-9a-f]{3,4}|[0-9a-f]{6}|[0-9a-f]{8})", word):
        digits = word[1:] if len(word) > 5 else "".join(2 * digit for digit in word[1:])
        return None if digits[6:] == "00" else "#" + digits[:6]
    call = re.fullmatch(r"(rgb|hsl)a?\(([^()]*)\)", word)
    parts = re.split(r"[\s,/]+", call[2].strip()) if call else []
    if call and len(parts) in (3, 4):
        if len(parts) == 4 and _share(parts[3], 1) == 0:
            return None
        return _from_rgb(parts) if call[1] == "rgb" else _from_hsl(parts)
    from PIL import ImageColor  # slow to load, and few drawings name their colours

    if word not in ImageColor.colormap:
        raise SvgError(f"{shown(text)} is not a colour")
    return "#" + "".join(f"{part:02x}" for part in ImageColor.getrgb(word)[:3])


def _share(text: str, whole: float) -> float:
    value = number(text[:-1]) / 100 if text.endswith("%") else number(text) / whole
    return min(max(value, 0.0), 1.0)


def _hex(shares: tuple[float, ...]) -> str:
    return "#" + "".join(f"{round(255 * share):02x}" for share in shares)


def _from_rgb(parts: list[str]) -> str:
    return _hex(tuple(_share(part, 255) for part in parts[:3]))


def _from_hsl(parts: list[str]) -> str:
    hue = (_degrees(parts[0]) / 360) % 1.0
    return _hex(colorsys.hls_to_rgb(hue, _share(parts[2], 100), _share(parts[1], 100)))
