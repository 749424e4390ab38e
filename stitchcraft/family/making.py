"""The parts of a family: each design with where it goes, what is cut for it, and what is done after it."""

from __future__ import annotations

from typing import Any

import shapely

from stitchcraft.bag import Bag
from stitchcraft.defaults import BAG
from stitchcraft.design import Purpose
from stitchcraft.family.part import Part, Placed
from stitchcraft.geometry.curves import grown, mirrored
from stitchcraft.parts import (
    ClosureTab,
    CornerAccent,
    Fastener,
    Label,
    Palette,
    ShapingMark,
    SnapMark,
    StrapConnector,
)
from stitchcraft.units import both_text


def tab_parts(tab: ClosureTab) -> tuple[Part, ...]:
    """The tab's back and front, and what is sewn through it once it is turned."""
    cut = tab.cut_shape
    back_cut = shapely.transform(cut, mirrored)
    sews = ((Purpose.SNAP, tab.fastened_by.tab_words),)
    parts = [
        Part(tab.back(), cloth=(("tab back", "lining cloth", back_cut),), after=tab.after["tab-back"],
             mirror_of="tab-front", sews=sews, dangers=tab.dangers["tab-back"]),
        Part(tab.front(), cloth=(("tab front", "outer cloth", cut),), after=tab.after["tab-front"],
             sews=sews, dangers=tab.dangers["tab-front"]),
    ]  # fmt: skip
    finished = tab.finished()
    if finished is not None:
        name = finished.name
        parts.append(Part(finished, after=tab.after[name], sews=sews, dangers=tab.dangers[name]))
    return tuple(parts)


def corner_parts(accent: CornerAccent, bag: Bag) -> tuple[Part, ...]:
    """The left and the right accent, each on both panels."""
    half, low = bag.width_mm / 2, -bag.height_mm
    shape = accent.shape
    after = "Take the cloth out of the hoop; when both corners of the panel are sewn, cut the panel to size."
    return (
        Part(accent.left(), _on_both_panels((-half, low)),
             (("corner accent, left", "accent cloth", shape),), after),
        Part(accent.right(), _on_both_panels((half, low)),
             (("corner accent, right", "accent cloth", shapely.transform(shape, mirrored)),), after,
             mirror_of="corner-left"),
    )  # fmt: skip


def connector_parts(connector: StrapConnector, bag: Bag, *, drop_mm: float) -> tuple[Part, ...]:
    """A bridge on each panel, a pair on both, or a medallion on the front.

    Args:
        connector: What holds the straps, or the target alone.
        bag: The bag.
        drop_mm: Top edge to where the tab closes.
    """
    cloth = (("strap connector", "accent cloth", connector.shape),)
    strap = (
        "Take the cloth out of the hoop. After the last hooping of the panel, sew each "
        f"{both_text(bag.strap_width_mm)} strap end over its stitched box."
    )
    if connector.layout == "pair":
        half = bag.strap_spacing_mm / 2
        return (
            Part(connector.left(), _on_both_panels((-half, -drop_mm)), cloth, strap),
            Part(connector.right(), _on_both_panels((half, -drop_mm)), cloth, strap, mirror_of="connector-left"),
        )
    setting = connector.fastened_by.bag_setting
    sews = ((Purpose.SNAP, connector.fastened_by.target_words),)
    place = (Placed("front", (0.0, -drop_mm)),)
    if connector.layout == "medallion":
        cloth = (("medallion", "accent cloth", connector.shape),)
        return (Part(connector.front(), place, cloth, setting.brief, sews=sews, dangers=setting.dangers),)
    front = Part(connector.front(), place, cloth, f"{strap} {setting.brief}", sews=sews, dangers=setting.dangers)
    turned = shapely.transform(connector.shape, mirrored) if connector.lopsided else connector.shape
    back_cloth = (("strap connector", "accent cloth", turned),)
    return (front, Part(connector.back(), (Placed("back", (0.0, -drop_mm)),), back_cloth, strap))


def label_parts(label: Label | None) -> tuple[Part, ...]:
    """The label; none without a text."""
    if label is None:
        return ()
    shape = grown(shapely.Polygon(label.outline), BAG["allowance"].value, mitre=True)
    cut = shapely.box(*shape.bounds)
    after = "Cut out with its allowance, fold on the stitched line, and sew it to the lining."
    return (Part(label.design(), cloth=(("label", "label cloth", cut),), after=after),)


def shaping_parts(bag: Bag, palette: Palette) -> tuple[Part, ...]:
    """The mark of the shaping snaps, in its four places; none on a bag without them."""
    shaping = bag.shaping
    if shaping is None:
        return ()
    x, y = bag.width_mm / 2 - float(shaping.over), -float(shaping.down)
    places = tuple(Placed(panel, (side * x, y)) for panel in ("front", "back") for side in (-1, 1))
    after = "After the last hooping of the panel, before its side seams, set the shaping snaps at the marks."
    return (Part(ShapingMark(palette=palette).design(), places, after=after),)


def snap_mark_parts(mark: SnapMark, fastener: Fastener, *, drop_mm: float) -> tuple[Part, ...]:
    """The target of a fastener that no connector carries.

    Args:
        mark: The target.
        fastener: What is set there.
        drop_mm: Top edge to where the tab closes.
    """
    setting, sews = fastener.bag_setting, ((Purpose.SNAP, fastener.target_words),)
    place = Placed("front", (0.0, -drop_mm))
    return (Part(mark.design(), (place,), after=setting.brief, sews=sews, dangers=setting.dangers),)


def covered(
    bag: Bag, corner: CornerAccent | None, connector: StrapConnector | None, *, drop_mm: float
) -> tuple[tuple[str, shapely.Polygon], ...]:
    """What accent and connectors cover of the left half and the middle of the front panel: name and shape.

    Args:
        bag: The bag.
        corner: The accent; None without one.
        connector: The connector; None without one.
        drop_mm: How far below the top edge connectors lie.
    """
    shapes: list[tuple[str, shapely.Polygon]] = []
    if corner is not None:
        shapes.append(("corner-left", moved(corner.shape, (-bag.width_mm / 2, -bag.height_mm))))
    if connector is not None:
        half = bag.strap_spacing_mm / 2
        sides = {"left": -half, "right": half} if connector.layout == "pair" else {"front": 0.0}
        shapes += [(f"connector-{side}", moved(connector.shape, (x, -drop_mm))) for side, x in sides.items()]
    return tuple(shapes)


def moved(shape: shapely.Geometry, by: tuple[float, float]) -> Any:
    """A shape moved by (x, y) mm."""
    return shapely.transform(shape, lambda xy: xy + by)


def _on_both_panels(at_mm: tuple[float, float]) -> tuple[Placed, ...]:
    return tuple(Placed(panel, at_mm) for panel in ("front", "back"))
