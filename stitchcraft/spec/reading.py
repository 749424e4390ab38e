"""Reads a spec: TOML in, frozen tables out, or one error that says where and what."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast, get_args, get_type_hints

from stitchcraft.errors import ParameterError
from stitchcraft.spec import words
from stitchcraft.spec.files import error_at_lines, parsed_toml, toml_text
from stitchcraft.spec.keys import Key, Reading
from stitchcraft.spec.problems import KeyPath, Problem, ProblemError, not_a_key, wrong
from stitchcraft.spec.sense import contradictions, kind_problems
from stitchcraft.spec.tables import Spec
from stitchcraft.units import Unit

if TYPE_CHECKING:
    from pydantic import TypeAdapter, ValidationError


def read_spec(path: str | os.PathLike[str]) -> Spec:
    """Read a bag spec from a TOML file.

    Artwork that the spec names is looked for in the file's own folder.

    Args:
        path: The file, UTF-8, at most `LARGEST_BYTES` long.

    Returns:
        Its values, lengths in mm.

    Raises:
        SpecError: If the file cannot be read, is not TOML, or holds something that cannot be used. The text
            is one line on the first problem in the order of the file; ``problems`` has all of them.
    """
    text, source, folder = toml_text(path)
    return spec_from_text(text, source=source, folder=folder)


def spec_from_text(text: str, *, source: str = "spec.toml", folder: Path = Path()) -> Spec:
    r"""Read a bag spec from its text.

    Args:
        text: TOML.
        source: What to call it in an error.
        folder: Where artwork that it names is looked for.

    Returns:
        Its values, lengths in mm.

    Raises:
        SpecError: As in `read_spec`.

    Example:
        >>> spec = spec_from_text('units = "in"\n[bag]\nwidth = 14\nheight = "12 1/2"')
        >>> spec.bag.height, spec.tab.width
        (317.5, None)
    """
    if not isinstance(text, str):
        raise ParameterError("text", text, "the text of a TOML file")
    return spec_from_document(parsed_toml(text, source), source=source, folder=folder, text=text)


def spec_from_document(
    document: dict[str, Any], *, source: str = "spec.toml", folder: Path = Path(), text: str = ""
) -> Spec:
    """Read a bag spec from the plain values that a TOML parser gives.

    Args:
        document: Tables, lists, numbers and texts.
        source: What to call it in an error.
        folder: Where artwork that it names is looked for.
        text: The TOML that the values come from, for the lines in an error; empty if they come from elsewhere.

    Returns:
        Its values, lengths in mm.

    Raises:
        SpecError: As in `read_spec`.
    """
    unit = document.get("units")
    reading = Reading(cast(Unit, unit) if unit in words.UNITS else "mm", Path(folder))
    problems = kind_problems(document)
    spec, found = _validated(document, reading)
    problems.extend(found)
    if spec is not None and not problems:
        problems = contradictions(spec)
    if spec is None or problems:
        raise error_at_lines(problems, text, source)
    return spec


def _validated(document: dict[str, Any], reading: Reading) -> tuple[Spec | None, list[Problem]]:
    from pydantic import ValidationError  # loaded with the first spec that is read: it costs 0.2 s

    try:
        return _adapter().validate_python(document, context=reading), []
    except ValidationError as error:
        return None, list(_translated(error, document))


@cache
def _adapter() -> TypeAdapter[Spec]:
    from pydantic import TypeAdapter  # as above

    return TypeAdapter(Spec)


def _translated(error: ValidationError, document: dict[str, Any]) -> Iterator[Problem]:
    """Say in our own words what pydantic found."""
    for found in error.errors(include_url=False):
        path: KeyPath = tuple(found["loc"])
        cause = found.get("ctx", {}).get("error")
        if isinstance(cause, ProblemError):
            yield from (Problem(path + problem.path, problem.text) for problem in cause.problems)
        elif found["type"] == "unexpected_keyword_argument":
            yield not_a_key(path, _keys_of(path[:-1]), elsewhere=_home_of(path, document))
        elif found["type"] == "missing":
            yield Problem(path, f"is missing; it needs to be {_needs(path, least=True)}")
        else:
            yield Problem(path, wrong(found["input"], _needs(path)).text)


@cache
def _table_at(path: KeyPath) -> type | None:
    """The table that stands at a path of the schema."""
    table: type | None = Spec
    for key in path:
        hint = get_type_hints(table).get(str(key)) if table is not None else None
        table = next((kind for kind in (hint, *get_args(hint)) if is_dataclass(kind) and isinstance(kind, type)), None)
    return table


@cache
def _keys_of(path: KeyPath) -> tuple[str, ...]:
    table = _table_at(path)
    return tuple(part.name for part in fields(table)) if table is not None and is_dataclass(table) else ()


def _home_of(path: KeyPath, document: dict[str, Any]) -> str:
    """The table that an unknown key belongs in, if just one has it and the key stands at the top of the file."""
    if len(path) != 1 or isinstance(document.get(str(path[0])), dict):
        return ""
    homes = [part.name for part in fields(Spec) if path[0] in _keys_of((part.name,))]
    return homes[0] if len(homes) == 1 else ""


def _needs(path: KeyPath, *, least: bool = False) -> str:
    """What a path of the schema needs to hold; of a table all its keys, or those at *least*."""
    table = _table_at(path)
    if table is not None and is_dataclass(table):
        names = [part.name for part in fields(table) if not least or part.default is MISSING]
        return f"a table with {', '.join(names)}"
    parent = _table_at(path[:-1])
    hint = get_type_hints(parent, include_extras=True).get(str(path[-1])) if parent is not None else None
    return next(kind.needs for kind in get_args(hint) if isinstance(kind, Key))
