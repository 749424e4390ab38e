"""The plain words of the sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from stitchcraft.defaults import FABRIC_NEEDLES, NEEDLES, FabricProfile
from stitchcraft.design import PURPOSE_WORDS, Purpose, StitchPlan
from stitchcraft.family import Part
from stitchcraft.machine import Proof
from stitchcraft.paper.handling import care_of
from stitchcraft.paper.sheet import SheetHooping, SheetPart
from stitchcraft.units import both_text, inches_said_first
from stitchcraft.wording import listed

_SEWN: Final = PURPOSE_WORDS | {
    Purpose.TICKS: "four alignment ticks",
    Purpose.SEAM: "the seam, out and back through the same holes; the mouth stays open",
    Purpose.SNAP: "the mark",
    Purpose.TACK: "the tack-down that holds the cloth",
    Purpose.COVER: "the cover stitch over the cut edge",
    Purpose.BASTE: "a basting box, taken out later",
}
_SEWN_ON: Final = {
    ("connector", Purpose.TICKS): "a box for each strap end",
    ("label", Purpose.OUTLINE): "the fold line",
    ("shaping-marks", Purpose.SNAP): "the shaping snap's mark: a circle and a cross",
    ("corner", Purpose.COVER): "the cover stitch along the free edge",
    ("tab-front", Purpose.PLACE): "the line for the batting",
    ("tab-buttonhole", Purpose.PLACE): "the outline on which the finished tab is laid",
    ("tab-front", Purpose.TACK): "the tack-down that holds the batting",
}


def sewn_words(part: Part, purpose: Purpose) -> str:
    """What a stop sews, in plain words."""
    own = dict(part.sews).get(purpose)
    if own is not None:
        return own
    for (start, special), words in _SEWN_ON.items():
        if purpose is special and part.name.startswith(start):
            return words
    return _SEWN[purpose]


def merged_words(hooping: SheetHooping, stop: int) -> str:
    """What a stop of a shared hooping sews, with the numbers of the pieces where it is not the same on all."""
    words: dict[str, list[int]] = {}
    for piece, source in hooping.members[stop]:
        own = hooping.pieces[piece]
        words.setdefault(sewn_words(own.part, own.plan.stops[source].purpose), []).append(piece + 1)
    if len(words) == 1 and len(hooping.members[stop]) == len(hooping.pieces):
        return f"{next(iter(words))}, on {all_words(len(hooping.pieces))}"
    return "; ".join(f"on {number_words(pieces)}: {what}" for what, pieces in words.items())


def all_words(pieces: int) -> str:
    """All the pieces of a hooping: ``"both pieces"``, ``"all 4 pieces"``."""
    return "both pieces" if pieces == 2 else f"all {pieces} pieces"


def number_words(numbers: Sequence[int]) -> str:
    """Numbers in a row: ``"1"``, ``"1 and 2"``, ``"1, 2 and 3"``."""
    return listed([str(number) for number in numbers])


def pieces_title(hooping: SheetHooping) -> str:
    """The parts of a shared hooping in a few words, such as ``"tab back × 4"`` or ``"corner left, corner right"``."""
    names = [title_of(piece.name).lower() for piece in hooping.pieces]
    return ", ".join(
        name if names.count(name) == 1 else f"{name} × {names.count(name)}" for name in dict.fromkeys(names)
    )


def loaded_words(hooping: SheetHooping) -> str:
    """How often a shared hooping is loaded and on what, such as ``"twice, on the front and the back panel"``."""
    count = {1: "once", 2: "twice"}.get(hooping.times, f"{hooping.times} times")
    if not hooping.panels:
        return f"{count}, on its own cloth"
    return f"{count}, on the " + " and the ".join(hooping.panels) + " panel"


def after_words(hooping: SheetHooping) -> str:
    """What the hands do once a shared hooping is sewn."""
    said: dict[str, list[int]] = {}
    for number, piece in enumerate(hooping.pieces, start=1):
        said.setdefault(piece.part.after, []).append(number)
    apart = (
        ""
        if hooping.panels
        else "Take everything out of the hoop and cut the pieces apart between their outlines. Then do with each "
        "what is said here of one: "
    )
    if len(said) == 1:
        return apart + next(iter(said))
    return " ".join(f"Piece {number_words(numbers)}: {words}" for words, numbers in said.items() if words)


def title_of(part: str) -> str:
    """A part's name as a heading: ``"corner-left"`` becomes ``"Corner left"``."""
    return part.replace("-", " ").capitalize()


def times_words(one: SheetPart, times: int, bags: int = 1) -> str:
    """How often a part is sewn and where, such as ``"twice, on the front and the back panel"``."""
    places = one.part.placements
    count = {1: "once", 2: "twice"}.get(times, f"{times} times")
    if not places:
        return f"{count}, on its own cloth" if one.part.cloth else f"{count}, through the finished tab"
    panels = list(dict.fromkeys(place.panel for place in places))
    where = f"on the {panels[0]} panel" if len(panels) == 1 else "on the " + " and the ".join(panels) + " panel"
    each, left = divmod(times, len(panels) * bags)
    of_each = " of each bag" if bags > 1 and not left else ""
    return f"{count}, {where}{of_each}" + (f", {each} on each" if each > 1 and not left and len(panels) > 1 else "")


def needle_words(plan: StitchPlan, fabric: FabricProfile) -> str:
    """A needle to start with, for the heaviest thread and the cloth."""
    if fabric.name in FABRIC_NEEDLES:
        size, _ = FABRIC_NEEDLES[fabric.name]
        return f"{size}, for {fabric.name}"
    weight = min(stop.thread.weight for stop in plan.stops)
    nearest = min(NEEDLES, key=lambda known: (abs(known - weight), known))
    size, _ = NEEDLES[nearest]
    care = care_of(fabric)
    if care is not None and care.point:
        return f"{size}, {care.point}, for thread of weight {weight:g} in {fabric.name}"
    return f"{size}, for thread of weight {weight:g}"


def off_centre_words(x: float, y: float, right: str, up: str) -> str:
    """Where a point lies from another, such as ``"7 in (177.8 mm) left and 12 in (304.8 mm) below"``."""
    left, down = {"right": "left", "to the right of": "to the left of"}[right], {"above": "below"}[up]
    words = []
    if abs(x) >= 0.05:
        words.append(f"{both_text(abs(x))} {right if x > 0 else left}")
    if abs(y) >= 0.05:
        words.append(f"{both_text(abs(y))} {up if y > 0 else down}")
    return " and ".join(words)


def turn_words(angle_deg: float) -> str:
    """How a part lies turned in its field, and that its cloth is then hooped off the grain."""
    angle = (angle_deg + 180) % 360 - 180
    if abs(angle) < 0.05:
        return "upright"
    if abs(abs(angle) - 180) < 0.05:
        return "upside down (180°)"
    off = min(abs(angle) % 90, 90 - abs(angle) % 90)
    grain = ", off the grain" if off >= 0.05 else ""
    return f"turned {abs(angle):.1f}° {'to the left' if angle > 0 else 'to the right'}{grain}"


def bolt_words(mm: float) -> str:
    """A length of cloth as shops cut it: metres up to the next 0.05, or yards up to the next eighth."""
    if not inches_said_first():
        return f"{math.ceil(mm / 50 - 1e-9) * 0.05:.2f} m"
    eighths = math.ceil(mm / 914.4 * 8 - 1e-9)
    whole, rest = divmod(eighths, 8)
    part = Fraction(rest, 8)
    words = [str(whole)] if whole else []
    if rest:
        words.append(f"{part.numerator}/{part.denominator}")
    return " ".join(words) + " yd"


def reel_words(metres: float) -> str:
    """A length of thread in metres and yards, the maker's own first."""
    yards = f"{round(metres / 0.9144)} yd"
    return f"{yards} ({metres} m)" if inches_said_first() else f"{metres} m ({yards})"


def minute_words(minutes: float) -> str:
    """Minutes to the nearest whole one, such as ``"12"``, or ``"<1"``."""
    return "<1" if minutes < 0.95 else f"{minutes:.0f}"


def count_words(number: int) -> str:
    """A count with its thousands apart."""
    return f"{number:,}"


_PROMISES: Final = {
    "ticks-meet": "the alignment ticks of the tab's halves lie on one another",
    "halves-meet": "the back's outline, laid on, follows the front's seam",
    "seam-doubled": "every hole of the seam is used exactly twice",
    "mouth-open": "no stitch closes the mouth",
    "snap-mates": "the tab, brought over, closes on its target",
    "corners-meet": "left and right accents cross the seams at the same places",
    "crosses-meet": "the crosses of neighbouring pieces lie on one another",
    "pieces-whole": "the pieces together make every hole of the whole part",
    "hoop-fit": "the stitching lies within its field",
}


def promise_words(code: str) -> str:
    """A promise in plain words."""
    return _PROMISES.get(code, code)


def measured_words(promise: Proof) -> tuple[str, str]:
    """What was measured for a promise, and what it may be at most."""
    if promise.code == "hoop-fit":
        inside = f"{-promise.measured:g} mm inside" if promise.measured <= 0 else f"{promise.measured:g} mm outside"
        return (inside, "its edge")
    unit = promise.unit
    return (f"{promise.measured:g} {unit}", f"{promise.limit:g} {unit}")
