"""The spec as frozen values, and the schema of the file: every key, its kind and its range stand here once.

All lengths are mm. A key that the file leaves out is None, and a table that it leaves out has every key None;
what suits the bag is chosen by the layers above. Only a flat base and the shaping snaps have values of their
own. A table is None itself where its absence means something: no shaping snaps, no decoration of the part's own.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from pathlib import Path
from typing import Annotated, Any, ClassVar

from stitchcraft.defaults import BAG, FabricProfile
from stitchcraft.ranges import RANGES
from stitchcraft.spec import words
from stitchcraft.spec.fabric_key import FabricKey
from stitchcraft.spec.keys import (
    NAME,
    ArtworkKey,
    ChoiceKey,
    ColourKey,
    DrawnKey,
    FieldKey,
    FlagKey,
    FontKey,
    LengthKey,
    ListKey,
    NumberKey,
    OptionsKey,
    ShiftKey,
    Shorthand,
    TextKey,
)


class Table:
    """What all tables share."""

    __slots__ = ()
    __pydantic_config__: ClassVar[dict[str, Any]] = {"extra": "forbid"}

    def given(self) -> dict[str, Any]:
        """The keys that the file gives, with their values.

        Example:
            >>> StrapsTable(width=25.4).given()
            {'width': 25.4}
        """
        values = {part.name: getattr(self, part.name) for part in fields(self)}  # type: ignore[arg-type]
        return {key: value for key, value in values.items() if value is not None}


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
        straps: Where the straps are and how wide.
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
    straps: StrapsTable = StrapsTable()


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineTable(Table):
    """``[machine]``.

    Attributes:
        hoops: Sewing fields such as ``"130x180"``, mm, in the order of the file.
        formats: File formats, in the order of the file.
        speed: Stitches a minute.
        trims: Whether the machine cuts its own threads.
        basting: Whether each hooping starts with a basting box.
        margin: Kept free inside the edge of the sewing field.
    """

    hoops: Annotated[tuple[str, ...] | None, ListKey(FieldKey(), '["130x180", "100x100"]')] = None
    formats: Annotated[tuple[str, ...] | None, ListKey(ChoiceKey(words.FORMATS), '["dst", "pes"]')] = None
    speed: Annotated[float | None, NumberKey(50, 2000)] = None
    trims: Annotated[bool | None, FlagKey()] = None
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
    thread: Annotated[float | None, NumberKey(0, 1_000_000)] = None
    bobbin: Annotated[float | None, NumberKey(0, 1_000_000)] = None
    cloth: Annotated[float | None, NumberKey(0, 1_000_000)] = None
    stabilizer: Annotated[float | None, NumberKey(0, 1_000_000)] = None
    fastener: Annotated[float | None, NumberKey(0, 1_000_000)] = None
    hour: Annotated[float | None, NumberKey(0, 1_000_000)] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DecorationTable(Table):
    """A decoration, the style's or a part's own; which keys a kind takes is in `words.DECORATION_KEYS`.

    Attributes:
        kind: What it is, or ``"none"``.
        pitch: Distance from one repeat to the next.
        diameter: Of a dot or a ring.
        angle: Degrees counter-clockwise.
        seed: What the meander's wandering starts from.
        svg: Drawing to sew.
        width: Width that the drawing gets.
        stitch: How it is sewn.
        inset: Kept free inside the edge of the decorated area.
        border: Whether the edge of the decorated area is sewn too, as a frame.
        joined: Whether dots, or whole rows, hang together by a stitch that shows, instead of a cut after each.
        edge: What becomes of motifs that the area's edge cuts.
        shift: How far the pattern is moved, right and up.
        layout: How dots or motifs lie to each other.
        depth: Of a repeat in a row, across the row.
        spacing: Row to row.
        colours: Whether a drawing is sewn in its own colours, or in one thread.
        bare: Colour of a drawing that stands for bare cloth.
        text: Of lettering, or the letters of a monogram.
        face: One of `words.FACES`.
        font: The maker's own font file, in place of the face.
        height: Of a capital letter.
        letter_spacing: Room between letters beside what the face gives them.
        arc: Radius of the line that the letters stand on.
        side: Whether they stand above the circle's middle or hang below it.
        frame: Around a monogram.
        options: What else a decoration of another package takes, by name.
    """

    kind: Annotated[str, ChoiceKey(words.DECORATIONS, "decorations")]
    pitch: Annotated[float | None, LengthKey(1, 200)] = None
    diameter: Annotated[float | None, LengthKey(0.5, 200)] = None
    angle: Annotated[float | None, NumberKey(-360, 360)] = None
    seed: Annotated[int | None, NumberKey(0, 2**31 - 1, whole=True)] = None
    svg: Annotated[Path | None, ArtworkKey()] = None
    width: Annotated[float | None, LengthKey(1, 500)] = None
    stitch: Annotated[str | None, ChoiceKey(words.STITCHES)] = None
    inset: Annotated[float | None, LengthKey(0, 100)] = None
    border: Annotated[bool | None, FlagKey()] = None
    joined: Annotated[bool | None, FlagKey()] = None
    edge: Annotated[str | None, ChoiceKey(words.PATTERN_EDGES)] = None
    shift: Annotated[tuple[float, float] | None, ShiftKey()] = None
    layout: Annotated[str | None, ChoiceKey(words.DOT_LAYOUTS)] = None
    depth: Annotated[float | None, LengthKey(0.5, 200)] = None
    spacing: Annotated[float | None, LengthKey(2, 200)] = None
    colours: Annotated[str | None, ChoiceKey(words.DRAWN_COLOURS)] = None
    bare: Annotated[str | None, ColourKey()] = None
    text: Annotated[str | None, TextKey(60)] = None
    face: Annotated[str | None, ChoiceKey(words.FACES)] = None
    font: Annotated[Path | None, FontKey()] = None
    height: Annotated[float | None, LengthKey(1, 300)] = None
    letter_spacing: Annotated[float | None, LengthKey(-10, 100)] = None
    arc: Annotated[float | None, LengthKey(3, 2000)] = None
    side: Annotated[str | None, ChoiceKey(words.TEXT_SIDES)] = None
    frame: Annotated[str | None, ChoiceKey(words.FRAMES)] = None
    options: Annotated[tuple[tuple[str, Any], ...] | None, OptionsKey()] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeTable(Table):
    """What covers a free edge.

    Attributes:
        kind: ``"satin"`` or ``"triple"``.
        width: Of the satin; a triple stitch has none.
    """

    kind: Annotated[str | None, ChoiceKey(words.EDGES)] = None
    width: Annotated[float | None, LengthKey(1, 12)] = None


Decoration = Annotated[DecorationTable | None, Shorthand("kind")]
Edge = Annotated[EdgeTable | None, Shorthand("kind")]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProfileTable(Table):
    """``style.profile``: at most one of its keys is given.

    Attributes:
        name: One of `words.PROFILES`.
        svg: A drawing of the free edge of a left accent.
    """

    name: Annotated[str | None, ChoiceKey(words.PROFILES, "profiles")] = None
    svg: Annotated[Path | None, ArtworkKey()] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StyleTable(Table):
    """``[style]``: what makes the family a family.

    Attributes:
        decoration: Of every part that has none of its own.
        edge: Of every appliqué that has none of its own.
        profile: The inner edge of a corner accent.
    """

    decoration: Decoration = None
    edge: Edge = None
    profile: Annotated[ProfileTable, Shorthand("name")] = ProfileTable()


@dataclass(frozen=True, slots=True, kw_only=True)
class TipTable(Table):
    """``tab.tip``: exactly one of its keys is given.

    Attributes:
        name: One of `words.TIPS`.
        svg: A drawing of the tip.
    """

    name: Annotated[str | None, ChoiceKey(words.TIPS, "tips")] = None
    svg: Annotated[Path | None, ArtworkKey()] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SnapTable(Table):
    """``tab.snap``: the magnetic snap.

    Attributes:
        diameter: Of the snap.
        inset: Tip of the tab to the snap's centre.
        prongs: Prong to prong.
        slit: Length of each prong's slit.
    """

    diameter: Annotated[float | None, LengthKey(*RANGES["tab.snap.diameter"])] = None
    inset: Annotated[float | None, LengthKey(*RANGES["tab.snap.inset"])] = None
    prongs: Annotated[float | None, LengthKey(*RANGES["tab.snap.prongs"])] = None
    slit: Annotated[float | None, LengthKey(*RANGES["tab.snap.slit"])] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FastenerTable(Table):
    """``tab.fastener``: what closes the tab; which keys a kind takes is in `words.FASTENER_KEYS`.

    Attributes:
        kind: What it is.
        diameter: Of a snap or a button.
        inset: Tip of the tab to where it closes.
        prongs: Prong to prong.
        post_prongs: Prong to prong of a turn lock's post.
        slit: Length of each prong's slit.
        holes: In the rim of a sew-in snap.
        width: Plate of a turn lock, across the tab.
        height: The same, along it.
        hole_width: Hole of a turn lock, across the tab.
        hole_height: The same, along it.
        thickness: Of a button.
        direction: How a buttonhole lies.
        bead: Width of its satin beside the cut.
    """

    kind: Annotated[str, ChoiceKey(words.FASTENERS)]
    diameter: Annotated[float | None, LengthKey(*RANGES["tab.fastener.diameter"])] = None
    inset: Annotated[float | None, LengthKey(*RANGES["tab.fastener.inset"])] = None
    prongs: Annotated[float | None, LengthKey(*RANGES["tab.fastener.prongs"])] = None
    post_prongs: Annotated[float | None, LengthKey(*RANGES["tab.fastener.post_prongs"])] = None
    slit: Annotated[float | None, LengthKey(*RANGES["tab.fastener.slit"])] = None
    holes: Annotated[int | None, NumberKey(2, 8, whole=True)] = None
    width: Annotated[float | None, LengthKey(*RANGES["tab.fastener.width"])] = None
    height: Annotated[float | None, LengthKey(*RANGES["tab.fastener.height"])] = None
    hole_width: Annotated[float | None, LengthKey(*RANGES["tab.fastener.hole_width"])] = None
    hole_height: Annotated[float | None, LengthKey(*RANGES["tab.fastener.hole_height"])] = None
    thickness: Annotated[float | None, LengthKey(*RANGES["tab.fastener.thickness"])] = None
    direction: Annotated[str | None, ChoiceKey(words.DIRECTIONS)] = None
    bead: Annotated[float | None, LengthKey(*RANGES["tab.fastener.bead"])] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TabTable(Table):
    """``[tab]``: the closure tab.

    Attributes:
        width: At its root.
        length: Root line to tip.
        tip: Its end.
        snap: The magnetic snap that it carries.
        fastener: What closes it in the snap's stead.
        decoration: Its own decoration, instead of the style's.
        slant: Degrees.
        batting: Whether it is padded.
        waist: Width where it is narrowest.
        tip_radius: Of the tip's rounding.
        tip_depth: How far the tip reaches.
    """

    width: Annotated[float | None, LengthKey(*RANGES["tab.width"])] = None
    length: Annotated[float | None, LengthKey(*RANGES["tab.length"])] = None
    tip: Annotated[TipTable, Shorthand("name")] = TipTable()
    snap: SnapTable = SnapTable()
    fastener: Annotated[FastenerTable | None, Shorthand("kind")] = None
    decoration: Decoration = None
    slant: Annotated[float | None, NumberKey(-40, 40)] = None
    batting: Annotated[bool | None, FlagKey()] = None
    waist: Annotated[float | None, LengthKey(*RANGES["tab.waist"])] = None
    tip_radius: Annotated[float | None, LengthKey(*RANGES["tab.tip_radius"])] = None
    tip_depth: Annotated[float | None, LengthKey(*RANGES["tab.tip_depth"])] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureTable(Table):
    """``[closure]``.

    Attributes:
        drop: Top edge to snap centre, down the front panel.
    """

    drop: Annotated[float | None, LengthKey(*RANGES["closure.drop"])] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerTable(Table):
    """``[corner]``: the corner accents.

    Attributes:
        width: Along the bottom seam, from the side seam.
        height: Along the side seam, from the bottom seam.
        echo: A line that follows its free edge inside it, so far off.
        edge: Its own edge, instead of the style's.
        decoration: Its own decoration, instead of the style's.
    """

    width: Annotated[float | None, LengthKey(*RANGES["corner.width"])] = None
    height: Annotated[float | None, LengthKey(*RANGES["corner.height"])] = None
    echo: Annotated[float | None, LengthKey(*RANGES["corner.echo"])] = None
    edge: Edge = None
    decoration: Decoration = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ConnectorTable(Table):
    """``[connector]``: what the strap ends are sewn to.

    Attributes:
        layout: ``"bridge"``, ``"pair"`` or ``"medallion"``.
        ends: Which strap ends a bridge holds.
        snap_up: Its target above its middle.
        snap_right: Its target right of where it lies by itself.
        outline: One of `words.OUTLINES`.
        height: Of a piece.
        width: Of a piece.
        decoration: Its own decoration, instead of the style's.
    """

    layout: Annotated[str | None, ChoiceKey(words.LAYOUTS)] = None
    ends: Annotated[str | None, ChoiceKey(words.ENDS)] = None
    snap_up: Annotated[float | None, LengthKey(*RANGES["connector.snap_up"])] = None
    snap_right: Annotated[float | None, LengthKey(*RANGES["connector.snap_right"])] = None
    outline: Annotated[str | None, ChoiceKey(words.OUTLINES, "outlines")] = None
    height: Annotated[float | None, LengthKey(*RANGES["connector.height"])] = None
    width: Annotated[float | None, LengthKey(*RANGES["connector.width"])] = None
    decoration: Decoration = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelTable(Table):
    """``[label]``: made only if it has a text.

    Attributes:
        text: One line.
        width: Of the lettering.
        height: Of a capital letter.
        stitch: One of `words.LETTER_STITCHES`.
        face: One of `words.FACES`.
        font: The maker's own font file, in place of the face.
        letter_spacing: Room between letters beside what the face gives them.
        arc: Radius of the line that the letters stand on.
        side: Whether they stand above the circle's middle or hang below it.
    """

    text: Annotated[str | None, TextKey(60)] = None
    width: Annotated[float | None, LengthKey(5, 400)] = None
    height: Annotated[float | None, LengthKey(2, 100)] = None
    stitch: Annotated[str | None, ChoiceKey(words.LETTER_STITCHES)] = None
    face: Annotated[str | None, ChoiceKey(words.FACES)] = None
    font: Annotated[Path | None, FontKey()] = None
    letter_spacing: Annotated[float | None, LengthKey(-10, 100)] = None
    arc: Annotated[float | None, LengthKey(3, 2000)] = None
    side: Annotated[str | None, ChoiceKey(words.TEXT_SIDES)] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spec(Table):
    """A whole bag spec.

    Attributes:
        name: A title for people; never a path.
        units: The unit of a length that named none; everything here is mm already.
        parts: What the kit is limited to; None for all that the bag has.
        bag: The bag's sizes.
        machine: What will sew it.
        hooping: How parts share hoopings.
        material: Cloth and thread.
        style: What the parts have in common.
        tab: The closure tab.
        closure: Where the tab closes.
        corner: The corner accents.
        connector: The strap connectors.
        label: The label.
        prices: What a unit of each material costs.
    """

    name: Annotated[str, NAME] = "Bag"
    units: Annotated[str, ChoiceKey(words.UNITS)] = "mm"
    parts: Annotated[tuple[str, ...] | None, ListKey(ChoiceKey(words.PARTS), '["tab", "corner"]')] = None
    bag: BagTable
    machine: MachineTable = MachineTable()
    hooping: HoopingTable = HoopingTable()
    material: MaterialTable = MaterialTable()
    style: StyleTable = StyleTable()
    tab: TabTable = TabTable()
    closure: ClosureTable = ClosureTable()
    corner: CornerTable = CornerTable()
    connector: ConnectorTable = ConnectorTable()
    label: LabelTable = LabelTable()
    prices: PricesTable = PricesTable()
