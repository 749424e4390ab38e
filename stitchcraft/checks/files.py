"""Checks of a machine file, ours or anybody's."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from stitchcraft.checks.fields import hoop_finding
from stitchcraft.checks.stitches import check
from stitchcraft.defaults import FabricProfile
from stitchcraft.errors import Finding, Findings, Level
from stitchcraft.machine import FileReport, Hoop, MachineFile, Placement, inspect_file, read_file
from stitchcraft.machine.opening import Opened
from stitchcraft.wording import counted


def check_file(
    file: str | Path | Opened | MachineFile, *, hoop: Hoop | None = None, fabric: str | FabricProfile | None = None
) -> tuple[FileReport, Findings]:
    """Examine a machine file and check what it holds.

    Args:
        file: A path, or a file that was opened or read.
        hoop: The field that it has to fit.
        fabric: What it is sewn on, which says how dense it may be; None takes a woven one.

    Returns:
        What the file holds, and the findings, errors first.

    Raises:
        MachineFileError: If the file cannot be read.
        ParameterError: If no fabric has that name.
    """
    read = file if isinstance(file, MachineFile) else read_file(file)
    report = inspect_file(read, hoop)
    name = Path(read.path).name if read.path else read.name
    found = [
        *_missing(read, name),
        *_misstated(read, name),
        *_field(read, report, name),
        *check(read.plan(), part=name, fabric=fabric, placement=Placement()),
        *_loose_threads(report, name),
    ]
    return report, Findings(found).errors_first()


def _missing(file: MachineFile, name: str) -> list[Finding]:
    if not file.cut_short:
        return []
    return [
        Finding(
            Level.ERROR, "file-cut-short", name, "It has no mark that ends the sewing: the rest of it is missing.",
            "Copy the file again, or make it again.",
        )
    ]  # fmt: skip


def _misstated(file: MachineFile, name: str) -> Iterator[Finding]:
    """Counts in a header that the file does not bear out, and bytes where nothing should be."""
    remedy = "It is damaged or was changed by hand: copy the file again, or make it again, before you sew it."
    for one in file.told.disagreements:
        yield Finding(
            Level.ERROR if one.held < one.stated else Level.WARNING, "file-header", name,
            f"Its header says {one.stated:,} {one.what}, and it holds {one.held:,}.", remedy,
            float(one.held), float(one.stated),
        )  # fmt: skip
    if file.told.bytes_after:
        yield Finding(
            Level.WARNING, "file-tail", name,
            f"{counted(file.told.bytes_after, 'byte')} after the mark that ends its sewing: a machine does not sew "
            "them.", remedy, float(file.told.bytes_after), 0.0,
        )  # fmt: skip


def _field(file: MachineFile, report: FileReport, name: str) -> list[Finding]:
    if report.hoop is None or report.inside_mm is None or report.inside_mm >= 0:
        return []
    if report.fit is None:
        finding = hoop_finding(file.needle_points, [report.hoop], part=name)
        return [] if finding is None else [finding]
    width, height = report.size_mm
    turn = report.fit.placement.angle_deg
    moved = "moved to the middle" if turn == 0 else f"turned by {turn:.0f} degrees"
    return [
        Finding(
            Level.WARNING, "hoop-placement", name,
            f"Its stitching is {width:g} x {height:g} mm and reaches {-report.inside_mm:g} mm past the "
            f"{report.hoop.name} field as the file places it.",
            f"It fits {moved}: the machine can do that, or save it so.", -report.inside_mm, 0.0,
        )
    ]  # fmt: skip


def _loose_threads(report: FileReport, name: str) -> list[Finding]:
    if not report.untrimmed:
        return []
    return [
        Finding(
            Level.NOTE, "thread-uncut", name,
            f"{counted(report.untrimmed, 'move')} without a cut, the longest {report.longest_untrimmed_mm:.1f} mm.",
            "Cut them by hand, or let the machine trim.", float(report.untrimmed), 0.0,
        )
    ]  # fmt: skip
