"""What the bag's and the parts' own geometry says, before anything is stitched."""

from __future__ import annotations

from collections.abc import Iterator

from stitchcraft.bag import Bag, Closure
from stitchcraft.errors import Finding, Level
from stitchcraft.parts import ClosureTab, CornerAccent, StrapConnector
from stitchcraft.units import both_text


def binding_findings(bag: Bag) -> Iterator[Finding]:
    """A binding too narrow to reach its own stitch line on the back."""
    cover = bag.binding.cover_mm(bag.wall_mm)
    if bag.top != "bound" or cover >= 0:
        return
    strip = bag.binding.strip_mm - 2 * cover
    yield Finding(
        Level.ERROR, "binding-narrow", "",
        f"The binding falls {both_text(-cover)} short of its own stitch line on the back.",
        f"Set bag.binding.strip to at least {both_text(strip)}, or bag.binding.depth lower.",
        round(cover, 3), 0.0,
    )  # fmt: skip


def tab_findings(bag: Bag, closure: Closure, tab: ClosureTab) -> Iterator[Finding]:
    """A snap that misses its target or comes near the seam; a tab wider than the straps leave room for."""
    yield from closure.findings()
    yield from tab.findings()
    yield from tab.decoration.findings(tab.decoration_area, part="tab-front")
    room = bag.strap_spacing_mm - bag.strap_width_mm
    if tab.width_mm > room:
        yield Finding(
            Level.WARNING, "tab-over-straps", "tab-front",
            f"The tab is {both_text(tab.width_mm)} wide and the straps leave {both_text(room)} between them.",
            f"Set tab.width to at most {both_text(room)}, or bag.straps.spacing to at least "
            f"{both_text(tab.width_mm + bag.strap_width_mm)}.",
            round(tab.width_mm, 3), round(room, 3),
        )  # fmt: skip


def connector_findings(bag: Bag, closure: Closure, connector: StrapConnector) -> Iterator[Finding]:
    """A connector that reaches over a seam, the top edge's stitching, or the base."""
    bridge = connector.layout == "bridge"
    part = "connector-front" if bridge else "connector-left"
    yield from connector.decoration.findings(connector.decoration_area(target=bridge), part=part)
    reach = connector.width_mm / 2 + connector.edge.half_mm + (0.0 if bridge else bag.strap_spacing_mm / 2)
    half = connector.height_mm / 2 + connector.edge.half_mm
    over = {
        "the side seam": reach - bag.width_mm / 2,
        "the top edge's stitching": bag.root_depth_mm - (closure.drop_mm - half),
        "the base": closure.drop_mm + half - bag.standing_mm[2],
    }
    for where, by in over.items():
        if by > 0:
            yield Finding(
                Level.ERROR, "connector-off-panel", part, f"The connector reaches {both_text(by)} past {where}.",
                "Make it smaller (connector.width, connector.height), or move it (closure.drop, bag.straps.spacing).",
                round(by, 3), 0.0,
            )  # fmt: skip


def corner_findings(bag: Bag, accent: CornerAccent) -> Iterator[Finding]:
    """Accents that run into each other or into the top edge."""
    yield from accent.decoration.findings(accent.decoration_area, part="corner-left")
    for key, size, room in (
        ("width", accent.width_mm, bag.width_mm / 2),
        ("height", accent.height_mm, bag.height_mm - bag.root_depth_mm),
    ):
        over = size + accent.edge.half_mm - room
        if over > 0:
            yield Finding(
                Level.ERROR, "corner-too-large", "corner-left",
                f"The accent reaches {both_text(over)} too far ({key}).",
                f"Set corner.{key} to at most {both_text(size - over)}.", round(size, 3), round(size - over, 3),
            )  # fmt: skip
