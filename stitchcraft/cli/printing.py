"""What the commands print: reports for people, JSON for programs, and on a terminal how far the work is."""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from stitchcraft.errors import Finding, Level
from stitchcraft.wording import counted

if TYPE_CHECKING:
    from stitchcraft.kit import Kit
    from stitchcraft.machine import FileReport, Hoop


def kit_progress() -> Any:
    """Say on stderr what is being made, but only to a terminal."""
    if not sys.stderr.isatty():
        return None
    return lambda step: click.echo(f"\r\033[K{step} ...", nl=False, err=True)


def catalogue_progress(count: int) -> Any:
    """Say on stderr how far a catalogue is, how fast it goes and how long it will take, but only to a terminal."""
    if not sys.stderr.isatty():
        return None
    start, done, new = time.monotonic(), 0, 0

    def say(_record: Any, kept: bool) -> None:
        nonlocal done, new
        done, new = done + 1, new + (not kept)
        rate = new / max(time.monotonic() - start, 1e-9)
        left = f", {rate * 60:.1f} kits a minute, {_clock((count - done) / rate)} left" if new else ""
        bar = "#" * (20 * done // count)
        end = "\n" if done == count else ""
        click.echo(f"\r\033[K[{bar:<20}] {done:,} of {count:,}{left}{end}", nl=False, err=True)

    return say


def _clock(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes}:{rest:02d} min"


def print_json(value: Any) -> None:
    """Print plain values as JSON, letters beyond ASCII as they are."""
    import json  # a report for people needs none

    click.echo(json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False))


def print_findings(findings: Sequence[Finding]) -> None:
    """Print findings, a line each: errors to stderr, the rest to stdout."""
    for finding in findings:
        click.echo(str(finding), err=finding.level is Level.ERROR)


def print_file(report: FileReport) -> None:
    """Print what a machine file holds, and a line for each of its stops."""
    width, height = report.size_mm
    name = f' "{report.name}"' if report.name else ""
    click.echo(
        f"{report.path}: {report.fmt}{name}, {counted(report.stitches, 'stitch', 'es')} in "
        f"{counted(len(report.stops), 'stop')}, {counted(report.trims, 'trim')}, {width:g} x {height:g} mm"
    )
    left, bottom, right, top = report.bounds_mm
    click.echo(f"  lies from ({left:g}, {bottom:g}) to ({right:g}, {top:g}) mm; the field's centre is (0, 0)")
    if report.hoop is not None and report.inside_mm is not None:
        fits = f"fits with {report.inside_mm:g} mm to spare" if report.inside_mm >= 0 else "does not fit as it lies"
        click.echo(f"  field {report.hoop.name}: {fits}")
    for what, length, (stop, (x, y)) in (
        ("longest", report.longest_mm, report.longest_at), ("shortest", report.shortest_mm, report.shortest_at),
    ):  # fmt: skip
        click.echo(f"  {what} stitch {length:.1f} mm, in stop {stop} near ({x:z.0f}, {y:z.0f})")
    x, y = report.densest_at
    click.echo(
        f"  at most {counted(report.densest, 'penetration')} in a square millimetre, near ({x:z.0f}, {y:z.0f}); "
        f"{counted(report.threads, 'thread')}, {counted(report.unlocked, 'end')} without a lock"
    )
    click.echo(
        f"  about {report.minutes:.0f} min of sewing, {report.top_m:.1f} m of top and {report.bobbin_m:.1f} m of "
        "bobbin thread"
    )
    for one in report.stops:
        colour = f" {one.colour}" if one.colour else ""
        click.echo(
            f"  stop {one.n}:{colour} {counted(one.stitches, 'stitch', 'es')}, {one.size_mm[0]:g} x "
            f"{one.size_mm[1]:g} mm, {one.shortest_mm:.1f} to {one.longest_mm:.1f} mm long; looks like {one.guess}"
        )


def print_kit(kit: Kit, folder: Path) -> None:
    """Print a row for each part of a kit, and how many proofs hold."""
    from stitchcraft.machine import hands_on_minutes, minutes

    if sys.stderr.isatty():
        click.echo("\r\033[K", nl=False, err=True)
    rows = [("part", "field", "turned", "stitches", "stops", "trims", "machine", "hands", "findings")]
    pieces = {one.part.name: len(one.pieces) for one in kit.hoopings.split}
    rows += [
        (
            one.name,
            _field(one.hooped.hoop, pieces.get(one.name, 0)),
            "-" if one.name in pieces else f"{one.hooped.placement.angle_deg:.0f}°",
            f"{one.plan.stitches:,}",
            str(len(one.plan.stops)),
            str(one.plan.trims),
            f"{minutes(one.plan, kit.machine):.0f} min",
            f"{hands_on_minutes(one.plan, kit.machine):.0f} min",
            str(sum(finding.part == one.name for finding in kit.findings) or "-"),
        )
        for one in kit.parts
    ]
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    for row in rows:
        first, second, *rest = (
            cell.ljust(width) if k < 2 else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        click.echo("  ".join([first, second, *rest]))
    proved = sum(proof.ok for proof in kit.proofs)
    total = counted(sum(len(one.data) for one in kit.parts), "machine file")
    click.echo(f"{folder}: {total} written and read back; {proved} of {len(kit.proofs)} proofs hold")


def _field(hoop: Hoop | None, pieces: int) -> str:
    if pieces:
        return f"in {pieces}"
    return "none" if hoop is None else hoop.name
