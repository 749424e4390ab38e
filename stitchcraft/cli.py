"""The command line: parses, calls, prints, sets the exit status. Nothing else in the package prints.

Exit status: 0 done; 1 done, but an error-level finding stands; 2 the input cannot be used and nothing was
written; 3 a fault of the program itself.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from stitchcraft.errors import Finding, Findings, Level, SpecError, StitchcraftError

# Each command loads what it needs when it runs: `--help` and `check` stay quick.
if TYPE_CHECKING:
    from stitchcraft.kit import Kit
    from stitchcraft.machine import FileReport

DONE, FOUND, UNUSABLE, FAULT = 0, 1, 2, 3
TRACE = "STITCHCRAFT_TRACE"


_PAPER = click.option(
    "--paper", type=click.Choice(["A4", "Letter"], case_sensitive=False), default="A4", show_default=True,
    help="Paper of the worksheet and the templates.",
)  # fmt: skip


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="stitchcraft")
def cli() -> None:
    """Design in-the-hoop embroidery for handbags, and prove it before a needle moves."""


@cli.command()
@click.argument("spec", type=click.Path(path_type=Path))
@click.option("-o", "--output", "folder", type=click.Path(path_type=Path), required=True, help="Folder for the kit.")
@_PAPER
@click.option("--json", "as_json", is_flag=True, help="Print the report as JSON.")
@click.option("--quiet", is_flag=True, help="Print nothing but findings.")
def make(spec: Path, folder: Path, *, paper: str, as_json: bool, quiet: bool) -> None:
    """Make the kit of SPEC.toml: machine files, worksheet, templates, report and preview.

    The folder appears in one step; an earlier kit there is replaced only by a whole new one.
    """
    from stitchcraft.kit import make_kit
    from stitchcraft.kit.report import report_of

    kit = make_kit(spec, folder, paper=paper, progress=None if quiet else _progress())
    if as_json:
        _print_json(report_of(kit))
    else:
        if not quiet:
            _print_kit(kit, folder)
        _print_findings(kit.findings)
    sys.exit(DONE if kit.ok else FOUND)


@cli.command()
@click.argument("source", metavar="CATALOGUE", type=click.Path(path_type=Path))
@click.option("-o", "--output", "folder", type=click.Path(path_type=Path), required=True, help="Folder for the kits.")
@click.option("--jobs", type=int, help="Kits made at a time; if left out, one for each core.")
@click.option("--cluster", "address", metavar="ADDRESS", help="Scheduler of a Dask cluster that makes them instead.")
@_PAPER
@click.option("--json", "as_json", is_flag=True, help="Print the list of kits as JSON.")
@click.option("--quiet", is_flag=True, help="Print nothing but what failed.")
def catalogue(
    source: Path, folder: Path, *, jobs: int | None, address: str | None, paper: str, as_json: bool, quiet: bool
) -> None:
    """Make a kit for every combination of choices in CATALOGUE.toml: sizes, fields, colours, styles.

    Kits that are there already and unchanged are kept. What cannot be made is listed and holds up nothing.
    """
    from stitchcraft.catalogue import cluster, local, make_catalogue, read_variants

    if jobs is not None and address is not None:
        raise click.UsageError("--jobs and --cluster exclude each other")
    engine = local(jobs) if address is None else cluster(address)
    variants = read_variants(source)
    progress = None if quiet else _many_progress(len(variants))
    made = make_catalogue(variants, folder, paper=paper, engine=engine, progress=progress)
    if as_json:
        click.echo((folder / "catalogue.json").read_text(encoding="utf-8"), nl=False)
    else:
        for record in made.records():
            if not record.made:
                click.echo(f"{record.name}: not made: {record.error}", err=True)
        if not quiet:
            click.echo(
                f"{folder}: {_plural(made.made, 'kit')} made, {made.kept:,} kept, {made.failed:,} failed, "
                f"{made.unsound:,} with errors; open {folder / 'index.html'}"
            )
    sys.exit(DONE if made.ok else FOUND)


@cli.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--hoop", "hoop", metavar="WxH", help="Sewing field, mm, such as 130x180.")
@click.option("--fabric", help="What it is sewn on, such as denim: says how dense it may be.")
@click.option(
    "-o", "--output", "target", type=click.Path(path_type=Path), help="Picture of the one file: .svg or .png."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def check(files: tuple[Path, ...], *, hoop: str | None, fabric: str | None, target: Path | None, as_json: bool) -> None:
    """Examine machine files: counts, size, fit, times, thread, density, locks, and what each stop looks like."""
    from stitchcraft.checks import check_file
    from stitchcraft.machine import Hoop

    field = None if hoop is None else Hoop.parse(hoop)
    if target is not None and len(files) > 1:
        raise SpecError(f"{target}: one picture shows one file; {len(files)} are given")
    results = [check_file(file, hoop=field, fabric=fabric) for file in files]
    if target is not None:
        from stitchcraft.kit.draw import draw_file

        draw_file(files[0], target)
    findings = [finding for _, found in results for finding in found]
    if as_json:
        _print_json([report.to_dict() | {"findings": [one.to_dict() for one in found]} for report, found in results])
    else:
        for report, _ in results:
            _print_file(report)
        _print_findings(findings)
    sys.exit(FOUND if not Findings(findings).ok else DONE)


@cli.command()
@click.argument("first", type=click.Path(path_type=Path))
@click.argument("second", type=click.Path(path_type=Path))
@click.option("--within", default="0", show_default=True, help="How far apart two penetrations count as one, mm.")
@click.option(
    "-o", "--output", "target", type=click.Path(path_type=Path),
    help="Picture of what differs, .svg or .png; of two folders a folder, a picture for each file that differs.",
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def compare(first: Path, second: Path, *, within: str, target: Path | None, as_json: bool) -> None:
    """Compare two machine files, or the machine files of two folders: status 1 if they do not sew the same."""
    from stitchcraft.kit.comparing import compare_paths

    result = compare_paths(first, second, within=within, target=target)
    if as_json:
        _print_json(result.to_dict())
    else:
        for line in result.lines:
            click.echo(line)
    sys.exit(DONE if result.same else FOUND)


@cli.command()
@click.argument("source", type=click.Path(path_type=Path))
@click.option(
    "-o", "--output", "target", type=click.Path(path_type=Path), required=True,
    help="Picture: .svg or .png; or .html, a page that replays the sewing.",
)  # fmt: skip
@click.option("--part", help="Which part of a spec to draw, such as tab-front; if left out the first, in .html all.")
@click.option("--density", is_flag=True, help="Draw how closely holes and thread lie instead, .png.")
def draw(source: Path, target: Path, *, part: str | None, density: bool) -> None:
    """Draw a machine file or the parts of a spec as SOURCE's picture."""
    from stitchcraft.kit.draw import draw_file

    draw_file(source, target, part=part, density=density)
    click.echo(f"{target}: drawn")


@cli.command()
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def fields(*, as_json: bool) -> None:
    """List the sewing fields of the trade by name, and what each machine file holds."""
    from stitchcraft.machine.limits import limits, limits_lines

    if as_json:
        _print_json(limits())
    else:
        for line in limits_lines():
            click.echo(line)


@cli.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--name", default="My bag", show_default=True, help="Title of the bag.")
@click.option("--force", is_flag=True, help="Replace a file that is there.")
def new(file: Path, *, name: str, force: bool) -> None:
    """Write a commented spec to FILE.toml, ready to make and to change."""
    from stitchcraft.spec.template import spec_text

    text = spec_text(name=name)  # before the file is touched
    try:
        with file.open("w" if force else "x", encoding="utf-8") as stream:
            stream.write(text)
    except FileExistsError:
        raise SpecError(f"{file}: is there already; --force replaces it") from None
    except OSError as error:
        raise SpecError(f"{file}: cannot be written: {error.strerror or error}") from None
    click.echo(f"{file}: written; next: stitchcraft make {file} -o kit")


@cli.command()
@click.option("-o", "--output", "folder", type=click.Path(path_type=Path), required=True, help="Folder for the swatch.")
@click.option("--fabric", default="quilting cotton", show_default=True, help="The fabric nearest to your cloth.")
@click.option("--hoop", "field", default="100x100", show_default=True, help="Sewing field: 100x100 or 130x180.")
@click.option("--formats", default="dst,pes", show_default=True, help="Machine files to write, between commas.")
def swatch(folder: Path, *, fabric: str, field: str, formats: str) -> None:
    """Make a swatch to sew and measure, so that your own cloth's pull is known."""
    from stitchcraft.kit.swatch import SHEET_NAME, build_swatch, write_swatch
    from stitchcraft.parts import Swatch

    names = [name.strip().lower() for name in formats.split(",")]
    sewn = build_swatch(Swatch(field=field), fabric=fabric, formats=names)
    write_swatch(sewn, folder)
    click.echo(
        f"{folder}: a swatch of {_plural(sewn.plan.stitches, 'stitch', 'es')} for {field}, "
        f"{_plural(len(sewn.data), 'machine file')} written and read back"
    )
    _print_findings(sewn.findings)
    click.echo(f"next: sew it, fill in {folder / SHEET_NAME}, then: stitchcraft calibrate {folder / SHEET_NAME}")
    sys.exit(DONE if sewn.ok else FOUND)


@cli.command()
@click.argument("measured", type=click.Path(path_type=Path))
@click.option("-o", "--output", "target", type=click.Path(path_type=Path), help="File for the fabric, .toml.")
@click.option("--force", is_flag=True, help="Replace a file that is there.")
def calibrate(measured: Path, *, target: Path | None, force: bool) -> None:
    """Fit a fabric to what was measured on a swatch, MEASURED.toml, and say how well it fits."""
    from stitchcraft.kit.swatch import calibrate_file, fit_lines
    from stitchcraft.spec.fabric_key import fabric_text

    fit = calibrate_file(measured, target, replace=force)
    for line in fit_lines(fit):
        click.echo(line)
    if target is None:
        click.echo(f"\n{fabric_text(fit.profile)}")
    else:
        click.echo(f"{target}: written; paste its fabric into the [material] table of a spec")


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line and leave with its exit status.

    Args:
        arguments: What was typed after the program's name; None takes it from the process.
    """
    try:
        status = cli.main(args=arguments, prog_name="stitchcraft", standalone_mode=False)
    except click.exceptions.Abort:
        click.echo("stopped; nothing was written", err=True)
        sys.exit(130)
    except click.exceptions.NoArgsIsHelpError as error:
        error.show()  # a whole page, not one line
        sys.exit(UNUSABLE)
    except click.ClickException as error:
        click.echo(f"stitchcraft: {_one_line(error.format_message())}", err=True)
        sys.exit(UNUSABLE)
    except StitchcraftError as error:
        click.echo(f"stitchcraft: {_one_line(str(error))}", err=True)
        sys.exit(UNUSABLE)
    except BrokenPipeError:
        # whoever read our output has gone: nothing more to say to it
        sys.stderr.close()
        sys.exit(DONE)
    except Exception as error:  # a maker at the machine has no use for a traceback
        if os.environ.get(TRACE):
            raise
        what = _one_line(f"{type(error).__name__}: {error}")[:300]
        click.echo(f"stitchcraft: a fault of the program, not of your input: {what} ({TRACE}=1 shows where)", err=True)
        sys.exit(FAULT)
    sys.exit(status if isinstance(status, int) else DONE)


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _progress() -> Any:
    """Say on stderr what is being made, but only to a terminal."""
    if not sys.stderr.isatty():
        return None
    return lambda step: click.echo(f"\r\033[K{step} ...", nl=False, err=True)


def _many_progress(count: int) -> Any:
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


def _print_json(value: Any) -> None:
    click.echo(json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False))


def _print_findings(findings: Sequence[Finding]) -> None:
    for finding in findings:
        click.echo(str(finding), err=finding.level is Level.ERROR)


def _print_file(report: FileReport) -> None:
    width, height = report.size_mm
    name = f' "{report.name}"' if report.name else ""
    click.echo(
        f"{report.path}: {report.fmt}{name}, {_plural(report.stitches, 'stitch', 'es')} in "
        f"{_plural(len(report.stops), 'stop')}, {_plural(report.trims, 'trim')}, {width:g} x {height:g} mm"
    )
    left, bottom, right, top = report.bounds_mm
    click.echo(f"  lies from ({left:g}, {bottom:g}) to ({right:g}, {top:g}) mm; the field's centre is (0, 0)")
    if report.hoop is not None and report.inside_mm is not None:
        fits = f"fits with {report.inside_mm:g} mm to spare" if report.inside_mm >= 0 else "does not fit as it lies"
        click.echo(f"  field {report.hoop.name}: {fits}")
    for what, length, (stop, (x, y)) in (
        ("longest", report.longest_mm, report.longest_at), ("shortest", report.shortest_mm, report.shortest_at),
    ):  # fmt: skip
        click.echo(f"  {what} stitch {length:.1f} mm, in stop {stop} near ({x:.0f}, {y:.0f})")
    x, y = report.densest_at
    click.echo(
        f"  at most {_plural(report.densest, 'penetration')} in a square millimetre, near ({x:.0f}, {y:.0f}); "
        f"{_plural(report.threads, 'thread')}, {_plural(report.unlocked, 'end')} without a lock"
    )
    click.echo(
        f"  about {report.minutes:.0f} min of sewing, {report.top_m:.1f} m of top and {report.bobbin_m:.1f} m of "
        "bobbin thread"
    )
    for one in report.stops:
        colour = f" {one.colour}" if one.colour else ""
        click.echo(
            f"  stop {one.n}:{colour} {_plural(one.stitches, 'stitch', 'es')}, {one.size_mm[0]:g} x "
            f"{one.size_mm[1]:g} mm, {one.shortest_mm:.1f} to {one.longest_mm:.1f} mm long; looks like {one.guess}"
        )


def _print_kit(kit: Kit, folder: Path) -> None:
    from stitchcraft.machine import hands_on_minutes, minutes

    if sys.stderr.isatty():
        click.echo("\r\033[K", nl=False, err=True)
    rows = [("part", "field", "turned", "stitches", "stops", "trims", "machine", "hands", "findings")]
    rows += [
        (
            one.name,
            "none" if one.hooped.hoop is None else one.hooped.hoop.name,
            f"{one.hooped.placement.angle_deg:.0f}°",
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
    total = _plural(sum(len(one.data) for one in kit.parts), "machine file")
    click.echo(f"{folder}: {total} written and read back; {proved} of {len(kit.proofs)} proofs hold")


def _plural(count: int, noun: str, ending: str = "s") -> str:
    return f"{count:,} {noun}" + ("" if count == 1 else ending)
