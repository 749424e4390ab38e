"""The corner accent: an applique on a lower corner of a panel, meeting its neighbours across the seams.

Part frame of the left accent: origin where the side seam line meets the bottom seam line, the accent in the
quadrant x >= 0, y >= 0. The right accent is its mirror image.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from stitchcraft.arrays import FloatArray, frozen_path
from stitchcraft.decoration import Decoration, Dots
from stitchcraft.defaults import BAG, DECORATION, PARTS
from stitchcraft.design import Design, Line, Purpose, Running, Stop, Triple
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import closed, grown, joined, lines_of, polygon_from, polygons_of
from stitchcraft.parts.decorating import decorating_stops
from stitchcraft.parts.edges import Edge
from stitchcraft.parts.kinds import check_kind
from stitchcraft.parts.mirror import opposite_design
from stitchcraft.parts.profiles import PROFILES
from stitchcraft.parts.stops import sewn_stops
from stitchcraft.parts.threads import Palette
from stitchcraft.ranges import RANGES, keep_ranged
from stitchcraft.units import Length, length_between, mm_text


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CornerAccent:
    """A corner accent. Lengths in (a number is mm), mm stored.

    Attributes:
        width: From the panel corner to where the free edge crosses the bottom seam.
        height: From the panel corner to where it crosses the side seam.
        profile: Name of a profile, or points of your own in shares of width and height, from (0, 1) to (1, 0).
        depth: The bag's boxed base; its notch is left out. 0 for a flat bag.
        seam: Allowance of the bag's seams.
        decoration: What fills it.
        edge: What covers its free edge.
        echo: A line in triple stitch that follows the free edge inside it, so far off; None for none. The decoration
            keeps inside it.
        palette: Threads.

    Raises:
        ParameterError: If a value is out of range or two contradict each other.
    """

    width: Length
    height: Length
    profile: str | FloatArray = "quarter"
    depth: Length = 0.0
    seam: Length = BAG["seam"].value
    decoration: Decoration = field(default_factory=Dots)
    edge: Edge = Edge()
    echo: Length | None = None
    palette: Palette = Palette()

    def __post_init__(self) -> None:
        for key, kind in (("edge", Edge), ("decoration", Decoration), ("palette", Palette)):
            check_kind(getattr(self, key), kind, name=f"corner.{key}")
        keep_ranged(self, "corner", "width", "height", "echo")
        for key, low, high in (("depth", *RANGES["bag.depth"]), ("seam", *RANGES["bag.seam"])):
            object.__setattr__(self, key, length_between(getattr(self, key), name=f"corner.{key}", low=low, high=high))
        if isinstance(self.profile, str):
            if self.profile not in PROFILES:
                raise ParameterError("corner.profile", self.profile, "one of " + ", ".join(PROFILES))
        else:
            own = frozen_path(self.profile, name="corner.profile")
            if not np.allclose(own[[0, -1]], [[0, 1], [1, 0]], atol=1e-6):
                raise ParameterError("corner.profile", "a line of your own", "one that runs from (0, 1) to (1, 0)")
            object.__setattr__(self, "profile", own)
        for key in ("width", "height"):
            least = self.notch_mm + 2 * self.edge.half_mm + 4
            if float(getattr(self, key)) < least:
                raise ParameterError(
                    f"corner.{key}", getattr(self, key), f"at least {mm_text(least)} to reach past the boxed base"
                )
        self._check_past_base()
        _ = self.shape
        least = self.edge.half_mm + PARTS["decoration_clearance"].value
        if self.echo is not None and float(self.echo) < least:
            raise ParameterError("corner.echo", self.echo, f"at least {mm_text(least)}, clear of the cover stitch")
        if self.echo is not None and not self.echo_lines:
            raise ParameterError("corner.echo", self.echo, "less, so that the line lies on the accent")

    def _check_past_base(self) -> None:
        """Refuse a free edge that runs through the corner of the boxed base, and say what size would pass it."""
        if not self.notch_mm or not shapely.Polygon(joined(self._shares(), [[0.0, 0.0]])).is_valid:
            return
        base = shapely.box(0.0, 0.0, self.notch_mm, self.notch_mm)
        inmost = shapely.Point(self.notch_mm, self.notch_mm)
        for more in np.arange(1.0, 6.0, 0.02):
            curve = self._shares() * [self.width_mm * more, self.height_mm * more]
            if (
                shapely.Polygon(joined(curve, [[0.0, 0.0]])).covers(inmost)
                and shapely.LineString(curve).distance(base) > self.edge.half_mm
            ):
                break
        if more > 1.0:
            raise ParameterError(
                "corner.width", self.width_mm, f"at least {mm_text(math.ceil(more * self.width_mm))} with a height of "
                f"{mm_text(math.ceil(more * self.height_mm))}, so that the free edge passes the boxed base",
            )  # fmt: skip

    def _shares(self) -> FloatArray:
        return PROFILES[self.profile]() if isinstance(self.profile, str) else np.asarray(self.profile)

    @property
    def width_mm(self) -> float:
        """Corner to the crossing of the bottom seam, mm."""
        return float(self.width)

    @property
    def height_mm(self) -> float:
        """Corner to the crossing of the side seam, mm."""
        return float(self.height)

    @property
    def seam_mm(self) -> float:
        """Allowance of the bag's seams, mm."""
        return float(self.seam)

    @property
    def notch_mm(self) -> float:
        """Seam lines of the boxed base from the panel corner, mm; 0 for a flat bag."""
        return float(self.depth) / 2

    @property
    def free_edge(self) -> FloatArray:
        """The left accent's free edge, cut edge to cut edge, (n, 2) mm.

        It crosses each seam line at a right angle, so that its neighbour's meets it there.
        """
        curve = self._shares() * [self.width_mm, self.height_mm]
        return joined([[-self.seam_mm, self.height_mm]], curve, [[self.width_mm, -self.seam_mm]])

    @property
    def shape(self) -> shapely.Polygon:
        """The left accent's cloth as cut: from the free edge to the panel's cut edges, the notch left out."""
        s = self.seam_mm
        if self.notch_mm:
            raw = self.notch_mm - s  # the square is cut from the raw corner: its side is depth / 2
            corner = [[raw, -s], [raw, raw], [-s, raw]]
        else:
            corner = [[-s, -s]]
        return polygon_from(joined(self.free_edge, corner), name="corner.profile")

    @property
    def decoration_area(self) -> shapely.Polygon | shapely.MultiPolygon:
        """Where the left accent is decorated: clear of the cover stitch.

        A decoration that runs on goes a little past the seam lines, those of the boxed base too, so that its
        neighbour's meets it there; one that is kept whole ends at them, or the seams would take half of a motif.
        """
        off = PARTS["decoration_clearance"].value
        # an echo reads as a line of its own where there is twice the room beside it
        clear = self.edge.half_mm + off if self.echo is None else float(self.echo) + 2 * off
        past = self._past_seam_mm if self.decoration.runs_on else 0.0
        inner = shapely.difference(self._within(past), grown(shapely.LineString(self.free_edge), clear))
        parts = polygons_of(inner, smallest_mm2=1.0)
        return parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)

    @property
    def _past_seam_mm(self) -> float:
        return min(PARTS["decoration_past_seam"].value, self.seam_mm - 1.0)

    def _within(self, past: float) -> BaseGeometry:
        """The accent as far as *past* mm beyond the seam lines."""
        far = self.width_mm + self.height_mm
        inside = shapely.intersection(self.shape, shapely.box(-past, -past, far, far))
        if self.notch_mm:
            inside = shapely.difference(inside, shapely.box(-far, -far, self.notch_mm - past, self.notch_mm - past))
        return inside

    @property
    def echo_lines(self) -> tuple[FloatArray, ...]:
        """The line inside the free edge, from a little past one seam to the other, (n, 2) mm; none without an echo.

        Where the accent is too narrow for it, it is in several pieces.
        """
        if self.echo is None:
            return ()
        off = float(self.echo)
        ends = [[-self.seam_mm - 2 * off, self.height_mm]], [[self.width_mm, -self.seam_mm - 2 * off]]
        beside = grown(shapely.LineString(joined(ends[0], self.free_edge, ends[1])), off)
        lines = shapely.intersection(beside.boundary, self._within(self._past_seam_mm))
        return tuple(lines_of(lines, shortest_mm=DECORATION["shortest_piece"].value))

    def left(self) -> Design:
        """The left accent: placement line, tack-down, decoration with its echo, cover stitch on the free edge."""
        palette = self.palette
        echo = tuple(Line(path, Triple()) for path in self.echo_lines)
        outline = np.asarray(self.shape.exterior.coords)
        tack = closed(np.asarray(polygons_of(grown(self.shape, -PARTS["tack_inset"].value))[0].exterior.coords))
        stops = (
            Stop(Purpose.PLACE, palette.thread("mark"), (Line(outline, Running()),),
                 "Hoop the panel cloth with its backing, right side up, larger than the panel; the template's "
                 "crosshair goes on the panel corner."),
            Stop(Purpose.TACK, palette.thread("seam"), (Line(tack, Running()),),
                 "Lay the accent cloth right side up so that it covers the whole placement line."),
            *decorating_stops(self.decoration, self.decoration_area, palette, before=
                 "Take the hoop off without unhooping and trim the accent cloth close to the tack-down along the free "
                 "edge; put the hoop back."),
            Stop(Purpose.DECORATE, palette.thread("edge"), echo),
            Stop(Purpose.COVER, palette.thread("edge"), self.edge.cover(self.free_edge)),
        )  # fmt: skip
        return Design("corner-left", sewn_stops(stops))

    def right(self) -> Design:
        """The right accent: the left one's mirror image, with letters the right way round."""
        return opposite_design(self.left(), "corner-right", self.decoration, self.decoration_area)

    def design(self, side: Literal["left", "right"]) -> Design:
        """The accent of one side."""
        if side not in ("left", "right"):
            raise ParameterError("side", side, '"left" or "right"')
        return self.left() if side == "left" else self.right()

    def __repr__(self) -> str:
        profile = self.profile if isinstance(self.profile, str) else "own"
        return f"<CornerAccent {self.width_mm:g} x {self.height_mm:g} mm, {profile}>"
