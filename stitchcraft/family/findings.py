"""What the bag's and the parts' own geometry says, before anything is stitched."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Final

import shapely

from stitchcraft.bag import Bag, Closure
from stitchcraft.defaults import PARTS
from stitchcraft.errors import Finding, Level
from stitchcraft.parts import ClosureTab, CornerAccent, Edge, Fastener, StrapConnector
from stitchcraft.units import both_text, least_text, most_text

NEEDED: Final = {
    "tab": "a tab needs nothing",
    "corner": "corner accents need room beside the boxed base",
    "connector": "connectors need nothing",
    "label": "a label needs label.text",
    "shaping-marks": "shaping marks need bag.shaping",
    "snap-mark": 'a snap mark needs connector.layout = "pair"',
}
"""What each kind of part is made from."""

OVERLAP_MM2: Final = 1.0


def needed(kind: str, bag: Bag) -> str:
    """What a kind of part is made from, on this bag."""
    if kind == "snap-mark" and not bag.has_straps:
        return "a snap mark needs parts without connector, which carries the target itself"
    return NEEDED[kind]


def missing_findings(bag: Bag, kinds: Sequence[str], made: Sequence[str], *, asked: bool) -> Iterator[Finding]:
    """Kinds of part that were asked for, or that most bags have, and that are not made.

    Args:
        bag: The bag.
        kinds: Asked for, or all there are.
        made: Those that are made.
        asked: Whether the maker named the kinds.
    """
    for kind in kinds:
        if kind in made:
            continue
        if asked:
            needs = needed(kind, bag)
            yield Finding(
                Level.WARNING, "part-missing", "", f"The kit has no {kind}, though parts names it.",
                f"{needs[:1].upper()}{needs[1:]}; or take it out of parts.",
            )  # fmt: skip
        elif kind == "corner":
            yield Finding(
                Level.WARNING, "corner-left-out", "",
                "The kit has no corner accents: none of a usual size has room beside the boxed base and the connector.",
                "Give corner.width and corner.height for accents of your own, or another style.profile; "
                "or name the parts that you want with parts, which ends this warning.",
            )  # fmt: skip


def overlap_findings(bag: Bag, covered: Sequence[tuple[str, shapely.Polygon]]) -> Iterator[Finding]:
    """Parts that lie on one another on the panel.

    Args:
        bag: The bag.
        covered: Name and shape of each part in its place.
    """
    moved_by = "closure.drop, bag.straps.spacing" if bag.has_straps else "closure.drop"
    for (one, shape), (other, beside) in combinations(covered, 2):
        shared = shapely.intersection(shape, beside)
        if shared.area <= OVERLAP_MM2:
            continue
        left, bottom, right, top = shared.bounds
        key = "corner.width or corner.height" if one.startswith("corner") else "connector.width"
        yield Finding(
            Level.WARNING, "parts-overlap", one,
            f"It lies over the {other} by {both_text(min(right - left, top - bottom))}.",
            f"Set a smaller {key}, or move the connector ({moved_by}).",
            round(shared.area, 1), OVERLAP_MM2,
        )  # fmt: skip


def binding_findings(bag: Bag) -> Iterator[Finding]:
    """A binding too narrow to reach its own stitch line on the back."""
    cover = bag.binding.cover_mm(bag.wall_mm)
    if bag.top != "bound" or cover >= 0:
        return
    strip = bag.binding.strip_mm - 2 * cover
    yield Finding(
        Level.ERROR, "binding-narrow", "",
        f"The binding falls {both_text(-cover)} short of its own stitch line on the back.",
        f"Set bag.binding.strip to at least {least_text(strip)}, or bag.binding.depth lower.",
        round(cover, 3), 0.0,
    )  # fmt: skip


def tab_findings(bag: Bag, closure: Closure, tab: ClosureTab) -> Iterator[Finding]:
    """A snap that misses its target or comes near the seam; a tab wider than the straps leave room for."""
    yield from closure.findings()
    yield from tab.findings()
    yield from tab.decoration.findings(tab.decoration_area, part="tab-front")
    room = bag.strap_spacing_mm - bag.strap_width_mm
    if bag.has_straps and tab.width_mm > room:
        yield Finding(
            Level.WARNING, "tab-over-straps", "tab-front",
            f"The tab is {both_text(tab.width_mm)} wide and the straps leave {both_text(room)} between them.",
            f"Set tab.width to at most {most_text(room)}, or bag.straps.spacing to at least "
            f"{least_text(tab.width_mm + bag.strap_width_mm)}.",
            round(tab.width_mm, 3), round(room, 3),
        )  # fmt: skip


def closure_findings(bag: Bag, closure: Closure, fastener: Fastener) -> Iterator[Finding]:
    """A fastener that comes up to the top edge, and a tab whose point hangs past the front."""
    up_on_bag = float(fastener.on_bag((0.0, 0.0)).bounds[3])
    up_on_tab = float(fastener.on_tab((0.0, 0.0)).bounds[3])
    limits = (
        (max(bag.root_depth_mm + up_on_bag, up_on_tab), Level.ERROR, "it would reach over the top edge"),
        (bag.root_depth_mm + up_on_bag + PARTS["snap_keepout"].value, Level.WARNING,
         "the needle that sews the top edge would come too near"),
    )  # fmt: skip
    enough = max(least for least, _, _ in limits)  # no remedy that leads to the next finding
    for least, level, why in limits:
        if closure.drop_mm < least:
            yield Finding(
                level, "fastener-high", "tab-back",
                f"The {fastener.title} closes {both_text(closure.drop_mm)} below the top edge: {why}.",
                f"Set closure.drop to at least {least_text(enough)}.",
                round(closure.drop_mm, 3), round(least, 3),
            )  # fmt: skip
            break
    over = closure.tip_mm - bag.standing_mm[2]
    if over > 0:
        yield Finding(
            Level.WARNING, "tab-past-base", "tab-front",
            f"The tab's point hangs {both_text(over)} past the front, over the base.",
            f"Set closure.drop to at most {most_text(max(0.0, closure.drop_mm - over))}, or a smaller "
            f"{closure.inset_key}.",
            round(closure.tip_mm, 3), round(bag.standing_mm[2], 3),
        )  # fmt: skip


def cover_findings(edge: Edge, part: str) -> Iterator[Finding]:
    """A cover stitch too narrow to hide the cut edge under it."""
    least = PARTS["cover_narrowest"].value
    if edge.kind == "satin" and float(edge.width) < least:
        yield Finding(
            Level.WARNING, "cover-narrow", part, f"Its cover stitch is {both_text(float(edge.width))} wide.",
            f"Set edge.width to at least {least_text(least)}, or edge.kind to triple and let the edge show.",
            round(float(edge.width), 3), least,
        )  # fmt: skip


def connector_findings(bag: Bag, closure: Closure, connector: StrapConnector) -> Iterator[Finding]:
    """A connector that reaches over a seam, the top edge's stitching, or the base."""
    pair = connector.layout == "pair"
    part = "connector-left" if pair else "connector-front"
    yield from connector.decoration.findings(connector.decoration_area(target=not pair), part=part)
    yield from cover_findings(connector.edge, part)
    left, _, right, _ = connector.shape.bounds
    reach = max(right, -left) + connector.edge.half_mm + (bag.strap_spacing_mm / 2 if pair else 0.0)
    above, below = _reach_up_and_down(connector)
    over = {
        "the side seam": reach - bag.width_mm / 2,
        "the top edge's stitching": bag.root_depth_mm - (closure.drop_mm - above),
        "the base": closure.drop_mm + below - bag.standing_mm[2],
    }
    remedy = {"the side seam": _narrower, "the top edge's stitching": _elsewhere, "the base": _elsewhere}
    for where, by in over.items():
        if by > 0:
            yield Finding(
                Level.ERROR, "connector-off-panel", part, f"The connector reaches {both_text(by)} past {where}.",
                remedy[where](bag, connector), round(by, 3), 0.0,
            )  # fmt: skip


def _elsewhere(bag: Bag, connector: StrapConnector) -> str:
    """Where a connector stays clear of the top edge's stitching and of the base, or how high it may be."""
    above, below = _reach_up_and_down(connector)
    top, base = bag.root_depth_mm, bag.standing_mm[2]
    if base - top >= above + below:
        return f"Set closure.drop from {least_text(top + above)} to {most_text(base - below)}."
    # drop and height are named to a tenth of a millimetre: the height gives what rounding the drop may take
    most = math.floor(10 * (base - top - 2 * connector.edge.half_mm) - 1) / 10
    least = 12.0
    if connector.layout != "pair":
        _, low, _, high = connector.fastened_by.on_bag((0.0, 0.0)).bounds
        least = high - low + 4 * connector.edge.half_mm + 2 * abs(float(connector.snap_up))
    if most >= least:
        drop = (top + base) / 2 - float(connector.snap_up)
        return f"Set connector.height to at most {most_text(most)} and closure.drop to {both_text(drop)}."
    return "The bag is too low for a connector: leave it out (parts), or make the bag higher or its base less deep."


def _reach_up_and_down(connector: StrapConnector) -> tuple[float, float]:
    """How far a connector reaches above and below its origin, its cover stitch included, mm."""
    half, middle = connector.height_mm / 2 + connector.edge.half_mm, connector.middle[1]
    return half + middle, half - middle


def _narrower(bag: Bag, connector: StrapConnector) -> str:
    """How wide a connector may be between the side seams, or how near the straps may be, where there are any."""
    edge = 2 * connector.edge.half_mm
    pair = connector.layout == "pair"
    most = bag.width_mm - edge - (bag.strap_spacing_mm if pair else 2 * abs(connector.middle[0]))
    least = connector.least_width_mm
    if most >= least:
        return f"Set connector.width to at most {most_text(most)}."
    if not bag.has_straps:
        return "The bag is too narrow for a connector: leave it out (parts), or make the bag wider."
    spacing = bag.width_mm - bag.strap_width_mm - 2 * edge - 2
    return f"Set bag.straps.spacing to at most {most_text(max(0.0, spacing))}, or a smaller bag.straps.width."


def corner_findings(bag: Bag, accent: CornerAccent) -> Iterator[Finding]:
    """Accents that run into each other or into the top edge."""
    yield from accent.decoration.findings(accent.decoration_area, part="corner-left")
    yield from cover_findings(accent.edge, "corner-left")
    for key, size, room in (
        ("width", accent.width_mm, bag.width_mm / 2),
        ("height", accent.height_mm, bag.height_mm - bag.root_depth_mm),
    ):
        over = size + accent.edge.half_mm - room
        if over > 0:
            yield Finding(
                Level.ERROR, "corner-too-large", "corner-left",
                f"The accent reaches {both_text(over)} too far ({key}).",
                f"Set corner.{key} to at most {most_text(size - over)}.", round(size, 3), round(size - over, 3),
            )  # fmt: skip
