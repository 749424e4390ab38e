"""One page that replays the sewing of each part as it lies in its hoop; it needs no network and no other file."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.defaults import thread_width
from stitchcraft.design import PURPOSE_WORDS, PlanStop, StitchPlan
from stitchcraft.errors import ParameterError
from stitchcraft.machine import Hoop, Machine, Placement, minutes, stop_minutes
from stitchcraft.markup import html_text, shown
from stitchcraft.units import size_text, to_units
from stitchcraft.wording import counted

_IN_SCRIPT: Final = {"<": "\\u003c", ">": "\\u003e", "&": "\\u0026", "\u2028": "\\u2028", "\u2029": "\\u2029"}


@dataclass(frozen=True, slots=True, eq=False)
class PlayerPart:
    """A part as it lies in its hoop.

    Attributes:
        plan: Its stitches in its own frame.
        placement: How it lies in the field; None leaves it in its own frame.
        hoop: The field, its centre at (0, 0); None draws none.
        after: What the maker does after the last stop.
        title: What the page calls it; the plan's name if empty.
        sews: What each stop sews, in plain words; the words for its purpose if empty.
        cloth: Colour of its cloth, ``"#rrggbb"``; None if it is not known.
    """

    plan: StitchPlan
    placement: Placement | None = None
    hoop: Hoop | None = None
    after: str = ""
    title: str = ""
    sews: tuple[str, ...] = ()
    cloth: str | None = None

    def __post_init__(self) -> None:
        if self.sews and len(self.sews) != len(self.plan.stops):
            raise ParameterError("sews", f"{len(self.sews)} entries", f"one for each of {len(self.plan.stops)} stops")

    @property
    def units(self) -> NDArray[np.int32]:
        """Where every row of the plan lies in the field, as the machine files have it, int32 (N, 2), 0.1 mm."""
        return to_units(self.plan.xy if self.placement is None else self.placement.placed(self.plan.xy))


def player_html(title: str, parts: Sequence[PlayerPart], *, machine: Machine | None = None) -> str:
    """Make the page.

    Names and instructions are shown as text, whatever they hold. A policy in the page forbids it every request and
    every script but its own, by their digests. The same input gives the same text.

    Args:
        title: What the page is called, such as the bag's name.
        parts: What it shows, in order; at least one, each with a stitch.
        machine: Its speed sets the pace and the minutes; a common one if None.

    Returns:
        The text of the file; write it as UTF-8.

    Raises:
        ParameterError: If there is no part, or one without a stitch.
    """
    if not parts:
        raise ParameterError("parts", "nothing", "at least one part")
    for part in parts:
        if not part.plan.stitches:
            raise ParameterError("parts", part.plan.name, "parts with at least one stitch")
    used = machine if machine is not None else Machine()
    names = ("page.css", "sewing.js", "picture.js", "page.js")
    style, sewing, picture, page = (_file(f"player_{name}") for name in names)
    data = {"speed": used.speed, "parts": [_data(part) for part in parts]}
    values = {
        "POLICY": (
            f"default-src 'none'; img-src data:; style-src {_digest(style)}; "
            f"script-src {_digest(sewing)} {_digest(picture)} {_digest(page)}; base-uri 'none'; form-action 'none'"
        ),
        "TITLE": html_text(title),
        "STYLE": style,
        "WORK": "\n".join(_section(number, part, used) for number, part in enumerate(parts, 1)),
        "DATA": _json(data),
        "SEWING": sewing,
        "PICTURE": picture,
        "PAGE": page,
    }
    # one pass, so that an "@STYLE@" in a name stays what it is
    return re.sub(r"@([A-Z]+)@", lambda match: values[match[1]], _file("player_page.html"))


def _file(name: str) -> str:
    return resources.files("stitchcraft.view").joinpath(name).read_text(encoding="utf-8")


def _digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _json(data: Any) -> str:
    text = json.dumps(data, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return re.sub("[<>&\u2028\u2029]", lambda match: _IN_SCRIPT[match[0]], text)


def _data(part: PlayerPart) -> dict[str, Any]:
    """A part as the page's script reads it: moves from row to row in 0.1 mm; kinds, stops and roles as runs."""
    plan = part.plan
    return {
        "name": shown(part.title or plan.name),
        "field": None if part.hoop is None else [round(10 * part.hoop.width, 3), round(10 * part.hoop.height, 3)],
        "after": shown(part.after),
        "cloth": part.cloth,
        "stops": [
            {
                "colour": stop.thread.colour,
                "width": round(10 * thread_width(stop.thread.weight), 2),
                "thread": shown(_thread(stop)),
                "sews": shown(_sews(part, number)),
                "before": shown(_before(part, number)),
            }
            for number, stop in enumerate(plan.stops)
        ],
        "xy": np.diff(part.units, axis=0, prepend=np.zeros((1, 2), dtype=np.int32)).ravel().tolist(),
        "kind": _runs(plan.kind),
        "stop": _runs(plan.stop),
        "role": _runs(plan.role),
    }


def _runs(values: NDArray[np.uint8] | NDArray[np.int32]) -> list[int]:
    """Equal neighbours counted: value, how many, value, how many."""
    starts = np.flatnonzero(np.diff(values.astype(int), prepend=-1))
    lengths = np.diff(starts, append=len(values))
    return np.column_stack([values[starts].astype(int), lengths]).ravel().tolist()


def _sews(part: PlayerPart, number: int) -> str:
    return part.sews[number] if part.sews else PURPOSE_WORDS[part.plan.stops[number].purpose]


def _before(part: PlayerPart, number: int) -> str:
    """What the hands do before a stop with words of its own; else the page says what becomes of the thread."""
    return part.plan.hands_before(number) if part.plan.stops[number].before else ""


def _thread(stop: PlanStop) -> str:
    return f"{stop.thread.name} thread" if stop.thread.name else f"{stop.thread.colour} thread"


def _section(number: int, part: PlayerPart, machine: Machine) -> str:
    """The steps of one part, for the screen, for paper, and for those who use no picture."""
    plan = part.plan
    points = part.units[plan.is_stitch]
    width, height = (points.max(axis=0) - points.min(axis=0)) / 10
    turn = "" if part.placement is None else _turn(part.placement.angle_deg)
    facts = [
        *([f"Field {size_text(part.hoop.width, part.hoop.height)}"] if part.hoop else []),
        *([turn] if turn else []),
        f"sewn {size_text(width, height)}",
        f"{counted(plan.stitches, 'stitch', 'es')}, {counted(plan.trims, 'cut')}",
        f"about {_time(minutes(plan, machine))} of sewing",
    ]
    stops = "\n".join(_stop(part, k, machine) for k in range(len(plan.stops)))
    after = f'\n<p class="hands last"><b>Hands, at the end.</b> {html_text(part.after)}</p>' if part.after else ""
    return (
        f'<section class="part" id="part-{number}" aria-labelledby="name-{number}">\n'
        f'<h2 id="name-{number}"><bdi>{html_text(part.title or plan.name)}</bdi></h2>\n'
        '<canvas class="print" hidden></canvas>'
        f'<p class="facts">{" · ".join(facts)}</p>\n<ol class="stops">\n{stops}\n</ol>{after}\n</section>'
    )


def _stop(part: PlayerPart, number: int, machine: Machine) -> str:
    plan, stop = part.plan, part.plan.stops[number]
    stitches = int(np.count_nonzero(plan.is_stitch & (plan.stop == number)))
    before = _before(part, number)
    hands = f'<p class="hands"><b>Hands.</b> {html_text(before)}</p>\n' if before else ""
    sews = _sews(part, number)
    code = f" {stop.thread.colour}" if stop.thread.name else ""
    return (
        f'<li class="stop">\n{hands}<div class="sews"><span class="number">{number + 1}</span>'
        f"<p>{_strand(stop.thread.colour)}<b>{html_text(sews[:1].upper() + sews[1:])}</b></p>"
        f'<p class="by">{html_text(_thread(stop))}{code} · {counted(stitches, "stitch", "es")} · '
        f"{_time(stop_minutes(plan, machine)[number])}</p>"
        f'<button type="button" aria-label="Go to stop {number + 1}">Go</button></div>\n</li>'
    )


def _strand(colour: str) -> str:
    """A few stitches in a thread's colour; attributes, since the page's policy allows no style in its markup."""
    stitches = "".join(
        f'<line x1="{x}" y1="7" x2="{x + 9}" y2="5" stroke="{ink}" stroke-width="{width}" stroke-linecap="round"/>'
        for ink, width in (("#6b6458", 6), (colour, 4.6))
        for x in (4, 17, 30)
    )
    return f'<svg class="strand" width="43" height="12" viewBox="0 0 43 12" aria-hidden="true">{stitches}</svg>'


def _turn(angle_deg: float) -> str:
    angle = (angle_deg + 180) % 360 - 180
    return "" if abs(angle) < 0.05 else f"lies turned {abs(angle):.0f}° to the {'left' if angle > 0 else 'right'}"


def _time(time: float) -> str:
    return "under 1 min" if time < 0.75 else f"{time:.0f} min"
