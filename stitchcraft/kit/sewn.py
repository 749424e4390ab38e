"""A part with all that was made of it."""

from __future__ import annotations

from dataclasses import dataclass

from stitchcraft.design import StitchPlan
from stitchcraft.family import Part
from stitchcraft.geometry.sketch import PAGE_MM
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
        cloth: Colour of the cloth under it, ``"#rrggbb"``; None if it is not known.
    """

    part: Part
    plan: StitchPlan
    hooped: Hooped
    data: dict[str, bytes]
    files: dict[str, MachineFile]
    proofs: dict[str, FileProof]
    cloth: str | None = None

    @property
    def name(self) -> str:
        """Name of the part."""
        return self.part.name

    def file_name(self, fmt: str) -> str:
        """Name of one of its machine files."""
        return f"{self.name}.{fmt}"

    def _repr_svg_(self) -> str:
        """Draw its plan on its cloth in a notebook."""
        # the pictures are loaded with the first one: checking draws none
        from stitchcraft.view import patch_under, plan_svg

        return plan_svg(self.plan, cloth=[patch_under(self.plan, self.cloth)], widest=PAGE_MM)
