"""What a catalogue holds: a bag's spec, and axes along which it varies; each combination of choices is a kit."""

from __future__ import annotations

import copy
import itertools
import math
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from stitchcraft.errors import SpecError
from stitchcraft.spec.files import error_at_lines, parsed_toml, toml_text
from stitchcraft.spec.problems import Problem, not_a_key, wrong

MOST_KITS: Final = 1_000_000
_NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _.+x-]{0,39}")
_KEYS: Final = ("name", "base", "axes")
_NOUN: Final = "a catalogue"


@dataclass(frozen=True, slots=True)
class Variant:
    """One kit of a catalogue.

    Attributes:
        name: Its choices, between slashes; also where it lies in the catalogue's folder.
        document: Its whole spec, as plain values.
    """

    name: str
    document: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Variants:
    """All kits of a catalogue, made one after another as they are asked for, so that their number costs no memory.

    Attributes:
        name: Title of the catalogue.
        base: The spec that all have in common, as plain values.
        axes: For each axis its choices: name, and what it changes in the base.
        folder: Where drawings that the spec names are looked for.
    """

    name: str
    base: dict[str, Any]
    axes: dict[str, dict[str, dict[str, Any]]]
    folder: Path

    def __len__(self) -> int:
        return math.prod(len(choices) for choices in self.axes.values())

    def __iter__(self) -> Iterator[Variant]:
        for chosen in itertools.product(*(choices.items() for choices in self.axes.values())):
            document = copy.deepcopy(self.base)
            for _, change in chosen:
                _merge(document, change)
            yield Variant("/".join(name for name, _ in chosen), document)


def read_variants(path: str | os.PathLike[str]) -> Variants:
    """Read a catalogue from a TOML file.

    It names a bag's spec (``base``) and under ``axes`` what varies; each choice of an axis is a piece of a spec that
    is laid over the base::

        base = "heron_tote.toml"

        [axes.size]
        small = { bag = { width = 12, height = 10 } }
        large = { bag = { width = 16, height = 13 } }

        [axes.colour]
        dune = { material = { palette = { accent = "#d9a441" } } }
        tide = { material = { palette = { accent = "#2f5d62" } } }

    Args:
        path: The file, UTF-8.

    Raises:
        SpecError: If the file, or the spec that it names, cannot be read or is no catalogue. What a combination
            makes of the spec shows only when that kit is made.
    """
    text, source, folder = toml_text(path, noun=_NOUN)
    document = parsed_toml(text, source, noun=_NOUN)
    problems = list(_problems(document))
    if problems:
        raise error_at_lines(problems, text, source)
    base_text, base_source, base_folder = toml_text(folder / document["base"])
    axes = document["axes"]
    variants = Variants(document.get("name", "Catalogue"), parsed_toml(base_text, base_source), axes, base_folder)
    if len(variants) > MOST_KITS:
        raise SpecError(f"{source}: axes make {len(variants):,} kits; a catalogue has at most {MOST_KITS:,}")
    return variants


def _problems(document: dict[str, Any]) -> Iterator[Problem]:
    for key in document:
        if key not in _KEYS:
            yield not_a_key((key,), _KEYS)
    if not isinstance(document.get("name", ""), str):
        yield Problem(("name",), wrong(document["name"], "a text").text)
    if not isinstance(document.get("base"), str):
        needs = 'the name of a bag\'s spec, such as "heron_tote.toml"'
        yield Problem(("base",), wrong(document["base"], needs).text if "base" in document else f"is missing: {needs}")
    axes = document.get("axes")
    if not isinstance(axes, dict) or not axes:
        needs = "tables such as [axes.size], each with its choices"
        yield Problem(("axes",), wrong(axes, needs).text if axes else f"is missing: {needs}")
        return
    for axis, choices in axes.items():
        if not isinstance(choices, dict) or not choices:
            yield Problem(("axes", axis), wrong(choices, "a table of choices").text)
            continue
        folded: set[str] = set()
        for name, change in choices.items():
            if not _NAME.fullmatch(name) or name.endswith((" ", ".")):
                needs = "up to 40 letters, digits, spaces and . _ + -, since it becomes the name of a folder"
                yield Problem(("axes", axis, name), f"cannot be a choice's name; it needs to be {needs}")
            elif name.casefold() in folded:
                yield Problem(("axes", axis, name), "is there already; capitals alone do not tell two folders apart")
            elif not isinstance(change, dict):
                yield Problem(("axes", axis, name), wrong(change, "a piece of a spec, { bag = { width = 12 } }").text)
            folded.add(name.casefold())


def _merge(document: dict[str, Any], change: dict[str, Any]) -> None:
    """Lay a piece of a spec over a spec: tables are merged, all else is replaced."""
    for key, value in change.items():
        if isinstance(value, dict) and isinstance(document.get(key), dict):
            _merge(document[key], value)
        else:
            document[key] = copy.deepcopy(value)
