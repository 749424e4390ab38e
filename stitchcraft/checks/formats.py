"""What a machine file would lose of a plan, and of the names of a kit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stitchcraft.design import StitchPlan
from stitchcraft.errors import Finding, Level
from stitchcraft.machine import format_named
from stitchcraft.machine.writing import ascii_name
from stitchcraft.wording import listed


def format_findings(plan: StitchPlan, name: str, formats: Sequence[str]) -> Iterator[Finding]:
    """Stops and colours that a format has no room for.

    Args:
        plan: What is sewn.
        name: What the findings call it.
        formats: The files to write.

    Raises:
        ParameterError: If a format is unknown.
    """
    for form in map(format_named, formats):
        stops, colours = len(plan.stops), len({stop.thread.colour for stop in plan.stops})
        if stops > form.most_stops:
            yield Finding(
                Level.ERROR, "stops-lost", name,
                f"It has {stops} stops and a {form.name} file tells {form.most_stops} apart at most: the machine would "
                "not halt at the rest.",
                f"Sew it in two hoopings, or leave {form.name} out of machine.formats.", float(stops),
                float(form.most_stops),
            )  # fmt: skip
        if colours > form.most_colours:
            yield Finding(
                Level.ERROR, "colours-lost", name,
                f"It has {colours} colours and a {form.name} file tells {form.most_colours} apart at most.",
                f"Take fewer threads, or leave {form.name} out of machine.formats.", float(colours),
                float(form.most_colours),
            )  # fmt: skip


def name_findings(names: Sequence[str], formats: Sequence[str]) -> Iterator[Finding]:
    """Parts that a machine shows under one and the same name, because the format cuts it.

    Args:
        names: Names of the parts of a kit.
        formats: The files to write.

    Raises:
        ParameterError: If a format is unknown.
    """
    for form in map(format_named, formats):
        if not form.name_length:
            continue
        shown: dict[str, list[str]] = {}
        for name in names:
            shown.setdefault(ascii_name(name, form.name_length), []).append(name)
        for cut, parts in shown.items():
            if len(parts) > 1:
                yield Finding(
                    Level.NOTE, "name-cut", parts[0],
                    f"A {form.name} file keeps {form.name_length} characters of a name: a machine may show "
                    f'{listed(parts)} {"both" if len(parts) == 2 else "all"} as "{cut}".',
                    f"Choose by the name of the file, or leave {form.name} out of machine.formats.",
                    float(max(map(len, parts))), float(form.name_length),
                )  # fmt: skip
