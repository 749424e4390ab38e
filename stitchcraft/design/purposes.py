"""The purposes of stops, and what there is to say of them."""

from __future__ import annotations

from enum import StrEnum
from typing import Final


class Purpose(StrEnum):
    """What a colour stop is for."""

    DECORATE = "decorate"
    TICKS = "ticks"
    SEAM = "seam"
    SNAP = "snap"
    OUTLINE = "outline"
    PLACE = "place"
    TACK = "tack"
    COVER = "cover"
    BASTE = "baste"
    LETTER = "letter"


SHOWN_PURPOSES: Final = (Purpose.DECORATE, Purpose.COVER, Purpose.LETTER)
"""Purposes of the thread that the finished bag shows: that of the others is marks, or lies in seams or beneath."""

MARK_PURPOSES: Final = (Purpose.TICKS, Purpose.SNAP, Purpose.OUTLINE)
"""Purposes of the marks on a part's own cloth that the hands go by later, and that have to be seen until then."""

PURPOSE_WORDS: Final = {
    Purpose.DECORATE: "the decoration",
    Purpose.TICKS: "alignment ticks",
    Purpose.SEAM: "the seam",
    Purpose.SNAP: "the snap's place",
    Purpose.OUTLINE: "the outline",
    Purpose.PLACE: "the placement line",
    Purpose.TACK: "the tack-down",
    Purpose.COVER: "the cover stitch",
    Purpose.BASTE: "a basting box",
    Purpose.LETTER: "the lettering",
}
"""What a stop of each purpose sews, where no part has words of its own for it."""
