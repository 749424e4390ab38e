"""Draw every shape, decoration and typeface: python samples/gallery.py [FOLDER] leaves gallery-*.png there."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from PIL.Image import Quantize

from stitchcraft import (
    Artwork,
    Chevrons,
    ClosureTab,
    CornerAccent,
    Crosshatch,
    Decoration,
    Design,
    Dots,
    Echo,
    Edge,
    Label,
    Meander,
    Monogram,
    Palette,
    Petals,
    Purpose,
    Rings,
    Scallops,
    StrapConnector,
    Waves,
    Words,
    decoration_from,
    plan,
)
from stitchcraft.decoration import KINDS
from stitchcraft.decoration.lettering import FACE_NAMES
from stitchcraft.parts.decorating import decorating_stops
from stitchcraft.parts.outlines import OUTLINES
from stitchcraft.parts.profiles import PROFILES
from stitchcraft.parts.tips import TIPS
from stitchcraft.view.canvas import Canvas
from stitchcraft.view.thread import draw_thread

PALETTE = Palette(accent="#2f5d62", edge="#c98b4b", detail="#2f5d62")
CLOTH, PAGE, INK = "#efe9dc", "#ffffff", "#4a4a4a"
SEEN = (Purpose.DECORATE, Purpose.COVER, Purpose.LETTER)
FIELD = shapely.box(-20, -12, 20, 20).union(shapely.Point(0, -12).buffer(20, quad_segs=32))
ART = Path(__file__).parent / "art"


@dataclass(frozen=True)
class Picture:
    """One field of a page.

    Attributes:
        title: What stands under it.
        design: What is sewn.
        cloth: The cloth beneath, mm.
    """

    title: str
    design: Design
    cloth: shapely.Polygon


def tips() -> list[Picture]:
    """A tab with each tip, one line inside its seam."""
    line = Echo(lines=1, first=1, pitch=4, stitch="triple")
    found = []
    for name in TIPS:
        tab = ClosureTab(tip=name, width=58, length=92, decoration=line, palette=PALETTE)
        shape = shapely.intersection(tab.shape, shapely.box(-200, -400, 200, 0))
        found.append(Picture(name, tab.front(), shape))
    return found


def shapes() -> list[Picture]:
    """A corner accent with each profile, then a connector with each outline."""
    dots = Dots(pitch=8, diameter=2.6, edge="fade")
    accents = [
        Picture(f"profile {name}", accent.left(), accent.shape)
        for name in PROFILES
        for accent in [CornerAccent(width=70, height=70, profile=name, decoration=dots, palette=PALETTE)]
    ]
    hatch, edge = Crosshatch(pitch=8), Edge(width=3)
    connectors = [
        Picture(f"outline {name}", one.back(), one.shape)
        for name in OUTLINES
        for one in [
            StrapConnector(outline=name, spacing=40, strap_width=14, height=38, decoration=hatch, edge=edge,
                           palette=PALETTE)
        ]
    ]  # fmt: skip
    return accents + connectors


def filled(title: str, decoration: Decoration) -> Picture:
    """A field of one decoration."""
    stops = decorating_stops(decoration, FIELD.buffer(-1.5), PALETTE, before="")
    return Picture(title, Design(title, tuple(stop for stop in stops if stop.elements)), FIELD)


def decorations() -> list[Picture]:
    """Every kind as it is when nothing is said, then what else can be said of some."""
    small = Artwork(svg=ART / "thistle.svg", width=26)
    plain = [kind for kind in KINDS if kind not in ("artwork", "lettering", "monogram", "none")]
    return [
        *(filled(kind, decoration_from(kind)) for kind in plain),
        filled("artwork, once", small),
        filled("artwork, motifs", Artwork(svg=ART / "thistle.svg", width=8, pitch=13)),
        filled("dots, clip", Dots(edge="clip", diameter=4)),
        filled("dots, fade", Dots(edge="fade", layout="square", pitch=5)),
        filled("crosshatch, whole", Crosshatch(pitch=6, edge="whole", border=False)),
        filled("crosshatch, leaning", Crosshatch(pitch=6, angle=15, between=60)),
        filled("rings, whole", Rings(pitch=8, edge="whole")),
        filled("petals, satin", Petals(pitch=10, stitch="satin")),
        filled("petals, fade", Petals(pitch=8, stitch="satin", edge="fade")),
        filled("scallops, whole", Scallops(pitch=8, edge="whole", border=False)),
        filled("waves, opposed", Waves(pitch=12, depth=5, spacing=5, opposed=True)),
        filled("chevrons, triple", Chevrons(pitch=9, stitch="triple")),
        filled("meander, close", Meander(pitch=3.5, seed=4)),
        filled("lettering, arc", Words(text="Heron", face="rounded", arc=30)),
        filled("monogram, ring", Monogram(text="ARK", frame="ring")),
    ]


def lettering() -> list[Picture]:
    """A label in each typeface."""
    found = []
    for face in FACE_NAMES:
        label = Label(text="Hand & needle", face=face, width=76, palette=PALETTE)
        found.append(Picture(face, label.design(), shapely.Polygon(label.outline)))
    return found


PAGES: dict[str, tuple[Callable[[], list[Picture]], int, float]] = {
    "tips": (tips, 6, 3.4),
    "shapes": (shapes, 6, 3.2),
    "decorations": (decorations, 6, 5.0),
    "lettering": (lettering, 3, 5.0),
}
"""Of each page what is on it, how many stand side by side, and pixels in a millimetre."""


def seen(design: Design) -> Design:
    """A design without what is hidden in the finished bag."""
    return replace(design, stops=tuple(stop for stop in design.stops if stop.purpose in SEEN), basted_at=0)


def draw(canvas: Canvas, picture: Picture, at: tuple[float, float]) -> None:
    """Draw one field, its cloth's middle at a place."""
    left, bottom, right, top = picture.cloth.bounds
    by = np.array([at[0] - (left + right) / 2, at[1] - (bottom + top) / 2])
    canvas.polygon(np.asarray(picture.cloth.exterior.coords) + by, CLOTH, outline="#b9b0a0", width=0.35)
    made = plan(seen(picture.design))
    draw_thread(canvas, replace(made, xy=made.xy + by))


def page(name: str) -> bytes:
    """One page as PNG."""
    pictures, across, scale = PAGES[name]
    fields = pictures()
    rows = [fields[at : at + across] for at in range(0, len(fields), across)]
    sizes = [np.array([picture.cloth.bounds for picture in row]) for row in rows]
    width = max(float((boxes[:, 2] - boxes[:, 0]).max()) for boxes in sizes) + 8.0
    heights = [float((boxes[:, 3] - boxes[:, 1]).max()) + 6.0 + 26 / scale for boxes in sizes]
    canvas = Canvas((0, -sum(heights), across * width, 0), pixels_per_mm=scale, ground=PAGE)
    top = 0.0
    for row, height in zip(rows, heights, strict=True):
        for column, picture in enumerate(row):
            x = (column + 0.5) * width
            draw(canvas, picture, (x, top - (height - 26 / scale) / 2))
            canvas.text((x, top - height + 17 / scale), picture.title, INK, height=15 / scale)
        top -= height
    stream = io.BytesIO()
    image = canvas.image().quantize(64, method=Quantize.MEDIANCUT, dither=0)
    image.save(stream, format="PNG", optimize=True)
    return stream.getvalue()


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    for name in PAGES:
        (folder / f"gallery-{name}.png").write_bytes(page(name))
