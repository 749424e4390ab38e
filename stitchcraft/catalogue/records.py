"""What is known of a kit that was made: kept beside it, so that an unchanged kit is not made again."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from functools import cache
from importlib.metadata import PackageNotFoundError, requires, version
from pathlib import Path
from typing import Any

from stitchcraft.errors import SpecError
from stitchcraft.whole_files import whole_file


@dataclass(frozen=True, slots=True)
class Record:
    """One kit of a catalogue, as it came out.

    Attributes:
        name: Its choices, between slashes.
        key: Hash of all that it was made from: spec, drawings, paper, program and libraries.
        error: Why it could not be made, one line; empty if it was.
        parts: Number of parts.
        stitches: Needle penetrations of all its parts together.
        minutes: Minutes of sewing.
        proofs: Proofs that hold.
        proofs_of: Proofs in all.
        findings: Number of findings by level.
        said: The first errors and warnings in words, errors first.
        bag_shape: Width over height of the bag's picture, which is at the top of the preview.
        files: SHA-256 of each file, by path within the kit.
    """

    name: str
    key: str
    error: str = ""
    parts: int = 0
    stitches: int = 0
    minutes: float = 0.0
    proofs: int = 0
    proofs_of: int = 0
    findings: dict[str, int] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)
    bag_shape: float = 1.0
    files: dict[str, str] = field(default_factory=dict)

    @property
    def made(self) -> bool:
        """Whether there is a kit."""
        return not self.error

    @property
    def ok(self) -> bool:
        """Whether there is a kit, and no error stands against sewing it."""
        return self.made and not self.findings.get("error")

    def to_dict(self) -> dict[str, Any]:
        """The record as plain values, for JSON."""
        return asdict(self)


def key_of(document: dict[str, Any], folder: Path, paper: str) -> str:
    """Hash all that a kit is made from.

    Args:
        document: Its spec, as plain values.
        folder: Where files that it names are looked for.
        paper: What its papers are laid out for.
    """
    held = {"spec": document, "files": dict(_named_files(document, folder)), "paper": paper, "program": program_key()}
    return hashlib.sha256(json.dumps(held, sort_keys=True, default=str).encode()).hexdigest()


@cache
def program_key() -> str:
    """Hash of this program's own files and of the releases of the libraries that the bytes hang on."""
    root = Path(__file__).parents[1]
    total = hashlib.sha256()
    for path in sorted(root.rglob("*")):
        if path.is_file() and path.suffix != ".pyc":
            total.update(path.relative_to(root).as_posix().encode() + b"\0" + path.read_bytes() + b"\0")
    for name, release in library_releases().items():
        total.update(f"{name} {release}\0".encode())
    return total.hexdigest()


@cache
def library_releases() -> dict[str, str]:
    """The installed release of each library that a plain install needs: on these the bytes hang."""
    try:
        needed = requires("stitchcraft") or []
    except PackageNotFoundError:  # run from its sources, with nothing installed
        return {}
    names = [re.split(r"[^A-Za-z0-9._-]", line, maxsplit=1)[0] for line in needed if "extra ==" not in line]
    return {name: version(name) for name in sorted(names)}


def _named_files(value: Any, folder: Path) -> Iterator[tuple[str, str]]:
    """The files that a spec names, wherever in it: name and hash."""
    if isinstance(value, dict | list):
        for inner in value.values() if isinstance(value, dict) else value:
            yield from _named_files(inner, folder)
    elif isinstance(value, str) and 0 < len(value) < 250 and "\0" not in value:
        try:
            path = folder / value
            if path.is_file():
                yield value, file_hash(path)
        except OSError:  # cannot be looked at: making the kit will say so
            return


def file_hash(path: Path) -> str:
    """SHA-256 of a file."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def file_hashes(folder: Path) -> dict[str, str]:
    """SHA-256 of each file in a folder, by path within it."""
    return {
        path.relative_to(folder).as_posix(): file_hash(path) for path in sorted(folder.rglob("*")) if path.is_file()
    }


def read_record(path: Path) -> Record | None:
    """Read the record of a kit; None if there is none that can be used."""
    try:
        return Record(**json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None


def write_record(path: Path, record: Record) -> None:
    """Write the record of a kit.

    Raises:
        SpecError: If it cannot be written.
    """
    reach(path.parent)
    whole_file(path, plain_json(record.to_dict()).encode())


def reach(folder: Path) -> None:
    """Make a folder, and those above it, unless it is there.

    Raises:
        SpecError: If it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise SpecError(f"{folder}: cannot be written: {error.strerror or error}") from None


def plain_json(values: dict[str, Any]) -> str:
    """Values as a line of JSON, the same for the same values."""
    return json.dumps(values, ensure_ascii=False, allow_nan=False, sort_keys=True) + "\n"


def stands(record: Record | None, key: str, kit: Path) -> bool:
    """Whether a kit that was made earlier is the one that would be made now, every byte of it."""
    return (
        record is not None and record.made and record.key == key and kit.is_dir() and (file_hashes(kit) == record.files)
    )
