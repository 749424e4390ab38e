"""TOML from a file or a text: read whole, held to limits, and its problems told by file and line."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final, cast

from stitchcraft.errors import ParameterError, SpecError
from stitchcraft.spec.lines import key_lines
from stitchcraft.spec.problems import KeyPath, Problem, one_line

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


def toml_text(path: str | os.PathLike[str], *, noun: str = "a spec") -> tuple[str, str, Path]:
    """Read the text of a TOML file, UTF-8, at most `LARGEST_BYTES` long.

    Args:
        path: The file.
        noun: What such a file is, for an error.

    Returns:
        The text, what to call the file in an error, and its folder.

    Raises:
        SpecError: If it cannot be read.
    """
    if not isinstance(path, str | os.PathLike):
        raise ParameterError("path", path, "the name of a TOML file")
    file = Path(os.fsdecode(path))
    source = one_line(str(file), longest=200)
    data = _bytes_of(file, source, noun)
    try:
        return data.decode("utf-8-sig"), source, file.parent
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise SpecError(f"{source}:{line}: this is not UTF-8 text; save the file as UTF-8") from None


def _bytes_of(file: Path, source: str, noun: str) -> bytes:
    said = ""
    try:
        if file.is_dir():
            said = f"this is a folder; {noun} is a TOML file"
        elif not file.exists():
            said = "there is no such file"
        elif not file.is_file():
            said = f"this is not a plain file; {noun} is a TOML file"
        else:
            with file.open("rb") as stream:
                data = stream.read(LARGEST_BYTES + 1)
            if len(data) <= LARGEST_BYTES:
                return data
            said = f"this is larger than {LARGEST_BYTES:,} bytes; {noun} takes a few thousand"
    except OSError as error:
        said = f"this cannot be read: {str(error.strerror).lower()}"
    except ValueError:  # a zero byte in the name
        said = "this cannot be read: the name cannot be used"
    raise SpecError(f"{source}: {said}")


def parsed_toml(text: str, source: str, *, noun: str = "a spec") -> dict[str, Any]:
    """Parse a text.

    Raises:
        SpecError: If it is not TOML, or goes past a limit.
    """
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > LONGEST_LINE:
            raise SpecError(f"{source}:{number}: this line is longer than {LONGEST_LINE:,} characters")
    try:
        document = tomllib.loads(text)
    except RecursionError:
        raise SpecError(f"{source}: this is nested too deeply; {noun} is {DEEPEST} levels deep at most") from None
    except ValueError as error:  # TOMLDecodeError is one; so is what int() says to thousands of digits
        raise SpecError(_syntax_text(str(error), text, source)) from None
    if _depth(document) > DEEPEST:
        raise SpecError(f"{source}: this is nested too deeply; {noun} is {DEEPEST} levels deep at most")
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


def error_at_lines(problems: Iterable[Problem], text: str, source: str) -> SpecError:
    """One error that tells all problems in the order of the file."""
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


def quoted(text: str) -> str:
    """Write a printable text as TOML does, in quotes."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
