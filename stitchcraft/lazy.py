"""Names of a package that are loaded when they are first asked for, so that quick commands load little."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Mapping
from importlib import import_module
from typing import Any


def loaded_when_asked(package: str, homes: Mapping[str, Iterable[str]]) -> Callable[[str], Any]:
    """Make the ``__getattr__`` of a package (PEP 562).

    Args:
        package: The package's ``__name__``.
        homes: For each module of it, by its name within the package, the names that live there.
    """
    module_of = {name: f"{package}.{module}" for module, names in homes.items() for name in names}

    def found(name: str) -> Any:
        if name not in module_of:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        value = getattr(import_module(module_of[name]), name)
        setattr(sys.modules[package], name, value)  # asked for once, found at once from then on
        return value

    return found
