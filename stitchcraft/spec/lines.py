"""On which line each key of a TOML file stands; the parser of the standard library does not say."""

from __future__ import annotations

import re
from typing import Final

from stitchcraft.spec.problems import KeyPath

_SPACE: Final = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_STRING: Final = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}(?!")' + r"|'''.*?'{3,5}(?!')" + r'|"(?:[^"\\]|\\.)*"' + r"|'[^']*'", re.DOTALL
)
_PLAIN: Final = re.compile(r"[^,\]}#\n]+")
_DOT: Final = re.compile(r"[ \t]*\.[ \t]*")
_ESCAPE: Final = re.compile(r'\\(?:u([0-9a-fA-F]{4})|U([0-9a-fA-F]{8})|([btnfr"\\e]))')
_ESCAPED: Final = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\", "e": "\x1b"}


def key_lines(text: str) -> dict[KeyPath, int]:
    r"""Find the line of every key, table and list entry.

    Args:
        text: TOML that the standard library's parser has accepted, no more than a few levels deep.

    Returns:
        Line numbers from 1 by path, in the order of the file. A table has the line on which it is first named.

    Example:
        >>> key_lines('name = "x"\n[tab]\nsnap = { inset = 2 }')[("tab", "snap", "inset")]
        3
    """
    return _Scanner(text).lines


class _Scanner:
    """Walks over valid TOML once; what it does not know it steps over."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[KeyPath, int] = {}
        self._counted, self._line = 0, 1
        self._entries: dict[KeyPath, int] = {}
        table: KeyPath = ()
        while self._skip(_SPACE) and self.at < len(text):
            if text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)

    def _skip(self, pattern: re.Pattern[str]) -> bool:
        match = pattern.match(self.text, self.at)
        if match:
            self.at = match.end()
        return match is not None

    def _note(self, path: KeyPath) -> None:
        self._line += self.text.count("\n", self._counted, self.at)
        self._counted = max(self._counted, self.at)
        for end in range(1, len(path) + 1):
            self.lines.setdefault(path[:end], self._line)

    def _header(self) -> KeyPath:
        double = self.text.startswith("[[", self.at)
        self.at += 2 if double else 1
        self._skip(_SPACE)
        name: KeyPath = ()
        for key in self._keys():
            name += (key,)
            if name in self._entries:  # a table inside the last entry of a list of tables
                name += (self._entries[name],)
        if double:
            listed = name[:-1] if isinstance(name[-1], int) else name
            self._entries[listed] = self._entries.get(listed, -1) + 1
            name = (*listed, self._entries[listed])
        self._note(name)
        self.at = self.text.find("]", self.at) + (2 if double else 1)
        return name

    def _pair(self, table: KeyPath) -> None:
        start = self.at
        path = table + self._keys()
        end, self.at = self.at, start
        self._note(path)
        self.at = end
        self._skip(re.compile(r"[ \t]*=[ \t]*"))
        self._value(path)

    def _keys(self) -> tuple[str, ...]:
        keys: list[str] = []
        while True:
            match = _BARE_KEY.match(self.text, self.at) or _STRING.match(self.text, self.at)
            if match is None:  # not TOML after all: step on, so that the walk ends
                self.at += 1
                return tuple(keys) or ("",)
            self.at = match.end()
            keys.append(_plain_key(match[0]))
            if not self._skip(_DOT):
                return tuple(keys)

    def _value(self, path: KeyPath) -> None:
        first = self.text[self.at : self.at + 1]
        if first in ("[", "{"):
            self.at += 1
            self._items(path, "]" if first == "[" else "}")
        elif not self._skip(_STRING):
            self._skip(_PLAIN)

    def _items(self, path: KeyPath, end: str) -> None:
        position = 0
        while self._skip(_SPACE) and self.at < len(self.text) and self.text[self.at] != end:
            if self.text[self.at] == ",":
                self.at += 1
                position += 1
            elif end == "}":
                self._pair(path)
            else:
                self._note((*path, position))
                self._value((*path, position))
        self.at += 1


def _plain_key(written: str) -> str:
    if written[:1] == "'":
        return written[1:-1]
    if written[:1] != '"':
        return written
    return _ESCAPE.sub(lambda m: _ESCAPED[m[3]] if m[3] else chr(int(m[1] or m[2], 16)), written[1:-1])
