"""The bag's own arithmetic.

Two panels, front and back, are sewn together at the sides and the bottom; a boxed base is made by cutting a
square from each lower corner. Panel frame: origin at the middle of the panel's top edge, x right as seen
from outside, y up, so the panel is -width/2 <= x <= width/2, -height <= y <= 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, TypeAlias

from stitchcraft.bag.panel_sketch import PanelSketch
from stitchcraft.defaults import BAG, PARTS
from stitchcraft.errors import ParameterError
from stitchcraft.ranges import keep_ranged
from stitchcraft.spec import BagTable, Spec, read_spec
from stitchcraft.units import Length, mm_text

Point: TypeAlias = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Binding:
    """A straight strip, folded double lengthwise, that binds the top edge. Lengths in, mm stored.

    Attributes:
        strip: Width of the strip before folding.
        depth: How far below the top edge its stitch line runs.
        overlap: Extra length, for the tail that swallows the other end.
    """

    strip: Length = BAG["binding_strip"].value
    depth: Length = BAG["binding_depth"].value
    overlap: Length = BAG["binding_overlap"].value

    def __post_init__(self) -> None:
        keep_ranged(self, "bag.binding", "strip", "depth", "overlap")

    @property
    def strip_mm(self) -> float:
        """Width of the strip before folding, mm."""
        return float(self.strip)

    @property
    def depth_mm(self) -> float:
        """Stitch line below the top edge, mm."""
        return float(self.depth)

    def cover_mm(self, wall_mm: float) -> float:
        """How far the binding reaches past its own stitch line on the back, mm; negative if it falls short.

        Half the strip goes up the front (depth), over the wall, and down the back; it is sewn on with an
        allowance of one more depth.
        """
        return self.strip_mm / 2 - 3 * self.depth_mm - wall_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Shaping:
    """A pair of snaps a side that draw the top in. Lengths in, mm stored.

    Attributes:
        down: Below the top edge.
        over: In from the side seam.
    """

    down: Length
    over: Length

    def __post_init__(self) -> None:
        keep_ranged(self, "bag.shaping", "down", "over")


@dataclass(frozen=True, slots=True, kw_only=True)
class Straps:
    """Where the straps land on each panel. Lengths in, mm stored.

    Attributes:
        spacing: Strap centre to strap centre.
        width: Width of a strap.
    """

    spacing: Length
    width: Length = BAG["strap_width"].value

    def __post_init__(self) -> None:
        keep_ranged(self, "bag.straps", "spacing", "width")
        if float(self.width) >= float(self.spacing):
            raise ParameterError(
                "bag.straps.width", self.width, f"less than bag.straps.spacing ({mm_text(float(self.spacing))})"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Bag:
    """A bag of two panels. Lengths in (a number is mm), mm stored; all finished sizes unless named *cut*.

    Attributes:
        width: Panel, side seam to side seam, flat.
        height: Panel, top edge to bottom seam, flat.
        depth: Boxed base; 0 for a flat bag.
        seam: Allowance of the side and bottom seams.
        lining_seam: Side-seam allowance of the lining.
        wall: Thickness of the finished wall at its top edge.
        top: ``"bound"`` or ``"turned"``.
        binding: The binding of a bound top.
        shaping: Optional shaping snaps.
        straps: Where the straps land; None takes a spacing that suits the width, ``"none"`` is a bag without straps.

    Raises:
        ParameterError: If a size is out of range or two contradict each other.
    """

    width: Length
    height: Length
    depth: Length = 0.0
    seam: Length = BAG["seam"].value
    lining_seam: Length = BAG["lining_seam"].value
    wall: Length = BAG["wall"].value
    top: Literal["bound", "turned"] = "bound"
    binding: Binding = Binding()
    shaping: Shaping | None = None
    straps: Straps | Literal["none"] | None = None

    def __post_init__(self) -> None:
        keep_ranged(self, "bag", "width", "height", "depth", "seam", "lining_seam", "wall")
        for key, kind in (("binding", Binding), ("shaping", Shaping), ("straps", Straps)):
            value = getattr(self, key)
            if isinstance(value, kind) or (value is None and key != "binding"):
                continue
            if key != "straps":
                raise ParameterError(f"bag.{key}", value, f"a {kind.__name__}")
            if not (isinstance(value, str) and value == "none"):
                raise ParameterError("bag.straps", value, 'a Straps, or "none" for a bag without straps')
        if self.top not in ("bound", "turned"):
            raise ParameterError("bag.top", self.top, '"bound" or "turned"')
        if self.depth_mm >= min(self.width_mm, 2 * self.height_mm):
            raise ParameterError(
                "bag.depth",
                self.depth,
                f"less than bag.width ({mm_text(self.width_mm)}) and twice bag.height ({mm_text(2 * self.height_mm)})",
            )
        least = BAG["standing_least"].value
        if self.standing_mm[2] < least:
            raise ParameterError(
                "bag.depth", self.depth, f"at most {mm_text(2 * (self.height_mm - least))}, so that the bag stands "
                f"{mm_text(least)} high (bag.height less half the depth)",
            )  # fmt: skip
        if self.straps is None:
            spacing = _usual_spacing(self.width_mm)
            strap = min(BAG["strap_width"].value, round(spacing / 3, 1))
            object.__setattr__(self, "straps", Straps(spacing=spacing, width=strap))
        if self.strap_spacing_mm + self.strap_width_mm > self.width_mm:
            raise ParameterError(
                "bag.straps.spacing",
                self.strap_spacing_mm,
                f"at most the bag's width less a strap's ({mm_text(self.width_mm - self.strap_width_mm)})",
            )
        self._check_shaping()

    def _check_shaping(self) -> None:
        if self.shaping is None:
            return
        if 2 * float(self.shaping.over) >= self.width_mm:
            raise ParameterError(
                "bag.shaping.over", self.shaping.over, f"less than half the bag's width ({mm_text(self.width_mm / 2)})"
            )
        if float(self.shaping.down) >= self.standing_mm[2]:
            raise ParameterError(
                "bag.shaping.down", self.shaping.down, f"less than the standing height ({mm_text(self.standing_mm[2])})"
            )

    @classmethod
    def from_spec(cls, source: str | Path | Spec) -> Bag:
        """Read the bag of a spec file (or of a spec already read); what the file leaves out takes its default.

        Raises:
            SpecError: If the file cannot be used.
            ParameterError: If its sizes contradict each other.
        """
        spec = source if isinstance(source, Spec) else read_spec(Path(source))
        return bag_from(spec.bag, metric=spec.units != "in")

    # -- plain numbers, mm ------------------------------------------------------------------------------

    @property
    def width_mm(self) -> float:
        """Panel, side seam to side seam."""
        return float(self.width)

    @property
    def height_mm(self) -> float:
        """Panel, top edge to bottom seam."""
        return float(self.height)

    @property
    def depth_mm(self) -> float:
        """Boxed base."""
        return float(self.depth)

    @property
    def seam_mm(self) -> float:
        """Allowance of the side and bottom seams."""
        return float(self.seam)

    @property
    def wall_mm(self) -> float:
        """Thickness of the finished wall at its top edge."""
        return float(self.wall)

    @property
    def has_straps(self) -> bool:
        """Whether straps are sewn to the panels; many clutches and pouches have none."""
        return self.straps != "none"

    @property
    def strap_spacing_mm(self) -> float:
        """Strap centre to strap centre; 0 without straps."""
        return float(self.straps.spacing) if isinstance(self.straps, Straps) else 0.0

    @property
    def strap_width_mm(self) -> float:
        """Width of a strap; 0 without straps."""
        return float(self.straps.width) if isinstance(self.straps, Straps) else 0.0

    # -- what follows from them -------------------------------------------------------------------------

    @property
    def root_depth_mm(self) -> float:
        """How far below the top edge a tab is caught: the binding's stitch line, or 0 for a turned top."""
        return self.binding.depth_mm if self.top == "bound" else 0.0

    @property
    def insertion_mm(self) -> float:
        """What a tab carries beyond its root line, to be caught in the top edge and cut off level."""
        return max(self.root_depth_mm + self.seam_mm, BAG["allowance"].value)

    @property
    def panel_cut_mm(self) -> Point:
        """Cut width and height of a panel: allowances at the sides, the bottom and a turned top."""
        top = self.seam_mm if self.top == "turned" else 0.0
        return (self.width_mm + 2 * self.seam_mm, self.height_mm + self.seam_mm + top)

    @property
    def standing_mm(self) -> tuple[float, float, float]:
        """Width at the base, depth, and height of the standing bag."""
        return (self.width_mm - self.depth_mm, self.depth_mm, self.height_mm - self.depth_mm / 2)

    @property
    def corner_cut_mm(self) -> float:
        """Side of the square cut away from each lower raw corner for a boxed base.

        D = 2 (c - s + s_box); all allowances equal give c = D / 2.
        """
        return self.depth_mm / 2

    @property
    def lining_corner_cut_mm(self) -> Point:
        """Width and height of what is cut from each lower corner of the lining; zeros for a flat bag.

        At a boxed corner the edge that ran to the side seam meets the edge that ran to the bottom seam. Cut c wide
        and high, with allowances s_l at the side and s at the bottom, they are c - s_l and c - s long: so the cut is
        made wider by s_l - s.
        """
        if not self.depth_mm:
            return (0.0, 0.0)
        return (max(0.0, self.corner_cut_mm + float(self.lining_seam) - self.seam_mm), self.corner_cut_mm)

    @property
    def base_mm(self) -> Point | None:
        """Width and depth of the base stiffener; None for a base too small for one."""
        ease = BAG["stiffener_ease"].value
        base = (self.width_mm - self.depth_mm - 2 * ease, self.depth_mm - 2 * ease)
        return base if min(base) > 0 else None

    @property
    def feet_mm(self) -> tuple[Point, ...]:
        """Centres of four feet from the middle of the base; none where the base has no room for them."""
        inset = BAG["feet_inset"].value
        x, y = (self.width_mm - self.depth_mm) / 2 - inset, self.depth_mm / 2 - inset
        return ((x, y), (-x, y), (-x, -y), (x, -y)) if min(x, y) > 0 else ()

    @property
    def lining_width_mm(self) -> float:
        """Finished width of a lining panel, cut as the bag's and sewn with its own allowance."""
        return self.width_mm - 2 * (float(self.lining_seam) - self.seam_mm)

    @property
    def binding_mm(self) -> Point | None:
        """Width and length of the binding strip, one end cut at 45 degrees; None for a turned top."""
        if self.top != "bound":
            return None
        return (self.binding.strip_mm, 2 * self.width_mm + float(self.binding.overlap))

    @property
    def usual_drop_mm(self) -> float:
        """Top edge to a snap's centre where nothing else asks for another: in the upper part of the front."""
        return round(min(PARTS["closure_drop"].value, 0.4 * self.standing_mm[2]), 1)

    @property
    def shaped_top_mm(self) -> float | None:
        """Width of the top with the shaping snaps closed; None without them."""
        return None if self.shaping is None else self.width_mm - 2 * float(self.shaping.over)

    @property
    def lean_deg(self) -> float | None:
        """How far each side leans in with the shaping snaps closed, degrees; None without them."""
        if self.shaping is None:
            return None
        rise = self.standing_mm[2] - float(self.shaping.down)
        return math.degrees(math.atan2(float(self.shaping.over), rise))

    def __repr__(self) -> str:
        return f"<Bag {self.width_mm:g} x {self.height_mm:g} x {self.depth_mm:g} mm, {self.top} top>"

    def _repr_svg_(self) -> str:
        """Draw its front panel in a notebook, the snap's target where it lies if nothing else is asked for."""
        shaping: tuple[Point, ...] = ()
        if self.shaping is not None:
            x, y = self.width_mm / 2 - float(self.shaping.over), -float(self.shaping.down)
            shaping = ((-x, y), (x, y))
        snap = min(PARTS["snap_diameter"].value, self.width_mm * PARTS["tab_width_share"].value / 3)
        # the base's front half is part of this panel: its middle line is the bottom seam
        feet = tuple((x, y - self.height_mm) for x, y in self.feet_mm if y > 0)
        return PanelSketch(
            width=self.width_mm, height=self.height_mm, depth=self.depth_mm, seam=self.seam_mm,
            top_seam=self.seam_mm if self.top == "turned" else 0.0, binding=self.root_depth_mm,
            strap_spacing=self.strap_spacing_mm, strap_width=self.strap_width_mm,
            snap=(self.usual_drop_mm, snap), shaping=shaping, feet=feet,
        ).svg(repr(self)[1:-1])  # fmt: skip


def bag_from(table: BagTable, *, metric: bool = False) -> Bag:
    """Make a bag of the ``[bag]`` table of a spec.

    Args:
        table: The table.
        metric: Whether the spec is measured in mm or cm: seam allowances that it leaves out are round there too.
    """
    given = table.given()
    if metric:
        given |= {key: BAG[f"{key}_metric"].value for key in ("seam", "lining_seam") if key not in given}
    given["binding"] = Binding(**table.binding.given())
    if table.shaping is not None:
        given["shaping"] = Shaping(**table.shaping.given())
    given["straps"] = _straps_from(table)
    return Bag(**given)


def _straps_from(table: BagTable) -> Straps | Literal["none"] | None:
    """What the table says of straps, as `Bag` takes it."""
    if table.straps is None:
        return "none"
    straps = table.straps.given()
    if not straps:
        return None
    straps.setdefault("spacing", _usual_spacing(table.width))
    return Straps(**straps)


def _usual_spacing(width: float) -> float:
    return round(min(width * BAG["strap_spacing_share"].value, BAG["strap_spacing_most"].value), 1)
