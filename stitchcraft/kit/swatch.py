"""The calibration swatch: its folder, and from the filled-in measurement sheet to a fabric profile."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final

import numpy as np

from stitchcraft.arrays import turned
from stitchcraft.checks import check
from stitchcraft.defaults import CLOTH
from stitchcraft.design import StitchPlan
from stitchcraft.errors import Finding, Findings, MachineFileError, ParameterError, SpecError
from stitchcraft.kit.folder import whole_folder
from stitchcraft.machine import FileProof, Hoop, Machine, centred, decode, encode, fit_at, minutes, prove, thread_metres
from stitchcraft.parts.swatch import Swatch
from stitchcraft.spec.fabric_key import fabric_text
from stitchcraft.spec.measured import MeasuredRow, MeasurementSheet, read_measurements, sheet_text
from stitchcraft.stitching import plan
from stitchcraft.stitching.calibration import Calibration, Measured, fit_profile
from stitchcraft.view import Canvas, draw_thread
from stitchcraft.whole_files import whole_file

SHEET_NAME: Final = "measured.toml"
_MARK: Final = "swatch.json"
_ARROW: Final = "#c0392b"


@dataclass(frozen=True, slots=True, eq=False)
class SewnSwatch:
    """A swatch with all that was made of it.

    Attributes:
        swatch: The swatch.
        plan: Its stitches.
        fabric: Name of the fabric that it was planned for.
        machine: What will sew it.
        data: The bytes of its machine files, by format.
        proofs: Each file, read back, held against the plan, by format.
        findings: What the checks say.
    """

    swatch: Swatch
    plan: StitchPlan
    fabric: str
    machine: Machine
    data: dict[str, bytes]
    proofs: dict[str, FileProof]
    findings: tuple[Finding, ...]

    @property
    def ok(self) -> bool:
        """Whether no error stands."""
        return Findings(self.findings).ok


def build_swatch(
    swatch: Swatch, *, fabric: str = "quilting cotton", formats: Sequence[str] = ("dst", "pes")
) -> SewnSwatch:
    """Plan a swatch without compensation, write its machine files and prove them from the bytes read back.

    It lies unturned in its field, so that directions on the cloth are directions in the hoop.

    Args:
        swatch: The swatch.
        fabric: Whose pitch, spacing and underlay it is sewn with.
        formats: The files to write.

    Raises:
        ParameterError: If there is no such fabric or format.
        MachineFileError: If a file read back differs from the plan.
    """
    hoop = Hoop.parse(swatch.field)
    machine = Machine(hoops=[hoop], formats=formats)
    stitches = plan(swatch.design(), fabric=fabric)
    placement = centred(stitches.needle_points)
    if fit_at(stitches.needle_points, hoop, placement) is None:
        raise ParameterError("field", swatch.field, "large enough for the swatch, unturned")
    data, proofs = {}, {}
    for fmt in machine.formats:
        data[fmt] = encode(stitches, fmt, placement=placement, name="swatch")
        proofs[fmt] = prove(stitches, decode(data[fmt], fmt, path=f"swatch.{fmt}"), placement)
        if not proofs[fmt].ok:
            raise MachineFileError(f"swatch.{fmt}: the file read back differs from the plan: {proofs[fmt]}")
    return SewnSwatch(swatch, stitches, fabric, machine, data, proofs, tuple(check(stitches, hoop=hoop)))


def write_swatch(sewn: SewnSwatch, folder: str | Path) -> None:
    """Write a swatch's folder: machine files, a picture of where to measure, the measurement sheet, and a record.

    The folder appears in one step. An earlier swatch is replaced, unless its sheet has been written in.

    Raises:
        SpecError: If the folder holds something else, or measurements, or cannot be written.
    """
    target = Path(folder)
    _keep_measurements(target)
    with whole_folder(target, mark=_MARK) as work:
        for fmt, data in sewn.data.items():
            (work / f"swatch.{fmt}").write_bytes(data)
        (work / "swatch.png").write_bytes(swatch_png(sewn))
        (work / SHEET_NAME).write_text(_blank_sheet(sewn), encoding="utf-8", newline="\n")
        record = json.dumps(record_of(sewn), indent=1, ensure_ascii=False, allow_nan=False)
        (work / _MARK).write_text(record + "\n", encoding="utf-8", newline="\n")


def record_of(sewn: SewnSwatch) -> dict[str, object]:
    """What was made, as plain values; lengths in mm."""
    thread = thread_metres(sewn.plan)
    return {
        "swatch": 1,
        "field": sewn.swatch.field,
        "fabric": sewn.fabric,
        "stitches": sewn.plan.stitches,
        "trims": sewn.plan.trims,
        "minutes": round(minutes(sewn.plan, sewn.machine), 2),
        "thread_m": {"top": round(thread.top_m, 3), "bobbin": round(thread.bobbin_m, 3)},
        "stops": [
            {"n": n, "colour": stop.thread.colour, "before": stop.before} for n, stop in enumerate(sewn.plan.stops, 1)
        ],
        "files": {fmt: f"swatch.{fmt}" for fmt in sewn.data},
        "proof": {fmt: proof.to_dict() for fmt, proof in sewn.proofs.items()},
        "to_measure": [asdict(one) for one in sewn.swatch.to_measure],
        "findings": [finding.to_dict() for finding in sewn.findings],
    }


def swatch_png(sewn: SewnSwatch) -> bytes:
    """Draw the swatch as sewn, with a line across each thing to measure where the ruler goes."""
    left, bottom, right, top = sewn.plan.bounds
    canvas = Canvas((left - 4, bottom - 4, right + 4, top + 4), pixels_per_mm=12.0, ground=CLOTH)
    draw_thread(canvas, sewn.plan)
    for one in sewn.swatch.to_measure:
        if one.kind == "ruler":
            continue  # its own marks say where
        half = one.nominal / 2 + 0.9
        canvas.line(turned(np.array([[-half, 0.0], [half, 0.0]]), one.direction, one.at), _ARROW, width=0.22)
        for end in (-one.nominal / 2, one.nominal / 2):
            canvas.line(turned(np.array([[end, -0.8], [end, 0.8]]), one.direction, one.at), _ARROW, width=0.22)
    return canvas.png()


def calibrate(sheet: MeasurementSheet) -> Calibration:
    """Fit a profile to a filled-in sheet.

    Raises:
        ParameterError: If there are too few readings, or one that cannot be right.
    """
    taken = {
        kind: [
            Measured(row.direction, row.nominal, row.measured)
            for row in sheet.rows
            if row.kind == kind and row.measured is not None
        ]
        for kind in ("bar", "square", "ruler")
    }
    rulers = taken["ruler"]
    return fit_profile(
        taken["bar"], base=sheet.base, name=sheet.cloth, squares=taken["square"], ruler=rulers[0] if rulers else None
    )


def calibrate_file(source: str | Path, target: str | Path | None = None, *, replace: bool = False) -> Calibration:
    """Read a measurement sheet, fit a profile, and write it as a ``fabric = { ... }`` to paste into a spec.

    Args:
        source: The sheet, filled in.
        target: Where to; None writes nothing.
        replace: Whether a file that is there is replaced.

    Raises:
        SpecError: If the sheet cannot be used, or the profile cannot be written.
    """
    if target is not None and not replace and Path(target).exists():
        raise SpecError(f"{target}: is there already; --force replaces it")
    sheet = read_measurements(source)
    try:
        fit = calibrate(sheet)
    except ParameterError as error:
        raise SpecError(f"{source}: {error}") from error
    if target is not None:
        whole_file(Path(target), profile_text(fit).encode())
    return fit


def profile_text(fit: Calibration) -> str:
    """Write a fitted profile as TOML, with what is known of it in comments."""
    lines = [f"# {line}" if line else "#" for line in fit_lines(fit)]
    lines += ["", "# Paste this into the [material] table of a spec, in place of its fabric.", fabric_text(fit.profile)]
    if fit.strain is not None and round(fit.strain.strain, 4) > 0:
        lines += [
            "# Large filled areas are reshaped by a model of the cloth as a sheet if you add to it:",
            f"# strain = {round(fit.strain.strain, 4):g}",
        ]
    return "\n".join(lines) + "\n"


def fit_lines(fit: Calibration) -> list[str]:
    """Tell a fit in lines: the pull over all and by direction, with errors and residuals."""
    lines = [
        f"{fit.profile.name}: {len(fit.bars)} bars measured; residual {fit.rms:.3f} mm (root mean square)",
        "threads     pull at each end (mm)   share of the width    bars   residual (mm)",
    ]
    for one in (*fit.directions, fit.overall):
        where = "all" if one.direction is None else f"{one.direction:g}°"
        lines.append(
            f"{where:<11} {_with_error(one.pull, one.pull_error, 3):<23} "
            f"{_with_error(one.pull_share, one.share_error, 4):<21} {one.readings:>4}   {one.rms:.3f}"
        )
    if any(one.held for one in (*fit.directions, fit.overall)):
        lines.append("A number without its error was held at 0: the readings alone would make it negative.")
    if fit.chance is not None:
        chance = f"{fit.chance:.2g}" if fit.chance >= 0.001 else "under 0.001"
        told = "are told apart" if fit.by_direction else "share one pull"
        lines.append(f"The directions {told}: by chance alone they would differ as much with probability {chance}.")
    worst = int(np.argmax(np.abs(fit.residuals)))
    bar = fit.bars[worst]
    lines.append(
        f"Fits worst: the bar of {bar.nominal:g} mm at {bar.direction:g}°, measured {bar.measured:g} mm, off by "
        f"{abs(fit.residuals[worst]):.3f} mm."
    )
    if fit.strain is not None:
        lines.append(
            f"Filled squares: strain {_with_error(fit.strain.strain, fit.strain.error, 4)} from {fit.strain.readings}, "
            f"residual {fit.strain.rms:.3f} mm; the profile leaves it at 0."
        )
    if fit.ruler is not None:
        lines.append(f"Running line: {100 * fit.ruler:.1f} % of its drawn length.")
    return lines


def _with_error(value: float, error: float, digits: int) -> str:
    return f"{value:.{digits}f}" + ("" if math.isnan(error) else f" ± {error:.{digits}f}")


def _blank_sheet(sewn: SewnSwatch) -> str:
    rows = [MeasuredRow(one.kind, one.direction, one.nominal) for one in sewn.swatch.to_measure]
    return sheet_text(rows, base=sewn.fabric)


def _keep_measurements(target: Path) -> None:
    """Refuse to replace a sheet that somebody has written in."""
    sheet = target / SHEET_NAME
    try:
        if not sheet.is_file():
            return
        filled = any(row.measured is not None for row in read_measurements(sheet, blank=True).rows)
    except SpecError:
        filled = True  # it cannot be read as it stands, but it is not as it was written
    except OSError:
        return  # the folder's own rules say what is wrong with it
    if filled:
        raise SpecError(f"{sheet}: holds measurements, which a new swatch would replace; name another folder")
