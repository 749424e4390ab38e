"""The measurement sheet of a swatch: written with a place for each reading, and read once they are filled in."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from stitchcraft.defaults import FABRIC_NAMES
from stitchcraft.errors import SpecError
from stitchcraft.spec.files import error_at_lines, parsed_toml, quoted, toml_text
from stitchcraft.spec.keys import ChoiceKey, Key, LengthKey, NumberKey, Reading, TextKey
from stitchcraft.spec.problems import KeyPath, Problem, ProblemError, not_a_key, wrong

NOT_YET: Final = "?"
"""Stands where nothing has been measured yet."""

LONGEST_LIST: Final = 1000

_NOUN: Final = "a measurement sheet"
_KINDS: Final = ("bar", "square", "ruler")
_PLAIN_KEYS: Final[dict[str, Key]] = {"cloth": TextKey(40), "base": ChoiceKey(FABRIC_NAMES)}
_ROW_KEYS: Final[dict[str, Key]] = {
    "direction": NumberKey(-360, 360), "nominal": LengthKey(0.5, 1000, always="mm"),
    "measured": LengthKey(0, 1000, always="mm"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class MeasuredRow:
    """A line of the sheet.

    Attributes:
        kind: ``"bar"``, ``"square"`` or ``"ruler"``.
        direction: Of the thread and the measuring, degrees counter-clockwise from x.
        nominal: As drawn, mm.
        measured: As sewn, mm; None if it is still to be measured.
    """

    kind: str
    direction: float
    nominal: float
    measured: float | None = None


@dataclass(frozen=True, slots=True)
class MeasurementSheet:
    """A sheet as filled in.

    Attributes:
        cloth: What the maker calls her cloth.
        base: The fabric that the swatch was planned for.
        rows: Its lines in the order of the file.
    """

    cloth: str
    base: str
    rows: tuple[MeasuredRow, ...]


_HEAD: Final = """\
# What the swatch measures on your cloth.
#
# Sew the swatch, let the cloth rest, press it as you will the bag, and measure with a good ruler, a calliper or a
# scan: each bar across its middle, square to its long sides; each square along its rows, edge to edge; the ruler
# between the middles of its marks. Tenths of a millimetre count: if you can, measure two swatches and copy the lines.
# Put each number in place of "?", in mm. Lines that are left at "?" are not used.
# Directions are those of the threads, degrees counter-clockwise; the grain arrow points to 90.
# Then: stitchcraft calibrate {file} -o my_fabric.toml
"""


def sheet_text(
    rows: Sequence[MeasuredRow], *, cloth: str = "my cloth", base: str = "quilting cotton", file: str = "measured.toml"
) -> str:
    """Write a measurement sheet.

    Args:
        rows: What there is to measure.
        cloth: Name of the profile to come.
        base: The fabric that the swatch was planned for.
        file: Name that the sheet is to have.
    """
    lines = [
        _HEAD.format(file=file), f'cloth = {quoted(cloth)}    # what to call your cloth',
        f'base  = {quoted(base)}    # what the swatch was planned for; all but the pull is taken from it',
    ]  # fmt: skip
    for kind in _KINDS:
        mine = [row for row in rows if row.kind == kind]
        if mine:
            lines += ["", f"{kind} = ["]
            for before, row in zip([None, *mine], mine, strict=False):
                if kind == "bar" and before is not None and before.direction != row.direction:
                    lines.append("")
                taken = f'"{NOT_YET}"' if row.measured is None else f"{row.measured:g}"
                lines.append(
                    f"    {{ direction = {row.direction:>3g}, nominal = {row.nominal:>2g}, measured = {taken} }},"
                )
            lines.append("]")
    return "\n".join(lines) + "\n"


def read_measurements(path: str | os.PathLike[str], *, blank: bool = False) -> MeasurementSheet:
    """Read a measurement sheet.

    Args:
        path: The file, TOML.
        blank: Take a sheet on which nothing is measured yet.

    Returns:
        What it holds, lengths in mm.

    Raises:
        SpecError: If it cannot be read or a line cannot be used; the text names file, line and key.
    """
    text, source, folder = toml_text(path, noun=_NOUN)
    document = parsed_toml(text, source, noun=_NOUN)
    problems: list[Problem] = []
    reading = Reading("mm", folder)
    plain: dict[str, str] = {"cloth": "my cloth", "base": "quilting cotton"}
    rows: list[MeasuredRow] = []
    for key, value in document.items():
        if key in _PLAIN_KEYS:
            plain[key] = _taken(_PLAIN_KEYS[key], value, (key,), reading, problems)
        elif key in _KINDS:
            rows += _rows(key, value, reading, problems)
        else:
            problems.append(not_a_key((key,), (*_PLAIN_KEYS, *_KINDS)))
    if problems:
        raise error_at_lines(problems, text, source)
    if not blank and not any(row.measured is not None for row in rows):
        raise SpecError(f'{source}: nothing is measured yet; put a number in place of each "{NOT_YET}"')
    return MeasurementSheet(plain["cloth"], plain["base"], tuple(rows))


def _rows(kind: str, value: Any, reading: Reading, problems: list[Problem]) -> list[MeasuredRow]:
    if not isinstance(value, list) or len(value) > LONGEST_LIST or not all(isinstance(row, dict) for row in value):
        example = "a list of lines such as { direction = 0, nominal = 4, measured = 3.7 }"
        problems.append(Problem((kind,), wrong(value, example).text))
        return []
    rows = []
    for position, table in enumerate(value):
        at: KeyPath = (kind, position)
        wanted = {key: rule for key, rule in _ROW_KEYS.items() if (kind, key) != ("ruler", "direction") or key in table}
        problems += [not_a_key((*at, key), wanted) for key in table if key not in _ROW_KEYS]
        taken: dict[str, Any] = {"direction": 0.0}
        for key, rule in wanted.items():
            if key not in table:
                problems.append(Problem((*at, key), f"is missing; it needs to be {rule.needs}"))
            elif key == "measured" and table[key] == NOT_YET:
                taken[key] = None
            else:
                taken[key] = _taken(rule, table[key], (*at, key), reading, problems)
        rows.append(taken)
    return [] if problems else [MeasuredRow(kind, **taken) for taken in rows]


def _taken(rule: Key, value: Any, path: KeyPath, reading: Reading, problems: list[Problem]) -> Any:
    try:
        return rule.read(value, reading)
    except ProblemError as error:
        problems += [Problem(path + problem.path, problem.text) for problem in error.problems]
        return None
