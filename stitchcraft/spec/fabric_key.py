"""The fabric key: a name, or a table with the numbers of the maker's own cloth."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, Final

from stitchcraft.defaults import FABRIC_NAMES, FABRICS, FabricProfile
from stitchcraft.errors import ParameterError
from stitchcraft.spec.keys import FlagKey, Key, LengthKey, NumberKey, Reading, TextKey
from stitchcraft.spec.problems import Problem, ProblemError, not_a_key, wrong

FABRIC_KEYS: Final = tuple(field.name for field in fields(FabricProfile) if field.name != "source")


@dataclass(frozen=True, slots=True)
class FabricKey(Key):
    """A fabric by name, or the maker's own as a table; its lengths are in mm whatever the file's unit is."""

    @property
    def needs(self) -> str:
        """The names, and that a table will do."""
        return f'one of {", ".join(FABRIC_NAMES)}, or a table such as {{ name = "my linen", pull = 0.15 }}'

    def read(self, value: Any, reading: Reading) -> str | FabricProfile:
        """Look the name up, or make a profile of the table."""
        if isinstance(value, dict):
            return self._own(value, reading)
        if not isinstance(value, str) or value not in FABRICS:
            raise ProblemError(wrong(value, self.needs, near=FABRIC_NAMES))
        return value

    def _own(self, table: dict[str, Any], reading: Reading) -> FabricProfile:
        problems: list[Problem] = []
        taken: dict[str, Any] = {"source": "the spec"}
        if "name" not in table:
            problems.append(Problem(("name",), f"is missing; it needs to be {TextKey(40).needs}"))
        for key, value in table.items():
            if key not in FABRIC_KEYS:
                problems.append(not_a_key((key,), FABRIC_KEYS))
                continue
            try:
                taken[key] = _fabric_value(key, value, reading)
            except ProblemError as error:
                problems.extend(Problem((key,), problem.text) for problem in error.problems)
        if problems:
            raise ProblemError(*problems)
        return FabricProfile(**taken)


def _fabric_value(key: str, value: Any, reading: Reading) -> Any:
    if key == "name":
        return TextKey(40).read(value, reading)
    if key == "underlay":
        return FlagKey().read(value, reading)
    if key == "pull_share":
        number: float = NumberKey(0, 1).read(value, reading)
    else:
        number = LengthKey(0, 20, always="mm").read(value, reading)
    trial: dict[str, Any] = {key: number}
    try:
        FabricProfile(name="trial", **trial)  # the profile knows the range of each of its numbers
    except ParameterError as error:
        raise ProblemError(wrong(value, error.needs)) from None
    return number
