"""What the papers are made from: a kit's values, and what follows from them for the maker's hands."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stitchcraft.defaults import BAG
from stitchcraft.design import FloatArray, StitchPlan
from stitchcraft.errors import Finding
from stitchcraft.family import Family, Part
from stitchcraft.geometry.curves import turned
from stitchcraft.machine import Hoop, Machine, Placement, Proof, file_colours


@dataclass(frozen=True, slots=True, eq=False)
class SheetPart:
    """A part as the maker sews it.

    Attributes:
        part: The part.
        plan: Its stitches, in the part's own frame.
        hoop: The field; None if no listed field takes the part.
        placement: How the part lies in it.
        files: Names of its machine files.
    """

    part: Part
    plan: StitchPlan
    hoop: Hoop | None
    placement: Placement
    files: tuple[str, ...]

    @property
    def name(self) -> str:
        """Name of the part."""
        return self.part.name

    @property
    def times(self) -> int:
        """How often it is sewn: once for each place on the bag."""
        return max(1, len(self.part.placements))

    @property
    def screen_colours(self) -> tuple[str, ...]:
        """The colour that each stop has in the files; it differs from the thread's where two stops share a thread."""
        return tuple(file_colours(self.plan.stops))

    def to_part(self, xy: FloatArray) -> FloatArray:
        """Carry positions in the field, (n, 2) mm, back into the part's frame."""
        return self.placement.taken_back(xy)

    @property
    def field_corners(self) -> FloatArray | None:
        """The four corners of the field in the part's frame, (4, 2) mm; None without a field."""
        if self.hoop is None:
            return None
        x, y = self.hoop.width / 2, self.hoop.height / 2
        return self.to_part(np.array([[-x, -y], [x, -y], [x, y], [-x, y]]))


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """All that the papers of a kit say.

    Attributes:
        family: What the kit was made from.
        machine: What sews it.
        parts: The parts in the order of the work.
        findings: What the checks say.
        promises: What was measured on the files.
        bag_png: Picture of the bag with its parts in place, PNG.
    """

    family: Family
    machine: Machine
    parts: tuple[SheetPart, ...]
    findings: tuple[Finding, ...] = ()
    promises: tuple[Proof, ...] = ()
    bag_png: bytes = b""

    def hooping_cloth_mm(self) -> tuple[float, float] | None:
        """Width and height of the cloth to cut for each panel, so that every field on it is held all round.

        Returns:
            mm, with the margin that the frame holds; None if nothing is sewn on a panel.
        """
        bag, margin = self.family.bag, BAG["hoop_margin"].value
        half, low = bag.width_mm / 2 + bag.seam_mm, -bag.height_mm - bag.seam_mm
        corners = [np.array([[-half, low], [half, 0.0 if bag.top == "bound" else bag.seam_mm]])]
        fields = 0
        for one in self.parts:
            field = one.field_corners
            for place in one.part.placements:
                if field is not None:
                    corners.append(turned(field, place.angle_deg, place.at_mm))
                    fields += 1
        if not fields:
            return None
        low_corner, high_corner = np.vstack(corners).min(axis=0), np.vstack(corners).max(axis=0)
        # the same to the left and to the right, so that the cloth's middle is the panel's
        width = 2 * max(-low_corner[0], high_corner[0]) + 2 * margin
        return (float(width), float(high_corner[1] - low_corner[1] + 2 * margin))

    def above_panel_mm(self) -> float:
        """How far that cloth reaches above the panel's top edge, mm."""
        tops = [0.0 if self.family.bag.top == "bound" else self.family.bag.seam_mm]
        for one in self.parts:
            field = one.field_corners
            if field is not None:
                tops += [
                    float(turned(field, place.angle_deg, place.at_mm)[:, 1].max()) for place in one.part.placements
                ]
        return max(tops) + BAG["hoop_margin"].value


def stop_stitches(plan: StitchPlan) -> list[int]:
    """How many stitches each stop has."""
    counts = np.bincount(plan.stop[plan.is_stitch], minlength=len(plan.stops))
    return [int(count) for count in counts]
