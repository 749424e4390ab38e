"""What a key of the spec may hold: each kind of value reads itself or says what is wrong with it.

The kinds stand as notes on the fields of the tables. pydantic finds them there and asks each for its
validator, which is the only moment at which it is loaded.
"""

from __future__ import annotations

import math
import re
from abc import ABC, abstractmethod
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from stitchcraft.errors import ParameterError
from stitchcraft.plugins import names
from stitchcraft.ranges import RANGES
from stitchcraft.spec.problems import Problem, ProblemError, wrong
from stitchcraft.units import LARGEST_MM, LENGTH_FORMS, Unit, length_between, number_between, range_words


@dataclass(frozen=True, slots=True)
class Reading:
    """What a value needs to know of its file.

    Attributes:
        unit: The unit of a length that names none.
        folder: Where the spec lies; artwork is looked for there.
    """

    unit: Unit
    folder: Path


@dataclass(frozen=True, slots=True)
class Key(ABC):
    """A kind of value."""

    @property
    @abstractmethod
    def needs(self) -> str:
        """The end of the sentence "it needs to be ..."."""

    @abstractmethod
    def read(self, value: Any, reading: Reading) -> Any:
        """Turn what TOML gave into the value that the table keeps.

        Raises:
            ProblemError: If it cannot be used.
        """

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        """Tell pydantic to validate by `read`."""
        # loaded here: the tables are imported on the command line's quick paths, and no file may ever be read
        from pydantic_core import core_schema

        return core_schema.with_info_plain_validator_function(lambda value, info: self.read(value, info.context))


@dataclass(frozen=True, slots=True)
class Shorthand:
    """On a table that may also be written as a single word: ``tip = "ogee"`` for ``tip = { name = "ogee" }``.

    Attributes:
        key: The key of the table that the word stands for.
    """

    key: str

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        """Tell pydantic to make a table of a word first."""
        from pydantic_core import core_schema  # as in `Key`

        return core_schema.no_info_before_validator_function(
            lambda value: {self.key: value} if isinstance(value, str) else value, handler(source)
        )


@dataclass(frozen=True, slots=True)
class OrNone:
    """On a table that the word ``"none"`` may stand for, which is kept as None.

    Attributes:
        example: What the table looks like.
    """

    example: str

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        """Tell pydantic to take the word, to refuse another, and to read a table as ever."""
        from pydantic_core import core_schema  # as in `Key`

        return core_schema.no_info_wrap_validator_function(self._read, handler(source))

    def _read(self, value: Any, inner: Any) -> Any:
        if isinstance(value, dict):
            return inner(value)
        if value != "none":
            raise ProblemError(wrong(value, f'"none", or a table such as {self.example}', near=("none",)))
        return None


@dataclass(frozen=True, slots=True)
class LengthKey(Key):
    """A length, kept in mm.

    Attributes:
        low: Smallest allowed, mm.
        high: Largest allowed, mm.
        always: The unit of a value that names none, if it is not the file's.
    """

    low: float
    high: float = LARGEST_MM
    always: Unit | None = None

    @property
    def needs(self) -> str:
        """How a length is written."""
        return LENGTH_FORMS

    def read(self, value: Any, reading: Reading) -> float:
        """Turn a length into mm and hold it to its range."""
        unit = self.always or reading.unit
        if isinstance(value, int) and abs(value) > LARGEST_MM:  # perhaps more than a float can hold
            raise ProblemError(wrong(value, range_words(self.low, self.high)))
        try:
            return length_between(value, name="", low=self.low, high=self.high, unit=unit)
        except ParameterError as error:
            problem = wrong(value, error.needs)
            if _is_bare_number(value):
                problem = Problem((), f"{problem.text}; without a unit it counts as {unit}")
            raise ProblemError(problem) from None


def _is_bare_number(value: Any) -> bool:
    if isinstance(value, str):
        return re.fullmatch(r"\s*[\d\s./-]*\d\s*", value[:40], re.ASCII) is not None
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


@dataclass(frozen=True, slots=True)
class NumberKey(Key):
    """A plain number: an angle, a speed, a weight.

    Attributes:
        low: Smallest allowed.
        high: Largest allowed.
        whole: Take whole numbers only.
    """

    low: float
    high: float
    whole: bool = False

    @property
    def needs(self) -> str:
        """The range in words."""
        return f"a {'whole ' if self.whole else ''}number from {self.low:g} to {self.high:g}"

    def read(self, value: Any, reading: Reading) -> float:  # noqa: ARG002 - numbers have no unit
        """Hold a number to its range."""
        try:
            number = number_between(value, name="", low=self.low, high=self.high)
        except ParameterError:
            raise ProblemError(wrong(value, self.needs)) from None
        if not self.whole:
            return float(number)
        if not isinstance(value, int):
            raise ProblemError(wrong(value, self.needs))
        return value


@dataclass(frozen=True, slots=True)
class FlagKey(Key):
    """True or false."""

    @property
    def needs(self) -> str:
        """Both words."""
        return "true or false"

    def read(self, value: Any, reading: Reading) -> bool:  # noqa: ARG002 - a flag stands alone
        """Take a boolean and nothing that merely looks like one."""
        if not isinstance(value, bool):
            raise ProblemError(wrong(value, self.needs))
        return value


@dataclass(frozen=True, slots=True)
class ChoiceKey(Key):
    """One word of a few.

    Attributes:
        words: Our own words.
        added: What other packages add to them, one of `stitchcraft.plugins.KINDS`; empty for nothing.
    """

    words: tuple[str, ...]
    added: str = ""

    @property
    def needs(self) -> str:
        """All the words."""
        return "one of " + ", ".join(self.all_words)

    @property
    def all_words(self) -> tuple[str, ...]:
        """Our own words, and those of other packages."""
        return tuple(dict.fromkeys((*self.words, *(names(self.added) if self.added else ()))))

    def read(self, value: Any, reading: Reading) -> str:  # noqa: ARG002 - a word stands alone
        """Take a word of the list, as it is written there."""
        # other packages are looked for only where a word is not ours
        if not isinstance(value, str) or (value not in self.words and value not in self.all_words):
            raise ProblemError(wrong(value, self.needs, near=self.all_words))
        return value


@dataclass(frozen=True, slots=True)
class TextKey(Key):
    """A line of text for people.

    Attributes:
        longest: Most characters allowed.
    """

    longest: int

    @property
    def needs(self) -> str:
        """Length and kind of characters."""
        return f"a text of 1 to {self.longest} printable characters on one line"

    def read(self, value: Any, reading: Reading) -> str:  # noqa: ARG002 - a text stands alone
        """Take a printable text that is not blank."""
        if not self.takes(value):
            raise ProblemError(wrong(value, self.needs))
        return str(value)

    def takes(self, value: object) -> bool:
        """Whether a value is such a text."""
        printable = isinstance(value, str) and value.isprintable() and value.strip() != ""
        return printable and len(str(value)) <= self.longest


NAME: Final = TextKey(80)
"""A bag's name."""


@dataclass(frozen=True, slots=True)
class ColourKey(Key):
    """A colour, kept in lower case."""

    @property
    def needs(self) -> str:
        """How a colour is written."""
        return 'a colour like "#2f5d62"'

    def read(self, value: Any, reading: Reading) -> str:  # noqa: ARG002 - a colour stands alone
        """Take six hexadecimal digits after a sharp."""
        if not isinstance(value, str) or not re.fullmatch(r"#[0-9a-fA-F]{6}", value):
            raise ProblemError(wrong(value, self.needs))
        return value.lower()


@dataclass(frozen=True, slots=True)
class DrawnKey(Key):
    """Threads for the colours of drawings: a table from each to a colour, or to one of the palette's keys.

    Attributes:
        uses: The palette's keys.
    """

    uses: tuple[str, ...]

    @property
    def needs(self) -> str:
        """An example and what stands in it."""
        return f'a table such as {{ "#c03020" = "accent" }}: a colour, and another or one of {", ".join(self.uses)}'

    def read(self, value: Any, reading: Reading) -> tuple[tuple[str, str], ...]:
        """Read each pair, and say of each what is wrong."""
        if not isinstance(value, dict) or not value:
            raise ProblemError(wrong(value, self.needs))
        pairs: list[tuple[str, str]] = []
        problems: list[Problem] = []
        for colour, thread in value.items():
            try:
                drawn = ColourKey().read(colour, reading)
                pairs.append((drawn, thread if thread in self.uses else ColourKey().read(thread, reading)))
            except ProblemError:
                problems.append(Problem((colour,), wrong(thread, self.needs).text))
        if problems:
            raise ProblemError(*problems)
        return tuple(pairs)


@dataclass(frozen=True, slots=True)
class ShiftKey(Key):
    """Two lengths, right and up, kept in mm."""

    @property
    def needs(self) -> str:
        """An example."""
        return 'two lengths, right and up, such as [3, "-1/4 in"]'

    def read(self, value: Any, reading: Reading) -> tuple[float, float]:
        """Read each of the two."""
        if not isinstance(value, list) or len(value) != 2:
            raise ProblemError(wrong(value, self.needs))
        x, y = (LengthKey(*RANGES["decoration.shift"]).read(way, reading) for way in value)
        return (x, y)


@dataclass(frozen=True, slots=True)
class OptionsKey(Key):
    """Options of a decoration of another package: plain values by name, which it checks itself."""

    @property
    def needs(self) -> str:
        """An example."""
        return 'a table of plain values such as { points = 5, reach = "4 mm" }'

    def read(self, value: Any, reading: Reading) -> tuple[tuple[str, Any], ...]:  # noqa: ARG002 - checked elsewhere
        """Take words, numbers and flags by name."""
        plain = isinstance(value, dict) and all(isinstance(one, str | int | float) for one in value.values())
        if not plain or not value:
            raise ProblemError(wrong(value, self.needs))
        return tuple(value.items())


@dataclass(frozen=True, slots=True)
class ListKey(Key):
    """A list without repeats, kept as a tuple.

    Attributes:
        item: What each entry is.
        example: What a list looks like.
    """

    item: Key
    example: str

    @property
    def needs(self) -> str:
        """An example and what an entry is."""
        return f"a list such as {self.example}, at least one, each once"

    def read(self, value: Any, reading: Reading) -> tuple[Any, ...]:
        """Read each entry, and say of each what is wrong."""
        if not isinstance(value, list) or not value:
            raise ProblemError(
                wrong(value, self.needs) if value != [] else Problem((), f"is empty; it needs to be {self.needs}")
            )
        read: list[Any] = []
        problems: list[Problem] = []
        for position, entry in enumerate(value):
            try:
                taken = self.item.read(entry, reading)
            except ProblemError as error:
                problems.extend(Problem((position, *problem.path), problem.text) for problem in error.problems)
                continue
            if taken in read:
                problems.append(Problem((position,), f"is {taken} again; it needs to be there once"))
            read.append(taken)
        if problems:
            raise ProblemError(*problems)
        return tuple(read)
