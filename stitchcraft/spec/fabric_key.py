"""The fabric key: a name, or a table with the numbers of the maker's own cloth."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, Final

from stitchcraft.defaults import FABRICS, DirectedPull, FabricProfile
from stitchcraft.errors import ParameterError
from stitchcraft.spec.files import quoted
from stitchcraft.spec.keys import FlagKey, Key, LengthKey, NumberKey, Reading, TextKey
from stitchcraft.spec.problems import Problem, ProblemError, not_a_key, wrong

FABRIC_KEYS: Final = tuple(field.name for field in fields(FabricProfile) if field.name != "source")
DIRECTION_KEYS: Final[dict[str, Key]] = {
    "angle": NumberKey(-360, 360), "pull": LengthKey(0, 2, always="mm"), "pull_share": NumberKey(0, 0.2),
}  # fmt: skip
"""What stands in an entry of *directions*, as `DirectedPull` takes it."""


@dataclass(frozen=True, slots=True)
class FabricKey(Key):
    """A fabric by name, or the maker's own as a table; its lengths are in mm whatever the file's unit is."""

    @property
    def needs(self) -> str:
        """The names, and that a table will do."""
        return f'one of {", ".join(FABRICS)}, or a table such as {{ name = "my linen", pull = 0.15 }}'

    def read(self, value: Any, reading: Reading) -> str | FabricProfile:
        """Look the name up, or make a profile of the table."""
        if isinstance(value, dict):
            return self._own(value, reading)
        if not isinstance(value, str) or value not in FABRICS:
            raise ProblemError(wrong(value, self.needs, near=FABRICS))
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
                problems.extend(Problem((key, *problem.path), problem.text) for problem in error.problems)
        if problems:
            raise ProblemError(*problems)
        try:
            return FabricProfile(**taken)
        except ParameterError as error:  # each of them is fine, but not together
            raise ProblemError(Problem((error.name.rpartition(".")[2],), f"needs to be {error.needs}")) from None


def _fabric_value(key: str, value: Any, reading: Reading) -> Any:
    if key == "name":
        return TextKey(40).read(value, reading)
    if key == "underlay":
        return FlagKey().read(value, reading)
    if key == "directions":
        return _directions(value, reading)
    if key in ("pull_share", "strain", "stiffening"):
        number: float = NumberKey(0, 100).read(value, reading)
    else:
        number = LengthKey(0, 20, always="mm").read(value, reading)
    trial: dict[str, Any] = {key: number}
    try:
        FabricProfile(name="trial", **trial)  # the profile knows the range of each of its numbers
    except ParameterError as error:
        raise ProblemError(wrong(value, error.needs)) from None
    return number


def _directions(value: Any, reading: Reading) -> tuple[DirectedPull, ...]:
    """The pull in each direction that was measured, a list of small tables."""
    if not isinstance(value, list) or not value or not all(isinstance(item, dict) for item in value):
        raise ProblemError(wrong(value, "a list such as [{ angle = 0, pull = 0.15, pull_share = 0.02 }]"))
    problems: list[Problem] = []
    read: list[DirectedPull] = []
    for position, table in enumerate(value):
        numbers: dict[str, float] = {}
        problems += [not_a_key((position, key), DIRECTION_KEYS) for key in table if key not in DIRECTION_KEYS]
        for key, kind in DIRECTION_KEYS.items():
            if key not in table:
                problems.append(Problem((position, key), f"is missing; it needs to be {kind.needs}"))
                continue
            try:
                numbers[key] = float(kind.read(table[key], reading))
            except ProblemError as error:
                problems += [Problem((position, key), problem.text) for problem in error.problems]
        if not problems:
            read.append(DirectedPull(**numbers))
    if problems:
        raise ProblemError(*problems)
    return tuple(read)


def fabric_text(profile: FabricProfile) -> str:
    """Write a profile as the ``fabric = { ... }`` of a spec: all that differs from what a left-out key stands for.

    Numbers are rounded to a thousandth of a millimetre and a ten-thousandth of a share.

    Example:
        >>> fabric_text(FabricProfile(name="my linen", pull=0.14263, underlay=False))
        'fabric = { name = "my linen", pull = 0.143, underlay = false }'
    """
    plain = FabricProfile(name=profile.name)
    parts = [f"name = {quoted(profile.name)}"]
    for key in FABRIC_KEYS:
        value = getattr(profile, key)
        if key in ("name", "directions") or value == getattr(plain, key):
            continue
        parts.append(f"{key} = {str(value).lower() if isinstance(value, bool) else _number_text(key, value)}")
    if not profile.directions:
        return f"fabric = {{ {', '.join(parts)} }}"
    lines = [
        "    { " + ", ".join(f"{key} = {_number_text(key, getattr(one, key))}" for key in DIRECTION_KEYS) + " },"
        for one in profile.directions
    ]
    return "\n".join([f"fabric = {{ {', '.join(parts)}, directions = [", *lines, "] }"])


def _number_text(key: str, value: float) -> str:
    return f"{round(value, 4 if key in ('pull_share', 'strain') else 3) + 0.0:g}"
