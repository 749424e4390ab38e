"""A file that is whole or not there: written beside its place and renamed into it."""

from __future__ import annotations

import contextlib
import secrets
from pathlib import Path

from stitchcraft.errors import SpecError


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
