"""Keys that name a file of the maker's own."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path, PureWindowsPath
from typing import Any, ClassVar

from stitchcraft.spec.keys import Key, Reading
from stitchcraft.spec.problems import Problem, ProblemError, shown, wrong


@dataclass(frozen=True, slots=True)
class ArtworkKey(Key):
    """An SVG file that lies in the spec's folder or below it, kept as a path that can be opened."""

    suffixes: ClassVar[tuple[str, ...]] = (".svg",)

    @property
    def needs(self) -> str:
        """Where the file may lie."""
        return 'an SVG file in the spec\'s own folder or below it, such as "art/tip.svg"'

    def read(self, value: Any, reading: Reading) -> Path:
        """Find the file."""
        if not isinstance(value, str) or not value.isprintable() or not value.strip() or len(value) > 200:
            raise ProblemError(wrong(value, self.needs))
        # a drive letter or a backslash would mean something else on another machine
        relative = PureWindowsPath(value)
        if "\\" in value or relative.anchor or ".." in relative.parts or relative.suffix.lower() not in self.suffixes:
            raise ProblemError(wrong(value, self.needs))
        path = reading.folder / value
        try:
            inside = path.resolve().is_relative_to(reading.folder.resolve())
            found = path.is_file()
        except (OSError, RuntimeError):
            inside, found = True, False
        if not inside:
            raise ProblemError(wrong(value, self.needs))
        if not found:
            raise ProblemError(Problem((), f"is {shown(value)}; there is no such file in the spec's folder"))
        return path


@dataclass(frozen=True, slots=True)
class FontKey(ArtworkKey):
    """A font file of the maker's own, in the same places."""

    suffixes: ClassVar[tuple[str, ...]] = (".ttf", ".otf", ".ttc")

    @property
    def needs(self) -> str:
        """Where the file may lie."""
        return 'a font file in the spec\'s own folder or below it, such as "art/letters.otf"'
