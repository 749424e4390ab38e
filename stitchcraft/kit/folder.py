"""A folder, or a file, that is whole or not there: built beside its place and renamed into it."""

from __future__ import annotations

import contextlib
import ctypes
import os
import secrets
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from stitchcraft.errors import SpecError

REPORT_NAME = "report.json"
_AT_FDCWD = -100
_RENAME_EXCHANGE = 2


@contextlib.contextmanager
def whole_folder(target: Path, *, mark: str = REPORT_NAME) -> Iterator[Path]:
    """Give a temporary folder beside *target*; when the block ends well, it takes *target*'s place in one step.

    If the block raises, or the process dies, what stood at *target* is as it was. On Linux the exchange is a
    single system call; elsewhere the earlier folder is first moved aside and moved back if the second step fails.

    Args:
        target: Where the folder is to stand: nothing, an empty folder, or an earlier one of its kind.
        mark: Name of the file by which an earlier one is known.

    Raises:
        SpecError: If something else stands there, or the place cannot be written.
    """
    _refuse_foreign(target, mark)
    made: list[Path] = []
    try:
        made = _make_parents(target.parent)
        work = Path(tempfile.mkdtemp(prefix=f".{target.name[:60]}.", dir=target.parent))
    except OSError as error:
        _remove_empty(made)
        raise SpecError(f"{target}: cannot be written: {error.strerror or error}") from None
    done = False
    try:
        work.chmod(0o777 & ~_umask())
        yield work
        _refuse_foreign(target, mark)
        _exchange(work, target)
        done = True
    except OSError as error:
        raise SpecError(f"{target}: cannot be written: {error.strerror or error}") from None
    finally:
        # after an exchange this is the earlier kit, before it the unfinished one
        shutil.rmtree(work, ignore_errors=True)
        if not done:
            _remove_empty(made)


def whole_file(target: Path, data: bytes) -> None:
    """Write a file that is whole or not there: what stood there is replaced in one step.

    Raises:
        SpecError: If it cannot be written.
    """
    # in the same folder, so that the replacing is one step
    temporary = target.with_name(f".{secrets.token_hex(6)}.part")
    try:
        temporary.write_bytes(data)
        temporary.replace(target)
    except OSError as error:
        raise SpecError(f"{target}: cannot be written: {error.strerror or error}") from None
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink()


def _refuse_foreign(target: Path, mark: str) -> None:
    try:
        if target.is_dir():
            names = {entry.name for entry in target.iterdir()}
            if names and mark not in names:
                kind = "an earlier kit" if mark == REPORT_NAME else "an earlier swatch"
                raise SpecError(f"{target}: holds other things; name a new folder, an empty one, or {kind}")
        elif target.exists() or target.is_symlink():
            raise SpecError(f"{target}: is a file; name a folder for the kit")
    except OSError as error:
        raise SpecError(f"{target}: cannot be used: {error.strerror or error}") from None


def _make_parents(folder: Path) -> list[Path]:
    missing = [place for place in (folder, *folder.parents) if not place.exists()]
    for place in reversed(missing):
        place.mkdir()
    return missing


def _remove_empty(folders: list[Path]) -> None:
    for place in folders:
        with contextlib.suppress(OSError):
            place.rmdir()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _exchange(work: Path, target: Path) -> None:
    """Put *work* where *target* is; what stood there is at *work* afterwards, or gone if it was empty."""
    if not target.exists():
        work.rename(target)
        return
    if sys.platform == "linux" and _renameat2(work, target):
        return
    aside = target.with_name(f"{work.name}.earlier")
    target.rename(aside)
    try:
        work.rename(target)
    except OSError:
        aside.rename(target)
        raise
    aside.rename(work)


def _renameat2(one: Path, other: Path) -> bool:
    """Exchange two folders in one system call; False where the system or the file system cannot."""
    call = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if call is None:
        return False
    return call(_AT_FDCWD, os.fsencode(one), _AT_FDCWD, os.fsencode(other), _RENAME_EXCHANGE) == 0
