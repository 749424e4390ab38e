"""A machine file on disk: written, read back, compared, and only then put in place."""

from __future__ import annotations

import contextlib
import secrets
from dataclasses import dataclass
from pathlib import Path

from stitchcraft.design import StitchPlan
from stitchcraft.errors import MachineFileError
from stitchcraft.machine.formats import FORMATS
from stitchcraft.machine.placement import Placement, centred
from stitchcraft.machine.proof import FileProof, prove
from stitchcraft.machine.reading import decode
from stitchcraft.machine.writing import encode


@dataclass(frozen=True, slots=True)
class SavedFile:
    """A machine file that was written and proved.

    Attributes:
        path: Where it is.
        fmt: Its format.
        placement: Where the part lies in the field.
        proof: What was measured on the file as read back from disk.
    """

    path: Path
    fmt: str
    placement: Placement
    proof: FileProof


def save(
    plan: StitchPlan, path: str | Path, *, placement: Placement | None = None, name: str | None = None
) -> SavedFile:
    """Write a plan as a machine file and prove it from the bytes read back.

    The file appears in one step, or not at all: an earlier file of that name stays as it was if anything fails.

    Args:
        plan: What to sew.
        path: Where to; the suffix says which format.
        placement: Where the part lies in the field; None centres its bounding box.
        name: Name in the file; the plan's own if None.

    Raises:
        MachineFileError: If the suffix is of no format that is written, the folder is missing or closed, the plan
            cannot be written, or the file read back differs from it.
    """
    target = Path(path)
    fmt = target.suffix.lower().removeprefix(".")
    if fmt not in FORMATS:
        raise MachineFileError(
            f"{target}: the suffix says which file to write, and it must be one of {', '.join(FORMATS)}"
        )
    spot = centred(plan.needle_points) if placement is None and plan.stitches else placement or Placement()
    data = encode(plan, fmt, placement=spot, name=name)
    try:
        if not target.parent.is_dir():
            raise MachineFileError(f"{target}: there is no folder {target.parent}")
        if target.is_dir():
            raise MachineFileError(f"{target}: is a folder")
        # in the same folder, so that the replacing is one step
        temporary = target.with_name(f".{secrets.token_hex(6)}.part")
        try:
            with temporary.open("xb") as stream:
                stream.write(data)
            proof = prove(plan, decode(temporary.read_bytes(), fmt, path=str(target)), spot)
            if not proof.ok:
                raise MachineFileError(
                    f"{target}: not written, because the file read back differs from the plan: {proof}"
                )
            temporary.replace(target)
        finally:
            with contextlib.suppress(FileNotFoundError):
                temporary.unlink()
    except OSError as error:
        raise MachineFileError(f"{target}: cannot be written: {error.strerror or error}") from None
    except ValueError as error:
        raise MachineFileError(f"{target}: cannot be written: {error}") from None
    return SavedFile(target, fmt, spot, proof)
