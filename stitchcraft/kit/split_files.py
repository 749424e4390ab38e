"""The machine files of a part that is sewn in several hoopings, and what they promise together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from stitchcraft.arrays import FloatArray
from stitchcraft.design import Kind, Purpose
from stitchcraft.errors import Finding, Level
from stitchcraft.kit.hooping import Hooped
from stitchcraft.kit.sewn import SewnPart
from stitchcraft.kit.splitting import Split, SplitPiece, letter, split_plan
from stitchcraft.machine import FileProof, Machine, MachineFile, Placement, Proof, decode, encode, prove
from stitchcraft.units import to_units

CROSSES_MM: Final = 0.15
"""Each of two crosses is rounded once, by up to 0.071 mm."""

HOLES_MM: Final = 0.1
NOT_MEASURED_MM: Final = 9999.0


@dataclass(frozen=True, slots=True, eq=False)
class PieceFiles:
    """One piece of a part, with its files.

    Attributes:
        name: Name of the files.
        number: Which piece, from 0.
        count: Of how many.
        crosses: Centres of its crosses, (k, 2) mm, in the part's frame.
        piece: Its stitches.
        data: The bytes, by format.
        files: The files as read back, by format.
        proofs: Each file held against the piece's plan, by format.
    """

    name: str
    number: int
    count: int
    crosses: FloatArray
    piece: SplitPiece
    data: dict[str, bytes]
    files: dict[str, MachineFile]
    proofs: dict[str, FileProof]


@dataclass(frozen=True, slots=True, eq=False)
class SplitPart:
    """A part that is sewn in several hoopings.

    Attributes:
        part: The part as it would be in one.
        split: How it is divided.
        pieces: The pieces with their files, in order of sewing.
        whole: The part put together again from the files of its pieces, in its own frame.
        proofs: What the pieces promise together, measured on the files read back.
    """

    part: SewnPart
    split: Split
    pieces: tuple[PieceFiles, ...]
    whole: SewnPart
    proofs: tuple[Proof, ...]


def split_part(part: SewnPart, sewn: Sequence[SewnPart], machine: Machine, *, margin: float) -> SplitPart | None:
    """Divide a part over several hoopings and make and prove their files; None if that cannot be done.

    Args:
        part: The part.
        sewn: All parts of the kit.
        machine: Fields and formats.
        margin: Kept free inside the edge of a field, mm.
    """
    if why_whole(part, sewn):
        return None
    split = split_plan(part.plan, machine.hoops, margin=margin, trim_over=machine.trim_over, trims=machine.trims)
    if split is None:
        return None
    pieces = []
    for number, piece in enumerate(split.pieces):
        name = f"{part.name}-{letter(number)}"
        data = {fmt: encode(piece.plan, fmt, placement=piece.placement, name=name) for fmt in machine.formats}
        files = {fmt: decode(own, fmt, path=f"{name}.{fmt}") for fmt, own in data.items()}
        proofs = {fmt: prove(piece.plan, file, piece.placement) for fmt, file in files.items()}
        cuts = [cut for cut in (number - 1, number) if 0 <= cut < len(split.cuts.crosses)]
        crosses = np.vstack([split.cuts.crosses[cut] for cut in cuts])
        pieces.append(PieceFiles(name, number, len(split.pieces), crosses, piece, data, files, proofs))
    made = tuple(pieces)
    whole = SewnPart(
        part.part, part.plan, Hooped(None, Placement(), None), {},
        {fmt: _put_together(part, made, fmt) for fmt in machine.formats}, {},
    )  # fmt: skip
    return SplitPart(part, split, made, whole, _proofs(part, made))


def why_whole(part: SewnPart, sewn: Sequence[SewnPart]) -> str:
    """Say why a part must be sewn in one hooping; empty if it need not."""
    if _has_seam(part):
        return (
            "its seam closes over the finished back, so all that lies under it must be sewn before, in the same frame"
        )
    laid_on = next((other for other in sewn if other.name == part.part.mirror_of and _has_seam(other)), None)
    if laid_on is not None and laid_on.hooped.hoop is None:
        return f"it is laid on {laid_on.name}, which must fit a field as a whole"
    return ""


def _has_seam(part: SewnPart) -> bool:
    return any(stop.purpose is Purpose.SEAM for stop in part.plan.stops)


def split_findings(part: SewnPart, sewn: Sequence[SewnPart], split: SplitPart | None) -> list[Finding]:
    """Say how a part that fits no field is sewn, or why it cannot be divided."""
    if split is not None:
        names = ", ".join(piece.name for piece in split.pieces)
        return [
            Finding(
                Level.NOTE, "hoop-split", part.name,
                f"It fits none of the listed fields, and is sewn in {len(split.pieces)} hoopings: {names}.",
                "Lay each hooping by the stitched crosses, as the worksheet says; a larger field needs no crosses.",
            )
        ]  # fmt: skip
    why = why_whole(part, sewn) or "no straight cuts leave pieces that fit a field with their crosses"
    return [
        Finding(
            Level.WARNING, "hoop-not-split", part.name, f"It cannot be sewn in several hoopings: {why}.",
            "List a larger field in machine.hoops, or make the part smaller.",
        )
    ]  # fmt: skip


def _points(piece: PieceFiles, fmt: str) -> FloatArray:
    """The penetrations of a file in the part's frame; none if the file has another number than the plan."""
    points = piece.piece.placement.taken_back(piece.files[fmt].needle_points)
    return points if len(points) == len(piece.piece.whole) else np.empty((0, 2))


def _put_together(part: SewnPart, pieces: Sequence[PieceFiles], fmt: str) -> MachineFile:
    """Every penetration of the whole from the first file that has it."""
    sewn = part.plan.is_stitch
    points = np.full((part.plan.stitches, 2), NOT_MEASURED_MM)
    for piece in reversed(pieces):
        found = _points(piece, fmt)
        mine = piece.piece.whole >= 0
        if len(found):
            points[piece.piece.whole[mine]] = found[mine]
    kind = np.full(len(points), Kind.STITCH, dtype=np.uint8)
    return MachineFile(fmt, to_units(points), kind, part.plan.stop[sewn], path=pieces[0].files[fmt].path)


def _proofs(part: SewnPart, pieces: Sequence[PieceFiles]) -> tuple[Proof, ...]:
    formats = list(pieces[0].files)
    name = (part.name,)
    return (
        Proof("crosses-meet", max(_crosses_gap(pieces, fmt) for fmt in formats), CROSSES_MM, "mm", name),
        Proof("pieces-whole", max(_holes_gap(part, pieces, fmt) for fmt in formats), HOLES_MM, "mm", name),
        Proof("hoop-fit", max(_over(piece, fmt) for piece in pieces for fmt in formats), 0.0, "mm", name),
    )


def _crosses_gap(pieces: Sequence[PieceFiles], fmt: str) -> float:
    """Farthest that a hole of a cross lies from where the neighbour's file has it, in the part's frame, mm."""
    worst = 0.0
    for cut, (one, other) in enumerate(pairwise(pieces)):
        first, second = _points(one, fmt), _points(other, fmt)
        if not len(first) or not len(second):
            return NOT_MEASURED_MM
        a, b = first[one.piece.crosses == cut], second[other.piece.crosses == cut]
        if a.shape != b.shape or not len(a):
            return NOT_MEASURED_MM
        worst = max(worst, float(np.hypot(*(a - b).T).max()))
    return round(worst, 4)


def _holes_gap(part: SewnPart, pieces: Sequence[PieceFiles], fmt: str) -> float:
    """Farthest that a hole of the whole part lies from where a piece's file has it; as far as can be if none has it."""
    wanted = part.plan.needle_points
    nearest = np.full(len(wanted), np.inf)
    for piece in pieces:
        found = _points(piece, fmt)
        if not len(found):
            return NOT_MEASURED_MM
        mine = piece.piece.whole >= 0
        index = piece.piece.whole[mine]
        np.minimum.at(nearest, index, np.hypot(*(found[mine] - wanted[index]).T))
    worst = float(nearest.max())
    return round(worst, 4) if np.isfinite(worst) else NOT_MEASURED_MM


def _over(piece: PieceFiles, fmt: str) -> float:
    """How far a piece reaches over the edge of its field, mm; negative is room left."""
    hoop = piece.piece.hoop
    room = to_units([hoop.width / 2, hoop.height / 2])
    return float((np.abs(piece.files[fmt].units).max(axis=0) - room).max()) / 10.0
