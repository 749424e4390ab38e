"""Stitch plans to try machine files on: short ones by hand, and a strategy that makes awkward ones."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from hypothesis import strategies as st

from stitchcraft.design import Kind, PlanStop, Purpose, StitchPlan, Thread

COLOURS = ("#2f5d62", "#d9a441", "#f2efe6", "#2f5d63", "#000000", "#ff0000")


def plan_of(
    stops: Sequence[Iterable[Sequence[tuple[float, float]]]],
    *,
    colours: Sequence[str] | None = None,
    cuts: bool = True,
    name: str = "tab-front",
) -> StitchPlan:
    """Make a plan: each stop a list of runs, each a list of needle points in mm; the thread is cut between runs."""
    xy: list[tuple[float, float]] = []
    kind: list[Kind] = []
    stop: list[int] = []

    def row(at: tuple[float, float], what: Kind, number: int) -> None:
        xy.append(at)
        kind.append(what)
        stop.append(number)

    for number, runs in enumerate(stops):
        for k, run in enumerate(runs):
            if k and cuts:
                row(xy[-1], Kind.TRIM, number)
            row(run[0], Kind.JUMP, number)
            for point in run:
                row(point, Kind.STITCH, number)
        last = number == len(stops) - 1
        row(xy[-1], Kind.END if last else Kind.STOP, number)
    used = colours if colours is not None else [COLOURS[k % 3] for k in range(len(stops))]
    return StitchPlan(
        name=name,
        xy=np.array(xy),
        kind=np.array(kind),
        stop=np.array(stop),
        role=np.zeros(len(kind)),
        element=np.zeros(len(kind)),
        stops=tuple(PlanStop(Purpose.DECORATE, Thread(colour, "accent")) for colour in used),
    )


def three_stops() -> StitchPlan:
    """A box, a pause in the same thread, a zigzag in two runs, and a circle: 4 + 21 + 20 + 41 penetrations."""
    angle = np.linspace(0, 2 * np.pi, 41)
    circle = [(float(x), float(y)) for x, y in zip(25 * np.cos(angle), 25 * np.sin(angle), strict=True)]
    zigzag = [(-20 + k * 0.7, 3.13 * (k % 2)) for k in range(21)]
    again = [(-20 + k * 0.7, 20 + 2.9 * (k % 2)) for k in range(20)]
    box = [(-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)]
    return plan_of([[box], [zigzag, again], [circle]], colours=["#2f5d62", "#2f5d62", "#d9a441"])


_TENTHS = st.integers(-600, 600).map(lambda k: k / 10)
_PLACE = st.one_of(st.tuples(_TENTHS, _TENTHS), st.floats(-60, 60).map(lambda x: (x, 0.0)), st.just((0.0, 0.0)))
# 8.4 mm on both axes is 11.9 mm however the part is turned, which every format takes
_STEP = st.tuples(st.floats(-8.4, 8.4), st.floats(-8.4, 8.4))


@st.composite
def plans(draw: st.DrawFn) -> StitchPlan:
    """Plans of one to six stops, of cut and uncut runs anywhere, on axes and off, with repeated points and colours."""
    stops = []
    for _ in range(draw(st.integers(1, 6))):
        runs = []
        for _ in range(draw(st.integers(1, 3))):
            steps = draw(st.lists(st.one_of(_STEP, st.just((0.0, 0.0))), max_size=8))
            points = np.cumsum([draw(_PLACE), *steps], axis=0)
            runs.append([(float(x), float(y)) for x, y in points])
        stops.append(runs)
    colours = draw(st.lists(st.sampled_from(COLOURS), min_size=len(stops), max_size=len(stops)))
    return plan_of(stops, colours=colours, cuts=draw(st.booleans()))
