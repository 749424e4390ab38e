"""The commands. Each loads what it needs when it runs: `--help` and `check` stay quick."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Final

import click

from stitchcraft.cli.printing import (
    catalogue_progress,
    kit_progress,
    print_file,
    print_findings,
    print_json,
    print_kit,
)
from stitchcraft.errors import Findings, SpecError
from stitchcraft.wording import counted

DONE: Final = 0
FOUND: Final = 1
UNUSABLE: Final = 2
FAULT: Final = 3

_PAPER = click.option(
    "--paper", type=click.Choice(["A4", "Letter"], case_sensitive=False), default="A4", show_default=True,
    help="Paper of the worksheet and the templates.",
)  # fmt: skip


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="stitchcraft")
def cli() -> None:
    """Design in-the-hoop embroidery for handbags, and prove it before a needle moves."""


@cli.command(short_help="Make the kit of a spec: files, papers, pictures, report.")
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

    kit = make_kit(spec, folder, paper=paper, progress=None if quiet else kit_progress())
    if as_json:
        print_json(report_of(kit))
    else:
        if not quiet:
            print_kit(kit, folder)
        print_findings(kit.findings)
    sys.exit(DONE if kit.ok else FOUND)


@cli.command(short_help="Make a kit for every combination of choices.")
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
    progress = None if quiet else catalogue_progress(len(variants))
    made = make_catalogue(variants, folder, paper=paper, engine=engine, progress=progress)
    if as_json:
        click.echo((folder / "catalogue.json").read_text(encoding="utf-8"), nl=False)
    else:
        for record in made.records():
            if not record.made:
                click.echo(f"{record.name}: not made: {record.error}", err=True)
        if not quiet:
            click.echo(
                f"{folder}: {counted(made.made, 'kit')} made, {made.kept:,} kept, {made.failed:,} failed, "
                f"{made.unsound:,} with errors; open {folder / 'index.html'}"
            )
    sys.exit(DONE if made.ok else FOUND)


@cli.command(short_help="Examine machine files: size, fit, times, density, locks.")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--hoop", "hoop", metavar="WxH", help="Sewing field, mm, such as 130x180.")
@click.option("--fabric", help="What it is sewn on, such as denim: says how dense it may be.")
@click.option(
    "-o", "--output", "target", type=click.Path(path_type=Path), help="Picture of the one file: .svg or .png."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def check(files: tuple[Path, ...], *, hoop: str | None, fabric: str | None, target: Path | None, as_json: bool) -> None:
    """Examine machine files: counts, size, fit, times, thread, density, locks, and what each stop looks like."""
    if target is not None and len(files) > 1:
        raise SpecError(f"{target}: one picture shows one file; {len(files)} are given")
    from stitchcraft.machine.opening import opened_ahead

    reading = opened_ahead(files)  # the readers are at work while the rest is loaded
    from stitchcraft.checks import check_file
    from stitchcraft.machine import Hoop

    field = None if hoop is None else Hoop.parse(hoop)
    results = [check_file(file, hoop=field, fabric=fabric) for file in reading]
    if target is not None:
        from stitchcraft.kit.draw import draw_file

        draw_file(files[0], target)
    findings = [finding for _, found in results for finding in found]
    if as_json:
        print_json([report.to_dict() | {"findings": [one.to_dict() for one in found]} for report, found in results])
    else:
        for report, _ in results:
            print_file(report)
        print_findings(findings)
    sys.exit(FOUND if not Findings(findings).ok else DONE)


@cli.command(short_help="Compare two machine files, or two folders of them.")
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
        print_json(result.to_dict())
    else:
        for line in result.lines:
            click.echo(line)
    sys.exit(DONE if result.same else FOUND)


@cli.command(short_help="Draw a machine file or the parts of a spec.")
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


@cli.command(short_help="List sewing fields by name, and what each format holds.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def fields(*, as_json: bool) -> None:
    """List the sewing fields of the trade by name, and what each machine file holds."""
    from stitchcraft.machine.limits import limits, limits_lines

    if as_json:
        print_json(limits())
    else:
        for line in limits_lines():
            click.echo(line)


@cli.command(short_help="Write a commented spec, ready to make and to change.")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--name", default="My bag", show_default=True, help="Title of the bag.")
@click.option("--force", is_flag=True, help="Replace a file that is there.")
def new(file: Path, *, name: str, force: bool) -> None:
    """Write a commented spec to FILE.toml, ready to make and to change."""
    from stitchcraft.spec.template import spec_text
    from stitchcraft.whole_files import whole_file

    text = spec_text(name=name)  # before the file is touched
    if not force and os.path.lexists(file):
        raise SpecError(f"{file}: is there already; --force replaces it")
    whole_file(file, text.encode())
    click.echo(f"{file}: written; next: stitchcraft make {file} -o kit")


@cli.command(short_help="Make a swatch to sew and measure.")
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
        f"{folder}: a swatch of {counted(sewn.plan.stitches, 'stitch', 'es')} for {field}, "
        f"{counted(len(sewn.data), 'machine file')} written and read back"
    )
    print_findings(sewn.findings)
    click.echo(f"next: sew it, fill in {folder / SHEET_NAME}, then: stitchcraft calibrate {folder / SHEET_NAME}")
    sys.exit(DONE if sewn.ok else FOUND)


@cli.command(short_help="Fit a fabric to what was measured on a swatch.")
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
