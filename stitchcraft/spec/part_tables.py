"""The tables of the style and of each kind of part."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from stitchcraft.ranges import RANGES
from stitchcraft.spec import words
from stitchcraft.spec.file_keys import ArtworkKey, FontKey
from stitchcraft.spec.keys import (
    ChoiceKey,
    ColourKey,
    FlagKey,
    LengthKey,
    NumberKey,
    OptionsKey,
    ShiftKey,
    Shorthand,
    TextKey,
)
from stitchcraft.spec.table import Table


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
    angle: Annotated[float | None, NumberKey(*RANGES["decoration.angle"])] = None
    seed: Annotated[int | None, NumberKey(0, 2**31 - 1, whole=True)] = None
    svg: Annotated[Path | None, ArtworkKey()] = None
    width: Annotated[float | None, LengthKey(*RANGES["decoration.width"])] = None
    stitch: Annotated[str | None, ChoiceKey(words.STITCHES)] = None
    inset: Annotated[float | None, LengthKey(*RANGES["decoration.inset"])] = None
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
    height: Annotated[float | None, LengthKey(*RANGES["decoration.height"])] = None
    letter_spacing: Annotated[float | None, LengthKey(*RANGES["decoration.letter_spacing"])] = None
    arc: Annotated[float | None, LengthKey(*RANGES["decoration.arc"])] = None
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
    width: Annotated[float | None, LengthKey(*RANGES["edge.width"])] = None


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
    holes: Annotated[int | None, NumberKey(*RANGES["tab.fastener.holes"], whole=True)] = None
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
    slant: Annotated[float | None, NumberKey(*RANGES["tab.slant"])] = None
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
    """``[connector]``: what the strap ends are sewn to, or the target alone.

    Attributes:
        layout: ``"bridge"``, ``"pair"`` or ``"medallion"``, the only one for a bag without straps.
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
    width: Annotated[float | None, LengthKey(*RANGES["label.width"])] = None
    height: Annotated[float | None, LengthKey(*RANGES["label.height"])] = None
    stitch: Annotated[str | None, ChoiceKey(words.LETTER_STITCHES)] = None
    face: Annotated[str | None, ChoiceKey(words.FACES)] = None
    font: Annotated[Path | None, FontKey()] = None
    letter_spacing: Annotated[float | None, LengthKey(*RANGES["decoration.letter_spacing"])] = None
    arc: Annotated[float | None, LengthKey(*RANGES["decoration.arc"])] = None
    side: Annotated[str | None, ChoiceKey(words.TEXT_SIDES)] = None
