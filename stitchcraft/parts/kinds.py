"""Options that are values of our own: refused by name when they are something else."""

from __future__ import annotations

from typing import Any

from stitchcraft.errors import ParameterError


def check_kind(value: Any, kind: type, *, name: str) -> None:
    """Refuse a value that is not of a kind.

    Raises:
        ParameterError: If it is not; the error names the argument and the kind.
    """
    if not isinstance(value, kind):
        example = "Dots()" if kind.__name__ == "Decoration" else f"{kind.__name__}(...)"
        raise ParameterError(name, value, f"a {kind.__name__}, such as {example}")
