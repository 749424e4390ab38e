"""The strap connector: an applique on the panel to which the strap ends are sewn.

A *bridge* spans both strap ends with the snap at its middle; its origin is the snap's centre. A *pair* is one
piece at each strap end; a piece's origin is the strap's centre line at its landing.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import shapely

from stitchcraft.decoration import Crosshatch, Decoration
from stitchcraft.defaults import BAG, PARTS
from stitchcraft.design import Design, FloatArray, Line, Purpose, Running, Stop
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import closed, grown, polygon_from, polygons_of
from stitchcraft.parts.decorating import decorating_stops
from stitchcraft.parts.edges import Edge
from stitchcraft.parts.fasteners import Snap
from stitchcraft.parts.kinds import check_kind
from stitchcraft.parts.mirror import mirrored_design
from stitchcraft.parts.outlines import OUTLINES
from stitchcraft.parts.stops import sewn_stops
from stitchcraft.parts.threads import Palette
from stitchcraft.units import Length, length_between, mm_text


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrapConnector:
    """A strap connector. Lengths in (a number is mm), mm stored.

    Attributes:
        layout: ``"bridge"`` or ``"pair"``.
        spacing: Strap centre to strap centre.
        strap_width: Width of a strap.
        height: Finished height.
        width: Finished width; None takes what the straps need.
        outline: Name of an outline.
        snap: The snap whose target the front bridge carries.
        decoration: What fills it.
        edge: What covers its edge.
        palette: Threads.

    Raises:
        ParameterError: If a value is out of range or two contradict each other.
    """

    layout: Literal["bridge", "pair"] = "bridge"
    spacing: Length = "6 in"
    strap_width: Length = BAG["strap_width"].value
    height: Length = PARTS["connector_height"].value
    width: Length | None = None
    outline: str = "rounded"
    snap: Snap = Snap()
    decoration: Decoration = field(default_factory=Crosshatch)
    edge: Edge = Edge()
    palette: Palette = Palette()

    def __post_init__(self) -> None:
        for key, kind in (("snap", Snap), ("edge", Edge), ("decoration", Decoration), ("palette", Palette)):
            check_kind(getattr(self, key), kind, name=f"connector.{key}")
        if self.layout not in ("bridge", "pair"):
            raise ParameterError("connector.layout", self.layout, '"bridge" or "pair"')
        if self.outline not in OUTLINES:
            raise ParameterError("connector.outline", self.outline, "one of " + ", ".join(OUTLINES))
        for key, low, high in (("spacing", 5, 2000), ("strap_width", 3, 200), ("height", 12, 500)):
            value = length_between(getattr(self, key), name=f"connector.{key}", low=low, high=high)
            object.__setattr__(self, key, value)
        needed = float(self.strap_width) + (float(self.spacing) if self.layout == "bridge" else 0.0)
        margin = PARTS["connector_margin"].value
        if self.width is None:
            object.__setattr__(self, "width", needed + 2 * margin)
        else:
            least = needed + 2 * self.edge.half_mm + 2
            object.__setattr__(self, "width", length_between(self.width, name="connector.width", low=12, high=2000))
            if self.width_mm < least:
                raise ParameterError("connector.width", self.width, f"at least {mm_text(least)} to hold the straps")
        if self.layout == "bridge" and self.height_mm < self.snap.diameter_mm + 4 * self.edge.half_mm:
            least = self.snap.diameter_mm + 4 * self.edge.half_mm
            raise ParameterError("connector.height", self.height, f"at least {mm_text(least)} to hold the snap")
        _ = self.shape

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
        return polygon_from(OUTLINES[self.outline](self.width_mm, self.height_mm), name="connector.outline")

    @property
    def landing_centres(self) -> tuple[tuple[float, float], ...]:
        """Middle of each strap landing in the piece's frame, mm."""
        if self.layout == "pair":
            return ((0.0, 0.0),)
        half = float(self.spacing) / 2
        return ((-half, 0.0), (half, 0.0))

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
            far = (-self.width_mm, right) if x < 0 else (left, self.width_mm) if x > 0 else (left, right)
            area = shapely.difference(area, shapely.box(far[0] - 1.5, bottom - 9, far[1] + 1.5, top + 9))
        if target:
            area = shapely.difference(area, self.snap.keepout((0.0, 0.0)))
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
                Stop(Purpose.SNAP, palette.thread("mark"), self.snap.target((0.0, 0.0)))
            )  # fmt: skip
        return Design(name, sewn_stops(stops))

    def front(self) -> Design:
        """The front bridge, with the snap's target as its last stop.

        Raises:
            ParameterError: If the layout is a pair.
        """
        self._only("bridge")
        return self._piece("connector-front", target=True)

    def back(self) -> Design:
        """The back bridge, without a target.

        Raises:
            ParameterError: If the layout is a pair.
        """
        self._only("bridge")
        return self._piece("connector-back", target=False)

    def left(self) -> Design:
        """The left piece of a pair.

        Raises:
            ParameterError: If the layout is a bridge.
        """
        self._only("pair")
        return self._piece("connector-left", target=False)

    def right(self) -> Design:
        """The right piece of a pair: the left one's mirror image.

        Raises:
            ParameterError: If the layout is a bridge.
        """
        return mirrored_design(self.left(), "connector-right")

    def _only(self, layout: str) -> None:
        if self.layout != layout:
            raise ParameterError("connector.layout", self.layout, f'"{layout}" for this piece')

    def __repr__(self) -> str:
        return f"<StrapConnector {self.layout}, {self.width_mm:g} x {self.height_mm:g} mm, {self.outline}>"
