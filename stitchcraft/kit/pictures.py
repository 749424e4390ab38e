"""The kit's pictures: the bag with its parts in place, and each part as sewn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from stitchcraft.design import Kind, Purpose, StitchPlan
from stitchcraft.geometry.curves import polygons_of
from stitchcraft.kit.build import Kit
from stitchcraft.kit.sewn import SewnPart
from stitchcraft.view import BagPicture, Canvas, PlacedPlan, bag_picture, cloth_for, draw_thread, patch_under, plan_svg
from stitchcraft.view.canvas import png_of

if TYPE_CHECKING:
    from PIL.Image import Image

WIDTH_PX = 1600
_GAP_MM, _NAME_MM, _CLOTH_MM = 10.0, 7.0, 3.0
_NAMED_MM = 34.0
"""Room for the longest name of a part under a narrow one, mm."""
_HIDDEN = {Purpose.TICKS, Purpose.SEAM, Purpose.PLACE, Purpose.TACK, Purpose.BASTE}


def preview_png(kit: Kit, *, bag: Image | None = None) -> bytes:
    """Draw the bag front and back with its parts in place, and below it every part as sewn, as PNG.

    Args:
        kit: The kit.
        bag: Its `bag_image`, if it is drawn already.
    """
    # the picture library is loaded with the first picture
    from PIL.Image import new

    pictures = [bag_image(kit) if bag is None else bag, _sheet(kit)]
    sheet = new("RGB", (WIDTH_PX, sum(picture.height for picture in pictures)), "#ffffff")
    y = 0
    for picture in pictures:
        sheet.paste(picture, (0, y))
        y += picture.height
    return png_of(sheet)


def bag_image(kit: Kit, *, width_px: int = WIDTH_PX) -> Image:
    """Draw the bag front and back with its parts in place.

    Args:
        kit: The kit.
        width_px: Width of the picture.
    """
    return bag_picture(_bag(kit), width_px=width_px)


def bag_png(kit: Kit, *, width_px: int = WIDTH_PX) -> bytes:
    """`bag_image` as PNG."""
    return png_of(bag_image(kit, width_px=width_px))


def bag_shape(kit: Kit) -> float:
    """Width of `preview_png` over the height of the bag's picture in it, at the top."""
    left, bottom, right, top = _bag(kit).bounds
    return max((right - left) / (top - bottom), 0.5)


def _bag(kit: Kit) -> BagPicture:
    bag = kit.family.bag
    placed = [
        PlacedPlan(
            _shown(one.plan),
            place.panel,
            place.at_mm,
            place.angle_deg,
            _cloth_on_bag(kit, one),
            **_known(colour=one.cloth),
        )
        for one in kit.parts
        for place in one.part.placements
    ]
    if any(one.name == "tab-front" for one in kit.parts):
        placed += _hanging_tab(kit)
    landing = min(50.0, bag.height_mm / 4)
    if any(one.name.startswith("connector") for one in kit.parts):
        tops = [float(box[:, 1].max()) for box in kit.family.strap_connector.landings]
        landing = kit.family.closure.drop_mm + max(tops, default=0.0)
    return BagPicture(
        width_mm=bag.width_mm,
        height_mm=bag.height_mm,
        notch_mm=bag.depth_mm / 2,
        binding_mm=bag.root_depth_mm,
        parts=placed,
        straps_mm=(bag.strap_spacing_mm / 2, bag.strap_width_mm),
        landing_mm=landing,
        **_known(cloth=kit.family.style.cloth),
    )  # fmt: skip


def _known(**colours: str | None) -> dict[str, Any]:
    """What is known of the cloth; what is not keeps the picture's own colour."""
    return {key: colour for key, colour in colours.items() if colour is not None}


def _hanging_tab(kit: Kit) -> list[PlacedPlan]:
    """The tab as it hangs over the front: only what comes down past the top edge, and what is sewn through it."""
    bag, tab = kit.family.bag, kit.family.closure_tab
    over = bag.root_depth_mm + bag.wall_mm
    low = shapely.box(-2000, -2000, 2000, -over)
    through = f"tab-{tab.fastened_by.word}"
    hanging = [
        PlacedPlan(_below(_shown(one.plan), -over), "front", (0.0, over), on_top=True)
        for one in kit.parts
        if one.name in ("tab-front", through)
    ]
    cloth = polygons_of(shapely.intersection(tab.shape, low))[0]
    colour = kit.family.style.cloth
    return [replace(hanging[0], cloth=cloth, colour="#f3eee2" if colour is None else colour), *hanging[1:]]


def _below(plan: StitchPlan, level: float) -> StitchPlan:
    """What of a plan lies below a level, to be drawn; no thread is drawn across what is left out."""
    gone = plan.is_stitch & (plan.xy[:, 1] > level)
    return replace(plan, kind=np.where(gone, Kind.TRIM, plan.kind))


def _cloth_on_bag(kit: Kit, one: SewnPart) -> shapely.Polygon | None:
    """A part's own cloth within the seam lines; the panel's own cloth shows elsewhere."""
    if not one.part.cloth or one.part.design.name.startswith("tab"):
        return None
    shape: BaseGeometry = one.part.cloth[0][2]
    if one.name.startswith("corner"):
        side = 1 if one.name.endswith("left") else -1
        notch = kit.family.bag.depth_mm / 2
        inside = shapely.box(min(0, side * 2000), 0, max(0, side * 2000), 2000)
        shape = shapely.intersection(shape, inside)
        if notch:
            shape = shapely.difference(shape, shapely.box(min(0, side * notch), 0, max(0, side * notch), notch))
    return shape if isinstance(shape, shapely.Polygon) else None


def _shown(plan: StitchPlan) -> StitchPlan:
    """The plan without what is hidden or gone on the finished bag: ticks, seam, placement lines, tack-downs."""
    hidden = [number for number, stop in enumerate(plan.stops) if stop.purpose in _HIDDEN]
    return plan.only(~np.isin(plan.stop, hidden) | (plan.kind == Kind.END))


def _rows(sizes: list[tuple[float, float]], row_width: float) -> tuple[list[tuple[float, float]], float]:
    """Upper left corners of boxes laid in rows, mm, y up, and the height that all the rows take."""
    spots, x, y, row_height = [], _GAP_MM, -_GAP_MM, 0.0
    for own_width, height in sizes:
        width = max(own_width, _NAMED_MM)
        if x + width + _GAP_MM > row_width and x > _GAP_MM:
            x, y, row_height = _GAP_MM, y - row_height - _GAP_MM - _NAME_MM, 0.0
        spots.append((x, y))
        x += width + _GAP_MM
        row_height = max(row_height, height)
    return spots, row_height + _GAP_MM + _NAME_MM - y


def _row_width(sizes: list[tuple[float, float]]) -> float:
    """The width of rows that leaves least paper empty; twice the least still shows the stitches."""
    least = max(width for width, _ in sizes) + 2 * _GAP_MM
    widths = np.linspace(max(least, 360.0), max(2 * least, 720.0), 37)
    return float(min(widths, key=lambda row: row * _rows(sizes, row)[1]))


def laid_out(plans: Sequence[StitchPlan], name: str) -> StitchPlan:
    """One plan of many, in rows from left to right, to be drawn and not sewn.

    Args:
        plans: One at least.
        name: What to call it.
    """
    sizes = [(right - left, top - bottom) for left, bottom, right, top in (one.bounds for one in plans)]
    spots, _ = _rows(sizes, _row_width(sizes))
    before = np.cumsum([0, *(len(one.stops) for one in plans)])
    rows: dict[str, list[NDArray[Any]]] = {name: [] for name in ("xy", "kind", "stop", "role", "element")}
    for one, (x, y), earlier in zip(plans, spots, before, strict=False):
        own = slice(int(np.argmax(one.is_stitch)), None)  # the way to a part's first stitch is left out
        rows["xy"].append(one.xy[own] + [x - one.bounds[0], y - one.bounds[3]])
        rows["stop"].append(one.stop[own] + earlier)
        for key in ("kind", "role", "element"):
            rows[key].append(getattr(one, key)[own])
    xy, kind, stop, role, element = (np.concatenate(parts) for parts in rows.values())
    return StitchPlan(name, xy, kind, stop, role, element, tuple(stop for one in plans for stop in one.stops))


def preview_svg(kit: Kit) -> str:
    """Draw every part as a plan, true to scale, its stops numbered, on its own cloth, as SVG."""
    return parts_svg([(one.plan, one.cloth) for one in kit.parts], kit.family.name)


def parts_svg(parts: Sequence[tuple[StitchPlan, str | None]], name: str) -> str:
    """Draw parts as plans in rows, true to scale, their stops numbered, as SVG.

    Args:
        parts: Each with the colour of its cloth; where None, one is taken on which its threads can be seen.
        name: Title of the picture.
    """
    laid = laid_out([one for one, _ in parts], name)
    patches, first = [], 0
    for one, known in parts:
        stops = range(first, first + len(one.stops))
        where = laid.only(np.isin(laid.stop, stops))
        colour = cloth_for(one) if known is None else known
        patches.append(replace(patch_under(where, colour), stops=stops))
        first = stops.stop
    return plan_svg(laid, cloth=patches)


def _sheet(kit: Kit) -> Image:
    """Every part as sewn, all at one scale, in rows from left to right."""
    parts = kit.parts
    boxes = [one.plan.bounds for one in parts]
    sizes = [(right - left, top - bottom) for left, bottom, right, top in boxes]
    row_width = _row_width(sizes)
    spots, total = _rows(sizes, row_width)
    scale = min(WIDTH_PX / row_width, 2.5 * WIDTH_PX / total)
    canvas = Canvas((0.0, -total, row_width, 0.0), pixels_per_mm=scale)
    for one, (left, _, _, top), (width, height), (x, y) in zip(parts, boxes, sizes, spots, strict=True):
        around = shapely.box(x - _CLOTH_MM, y - height - _CLOTH_MM, x + width + _CLOTH_MM, y + _CLOTH_MM)
        box = shapely.get_coordinates(around)[:-1]
        canvas.polygon(box, cloth_for(one.plan) if one.cloth is None else one.cloth)
        moved = replace(one.plan, xy=one.plan.xy + [x - left, y - top])
        draw_thread(canvas, moved)
        canvas.text((x, y - height - 4.2), one.name, "#404040", height=3.4, anchor="lt")
    return canvas.image()
