"""What the papers are made from: a kit's values, and what follows from them for the maker's hands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.defaults import BAG
from stitchcraft.design import StitchPlan
from stitchcraft.errors import Finding
from stitchcraft.family import Family, Part
from stitchcraft.machine import Hoop, Machine, Placement, Proof, file_colours
from stitchcraft.machine.costs import Prices

if TYPE_CHECKING:
    from PIL.Image import Image


@dataclass(frozen=True, slots=True, eq=False)
class SheetPart:
    """A part as the maker sews it.

    Attributes:
        part: The part.
        plan: Its stitches, in the part's own frame.
        hoop: The field; None if no listed field takes the part.
        placement: How the part lies in it.
        files: Names of its machine files.
        cloth: Colour of the cloth under it, ``"#rrggbb"``; None if it is not known.
    """

    part: Part
    plan: StitchPlan
    hoop: Hoop | None
    placement: Placement
    files: tuple[str, ...]
    cloth: str | None = None

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
class SheetHooping:
    """A hooping that several parts share.

    Attributes:
        name: Name of its files.
        hoop: The field.
        plan: All stitches, in the field's frame.
        pieces: The parts, each with its placement in this field; people number them from 1.
        members: For each stop the pairs of piece and that piece's own stop, by index, that it sews.
        times: How often the frame is loaded like this.
        panels: The panels that it is sewn on; empty for loose parts.
        files: Names of its machine files.
        gap_mm: The smallest distance between what two pieces cover.
        panel_move: How a panel lies in the field; None for loose parts.
    """

    name: str
    hoop: Hoop
    plan: StitchPlan
    pieces: tuple[SheetPart, ...]
    members: tuple[tuple[tuple[int, int], ...], ...]
    times: int
    panels: tuple[str, ...]
    files: tuple[str, ...]
    gap_mm: float
    panel_move: Placement | None

    @property
    def panel_corners(self) -> FloatArray | None:
        """The four corners of the field in the panel's frame, (4, 2) mm; None for loose parts."""
        x, y = self.hoop.width / 2, self.hoop.height / 2
        corners = np.array([[-x, -y], [x, -y], [x, y], [-x, y]])
        return None if self.panel_move is None else self.panel_move.taken_back(corners)


@dataclass(frozen=True, slots=True, eq=False)
class SheetPlan:
    """The hoopings of a kit in the order of the work, where parts share some.

    Attributes:
        work: For each loading of the frame, alike ones once: a shared hooping, or a part that is sewn alone and how
            often.
        bags: How many bags it is for.
        words: What is known of how few would do.
        apart: Pairs of parts that never share, and why.
    """

    work: tuple[SheetHooping | tuple[SheetPart, int], ...]
    bags: int
    words: str
    apart: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """All that the papers of a kit say.

    Attributes:
        family: What the kit was made from.
        machine: What sews it.
        parts: The parts in the order of the work.
        findings: What the checks say.
        promises: What was measured on the files.
        bag_image: Picture of the bag with its parts in place; None for none.
        plan: The hoopings, where parts share some; None gives each part its own.
        prices: What a unit of each material costs; None for no costs.
    """

    family: Family
    machine: Machine
    parts: tuple[SheetPart, ...]
    findings: tuple[Finding, ...] = ()
    promises: tuple[Proof, ...] = ()
    bag_image: Image | None = None
    plan: SheetPlan | None = None
    prices: Prices | None = None

    @property
    def bags(self) -> int:
        """How many bags the sheet is for."""
        return 1 if self.plan is None else self.plan.bags

    def loose_fields(self) -> list[tuple[SheetPart, Hoop, int, int]]:
        """The frames for parts that are sewn loose: the first part in it, the field, pieces in it, how often."""
        if self.plan is None:
            return [(one, one.hoop, 1, 1) for one in self.parts if not one.part.placements and one.hoop is not None]
        fields = []
        for work in self.plan.work:
            if isinstance(work, SheetHooping):
                if work.panel_move is None:
                    fields.append((work.pieces[0], work.hoop, len(work.pieces), work.times))
            elif not work[0].part.placements and work[0].hoop is not None:
                fields.append((work[0], work[0].hoop, 1, work[1]))
        return fields

    def loadings(self) -> list[tuple[Hoop, int]]:
        """Every field that is loaded, and how often."""
        if self.plan is None:
            return [(one.hoop, one.times) for one in self.parts if one.hoop is not None]
        pairs = [
            (work.hoop, work.times) if isinstance(work, SheetHooping) else (work[0].hoop, work[1])
            for work in self.plan.work
        ]
        return [(hoop, times) for hoop, times in pairs if hoop is not None]

    def sewings(self) -> list[tuple[StitchPlan, int]]:
        """What is sewn in each hooping, and how often: shared hoopings and pieces as they are sewn."""
        if self.plan is None:
            return [(one.plan, one.times) for one in self.parts]
        return [
            (work.plan, work.times) if isinstance(work, SheetHooping) else (work[0].plan, work[1])
            for work in self.plan.work
        ]

    def panel_fields(self) -> list[FloatArray]:
        """The corners of every field on a panel, (4, 2) mm, panel frame."""
        alone = self.parts if self.plan is None else [
            work[0] for work in self.plan.work if not isinstance(work, SheetHooping)
        ]  # fmt: skip
        corners = [
            turned(one.field_corners, place.angle_deg, place.at_mm)
            for one in alone
            for place in one.part.placements
            if one.field_corners is not None
        ]
        shared = [work for work in self.plan.work if isinstance(work, SheetHooping)] if self.plan is not None else []
        return corners + [one.panel_corners for one in shared if one.panel_corners is not None]

    @property
    def bolt_mm(self) -> float:
        """Usable width of cloth off the bolt, as shops sell it where the bag's units are used, mm."""
        return BAG["fabric_width" if self.family.units == "in" else "fabric_width_metric"].value

    def hooping_cloth_mm(self) -> tuple[float, float] | None:
        """Width and height of the cloth to cut for each panel, so that every field on it is held all round.

        Returns:
            mm, with the margin that the frame holds; None if nothing is sewn on a panel.
        """
        bag, margin = self.family.bag, BAG["hoop_margin"].value
        half, low = bag.width_mm / 2 + bag.seam_mm, -bag.height_mm - bag.seam_mm
        fields = self.panel_fields()
        if not fields:
            return None
        corners = [np.array([[-half, low], [half, 0.0 if bag.top == "bound" else bag.seam_mm]]), *fields]
        low_corner, high_corner = np.vstack(corners).min(axis=0), np.vstack(corners).max(axis=0)
        # the same to the left and to the right, so that the cloth's middle is the panel's
        width = 2 * max(-low_corner[0], high_corner[0]) + 2 * margin
        return (float(width), float(high_corner[1] - low_corner[1] + 2 * margin))

    def above_panel_mm(self) -> float:
        """How far that cloth reaches above the panel's top edge, mm."""
        tops = [0.0 if self.family.bag.top == "bound" else self.family.bag.seam_mm]
        tops += [float(field[:, 1].max()) for field in self.panel_fields()]
        return max(tops) + BAG["hoop_margin"].value


def stop_stitches(plan: StitchPlan) -> list[int]:
    """How many stitches each stop has."""
    counts = np.bincount(plan.stop[plan.is_stitch], minlength=len(plan.stops))
    return [int(count) for count in counts]
