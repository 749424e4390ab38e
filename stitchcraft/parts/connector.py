"""The strap connector: an applique on the panel to which the strap ends are sewn.

A *bridge* spans the strap ends, or one of them, and the target of the tab's fastener; its origin is that target. A
*medallion* carries the target alone, also on a bag without straps. A *pair* is one piece at each strap end; a piece's
origin is the strap's centre line at its landing.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration import Crosshatch, Decoration
from stitchcraft.defaults import BAG, PARTS
from stitchcraft.design import Design, Line, Purpose, Running, Stop
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import closed, grown, polygon_from, polygons_of
from stitchcraft.parts.decorating import decorating_stops
from stitchcraft.parts.edges import Edge
from stitchcraft.parts.fasteners import Fastener, Snap
from stitchcraft.parts.kinds import check_kind
from stitchcraft.parts.mirror import opposite_design
from stitchcraft.parts.outlines import OUTLINES
from stitchcraft.parts.stops import sewn_stops
from stitchcraft.parts.threads import Palette
from stitchcraft.ranges import keep_ranged, ranged
from stitchcraft.units import Length, mm_text

LAYOUTS: Final = ("bridge", "pair", "medallion")
ENDS: Final = ("both", "left", "right")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrapConnector:
    """A strap connector. Lengths in (a number is mm), mm stored.

    Attributes:
        layout: ``"bridge"``, ``"pair"`` or ``"medallion"``.
        ends: Which strap ends a bridge holds, seen on the front: ``"both"``, ``"left"`` or ``"right"``. The back of a
            bridge with one end is the front's mirror image: left on the front is right on the back.
        spacing: Strap centre to strap centre.
        strap_width: Width of a strap.
        height: Finished height.
        width: Finished width; None takes what the straps need.
        outline: Name of an outline.
        snap: The snap whose target the front piece carries.
        fastener: Another fastener whose target it carries; None for the snap.
        snap_up: How far the target lies above the middle of the piece; negative for below.
        snap_right: How far the target lies right of where it would lie by itself, as seen on the front.
        decoration: What fills it.
        edge: What covers its edge.
        palette: Threads.

    Raises:
        ParameterError: If a value is out of range or two contradict each other.
    """

    layout: Literal["bridge", "pair", "medallion"] = "bridge"
    ends: Literal["both", "left", "right"] = "both"
    spacing: Length = "6 in"
    strap_width: Length = BAG["strap_width"].value
    height: Length = PARTS["connector_height"].value
    width: Length | None = None
    outline: str = "rounded"
    snap: Snap = Snap()
    fastener: Fastener | None = None
    snap_up: Length = 0.0
    snap_right: Length = 0.0
    decoration: Decoration = field(default_factory=Crosshatch)
    edge: Edge = Edge()
    palette: Palette = Palette()

    def __post_init__(self) -> None:
        for key, kind in (("snap", Snap), ("edge", Edge), ("decoration", Decoration), ("palette", Palette)):
            check_kind(getattr(self, key), kind, name=f"connector.{key}")
        if self.fastener is not None:
            check_kind(self.fastener, Fastener, name="connector.fastener")
        if self.layout not in LAYOUTS:
            raise ParameterError("connector.layout", self.layout, "one of " + ", ".join(LAYOUTS))
        if self.ends not in ENDS or (self.ends != "both" and self.layout != "bridge"):
            needs = "one of " + ", ".join(ENDS) if self.layout == "bridge" else '"both" unless the layout is "bridge"'
            raise ParameterError("connector.ends", self.ends, needs)
        if self.outline not in OUTLINES:
            raise ParameterError("connector.outline", self.outline, "one of " + ", ".join(OUTLINES))
        keep_ranged(self, "connector", "spacing", "strap_width", "height", "snap_up", "snap_right")
        if self.layout == "pair":
            for key in ("snap_up", "snap_right"):
                if getattr(self, key):
                    raise ParameterError(f"connector.{key}", getattr(self, key), "0 for a pair, which has no snap")
        self._set_width()
        if self.layout != "pair":
            self._check_target()
        _ = self.shape

    def _set_width(self) -> None:
        left, right = self._held
        middle = self.middle[0]
        margin = PARTS["connector_margin"].value
        if self.width is None:
            needed = 2 * max(right - middle, middle - left)
            self._keep("width", needed + 2 * (margin if self.layout != "medallion" else PARTS["snap_keepout"].value))
            if self._off_centre:
                self._keep("width", self._holding_width_mm)
            return
        self._keep("width", ranged(self.width, "connector.width"))
        least = self.least_width_mm
        if self.width_mm < least - 1e-6:
            what = "the straps" if self.layout != "medallion" else f"the {self.fastened_by.spot}"
            raise ParameterError("connector.width", self.width, f"at least {mm_text(least)} to hold {what}")

    @property
    def _off_centre(self) -> bool:
        """Whether the target may lie near the edge of the piece, where its outline narrows."""
        return self.layout != "pair" and (self.layout == "medallion" or self.lopsided or bool(self.snap_up))

    @property
    def _holding_width_mm(self) -> float:
        """The width from which on the outline holds the target clear of the cover stitch, mm; its own if none does."""
        target = self.fastened_by.on_bag((0.0, 0.0))
        for more in np.arange(0.0, self.height_mm + 60.0, 1.0):
            path = np.asarray(OUTLINES[self.outline](self.width_mm + more, self.height_mm)) + np.asarray(self.middle)
            inside = grown(shapely.Polygon(path), -self.edge.half_mm - PARTS["decoration_clearance"].value)
            if inside.covers(target):
                return self.width_mm + float(more)
        return self.width_mm

    @property
    def least_width_mm(self) -> float:
        """Narrowest that holds what the piece has to hold, mm."""
        (left, right), middle = self._held, self.middle[0]
        return round(2 * (max(right - middle, middle - left) + self.edge.half_mm + 1), 6)

    def _check_target(self) -> None:
        """Refuse a piece that the target does not fit on."""
        left, bottom, right, top = self.fastened_by.on_bag((0.0, 0.0)).bounds
        least = top - bottom + 4 * self.edge.half_mm
        if self.height_mm < least:
            needs = f"at least {mm_text(least)} to hold the {self.fastened_by.spot}"
            raise ParameterError("connector.height", self.height, needs)
        for key, size, low, high in (
            ("snap_up", self.height_mm, bottom, top),
            ("snap_right", self.width_mm, left, right),
        ):
            most = size / 2 - 2 * self.edge.half_mm - (high - low) / 2
            if abs(float(getattr(self, key))) > most and (key == "snap_up" or self.layout == "medallion"):
                needs = f"from -{most:.1f} to {most:.1f} mm, so that the piece holds the {self.fastened_by.spot}"
                raise ParameterError(f"connector.{key}", getattr(self, key), needs)
        if self._off_centre and (least := self._holding_width_mm) > self.width_mm:
            needs = f"at least {mm_text(least)}: where its outline narrows it does not hold the {self.fastened_by.spot}"
            raise ParameterError("connector.width", self.width_mm, needs)

    def _keep(self, key: str, value: float) -> None:
        object.__setattr__(self, key, value)

    @property
    def fastened_by(self) -> Fastener:
        """The fastener whose target it carries."""
        return self.snap if self.fastener is None else self.fastener

    @property
    def sides(self) -> tuple[float, ...]:
        """On which side of the target each strap end lies: -1 left, 1 right; of a pair's piece on none."""
        if self.layout == "bridge":
            return {"both": (-1.0, 1.0), "left": (-1.0,), "right": (1.0,)}[self.ends]
        return (0.0,) if self.layout == "pair" else ()

    @property
    def _held(self) -> tuple[float, float]:
        """How far left and right what the piece holds reaches from its origin, mm."""
        reach = [side * float(self.spacing) / 2 + half for side in self.sides for half in self._strap_edges]
        if self.layout == "medallion" or self.ends != "both":
            left, _, right, _ = self.fastened_by.on_bag((0.0, 0.0)).bounds
            reach += [left, right]
        return min(reach), max(reach)

    @property
    def _strap_edges(self) -> tuple[float, float]:
        return (-float(self.strap_width) / 2, float(self.strap_width) / 2)

    @property
    def middle(self) -> tuple[float, float]:
        """Middle of the piece in its own frame, mm."""
        left, right = self._held
        return ((left + right) / 2 - float(self.snap_right) + 0.0, 0.0 - float(self.snap_up))

    @property
    def lopsided(self) -> bool:
        """Whether left and right differ, so that the back is the front's mirror image."""
        return abs(self.middle[0]) > 1e-9

    @property
    def width_mm(self) -> float:
        """Finished width, mm."""
        return float(self.width or 0.0)

    @property
    def height_mm(self) -> float:
        """Finished height, mm."""
        return float(self.height)

    @property
    def shape(self) -> shapely.Polygon:
        """The finished shape of one piece."""
        path = np.asarray(OUTLINES[self.outline](self.width_mm, self.height_mm)) + np.asarray(self.middle)
        return polygon_from(path, name="connector.outline")

    @property
    def landing_centres(self) -> tuple[tuple[float, float], ...]:
        """Middle of each strap landing in the piece's frame, mm."""
        return tuple((side * float(self.spacing) / 2, self.middle[1]) for side in self.sides)

    @property
    def landings(self) -> tuple[FloatArray, ...]:
        """A stitched box for each strap end, inside the strap's own width so that the strap hides it, closed, mm."""
        half_width = float(self.strap_width) / 2 - min(1.5, float(self.strap_width) * 0.1)
        half_height = self.height_mm / 2 - self.edge.half_mm - 2.5
        boxes: list[FloatArray] = []
        for x, y in self.landing_centres:
            inner = shapely.intersection(
                shapely.box(x - half_width, y - half_height, x + half_width, y + half_height),
                grown(self.shape, -(self.edge.half_mm + 2.0)),
            )
            boxes.extend(np.asarray(part.exterior.coords) for part in polygons_of(inner, smallest_mm2=4.0)[:1])
        return tuple(boxes)

    def decoration_area(self, *, target: bool) -> shapely.Polygon | shapely.MultiPolygon:
        """Where a piece is decorated: clear of the cover stitch, the landings and, with one, the snap's target."""
        area = grown(self.shape, -(self.edge.half_mm + PARTS["decoration_clearance"].value))
        for box, (x, _) in zip(self.landings, self.landing_centres, strict=False):
            # from the landing to the end of the piece: what is left there is too little for a pattern
            left, bottom, right, top = shapely.Polygon(box).bounds
            far = (-2 * self.width_mm, right) if x < 0 else (left, 2 * self.width_mm) if x > 0 else (left, right)
            area = shapely.difference(area, shapely.box(far[0] - 1.5, bottom - 9, far[1] + 1.5, top + 9))
        if target:
            area = shapely.difference(area, self.fastened_by.keepout((0.0, 0.0)))
        parts = polygons_of(area, smallest_mm2=4.0)
        return parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)

    def _piece(self, name: str, *, target: bool) -> Design:
        palette = self.palette
        outline = np.asarray(self.shape.exterior.coords)
        tack = closed(np.asarray(polygons_of(grown(self.shape, -PARTS["tack_inset"].value))[0].exterior.coords))
        landings = tuple(Line(box, Running()) for box in self.landings)
        stops = [
            Stop(Purpose.PLACE, palette.thread("mark"), (Line(outline, Running()),),
                 "Hoop the panel cloth with its backing, right side up; the template's crosshair goes on the mark for "
                 "the connector's middle."),
            Stop(Purpose.TACK, palette.thread("seam"), (Line(tack, Running()),),
                 "Lay the connector cloth right side up over the whole placement line."),
            *decorating_stops(self.decoration, self.decoration_area(target=target), palette, before=
                 "Take the hoop off without unhooping and trim the connector cloth close to the tack-down all round; "
                 "put the hoop back."),
            Stop(Purpose.COVER, palette.thread("edge"), self.edge.cover(outline)),
            Stop(Purpose.TICKS, palette.thread("mark"), landings),
        ]  # fmt: skip
        if target:
            stops.append(
                Stop(Purpose.SNAP, palette.thread("mark"), self.fastened_by.target((0.0, 0.0)))
            )  # fmt: skip
        return Design(name, sewn_stops(stops))

    def front(self) -> Design:
        """The front bridge or the medallion, with the target as its last stop.

        Raises:
            ParameterError: If the layout is a pair.
        """
        self._only("bridge", "medallion")
        return self._piece("connector-front", target=True)

    def back(self) -> Design:
        """The back bridge, without a target.

        Raises:
            ParameterError: If the layout is another.
        """
        self._only("bridge")
        piece = self._piece("connector-back", target=False)
        return self._opposite(piece, "connector-back") if self.lopsided else piece

    def left(self) -> Design:
        """The left piece of a pair.

        Raises:
            ParameterError: If the layout is a bridge.
        """
        self._only("pair")
        return self._piece("connector-left", target=False)

    def right(self) -> Design:
        """The right piece of a pair: the left one's mirror image, with letters the right way round.

        Raises:
            ParameterError: If the layout is a bridge.
        """
        return self._opposite(self.left(), "connector-right")

    def _opposite(self, piece: Design, name: str) -> Design:
        return opposite_design(piece, name, self.decoration, self.decoration_area(target=False))

    def _only(self, *layouts: str) -> None:
        if self.layout not in layouts:
            raise ParameterError("connector.layout", self.layout, " or ".join(f'"{one}"' for one in layouts))

    def __repr__(self) -> str:
        return f"<StrapConnector {self.layout}, {self.width_mm:g} x {self.height_mm:g} mm, {self.outline}>"
