"""Fillings of an area: each kind is a frozen value with `elements(area)`, `layers(area)` and `describe(area)`."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from importlib import import_module
from typing import Any, Final

from stitchcraft.decoration.base import Decoration, DecorationCount
from stitchcraft.decoration.clamshell import Clamshell
from stitchcraft.decoration.crosshatch import Crosshatch
from stitchcraft.decoration.dots import Dots
from stitchcraft.decoration.echo import Echo
from stitchcraft.decoration.meander import Meander
from stitchcraft.decoration.monogram import Monogram
from stitchcraft.decoration.petals import Petals
from stitchcraft.decoration.plain import NoDecoration
from stitchcraft.decoration.rings import Rings
from stitchcraft.decoration.rows import Chevrons, Scallops, Waves
from stitchcraft.decoration.words import Words
from stitchcraft.errors import ParameterError
from stitchcraft.plugins import Registry, names
from stitchcraft.units import Unit, to_mm

__all__ = [
    "DECORATIONS", "KINDS", "Chevrons", "Clamshell", "Crosshatch", "Decoration", "DecorationCount", "Dots", "Echo",
    "Meander", "Monogram", "NoDecoration", "Petals", "Rings", "Scallops", "Waves", "Words", "decoration_from",
]  # fmt: skip

_OWN: Final[dict[str, type[Decoration]]] = {
    cls.kind: cls
    for cls in (
        Dots, Crosshatch, Rings, Clamshell, Petals, Scallops, Waves, Chevrons, Echo, Meander, Words, Monogram,
        NoDecoration,
    )
}  # fmt: skip
_ARTWORK: Final = "artwork"

DECORATIONS: Final[Registry[type[Decoration]]] = Registry(
    "decorations", _OWN,
    takes=lambda value: isinstance(value, type) and issubclass(value, Decoration) and dataclasses.is_dataclass(value),
    needs="a dataclass that extends stitchcraft.Decoration",
)  # fmt: skip
"""Every kind by name but artwork, those of other packages included."""

KINDS: Final[tuple[str, ...]] = (*(kind for kind in _OWN if kind != "none"), _ARTWORK, "none")
"""Our own kinds, which any spec can name."""


def decoration_from(kind: str, options: Mapping[str, object] | None = None, *, unit: Unit = "mm") -> Decoration:
    """Make a decoration of the words and numbers of a spec table.

    Args:
        kind: One of `KINDS`, or one that another package offers.
        options: The decoration's attributes by name.
        unit: The unit of lengths that name none.

    Raises:
        ParameterError: If the kind or an option is unknown (it is named), or a value cannot be used.

    Example:
        >>> decoration_from("dots", {"pitch": "1/4 in", "diameter": 3}).pitch
        6.35
    """
    cls = _class_of(kind)
    fields = {field.name: field for field in dataclasses.fields(cls) if field.init}
    given: dict[str, Any] = {}
    for name, value in (options if options is not None else {}).items():
        if name not in fields:
            raise ParameterError(f"{kind} option", name, "one of " + ", ".join(fields))
        given[name] = _in_mm(value, str(fields[name].type), name=name, unit=unit)
    try:
        return cls(**given)
    except TypeError:
        raise ParameterError(f"{kind} options", dict(given), "values of the right kind") from None


def _in_mm(value: object, kind: str, *, name: str, unit: Unit) -> object:
    """A length, or the lengths of a shift, in mm; whatever else there is as it is."""
    if kind == "Shift" and isinstance(value, tuple | list):
        return tuple(_in_mm(way, "Length", name=name, unit=unit) for way in value)
    is_length = "Length" in kind and isinstance(value, int | float | str) and not isinstance(value, bool)
    return to_mm(value, name=name, unit=unit) if is_length else value  # type: ignore[arg-type]


def _class_of(kind: str) -> type[Decoration]:
    if kind == _ARTWORK:
        # artwork reads SVG files through heavy libraries that no other kind needs
        artwork: type[Decoration] = import_module("stitchcraft.decoration.artwork").Artwork
        return artwork
    if not isinstance(kind, str) or kind not in DECORATIONS:
        raise ParameterError("decoration kind", kind, "one of " + ", ".join((*KINDS, *names("decorations"))))
    return DECORATIONS[kind]
