"""The tables of the bag, of what sews it and of what it is made of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from stitchcraft.defaults import BAG, FabricProfile
from stitchcraft.ranges import RANGES
from stitchcraft.spec import words
from stitchcraft.spec.fabric_key import FabricKey
from stitchcraft.spec.field_key import FieldKey
from stitchcraft.spec.keys import (
    ChoiceKey,
    ColourKey,
    DrawnKey,
    FlagKey,
    LengthKey,
    ListKey,
    NumberKey,
    OrNone,
    TextKey,
)
from stitchcraft.spec.table import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class BindingTable(Table):
    """``bag.binding``: the strip that binds the top edge.

    Attributes:
        strip: Width of the strip before folding.
        depth: Its stitch line below the top edge.
        overlap: Extra length.
    """

    strip: Annotated[float | None, LengthKey(*RANGES["bag.binding.strip"])] = None
    depth: Annotated[float | None, LengthKey(*RANGES["bag.binding.depth"])] = None
    overlap: Annotated[float | None, LengthKey(*RANGES["bag.binding.overlap"])] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapingTable(Table):
    """``bag.shaping``: the pair of snaps a side that draws the top in; what is left out takes the usual place.

    Attributes:
        down: Below the top edge.
        over: In from the side seam.
    """

    down: Annotated[float, LengthKey(*RANGES["bag.shaping.down"])] = BAG["shaping_down"].value
    over: Annotated[float, LengthKey(*RANGES["bag.shaping.over"])] = BAG["shaping_over"].value


@dataclass(frozen=True, slots=True, kw_only=True)
class StrapsTable(Table):
    """``bag.straps``.

    Attributes:
        spacing: Centre to centre.
        width: Of one strap.
    """

    spacing: Annotated[float | None, LengthKey(*RANGES["bag.straps.spacing"])] = None
    width: Annotated[float | None, LengthKey(*RANGES["bag.straps.width"])] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BagTable(Table):
    """``[bag]``: finished sizes.

    Attributes:
        width: Panel, side seam to side seam, flat.
        height: Panel, top edge to bottom seam, flat.
        depth: Boxed base; 0 for a flat bag, as when left out.
        seam: Allowance of the bag's seams.
        lining_seam: Allowance of the lining's side seams.
        wall: Finished thickness at the top edge.
        top: ``"bound"`` or ``"turned"``.
        binding: The strip that binds the top.
        shaping: The shaping snaps, None for none.
        straps: Where the straps are and how wide; None for ``"none"``, a bag without straps.
    """

    width: Annotated[float, LengthKey(*RANGES["bag.width"])]
    height: Annotated[float, LengthKey(*RANGES["bag.height"])]
    depth: Annotated[float, LengthKey(*RANGES["bag.depth"])] = 0.0
    seam: Annotated[float | None, LengthKey(*RANGES["bag.seam"])] = None
    lining_seam: Annotated[float | None, LengthKey(*RANGES["bag.lining_seam"])] = None
    wall: Annotated[float | None, LengthKey(*RANGES["bag.wall"])] = None
    top: Annotated[str | None, ChoiceKey(words.TOPS)] = None
    binding: BindingTable = BindingTable()
    shaping: ShapingTable | None = None
    straps: Annotated[StrapsTable | None, OrNone('{ spacing = "150 mm", width = "25 mm" }')] = StrapsTable()


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineTable(Table):
    """``[machine]``.

    Attributes:
        hoops: Sewing fields such as ``"130x180"``, mm, in the order of the file.
        formats: File formats, in the order of the file.
        speed: Stitches a minute.
        trims: Whether the machine cuts its own threads.
        trim_over: A jump longer than this is trimmed.
        basting: Whether each hooping starts with a basting box.
        margin: Kept free inside the edge of the sewing field.
    """

    hoops: Annotated[tuple[str, ...] | None, ListKey(FieldKey(), '["130x180", "100x100"]')] = None
    formats: Annotated[tuple[str, ...] | None, ListKey(ChoiceKey(words.FORMATS), '["dst", "pes"]')] = None
    speed: Annotated[float | None, NumberKey(*RANGES["machine.speed"])] = None
    trims: Annotated[bool | None, FlagKey()] = None
    trim_over: Annotated[float | None, LengthKey(0, 100)] = None
    basting: Annotated[bool | None, FlagKey()] = None
    margin: Annotated[float | None, LengthKey(0, 100)] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HoopingTable(Table):
    """``[hooping]``: what is asked of the hoopings beyond one for each part.

    Attributes:
        share: Whether parts share a hooping where cloth and field allow it.
        bags: How many bags are made at a time.
        gap: Kept between what two parts in a hooping cover.
        grain: Whether loose parts in a hooping lie along one grain.
        split: Whether a part that fits no field is sewn in several hoopings.
    """

    share: Annotated[bool | None, FlagKey()] = None
    bags: Annotated[int | None, NumberKey(*RANGES["hooping.bags"], whole=True)] = None
    gap: Annotated[float | None, LengthKey(*RANGES["hooping.gap"])] = None
    grain: Annotated[bool | None, FlagKey()] = None
    split: Annotated[bool | None, FlagKey()] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PaletteTable(Table):
    """``material.palette``: thread colours such as ``"#2f5d62"``, lower case.

    Attributes:
        accent: Decoration.
        edge: Cover stitch.
        detail: Lettering and small things.
        mark: Placement lines, ticks, targets.
        seam: Seams and tack-down.
        drawn: Threads for the colours of drawings, as pairs: the colour drawn, and a colour or a key above.
    """

    accent: Annotated[str | None, ColourKey()] = None
    edge: Annotated[str | None, ColourKey()] = None
    detail: Annotated[str | None, ColourKey()] = None
    mark: Annotated[str | None, ColourKey()] = None
    seam: Annotated[str | None, ColourKey()] = None
    drawn: Annotated[tuple[tuple[str, str], ...] | None, DrawnKey(("accent", "edge", "detail", "mark", "seam"))] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialTable(Table):
    """``[material]``.

    Attributes:
        fabric: A name in `stitchcraft.defaults.FABRICS`, or the maker's own profile.
        thread: Weight number.
        palette: Thread colours.
        cloth: Colour of the bag's outer cloth.
        accent_cloth: Colour of the cloth of accents and connectors, if it is another.
    """

    fabric: Annotated[str | FabricProfile | None, FabricKey()] = None
    thread: Annotated[float | None, NumberKey(8, 200)] = None
    palette: PaletteTable = PaletteTable()
    cloth: Annotated[str | None, ColourKey()] = None
    accent_cloth: Annotated[str | None, ColourKey()] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PricesTable(Table):
    """``[prices]``: what a unit costs, for the cost on the worksheet; what is left out is not counted.

    Attributes:
        currency: What to write beside a sum.
        thread: A metre of needle thread.
        bobbin: A metre of bobbin thread.
        cloth: A square metre of cloth.
        stabilizer: A square metre of stabilizer.
        fastener: A fastener of the tab, or a shaping snap.
        hour: An hour at the machine.
    """

    currency: Annotated[str | None, TextKey(10)] = None
    thread: Annotated[float | None, NumberKey(*RANGES["prices"])] = None
    bobbin: Annotated[float | None, NumberKey(*RANGES["prices"])] = None
    cloth: Annotated[float | None, NumberKey(*RANGES["prices"])] = None
    stabilizer: Annotated[float | None, NumberKey(*RANGES["prices"])] = None
    fastener: Annotated[float | None, NumberKey(*RANGES["prices"])] = None
    hour: Annotated[float | None, NumberKey(*RANGES["prices"])] = None
