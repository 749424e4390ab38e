"""Reads a spec: TOML in, frozen tables out, or one error that says where and what."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, cast, get_args, get_type_hints

from stitchcraft.errors import ParameterError, SpecError
from stitchcraft.spec import words
from stitchcraft.spec.keys import Key, Reading
from stitchcraft.spec.lines import key_lines
from stitchcraft.spec.problems import KeyPath, Problem, ProblemError, not_a_key, one_line, wrong
from stitchcraft.spec.sense import contradictions, kind_problems
from stitchcraft.spec.tables import Spec
from stitchcraft.units import Unit

if TYPE_CHECKING:
    from pydantic import TypeAdapter, ValidationError

LARGEST_BYTES: Final = 100_000
LONGEST_LINE: Final = 2_000
DEEPEST: Final = 8

_QUOTES: Final = '; a value that is not a plain number needs quotes, such as width = "14 1/2 in"'
_SYNTAX: Final = {
    "Expected newline": ("something follows the value", _QUOTES),
    "Invalid value": ("there is no value that could be read", _QUOTES),
    "Invalid date": ("there is no value that could be read", _QUOTES),
    "Cannot overwrite": ("this key is there already", ""),
    "Cannot declare": ("this table is there already", ""),
    "Illegal character '\\n'": ("a text has no closing quote", ""),
    "Unterminated string": ("a text has no closing quote", ""),
    "Unclosed array": ("a list has no closing bracket", ""),
    "Unclosed inline table": ("a table has no closing brace", ""),
    "Expected '='": ("a key needs = and a value after it", ""),
    "Invalid statement": ("this is neither a key with a value nor a [table]", ""),
}
"""What the parser says at the start of its message, what we say instead, and a hint."""


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
    if not isinstance(path, str | os.PathLike):
        raise ParameterError("path", path, "the name of a TOML file")
    file = Path(os.fsdecode(path))
    source = one_line(str(file), longest=200)
    data = _bytes_of(file, source)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise SpecError(f"{source}:{line}: this is not UTF-8 text; save the file as UTF-8") from None
    return spec_from_text(text, source=source, folder=file.parent)


def _bytes_of(file: Path, source: str) -> bytes:
    said = ""
    try:
        if file.is_dir():
            said = "this is a folder; a spec is a TOML file"
        elif not file.exists():
            said = "there is no such file"
        elif not file.is_file():
            said = "this is not a plain file; a spec is a TOML file"
        else:
            with file.open("rb") as stream:
                data = stream.read(LARGEST_BYTES + 1)
            if len(data) <= LARGEST_BYTES:
                return data
            said = f"this is larger than {LARGEST_BYTES:,} bytes; a spec takes a few thousand"
    except OSError as error:
        said = f"this cannot be read: {str(error.strerror).lower()}"
    except ValueError:  # a zero byte in the name
        said = "this cannot be read: the name cannot be used"
    raise SpecError(f"{source}: {said}")


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
    document = _parsed(text, source)
    unit = document.get("units")
    reading = Reading(cast(Unit, unit) if unit in words.UNITS else "mm", Path(folder))
    problems = kind_problems(document)
    spec, found = _validated(document, reading)
    problems.extend(found)
    if spec is not None and not problems:
        problems = contradictions(spec)
    if spec is None or problems:
        raise _error(problems, text, source)
    return spec


def _parsed(text: str, source: str) -> dict[str, Any]:
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > LONGEST_LINE:
            raise SpecError(f"{source}:{number}: this line is longer than {LONGEST_LINE:,} characters")
    try:
        document = tomllib.loads(text)
    except RecursionError:
        raise SpecError(f"{source}: this is nested too deeply; a spec is {DEEPEST} levels deep at most") from None
    except ValueError as error:  # TOMLDecodeError is one; so is what int() says to thousands of digits
        raise SpecError(_syntax_text(str(error), text, source)) from None
    if _depth(document) > DEEPEST:
        raise SpecError(f"{source}: this is nested too deeply; a spec is {DEEPEST} levels deep at most")
    return document


def _syntax_text(message: str, text: str, source: str) -> str:
    """Make one line of the parser's message, which ends in ``(at line 1, column 6)`` or ``(at end of document)``."""
    match = re.search(r" \(at (?:line (\d+), column \d+|end of document)\)$", message)
    lines = text.split("\n")
    if match is None:
        return f"{source}: this is not TOML: {one_line(message, longest=200)}"
    number = int(match[1]) if match[1] else len(lines)
    said = one_line(message[: match.start()], longest=200)
    plain, hint = next(
        (words for start, words in _SYNTAX.items() if said.startswith(start)), (said[:1].lower() + said[1:], "")
    )
    # a quote, a bracket or a brace in the value says that quotes are not what it lacks
    bare = re.match(r"[^#\"'\[{]*=[^\"'\[{]*$", lines[min(number, len(lines)) - 1])
    return f"{source}:{number}: this is not TOML: {plain}{hint if bare else ''}"


def _depth(document: dict[str, Any]) -> int:
    deepest, waiting = 0, [(1, cast(Any, document))]
    while waiting:
        depth, value = waiting.pop()
        deepest = max(deepest, depth)
        inside = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
        waiting.extend((depth + 1, item) for item in inside if isinstance(item, dict | list))
    return deepest


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


def _error(problems: Iterable[Problem], text: str, source: str) -> SpecError:
    lines = key_lines(text)
    order = {path: position for position, path in enumerate(lines)}

    def known(path: KeyPath) -> KeyPath:
        while path and path not in lines:
            path = path[:-1]
        return path

    def line(problem: Problem) -> str:
        at = known(problem.path)
        return f"{source}:{lines[at]}: {problem}" if at else f"{source}: {problem}"

    # a key that is missing comes after those that are wrong: it may well be one of them, misspelt
    in_order = sorted(
        problems, key=lambda problem: (problem.path not in lines, order.get(known(problem.path), len(order)))
    )
    return SpecError(*(line(problem) for problem in in_order))
