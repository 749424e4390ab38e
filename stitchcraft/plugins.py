"""What other packages add: shapes, decorations and fabrics, found by their entry points and loaded when asked for.

A package offers a value under the group ``stitchcraft.tips`` (or ``.profiles``, ``.outlines``, ``.decorations``,
``.fabrics``); a spec then names it like one of our own. Nothing is looked up before a name is asked for that is
not ours, so that packages that are never used cost nothing and break nothing.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache, wraps
from typing import TYPE_CHECKING, Any, Final, Generic, TypeVar

from stitchcraft.errors import ParameterError, PluginError, StitchcraftError

if TYPE_CHECKING:
    from importlib.metadata import EntryPoint

KINDS: Final = ("tips", "profiles", "outlines", "decorations", "fabrics")
"""What a package can add; its entry points stand in the group ``stitchcraft.`` and one of these."""

T = TypeVar("T")
_added: dict[str, dict[str, object]] = {kind: {} for kind in KINDS}


class Registry(Mapping[str, T], Generic[T]):
    """Our own values by name, and behind them those of other packages.

    A name of our own always stands for our own value.

    Args:
        kind: One of `KINDS`.
        own: Our own values.
        takes: Says whether a loaded value is of the right kind.
        needs: The end of the sentence "it needs to be ...".
        guard: Wraps a loaded value, so that what fails in it later is told of in one line; given its label.
    """

    def __init__(
        self,
        kind: str,
        own: Mapping[str, T],
        *,
        takes: Callable[[object], bool],
        needs: str,
        guard: Callable[[str, T], T] | None = None,
    ) -> None:
        self._kind, self._own, self._takes, self._needs, self._guard = kind, dict(own), takes, needs, guard
        self._loaded: dict[str, T] = {}

    def __getitem__(self, name: str) -> T:
        if name in self._own:
            return self._own[name]
        if name in _added[self._kind]:
            added: Any = _added[self._kind][name]
            return added
        if name not in self._loaded:
            self._loaded[name] = self._load(name)
        return self._loaded[name]

    def __iter__(self) -> Iterator[str]:
        yield from self._own
        yield from (name for name in names(self._kind) if name not in self._own)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def __contains__(self, name: object) -> bool:
        return name in self._own or (isinstance(name, str) and name in names(self._kind))

    def add(self, name: str, value: T) -> None:
        """Add a value for as long as the program runs, as a script of one's own does.

        Raises:
            ParameterError: If the name is taken or no plain word, or the value is not of the right kind.
        """
        if not isinstance(name, str) or not name.replace("-", "_").isidentifier():
            raise ParameterError("name", name, 'a plain word, such as "star"')
        if name in self:
            raise ParameterError("name", name, f"other than those there are: {', '.join(self)}")
        if not self._takes(value):
            raise ParameterError(self._kind, value, self._needs)
        _added[self._kind][name] = value

    def _load(self, name: str) -> T:
        entries = _entries(self._kind).get(name, ())
        if not entries:
            raise KeyError(name)
        label = f"{self._kind[:-1]} {name!r} of {' and '.join(_package(entry) for entry in entries)}"
        if len(entries) > 1:
            raise PluginError(f"{label}: two packages offer it; uninstall one")
        with fenced(label, "cannot be loaded"):
            value = entries[0].load()
        if not self._takes(value):
            raise PluginError(f"{label}: is a {type(value).__name__}; it needs to be {self._needs}")
        return value if self._guard is None else self._guard(label, value)


@contextlib.contextmanager
def fenced(label: str, what: str) -> Iterator[None]:
    """Tell of whatever goes wrong in another package's code in one line that names it.

    Raises:
        PluginError: If anything but an error of ours is raised.
    """
    try:
        yield
    except StitchcraftError:
        raise
    except Exception as error:
        told = " ".join(str(error).split())[:200]
        raise PluginError(f"{label}: {what} ({type(error).__name__}{': ' if told else ''}{told})") from error


def guarded(label: str, function: Callable[..., Any]) -> Callable[..., Any]:
    """A function of another package, fenced."""

    @wraps(function)
    def called(*args: Any, **options: Any) -> Any:
        with fenced(label, "fails"):
            return function(*args, **options)

    return called


def names(kind: str) -> tuple[str, ...]:
    """The names that were added, and those that other packages offer, in order."""
    return tuple(dict.fromkeys((*_added[kind], *_entries(kind))))


@lru_cache(maxsize=len(KINDS))
def _entries(kind: str) -> dict[str, tuple[EntryPoint, ...]]:
    from importlib.metadata import entry_points  # asked for once, and only for a name that is not ours

    found: dict[str, dict[str, EntryPoint]] = {}
    for entry in entry_points(group=f"stitchcraft.{kind}"):
        # one package may stand on the path twice
        found.setdefault(entry.name, {}).setdefault(_package(entry), entry)
    return {name: tuple(entries[key] for key in sorted(entries)) for name, entries in sorted(found.items())}


def _package(entry: EntryPoint) -> str:
    return f"{entry.dist.name} {entry.dist.version}" if entry.dist is not None else entry.value


def forget() -> None:
    """Look for packages anew, and drop what was added: for programs that install packages as they run."""
    _entries.cache_clear()
    for values in _added.values():
        values.clear()
