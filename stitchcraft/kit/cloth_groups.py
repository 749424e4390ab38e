"""What lies under the needle for each part, and which parts may therefore share a hooping."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.defaults import BAG
from stitchcraft.family import Placed
from stitchcraft.geometry.curves import grown
from stitchcraft.kit.sewn import SewnPart
from stitchcraft.machine import Hoop, needed_field, smallest_fit

_TICK_ROOM_MM = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Copy:
    """A part, once: where it goes on the bag, or that it is sewn loose.

    Attributes:
        part: The part.
        place: Where on the bag; None for a part that is sewn loose.
        bag: Of which bag, from 0.
        own: What the part covers, the same for all its copies.
    """

    part: SewnPart
    place: Placed | None
    bag: int
    own: Cover

    @property
    def title(self) -> str:
        """What people call it."""
        return self.part.name.replace("-", " ")

    @property
    def points(self) -> FloatArray:
        """Corners of the hull of its needle points, (n, 2) mm: on the panel, or in the part's own frame."""
        return self._there(self.own.hull)

    @property
    def shape(self) -> BaseGeometry:
        """What it covers there: its cloth as cut, and its stitches."""
        return shapely.transform(self.own.shape, self._there)

    @property
    def has_cloth(self) -> bool:
        """Whether cloth is laid on for it."""
        return bool(self.part.part.cloth)

    def _there(self, xy: FloatArray) -> FloatArray:
        return xy if self.place is None else turned(xy, self.place.angle_deg, self.place.at_mm)


class Cover:
    """What a part covers in its own frame, worked out when it is first asked for.

    Args:
        part: The part.
    """

    def __init__(self, part: SewnPart) -> None:
        self._part = part

    @cached_property
    def hull(self) -> FloatArray:
        """Corners of the hull of the needle points, (n, 2) mm."""
        points = self._part.plan.needle_points
        return shapely.get_coordinates(shapely.convex_hull(shapely.MultiPoint(points)))

    @cached_property
    def shape(self) -> shapely.Polygon | shapely.MultiPolygon:
        """Cloth as cut, stitches, and what lies between them."""
        return footprint(self._part)


def copies_of(parts: Sequence[SewnPart], bags: int) -> list[Copy]:
    """All that is sewn for so many bags, in the order of the work."""
    covers = {part.name: Cover(part) for part in parts}
    return [
        Copy(part, place, bag, covers[part.name])
        for part in parts
        for bag in range(bags)
        for place in (part.part.placements or (None,))
    ]


def footprint(part: SewnPart) -> shapely.Polygon | shapely.MultiPolygon:
    """What a part covers in its own frame: its cloth as cut, its stitches, and what is between ticks and cloth."""
    plan = part.plan
    points, sewn = plan.needle_points, plan.is_stitch
    keys = np.column_stack([plan.stop[sewn], plan.element[sewn]])
    _, group = np.unique(keys, axis=0, return_inverse=True)
    hulls = [
        shapely.buffer(shapely.convex_hull(shapely.MultiPoint(points[group == number])), 0.5)
        for number in range(int(group.max()) + 1)
    ]
    cloth = [shape for _, _, shape in part.part.cloth]
    if len(cloth) == 1 and shapely.covers(shapely.buffer(cloth[0], 1e-6), shapely.union_all(hulls)):
        return shapely.Polygon(cloth[0].exterior)
    whole = shapely.union_all([*hulls, *cloth])
    joined = grown(grown(whole, _TICK_ROOM_MM), -_TICK_ROOM_MM)
    solid = [shapely.Polygon(one.exterior) for one in shapely.get_parts(joined)]
    made = shapely.simplify(shapely.union_all(solid), 0.05)
    return made if isinstance(made, shapely.Polygon) else shapely.MultiPolygon(list(shapely.get_parts(made)))


@dataclass(frozen=True, slots=True)
class Ground:
    """What is in the frame when a part is sewn; only parts with the same may share a hooping.

    Attributes:
        panel: The panel, empty for a part that is sewn loose.
        bag: Of which bag the panel is; -1 for loose parts, whose cloth may serve several.
        cloth: The cloth that is hooped, empty for stabilizer alone or a panel.
        how: What the hands do to hoop it, empty for a panel.
    """

    panel: str
    bag: int
    cloth: str
    how: str


def ground_of(copy: Copy) -> Ground:
    """What is in the frame for a copy."""
    if copy.place is not None:
        return Ground(copy.place.panel, copy.bag, "", "")
    cloth = copy.part.part.cloth[0][1] if copy.part.part.cloth else ""
    return Ground("", -1, cloth, copy.part.plan.stops[0].before)


def why_apart(one: Copy, other: Copy, hoops: Sequence[Hoop], *, margin: float) -> str:
    """Say why two copies of one bag cannot share a hooping; empty if they can."""
    a, b = ground_of(one), ground_of(other)
    if a == b:
        return why_apart_on_panel(one, other, hoops, margin=margin) if one.place is not None else ""
    if a.panel and b.panel:
        return f"they are sewn on two panels, {a.panel} and {b.panel}"
    if a.panel or b.panel:
        loose, placed = (other, one) if a.panel else (one, other)
        cloth = ground_of(loose).cloth or "stabilizer"
        return f"{placed.title} is sewn on the hooped panel with its backing, {loose.title} on {cloth} of its own"
    if a.cloth != b.cloth:
        return f"different cloths are hooped: {a.cloth or 'stabilizer alone'} and {b.cloth or 'stabilizer alone'}"
    return "their cloth is hooped in different ways"


def why_apart_on_panel(one: Copy, other: Copy, hoops: Sequence[Hoop], *, margin: float) -> str:
    """Say why two copies on one panel, which lie where they lie, cannot share a hooping; empty if they can."""
    both = np.vstack([one.points, other.points])
    if smallest_fit(both, hoops, margin=margin) is None:
        need = needed_field(both, margin=margin).upright
        return f"they lie too far apart on the panel: a field for both would be {need.name} mm"
    if one.has_cloth or other.has_cloth:
        room, least = float(shapely.distance(one.shape, other.shape)), BAG["laid_margin"].value
        if room < least:
            return (
                f"they lie {room:.1f} mm apart on the panel, and the cloth laid on for one reaches {least:g} mm past "
                "its line, under the stitches of the other"
            )
    return ""


def reasons(copies: Sequence[Copy], hoops: Sequence[Hoop], *, margin: float) -> list[tuple[str, str, str]]:
    """For each pair of parts of one bag that never share a hooping: both names, and why."""
    first = [copy for copy in copies if copy.bag == 0]
    said: dict[tuple[str, str], str] = {}
    for number, other in enumerate(first):
        for one in first[:number]:
            if one.part is other.part:
                continue
            key = (one.part.name, other.part.name)
            why = why_apart(one, other, hoops, margin=margin)
            # parts on both panels meet on one of them: what parts them there is the reason
            if key not in said or (said[key] and not why) or said[key].startswith("they are sewn on two panels"):
                said[key] = why
    return [(one, other, why) for (one, other), why in said.items() if why]
