"""What every table of the spec is: frozen, with no key but its own."""

from __future__ import annotations

from dataclasses import fields
from typing import Any, ClassVar


class Table:
    """What all tables share."""

    __slots__ = ()
    __pydantic_config__: ClassVar[dict[str, Any]] = {"extra": "forbid"}

    def given(self) -> dict[str, Any]:
        """The keys that the file gives, with their values.

        Example:
            >>> from stitchcraft.spec import StrapsTable
            >>> StrapsTable(width=25.4).given()
            {'width': 25.4}
        """
        values = {part.name: getattr(self, part.name) for part in fields(self)}  # type: ignore[arg-type]
        return {key: value for key, value in values.items() if value is not None}
