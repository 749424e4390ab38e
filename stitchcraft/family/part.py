"""A part in its place, and what the parts of a family have in common."""

from __future__ import annotations

from dataclasses import dataclass, field

import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration import Decoration, Dots
from stitchcraft.defaults import FABRICS, FabricProfile, fabric_profile
from stitchcraft.design import Design, Purpose, colour_from
from stitchcraft.errors import ParameterError
from stitchcraft.parts import Danger, Edge, Palette


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a part's own origin sits on the bag, in the panel frame.

    Attributes:
        panel: ``"front"`` or ``"back"``.
        at_mm: (x, y) from the middle of the panel's top edge, y up.
        angle_deg: Counter-clockwise.
        mirror: Whether the part is laid mirrored; always False for a part sewn on the panel.
    """

    panel: str
    at_mm: tuple[float, float]
    angle_deg: float = 0.0
    mirror: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One part of a kit: a design, where it goes, and what it is cut from.

    Attributes:
        design: What is sewn; its name is the part's.
        placements: Where on the bag; none for a part that is sewn loose.
        cloth: Cut pieces for the part: name, material and shape in the part's frame.
        after: What the maker does once the last stop is sewn.
        mirror_of: Name of the part whose mirror image this one's outline is, so that both are laid in the hoop
            as mirror images too and round to mirror-image holes.
        sews: What its stops of some purposes sew, in plain words, where the purpose alone does not say it.
        dangers: What can hurt at it, beside the machine.
    """

    design: Design
    placements: tuple[Placed, ...] = ()
    cloth: tuple[tuple[str, str, shapely.Polygon], ...] = ()
    after: str = ""
    mirror_of: str | None = None
    sews: tuple[tuple[Purpose, str], ...] = ()
    dangers: tuple[Danger, ...] = ()

    @property
    def name(self) -> str:
        """Name of the part, and of its files."""
        return self.design.name


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Style:
    """What makes the parts a family.

    Attributes:
        decoration: What fills them.
        edge: What covers their cut edges.
        profile: Free edge of the corner accents, as `CornerAccent` takes it.
        palette: Threads.
        cloth: Colour of the bag's outer cloth, ``"#rrggbb"``; None for unknown.
        accent_cloth: Colour of the cloth of accents and connectors; that of the outer cloth if None.
        fabric: Fabric profile, or the name of one; sets the seam's stitch here and everything else when the parts
            are planned.

    Raises:
        ParameterError: If a value is of the wrong kind, no colour, or no fabric has that name.
    """

    decoration: Decoration = field(default_factory=Dots)
    edge: Edge = Edge()
    profile: str | FloatArray = "quarter"
    palette: Palette = Palette()
    fabric: FabricProfile = FABRICS["quilting cotton"]
    cloth: str | None = None
    accent_cloth: str | None = None

    def __post_init__(self) -> None:
        for key in ("cloth", "accent_cloth"):
            if getattr(self, key) is not None:
                object.__setattr__(self, key, colour_from(getattr(self, key), name=f"style.{key}"))
        object.__setattr__(self, "fabric", fabric_profile(self.fabric))
        for key, kind in (("decoration", Decoration), ("edge", Edge), ("palette", Palette)):
            if not isinstance(getattr(self, key), kind):
                raise ParameterError(f"style.{key}", getattr(self, key), f"a {kind.__name__}")
