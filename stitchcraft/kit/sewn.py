"""A part with all that was made of it."""

from __future__ import annotations

from dataclasses import dataclass

from stitchcraft.design import StitchPlan
from stitchcraft.family import Part
from stitchcraft.kit.hooping import Hooped
from stitchcraft.machine import FileProof, MachineFile


@dataclass(frozen=True, slots=True, eq=False)
class SewnPart:
    """A part with all that was made of it.

    Attributes:
        part: The part.
        plan: Its stitches, in the part's own frame.
        hooped: How it lies in its field.
        data: The bytes of its machine files, by format.
        files: The same files as read back, by format.
        proofs: Each file held against the plan, by format.
    """

    part: Part
    plan: StitchPlan
    hooped: Hooped
    data: dict[str, bytes]
    files: dict[str, MachineFile]
    proofs: dict[str, FileProof]

    @property
    def name(self) -> str:
        """Name of the part."""
        return self.part.name

    def file_name(self, fmt: str) -> str:
        """Name of one of its machine files."""
        return f"{self.name}.{fmt}"
