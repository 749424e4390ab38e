"""Marks and letters that the faces lack: accents to set on a base letter, and a few letters of their own.

Drawn for this project in the faces' units: a capital is 21 high, the baseline is at 0, y goes up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

Strokes: TypeAlias = tuple[tuple[tuple[float, float], ...], ...]

_ACUTE: Final = ((-1.2, 0.0), (1.6, 4.0))
_CEDILLA: Final = ((0.0, 0.3), (-0.3, -1.6), (1.2, -2.0), (1.9, -3.4), (1.0, -4.8), (-1.4, -4.9))
_OGONEK: Final = ((0.0, 0.0), (-1.4, -1.4), (-1.8, -3.2), (-0.7, -4.5), (1.0, -4.2))


@dataclass(frozen=True, slots=True)
class Mark:
    """An accent.

    Attributes:
        place: Whether it stands above the letter, hangs below it, or touches its foot or its right foot.
        strokes: Its lines about x = 0; above a letter its lowest point is at y = 0, below one its highest.
        dots: Where the face's own dot goes, x from the middle.
    """

    place: Literal["above", "below", "foot", "right foot"]
    strokes: Strokes = ()
    dots: tuple[float, ...] = ()


MARKS: Final[dict[str, Mark]] = {
    "\u0300": Mark("above", (((-1.6, 4.0), (1.2, 0.0)),)),  # grave
    "\u0301": Mark("above", (_ACUTE,)),
    "\u0302": Mark("above", (((-3.0, 0.0), (0.0, 3.6), (3.0, 0.0)),)),  # circumflex
    "\u0303": Mark("above", (((-4.0, 0.2), (-3.2, 1.7), (-1.8, 2.1), (0.0, 1.2), (1.8, 0.3), (3.2, 0.7), (4.0, 2.2)),)),
    "\u0304": Mark("above", (((-3.5, 1.0), (3.5, 1.0)),)),  # macron
    "\u0306": Mark("above", (((-3.0, 3.0), (-2.2, 1.0), (0.0, 0.0), (2.2, 1.0), (3.0, 3.0)),)),  # breve
    "\u0307": Mark("above", dots=(0.0,)),
    "\u0308": Mark("above", dots=(-3.0, 3.0)),  # diaeresis
    "\u030a": Mark("above", (((0.0, 0.0), (1.5, 0.6), (2.1, 2.1), (1.5, 3.6), (0.0, 4.2),
                              (-1.5, 3.6), (-2.1, 2.1), (-1.5, 0.6), (0.0, 0.0)),)),  # ring
    "\u030b": Mark("above", tuple(tuple((x + dx, y) for x, y in _ACUTE) for dx in (-2.2, 2.2))),  # double acute
    "\u030c": Mark("above", (((-3.0, 3.6), (0.0, 0.0), (3.0, 3.6)),)),  # caron
    "\u0323": Mark("below", dots=(0.0,)),
    "\u0326": Mark("below", (((0.6, 0.0), (0.6, -1.6), (-1.0, -4.0)),)),  # comma
    "\u0327": Mark("foot", (_CEDILLA,)),
    "\u0328": Mark("right foot", (_OGONEK,)),
}  # fmt: skip
"""Accents by combining character (names as in the Unicode standard)."""

COMMA_FOR_CEDILLA: Final = "GKLNRgklnr"
"""Letters whose cedilla is drawn as a comma below, above for g (Latvian usage: common practice, no source)."""

APOSTROPHE_FOR_CARON: Final = "dtlL"
"""Letters whose caron is drawn as an apostrophe (Czech and Slovak usage: common practice, no source)."""

TURNED: Final = {"¡": "!", "¿": "?"}

SAME_AS: Final = {
    "’": "'", "‘": "'", "ʼ": "'", "′": "'", "“": '"', "”": '"', "„": '"', "″": '"', "−": "-", "‐": "-", "\u00a0": " ",
}  # fmt: skip
"""Signs that a single line cannot tell from their plain forms."""

JOINED: Final = {"æ": "ae", "œ": "oe", "Æ": "AE", "Œ": "OE"}
"""Two letters set so closely that they touch."""

OWN: Final[dict[str, Strokes]] = {
    "–": (((2.0, 9.0), (14.0, 9.0)),),
    "—": (((2.0, 9.0), (22.0, 9.0)),),
    "×": (((3.0, 3.0), (13.0, 13.0)), ((13.0, 3.0), (3.0, 13.0))),
    "°": (((5.0, 21.0), (7.1, 20.1), (8.0, 18.0), (7.1, 15.9), (5.0, 15.0), (2.9, 15.9), (2.0, 18.0), (2.9, 20.1),
           (5.0, 21.0)),),
    "«": (((8.0, 12.0), (4.0, 8.0), (8.0, 4.0)), ((13.0, 12.0), (9.0, 8.0), (13.0, 4.0))),
    "»": (((4.0, 12.0), (8.0, 8.0), (4.0, 4.0)), ((9.0, 12.0), (13.0, 8.0), (9.0, 4.0))),
    "ß": (((4.0, 0.0), (4.0, 16.0), (5.0, 19.0), (8.0, 21.0), (11.0, 20.5), (13.0, 18.5), (13.0, 16.0), (12.0, 14.0),
           (9.0, 12.5), (12.0, 11.5), (14.5, 9.0), (15.0, 6.0), (14.0, 3.0), (12.0, 0.8), (9.0, 0.0), (7.5, 0.4)),),
    "þ": (((4.0, 21.0), (4.0, -7.0)), ((4.0, 11.0), (6.0, 13.0), (8.0, 14.0), (11.0, 14.0), (13.0, 13.0), (15.0, 11.0),
           (16.0, 8.0), (16.0, 6.0), (15.0, 3.0), (13.0, 1.0), (11.0, 0.0), (8.0, 0.0), (6.0, 1.0), (4.0, 3.0))),
    "ð": (((14.0, 10.0), (11.5, 12.5), (9.0, 13.0), (6.5, 12.5), (4.0, 10.0), (3.0, 7.0), (3.0, 5.5), (4.0, 2.5),
           (6.0, 0.6), (9.0, 0.0), (12.0, 0.8), (14.0, 2.8), (15.0, 6.0), (14.6, 10.0), (13.0, 14.0), (10.5, 17.5),
           (7.0, 21.0)), ((6.5, 15.0), (13.0, 19.0))),
    "Þ": (((4.0, 21.0), (4.0, 0.0)), ((4.0, 16.0), (12.0, 16.0), (15.0, 15.2), (17.0, 13.0), (17.5, 10.5), (17.0, 8.0),
           (15.0, 5.8), (12.0, 5.0), (4.0, 5.0))),
    "♥": (((11.0, 1.0), (6.5, 5.0), (3.5, 8.5), (2.0, 11.5), (2.2, 15.0), (4.0, 17.3), (6.5, 17.8), (9.0, 16.6),
           (11.0, 13.5), (13.0, 16.6), (15.5, 17.8), (18.0, 17.3), (19.8, 15.0), (20.0, 11.5), (18.5, 8.5), (15.5, 5.0),
           (11.0, 1.0)),),
}  # fmt: skip
"""Letters and signs drawn here, from x = 0 with their own room at both sides."""

OWN_WIDTHS: Final = {
    "–": 16.0, "—": 24.0, "×": 16.0, "°": 10.0, "«": 17.0, "»": 17.0, "ß": 18.0, "þ": 19.0, "ð": 18.0, "Þ": 20.0,
    "♥": 22.0,
}  # fmt: skip

STRUCK: Final = {"ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "Ð": "D", "ħ": "h", "Ħ": "H"}
"""Letters that are another letter with a stroke through it."""
