"""A folder that is whole or not there: built beside its place and renamed into it."""

from __future__ import annotations

import contextlib
import ctypes
import json
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from stitchcraft.errors import SpecError

REPORT_NAME = "report.json"
_FILES = "written"
_ASIDE = ".earlier"
_AT_FDCWD = -100
_RENAME_EXCHANGE = 2


@contextlib.contextmanager
def whole_folder(target: Path, *, mark: str = REPORT_NAME) -> Iterator[Path]:
    """Give a temporary folder beside *target*; when the block ends well, it takes *target*'s place in one step.

    If the block raises, or the process dies, what stood at *target* is as it was. On Linux the exchange is a
    single system call; elsewhere the earlier folder is first moved aside and moved back if the second step fails.
    What a process that was killed has left beside *target* is removed by the next one.

    Args:
        target: Where the folder is to stand: nothing, an empty folder, or an earlier one of its kind in which
            there is nothing else.
        mark: Name of the JSON file by which an earlier one is known; it gets a list of all files written.

    Raises:
        SpecError: If something else stands there, or the place cannot be written.
    """
    _refuse_foreign(target, mark)
    # a link stays, and the folder that it names is replaced
    place = Path(os.path.realpath(target)) if target.is_symlink() else target
    made: list[Path] = []
    try:
        made = _make_parents(place.parent)
        _remove_leftovers(place)
        work, lock = _work_folder(place)
    except OSError as error:
        _remove_empty(made)
        raise SpecError(f"{target}: cannot be written: {error.strerror or error}") from None
    done = False
    try:
        work.chmod(0o777 & ~_umask())
        yield work
        _list_files(work, mark)
        _refuse_foreign(place, mark)
        _exchange(work, place)
        done = True
    except OSError as error:
        raise SpecError(f"{target}: cannot be written: {error.strerror or error}") from None
    finally:
        # after an exchange this is the earlier kit, before it the unfinished one
        shutil.rmtree(work, ignore_errors=True)
        if lock is not None:
            os.close(lock)
        if not done:
            _remove_empty(made)


def _prefix(target: Path) -> str:
    """How the temporary folders of a target are named: no longer than a name may be, whatever its letters."""
    return f".{os.fsencode(target.name)[:120].decode(errors='ignore')}.being-made."


def _work_folder(target: Path) -> tuple[Path, int | None]:
    """Make a temporary folder beside a target, held as long as this process lives; where holding is unknown, None."""
    while True:
        work = Path(tempfile.mkdtemp(prefix=_prefix(target), dir=target.parent))
        lock = _held(work, wait=True)
        # another process may have taken it for a leftover before it was held
        if work.exists():
            return work, lock
        if lock is not None:
            os.close(lock)


def _held(folder: Path, *, wait: bool = False) -> int | None:
    """Hold a folder; None if it is gone, if the system cannot, or if another process does and we do not wait."""
    try:
        import fcntl  # not on every system

        handle = os.open(folder, os.O_RDONLY)
    except (ImportError, OSError):
        return None
    try:
        fcntl.flock(handle, fcntl.LOCK_EX if wait else fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(handle)
        return None
    return handle


def _remove_leftovers(target: Path) -> None:
    """Remove the temporary folders of processes that were killed: those that nobody holds."""
    prefix = _prefix(target)
    for name in sorted(os.listdir(target.parent)):  # noqa: PTH208 - names that are no text must not stop us
        if not name.startswith(prefix):
            continue
        left = target.parent / name
        if name.endswith(_ASIDE) and not target.exists():
            left.rename(target)  # killed between the two steps of an exchange
            continue
        lock = _held(left)
        if lock is not None:
            shutil.rmtree(left, ignore_errors=True)
            os.close(lock)


def _list_files(work: Path, mark: str) -> None:
    """Write down in the marking file what belongs to the folder."""
    values = json.loads((work / mark).read_text(encoding="utf-8"))
    text = json.dumps(values | {_FILES: _files_in(work)}, indent=1, ensure_ascii=False, allow_nan=False)
    (work / mark).write_text(text + "\n", encoding="utf-8", newline="\n")


def _files_in(folder: Path) -> list[str]:
    return sorted(
        (Path(place) / name).relative_to(folder).as_posix() for place, _, names in os.walk(folder) for name in names
    )


def _others_in(target: Path, mark: str) -> list[str]:
    """What a folder holds besides the files that its marking file lists."""
    try:
        listed = set(json.loads((target / mark).read_text(encoding="utf-8"))[_FILES])
    except (OSError, ValueError, KeyError, TypeError):
        listed = set()
    return [name for name in _files_in(target) if name not in listed]


def _refuse_foreign(target: Path, mark: str) -> None:
    """Refuse a target that is not ours to replace.

    Another process may put its own kit there, and remove the one that we are looking at: then we look again.
    """
    while True:
        try:
            looked_at = _identity(target)
            said = _foreign(target, mark)
            if _identity(target) == looked_at:
                break
        except OSError as error:
            raise SpecError(f"{target}: cannot be used: {error.strerror or error}") from None
    if said:
        raise SpecError(f"{target}: {said}")


def _identity(target: Path) -> tuple[int, int] | None:
    try:
        found = target.stat(follow_symlinks=False)
    except FileNotFoundError:
        return None
    return (found.st_dev, found.st_ino)


def _foreign(target: Path, mark: str) -> str:
    """Say why a target is not ours to replace; empty if it is."""
    if not target.is_dir():
        return "is a file; name a folder for the kit" if os.path.lexists(target) else ""
    here = Path.cwd()
    if target.resolve() in (here, *here.parents):
        return "is the folder you are in, or one around it; name a folder for the kit"
    kind = "an earlier kit" if mark == REPORT_NAME else "an earlier swatch"
    names = set(os.listdir(target))  # noqa: PTH208 - names that are no text must not stop us
    if names and mark not in names:
        return f"holds other things; name a new folder, an empty one, or {kind}"
    others = _others_in(target, mark) if names else []
    more = f" and {len(others) - 1} more" if len(others) > 1 else ""
    return f"holds {others[0]}{more}, no part of {kind}; move that, or name a new folder" if others else ""


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
        try:
            work.rename(target)
        except OSError:
            if not target.is_dir():
                raise
        else:
            return  # or else another process has just put its own there
    if sys.platform == "linux" and _renameat2(work, target):
        return
    aside = target.with_name(f"{work.name}{_ASIDE}")
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
