"""What to have at hand: cloth, stabilizer, thread, fasteners."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from stitchcraft.bag import CutPiece, cut_list
from stitchcraft.defaults import BAG, PARTS
from stitchcraft.design import Thread
from stitchcraft.machine import Hoop, thread_metres
from stitchcraft.paper.handling import care_of
from stitchcraft.paper.sheet import Sheet, SheetPart
from stitchcraft.paper.words import title_of
from stitchcraft.units import both_sizes, both_text


@dataclass(frozen=True, slots=True)
class ThreadNeed:
    """How much of a thread is used.

    Attributes:
        thread: The thread.
        metres: With the margin for ends, m, rounded up.
        parts: Names of the parts that use it.
    """

    thread: Thread
    metres: int
    parts: tuple[str, ...]


def to_hoop(sheet: Sheet) -> tuple[CutPiece, ...]:
    """Cloth that goes into a frame: larger than what is left of it."""
    rows = []
    cloth = sheet.hooping_cloth_mm()
    bag = sheet.family.bag
    if cloth is not None:
        note = (
            f"fleece fused to its wrong side. Mark the panel's middle, and its top edge "
            f"{both_text(sheet.above_panel_mm())} below the cloth's; cut to {both_sizes(*bag.panel_cut_mm)} after the "
            "embroidery"
        )
        rows.append(CutPiece("panel", "outer cloth", 2 * sheet.bags, *cloth, note))
    for one, hoop, pieces, times in sheet.loose_fields():
        if not one.part.cloth or _lays_on_stabilizer(sheet, one):
            continue
        name, material, shape = one.part.cloth[0]
        left, bottom, right, top = shape.bounds
        many = f"for {pieces} pieces, each " if pieces > 1 else ""
        note = f"{many}trimmed to {both_sizes(right - left, top - bottom)} later"
        rows.append(CutPiece(name, material, times, *framed_mm(hoop), note))
    return tuple(rows)


def framed_mm(hoop: Hoop) -> tuple[float, float]:
    """Cloth or stabilizer that a frame holds all round, width and height, mm."""
    return (hoop.width + 2 * BAG["hoop_margin"].value, hoop.height + 2 * BAG["hoop_margin"].value)


def laid_on(sheet: Sheet) -> tuple[CutPiece, ...]:
    """Pieces laid on in the hoop and trimmed there."""
    more = 2 * BAG["laid_margin"].value
    rows = []
    for one in sheet.parts:
        if not one.part.placements:
            continue
        for name, material, shape in one.part.cloth:
            left, bottom, right, top = shape.bounds
            note = f"trimmed in the hoop to its line, {both_sizes(right - left, top - bottom)}"
            full = name if len(sheet.parts) < 2 or "," in name else f"{name}, {one.name.rsplit('-', 1)[-1]}"
            rows.append(
                CutPiece(full, material, one.times * sheet.bags, right - left + more, top - bottom + more, note)
            )
    for one in sheet.parts:
        if _lays_on_stabilizer(sheet, one):
            left, bottom, right, top = sheet.family.closure_tab.shape.bounds
            rows.append(
                CutPiece("tab batting", "batting", sheet.bags, right - left, top - bottom, "trimmed in the hoop")
            )
            left, bottom, right, top = sheet.family.closure_tab.cut_shape.bounds
            note = f"trimmed to {both_sizes(right - left, top - bottom)} after the seam"
            rows.append(
                CutPiece("tab front", "outer cloth", sheet.bags, right - left + more, top - bottom + more, note)
            )
    return tuple(rows)


def _lays_on_stabilizer(sheet: Sheet, one: SheetPart) -> bool:
    """Whether a part's cloth is laid over batting in the hoop, not hooped itself."""
    return one.name == "tab-front" and sheet.family.closure_tab.batting


def hooped_words(sheet: Sheet, one: SheetPart) -> str:
    """What goes into the frame for a part, with the size of its stabilizer, and what its cloth wants there."""
    care = care_of(sheet.family.style.fabric)
    wants = f"; {care.hooped}" if care is not None and care.hooped and one.hoop is not None else ""
    return _hooped(sheet, one) + wants


def _hooped(sheet: Sheet, one: SheetPart) -> str:
    if one.hoop is None:
        return "nothing until the part fits a field"
    size = framed_mm(one.hoop)
    if _lays_on_stabilizer(sheet, one):
        return f"stabilizer {both_sizes(*size)} alone; the batting and the cloth are laid on"
    if not one.part.cloth and not one.part.placements:
        return f"stabilizer {both_sizes(*size)} alone; the finished tab is laid on"
    cloth = one.part.cloth[0][1] if one.part.cloth and not one.part.placements else "panel cloth with its fleece"
    return f"{cloth}, with stabilizer {both_sizes(*size)} under it"


def for_bag(sheet: Sheet) -> tuple[CutPiece, ...]:
    """The bag's own pieces, apart from the panels when those are hooped first."""
    hooped = sheet.hooping_cloth_mm() is not None
    rows = []
    for piece in cut_list(sheet.family.bag):
        if hooped and piece.name == "panel":
            continue
        note = piece.note
        if hooped and piece.name == "panel backing":
            note = "fuse to the hooped cloth's wrong side, over the panel"
        elif piece.name == "lining":
            wide, high = sheet.family.bag.lining_corner_cut_mm
            note = f"cut {both_sizes(wide, high)} from each lower corner" if wide else ""
        elif piece.name == "binding strip":
            note = f"{piece.note}; {strips_words(piece.width_mm, piece.height_mm, sheet.bolt_mm)}"
        elif piece.name == "base stiffener":
            note = f"trim its corners round by {both_text(BAG['stiffener_corner'].value)}"
        rows.append(
            CutPiece(piece.name, piece.material, piece.count * sheet.bags, piece.width_mm, piece.height_mm, note)
        )
    backings = sheet.family.backings([one.name for one in sheet.parts])
    return (*rows, *(replace(piece, count=piece.count * sheet.bags) for piece in backings))


def strips_words(width_mm: float, length_mm: float, usable: float) -> str:
    """How many strips across cloth of a usable width make a binding, joined on the slant."""
    count = strips_across(width_mm, length_mm, usable)
    strips = "1 strip" if count == 1 else f"{count} strips, joined at 45°,"
    return f"{strips} across cloth {both_text(usable)} wide"


def strips_across(width_mm: float, length_mm: float, usable: float) -> int:
    """How many strips, each as long as the cloth is wide, make a length: each join on the slant takes a width."""
    count = 1
    while count * usable - (count - 1) * width_mm < length_mm:
        count += 1
    return count


def cloth_lengths(sheet: Sheet) -> tuple[tuple[str, float], ...]:
    """How much of each cloth the pieces take, laid in rows across the usable width, upright and by height.

    Returns:
        Material and length, mm, in order of first use; a piece wider than the cloth is left out.
    """
    usable = sheet.bolt_mm
    by_material: dict[str, list[tuple[float, float]]] = {}
    for cut in (*to_hoop(sheet), *laid_on(sheet), *for_bag(sheet)):
        width, height = cut.width_mm, cut.height_mm
        if cut.name == "binding strip":
            width, height = min(usable, height), strips_across(width, height, usable) * width
        if (cut.material.endswith("cloth") or cut.material == "fusible fleece") and width <= usable:
            by_material.setdefault(cut.material, []).extend([(height, width)] * cut.count)
    return tuple((material, _laid_out(sizes, usable)) for material, sizes in by_material.items())


def _laid_out(sizes: list[tuple[float, float]], usable: float) -> float:
    """Length taken by pieces (height, width) in rows, the highest first."""
    total = row_height = 0.0
    room = -1.0
    for height, width in sorted(sizes, reverse=True):
        if width > room:
            total += row_height
            row_height, room = height, usable
        room -= width
    return total + row_height


def stabilizer(sheet: Sheet) -> tuple[CutPiece, ...]:
    """Stabilizer by field: one piece for each hooping."""
    counts: dict[tuple[float, float], int] = {}
    names: dict[tuple[float, float], str] = {}
    for hoop, times in sheet.loadings():
        size = framed_mm(hoop)
        counts[size] = counts.get(size, 0) + times
        names[size] = hoop.name
    return tuple(
        CutPiece(
            f"for the {names[size]} field", "stabilizer", count, *size, "one for each hooping, larger than the frame"
        )
        for size, count in sorted(counts.items(), reverse=True)
    )


def threads(sheet: Sheet) -> tuple[ThreadNeed, ...]:
    """Needle thread by colour and name, with the margin for ends, in order of first use."""
    metres: dict[Thread, float] = {}
    parts: dict[Thread, dict[str, None]] = {}
    for one in sheet.parts:
        for stop, used in zip(one.plan.stops, thread_metres(one.plan).stops, strict=True):
            metres[stop.thread] = metres.get(stop.thread, 0.0) + used.top_m * one.times * sheet.bags
            parts.setdefault(stop.thread, {})[one.name] = None
    return tuple(ThreadNeed(thread, _bought(total), tuple(parts[thread])) for thread, total in metres.items())


def bobbin_metres(sheet: Sheet) -> int:
    """Bobbin thread for all hoopings, with the margin for ends, m, rounded up."""
    return _bought(sum(thread_metres(one.plan).bobbin_m * one.times * sheet.bags for one in sheet.parts))


def _bought(metres: float) -> int:
    return max(1, math.ceil(metres * (1 + BAG["thread_margin"].value)))


def fasteners(sheet: Sheet) -> tuple[tuple[str, str, str], ...]:
    """Snaps, feet and straps, if the bag has any: what, how many, and what to mind."""
    family = sheet.family
    bag = family.bag
    rows = []
    names = {one.name for one in sheet.parts}
    if "tab-back" in names:
        rows += [(supply.what, _for_bags(supply.count, sheet.bags), supply.note) for supply in family.fastener.supplies]
    marks = next((one for one in sheet.parts if one.name == "shaping-marks"), None)
    if marks is not None:
        rows.append((
            "shaping snap", _for_bags(f"{marks.times // 2} sets", sheet.bags),
            f"{both_text(PARTS['shaping_snap'].value)} across, with backing plates",
        ))  # fmt: skip
    if bag.feet_mm:
        rows.append(("bag foot", str(len(bag.feet_mm) * sheet.bags), "with prongs and backing plates"))
    if bag.has_straps and any(name.startswith("connector") for name in names):
        connector = family.strap_connector
        landing = min((float(box[:, 1].min()) for box in connector.landings), default=-connector.height_mm / 2)
        down = family.closure.drop_mm - landing + BAG["strap_turn"].value
        rows.append((
            "strap", str((2 if connector.ends == "both" else 1) * sheet.bags),
            (f"{both_text(bag.strap_width_mm)} wide; for its length add {both_text(2 * down)} to the loop you want "
            f"above the top edge: {both_text(BAG['strap_turn'].value)} of it is folded under at each end"),
        ))  # fmt: skip
    return tuple(rows)


def _for_bags(count: str, bags: int) -> str:
    """A count such as ``"1 set"`` for several bags; what has no number is said of each."""
    number, _, what = count.partition(" ")
    if bags == 1:
        return count
    if not number.isdigit():
        return f"{count} each"
    return f"{int(number) * bags} {what.removesuffix('s')}s" if what else str(int(number) * bags)


def part_titles(names: tuple[str, ...]) -> str:
    """Names of parts for a table's cell."""
    return ", ".join(title_of(name).lower() for name in names)
