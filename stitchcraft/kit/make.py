"""A spec file in, a kit's folder out: whole, or the earlier one left as it was."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Callable, Iterator
from pathlib import Path

from stitchcraft.errors import ArtworkError, ParameterError, SpecError
from stitchcraft.family import Family
from stitchcraft.kit.build import Kit, build_kit
from stitchcraft.kit.folder import REPORT_NAME, whole_folder
from stitchcraft.kit.hooping_options import HoopingOptions
from stitchcraft.kit.papers import papers_of
from stitchcraft.kit.pictures import bag_image, preview_png, preview_svg
from stitchcraft.kit.replay import player_of
from stitchcraft.kit.report import report_of
from stitchcraft.machine import Machine
from stitchcraft.machine.costs import Prices
from stitchcraft.spec import MachineTable, Spec, read_spec
from stitchcraft.spec.lines import key_lines


def make_kit(
    spec: str | Path | Spec,
    folder: str | Path,
    *,
    paper: str = "A4",
    progress: Callable[[str], None] | None = None,
) -> Kit:
    """Make the kit of a spec and write it to a folder.

    The folder appears in one step. If anything fails, an earlier kit there stays as it was.

    Args:
        spec: A spec file, or a spec already read.
        folder: Where to: nothing, an empty folder, or an earlier kit.
        paper: What the worksheet and the templates are laid out for: ``"A4"`` or ``"Letter"``.
        progress: Called with the name of each step as it is begun.

    Returns:
        The kit; `Kit.ok` says whether an error stands. It is written either way, and its report says so.

    Raises:
        SpecError: If the spec cannot be used, or the folder cannot be written.
    """
    kit = kit_of(spec, progress=progress)
    write_kit(kit, folder, paper=paper, progress=progress)
    return kit


def kit_of(spec: str | Path | Spec, *, progress: Callable[[str], None] | None = None) -> Kit:
    """Make the kit of a spec and write nothing.

    Args:
        spec: A spec file, or a spec already read.
        progress: Called with the name of each part as it is begun.

    Raises:
        SpecError: If the spec cannot be used.
    """
    values = spec if isinstance(spec, Spec) else read_spec(Path(spec))
    with placed_errors(spec):
        return build_kit(
            Family.from_spec(values),
            machine_from(values.machine),
            basting=bool(values.machine.basting),
            margin=0.0 if values.machine.margin is None else values.machine.margin,
            hooping=HoopingOptions(**values.hooping.given()),
            prices=Prices(**values.prices.given()),
            progress=progress,
        )


@contextlib.contextmanager
def placed_errors(spec: str | Path | Spec) -> Iterator[None]:
    """Name the file and the line of a spec in an error that shows only when parts are made of it.

    Raises:
        SpecError: For what is raised within as a `ParameterError` or an `ArtworkError`.
    """
    try:
        yield
    except ParameterError as error:
        if error.name == "margin":  # the fit knows it by that name alone
            error = ParameterError("machine.margin", error.value, error.needs)
        raise SpecError(f"{_place_of(spec, error.name)}: {error}") from error
    except ArtworkError as error:
        raise SpecError(f"{_place_of(spec, str(error).partition(':')[0])}: {error}") from error


def write_kit(
    kit: Kit, folder: str | Path, *, paper: str = "A4", progress: Callable[[str], None] | None = None
) -> None:
    """Write a kit to a folder: machine files, report, preview, worksheet, templates, cut files and player.

    Raises:
        ParameterError: If *paper* is neither ``"A4"`` nor ``"Letter"``.
        SpecError: If the folder holds something else or cannot be written.
    """
    with whole_folder(Path(folder)) as work:
        for one in kit.parts:
            for fmt, data in one.data.items():
                (work / one.file_name(fmt)).write_bytes(data)
        for hooping in kit.hoopings.hoopings:
            for fmt, data in hooping.data.items():
                (work / hooping.file_name(fmt)).write_bytes(data)
        if progress is not None:
            progress("preview")
        bag = bag_image(kit)
        (work / "preview.png").write_bytes(preview_png(kit, bag=bag))
        (work / "preview.svg").write_text(preview_svg(kit), encoding="utf-8", newline="\n")
        if progress is not None:
            progress("papers")
        for name, data in papers_of(kit, bag=bag, paper=paper).items():
            (work / name).parent.mkdir(exist_ok=True)
            (work / name).write_bytes(data)
        (work / "player.html").write_text(player_of(kit), encoding="utf-8", newline="\n")
        report = json.dumps(report_of(kit), indent=1, ensure_ascii=False, allow_nan=False)
        (work / REPORT_NAME).write_text(report + "\n", encoding="utf-8", newline="\n")


def _place_of(spec: str | Path | Spec, key: str) -> str:
    """The file and, where it can be told, the line of a key, for an error that shows only when parts are made."""
    if isinstance(spec, Spec):
        return "spec"
    try:
        lines = key_lines(Path(spec).read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError):  # gone or changed since it was read
        return str(spec)
    path: tuple[str | int, ...] = tuple(key.split("."))
    while path and path not in lines:
        path = path[:-1]
    return f"{spec}:{lines[path]}" if path else str(spec)


def machine_from(table: MachineTable) -> Machine:
    """Make a machine of the ``[machine]`` table of a spec."""
    given = table.given()
    try:
        return Machine(
            **{key: given[key] for key in ("hoops", "formats", "speed", "trims", "trim_over") if key in given}
        )
    except ParameterError as error:
        raise ParameterError(f"machine.{error.name}", error.value, error.needs) from error
