"""What can go wrong, in two families.

A value that cannot be made at all raises one of the errors below. A design that can be made but should
not be sewn as it stands is never raised: checks return it as a `Finding`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any


class StitchcraftError(Exception):
    """Base of every error that this package raises on purpose; its text is one clear line."""


class ParameterError(StitchcraftError, ValueError):
    """An argument has a value that cannot be used.

    Attributes:
        name: The argument, or the spec key.
        value: What was given.
        needs: What is allowed, as the end of the sentence "it needs to be ...".
    """

    def __init__(self, name: str, value: Any, needs: str) -> None:
        self.name = name
        self.value = value
        self.needs = needs
        super().__init__(f"{name} is {_shown(value)}; it needs to be {needs}")


class SpecError(StitchcraftError, ValueError):
    """A spec file cannot be read or holds something that cannot be used; the text names file, line and key.

    Attributes:
        problems: All that is wrong, one clear line each, in the order of the file; the error's own text is
            the first of them.
    """

    def __init__(self, *problems: str) -> None:
        self.problems = problems
        more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
        super().__init__(problems[0] + more if problems else "")


class MachineFileError(StitchcraftError):
    """A machine file cannot be written faithfully, or cannot be read; the text names the file."""


class ArtworkError(StitchcraftError, ValueError):
    """An SVG drawing cannot be used; the text names the file and the element."""


class PluginError(StitchcraftError):
    """Something that another package adds cannot be used; the text names it and the package."""


def _shown(value: Any) -> str:
    # a length that was typed in inches is not shown with the noise of its conversion
    text = repr(round(value, 4)) if isinstance(value, float) else repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


class Level(StrEnum):
    """How much a finding matters: an `ERROR` should not be sewn, a `WARNING` wants a look, a `NOTE` informs."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """One result of a check.

    Attributes:
        level: How much it matters.
        code: Stable name of the kind of finding, such as ``"hoop-fit"``.
        part: The part or file it is about; empty for the bag as a whole.
        message: What was found, one sentence.
        remedy: What to do about it, one sentence.
        measured: The measured number, where there is one.
        limit: What it was held against, in the same unit.
        at_mm: Where, (x, y) mm: in the sewing field if it was known how the part lies there, else in its own frame.
        stops: Which colour stops are the cause, from 1, the worst first.
    """

    level: Level
    code: str
    part: str
    message: str
    remedy: str = ""
    measured: float | None = None
    limit: float | None = None
    at_mm: tuple[float, float] | None = None
    stops: tuple[int, ...] = ()

    def __str__(self) -> str:
        where = f"{self.part}: " if self.part else ""
        remedy = f" {self.remedy}" if self.remedy else ""
        return f"{self.level.value} [{self.code}] {where}{self.message}{remedy}"

    def to_dict(self) -> dict[str, Any]:
        """The finding as plain values, for JSON."""
        return asdict(self) | {"level": self.level.value}

    def _repr_html_(self) -> str:
        """Show itself in a notebook."""
        return findings_html([self])


class Findings(list[Finding]):
    """A list of findings that shows itself as a table in a notebook; in all else it is a list."""

    @property
    def ok(self) -> bool:
        """Whether no error stands among them."""
        return not any(finding.level is Level.ERROR for finding in self)

    def errors_first(self) -> Findings:
        """The same findings by level, errors first, otherwise in the order that they are in."""
        order = list(Level)
        return Findings(sorted(self, key=lambda finding: order.index(finding.level)))

    def _repr_html_(self) -> str:
        return findings_html(self)


def findings_html(findings: Iterable[Finding], *, caption: str = "") -> str:
    """Findings as an HTML table; whatever their words hold is shown as text.

    Args:
        findings: What to show; none says so.
        caption: Words above the table.
    """
    from stitchcraft.markup import html_table  # for notebooks only

    rows = [
        (finding.level.value, finding.code, finding.part, f"{finding.message} {finding.remedy}".strip())
        for finding in findings
    ]
    return html_table(("level", "code", "part", "finding"), rows or [("", "", "", "No findings.")], caption=caption)
