"""Which parts share a hooping and how they lie in it: dealt to few fields, with a bound from below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely

from stitchcraft.errors import ParameterError
from stitchcraft.kit.cloth_groups import Copy, Ground, ground_of, why_apart_on_panel
from stitchcraft.kit.hooping_options import HoopingOptions
from stitchcraft.machine import Hoop, Placement, smallest_fit
from stitchcraft.machine.packing import ANY_TURN, GRAIN_TURNS, QUARTER_TURNS, Piece, moved, pack

_MOST_ON_A_PANEL = 12


@dataclass(frozen=True, slots=True, eq=False)
class Arrangement:
    """What lies in one field.

    Attributes:
        hoop: The field.
        copies: The parts in it.
        placements: Where each lies in the field.
        gap_mm: The smallest distance between what two of them cover; None for a single one.
        panel_move: How the panel lies in the field; None for loose parts.
    """

    hoop: Hoop
    copies: tuple[Copy, ...]
    placements: tuple[Placement, ...]
    gap_mm: float | None = None
    panel_move: Placement | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Dealt:
    """The hoopings of all copies that fit a field.

    Attributes:
        arrangements: One for each hooping, in the order of the work.
        bound: No way of laying these parts takes fewer.
        square_bound: The same where loose parts lie square to the field; else as *bound*.
    """

    arrangements: tuple[Arrangement, ...]
    bound: int
    square_bound: int


def deal(copies: Sequence[Copy], hoops: Sequence[Hoop], options: HoopingOptions, *, margin: float) -> Dealt:
    """Deal copies to few hoopings: parts on one panel where they lie on it, loose parts of one cloth side by side.

    Args:
        copies: What is sewn; each fits one of the fields.
        hoops: The fields.
        options: Gap and grain.
        margin: Kept free inside the edge of a field, mm.
    """
    groups: dict[Ground, list[Copy]] = {}
    for copy in copies:
        groups.setdefault(ground_of(copy), []).append(copy)
    arrangements: list[Arrangement] = []
    bound = square = 0
    for ground, group in groups.items():
        if ground.panel:
            made = _on_panel(group, hoops, margin)
            least = most = len(made)  # all ways were gone through
        else:
            made, least, most = _side_by_side(group, hoops, options, margin)
        arrangements += made
        bound, square = bound + least, square + most
    place = {id(copy): number for number, copy in enumerate(copies)}
    arrangements.sort(key=lambda one: min(place[id(copy)] for copy in one.copies))
    return Dealt(tuple(arrangements), bound, square)


def _on_panel(group: list[Copy], hoops: Sequence[Hoop], margin: float) -> list[Arrangement]:
    """The fewest fields for parts that lie where they lie on a panel, by going through all ways of dealing them."""
    if len(group) > _MOST_ON_A_PANEL:
        return [_panel_field([copy], hoops, margin) for copy in group]
    apart = [
        [bool(why_apart_on_panel(a, b, hoops, margin=margin)) if a is not b else False for b in group] for a in group
    ]
    hulls = [copy.points for copy in group]

    @cache
    def area(mask: int) -> float | None:
        chosen = [k for k in range(len(group)) if mask >> k & 1]
        if any(apart[a][b] for a in chosen for b in chosen):
            return None
        fit = smallest_fit(np.vstack([hulls[k] for k in chosen]), hoops, margin=margin)
        return None if fit is None else fit[0].area

    @cache
    def fewest(mask: int) -> tuple[int, float, tuple[int, ...]]:
        if not mask:
            return (0, 0.0, ())
        first, best = mask & -mask, None
        part = rest = mask ^ first
        while True:
            own = area(part | first)
            if own is not None:
                count, total, dealt = fewest(rest ^ part)
                found = (count + 1, total + own, (part | first, *dealt))
                if best is None or found < best:
                    best = found
            if not part:
                break
            part = (part - 1) & rest
        return best if best is not None else (len(group), 0.0, ())

    masks = fewest((1 << len(group)) - 1)[2]
    return [_panel_field([group[k] for k in range(len(group)) if mask >> k & 1], hoops, margin) for mask in masks]


def _panel_field(copies: list[Copy], hoops: Sequence[Hoop], margin: float) -> Arrangement:
    if len(copies) == 1:
        hooped = copies[0].part.hooped
        hoop = hooped.hoop if hooped.hoop is not None else hoops[0]
        return Arrangement(hoop, tuple(copies), (hooped.placement,))
    fit = smallest_fit(np.vstack([copy.points for copy in copies]), hoops, margin=margin)
    hoop, move = (hoops[0], Placement()) if fit is None else (fit[0], fit[1].placement)
    shapes = [copy.shape for copy in copies]
    gaps = [float(shapely.distance(one, other)) for k, one in enumerate(shapes) for other in shapes[:k]]
    return Arrangement(hoop, tuple(copies), tuple(_moved_panel(copy, move) for copy in copies), min(gaps), move)


def _moved_panel(copy: Copy, move: Placement) -> Placement:
    place = copy.place
    at = Placement() if place is None else Placement(place.angle_deg, place.at_mm)
    return moved(at, move)


def _side_by_side(
    group: list[Copy], hoops: Sequence[Hoop], options: HoopingOptions, margin: float
) -> tuple[list[Arrangement], int, int]:
    """Loose parts of one cloth, packed."""
    pieces = [Piece(copy.own.shape, copy.own.hull, _turns(copy, options)) for copy in group]
    if len(group) == 1:
        return [_panel_field(group, hoops, margin)], 1, 1
    try:
        packing = pack(pieces, hoops, clearance=options.gap_mm, margin=margin)
    except ParameterError as error:
        if error.name != "pieces":
            raise
        # one fits its field by less than a file tells apart, or there are too many: they lie alone
        return [_panel_field([copy], hoops, margin) for copy in group], 1, 1
    made = []
    for field in packing.fields:
        chosen = tuple(group[one.piece] for one in field.laid)
        if len(chosen) == 1:
            made.append(_panel_field(list(chosen), hoops, margin))
        else:
            made.append(Arrangement(field.hoop, chosen, tuple(one.placement for one in field.laid), field.gap_mm))
    return made, packing.bound, packing.square_bound


def _turns(copy: Copy, options: HoopingOptions) -> tuple[float, ...]:
    """Halves that are laid on one another round to the same holes at quarter turns only."""
    if options.grain:
        return GRAIN_TURNS
    return QUARTER_TURNS if copy.part.name.startswith("tab-") else ANY_TURN
