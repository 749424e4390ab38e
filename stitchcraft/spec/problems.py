"""What is wrong with a spec, as plain values: where, and the rest of the sentence."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, TypeAlias

KeyPath: TypeAlias = tuple[str | int, ...]

LONGEST_SHOWN: Final = 60


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong.

    Attributes:
        path: Keys and list positions from the top of the file, such as ``("machine", "hoops", 1)``.
        text: The sentence after the key's name.
    """

    path: KeyPath
    text: str

    def __str__(self) -> str:
        return f"{key_text(self.path)} {self.text}"


class ProblemError(ValueError):
    """Carries problems out of a validator; their paths start at the value that was validated."""

    def __init__(self, *problems: Problem) -> None:
        self.problems = problems
        super().__init__("; ".join(problem.text for problem in problems))


def wrong(value: object, needs: str, *, near: Iterable[str] = ()) -> Problem:
    """Say that a value cannot be used.

    Args:
        value: What the spec holds.
        needs: The end of the sentence "it needs to be ...".
        near: Words of which the closest is offered.
    """
    return Problem((), f"is {shown(value)}; it needs to be {needs}{nearest(value, near)}")


def not_a_key(path: KeyPath, allowed: Iterable[str], *, elsewhere: str = "", here: str = "here") -> Problem:
    """Say that a key is unknown, what is close to it and what is allowed."""
    words = tuple(allowed)
    hint = nearest(path[-1], words) or (f"; it belongs in [{elsewhere}]" if elsewhere else "")
    listed = f"allowed: {', '.join(words)}" if words else "no keys are allowed"
    return Problem(path, f"is not a key {here}{hint} ({listed})")


def nearest(word: object, allowed: Iterable[str]) -> str:
    """The words ``; did you mean "drop"?``, or nothing if no word is close."""
    if not isinstance(word, str) or len(word) > LONGEST_SHOWN:
        return ""
    close = difflib.get_close_matches(word.strip().lower(), tuple(allowed), n=1, cutoff=0.6)
    return f"; did you mean {shown(close[0])}?" if close else ""


def shown(value: object) -> str:
    """Show a value the way TOML writes it, on one line and no longer than needed."""
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = f'"{one_line(value)}"'
    elif isinstance(value, dict):
        text = "a table"
    elif isinstance(value, list):
        text = f"a list of {len(value)}"
    elif isinstance(value, int) and abs(value) >= 10**18:
        text = "a number of more than 18 digits"
    else:
        text = str(value)
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "..."


def one_line(text: str, *, longest: int = LONGEST_SHOWN + 1) -> str:
    """Write what cannot be printed as escapes, so that a text stays on one line; only the start of a long one."""
    return "".join(
        letter if letter.isprintable() else letter.encode("unicode_escape").decode("ascii") for letter in text[:longest]
    )


def key_text(path: KeyPath) -> str:
    """Write a path the way a person points at it: ``machine.hoops, item 2``."""
    keys = ".".join(shown(key)[1:-1] for key in path if isinstance(key, str))
    items = "".join(f", item {key + 1}" for key in path if isinstance(key, int))
    return keys + items
