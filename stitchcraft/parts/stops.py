"""Leaving out stops that sew nothing, without losing what the hands do before them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from stitchcraft.design import Stop


def sewn_stops(stops: Iterable[Stop]) -> tuple[Stop, ...]:
    """Leave out the stops without elements; what is done by hand before one is done before the next that is sewn.

    A part without decoration still has its cloth hooped, and its edges trimmed before they are covered.

    Args:
        stops: Stops in order of sewing; the last one sews something.
    """
    kept: list[Stop] = []
    waiting: list[str] = []
    for stop in stops:
        if stop.before:
            waiting.append(stop.before)
        if stop.elements:
            kept.append(replace(stop, before=" ".join(waiting)))
            waiting.clear()
    return tuple(kept)
