"""The closure tab: two pieces sewn in two hoopings, seamed together, turned, and caught in the top edge.

Part frame: origin at the middle of the root line, tip towards -y. The front's frame is the front seen from
its right side; the back's is the back seen from *its* right side, so what lies at (x, y) on the back comes
to lie at (-x, y) on the front.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import shapely

from stitchcraft.decoration import Decoration, Dots
from stitchcraft.defaults import BAG, PARTS, FabricProfile
from stitchcraft.design import Design, DoubleRun, FloatArray, Line, Purpose, Running, Stop, frozen_path
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.geometry.curves import grown, joined, mirrored, polygon_from, polygons_of
from stitchcraft.parts.decorating import decorating_stops
from stitchcraft.parts.fasteners import Snap
from stitchcraft.parts.kinds import check_kind
from stitchcraft.parts.stops import sewn_stops
from stitchcraft.parts.threads import Palette
from stitchcraft.parts.tips import TIPS
from stitchcraft.units import Length, both_text, length_between, mm_text, number_between

_SEAM_LENGTH = FabricProfile(name="").seam_length


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClosureTab:
    """A closure tab. Lengths in (a number is mm), mm stored.

    Attributes:
        width: Finished width at the root.
        length: Finished length, root line to tip.
        tip: Name of a tip, or a line of your own: (n, 2) points from the left shoulder round to the right
            one, in any scale; its width is scaled to the tab's.
        tip_depth: Shoulders to tip; None takes what suits the kind.
        tip_radius: Rounding of the tip's corners; None takes what suits the kind.
        waist: Width half way down its sides, where it is narrowest; None leaves the sides straight.
        slant: Degrees by which the tip leans; makes the tab asymmetric.
        snap: The snap on its back.
        decoration: What fills its front.
        batting: Whether batting is caught inside.
        insertion: What the tab carries beyond the root line.
        seam_stitch: Stitch length of the seam.
        palette: Threads.

    Raises:
        ParameterError: If a value is out of range or two contradict each other.
    """

    width: Length = PARTS["tab_width"].value
    length: Length = "5 1/4 in"
    tip: str | FloatArray = "round"
    tip_depth: Length | None = None
    tip_radius: Length | None = None
    waist: Length | None = None
    slant: float = 0.0
    snap: Snap = Snap()
    decoration: Decoration = field(default_factory=Dots)
    batting: bool = False
    insertion: Length = 2 * BAG["allowance"].value
    seam_stitch: Length = _SEAM_LENGTH
    palette: Palette = Palette()

    def __post_init__(self) -> None:
        for key, kind in (("snap", Snap), ("decoration", Decoration), ("palette", Palette)):
            check_kind(getattr(self, key), kind, name=f"tab.{key}")
        for key, low, high in (
            ("width", 15, 500), ("length", 15, 1000), ("insertion", 2, 100), ("seam_stitch", 0.5, 5),
        ):  # fmt: skip
            object.__setattr__(self, key, length_between(getattr(self, key), name=f"tab.{key}", low=low, high=high))
        for key, low, high in (("tip_depth", 1, 500), ("tip_radius", 0, 100), ("waist", 5, 500)):
            if getattr(self, key) is not None:
                object.__setattr__(self, key, length_between(getattr(self, key), name=f"tab.{key}", low=low, high=high))
        number_between(self.slant, name="tab.slant", low=-40, high=40)
        if isinstance(self.tip, str) and self.tip not in TIPS:
            raise ParameterError("tab.tip", self.tip, "one of " + ", ".join(TIPS))
        if not isinstance(self.tip, str):
            object.__setattr__(self, "tip", frozen_path(self.tip, name="tab.tip", at_least=3))
        if self.waist_mm > self.width_mm:
            raise ParameterError("tab.waist", self.waist, f"at most tab.width ({mm_text(self.width_mm)})")
        if self.inset_mm >= self.length_mm:
            raise ParameterError("tab.snap.inset", self.inset_mm, f"less than tab.length ({mm_text(self.length_mm)})")
        if self.snap.diameter_mm + 4 > self.width_mm:
            raise ParameterError(
                "tab.snap.diameter",
                self.snap.diameter_mm,
                f"at most tab.width less 4 mm ({mm_text(self.width_mm - 4)})",
            )
        _ = self.outline  # refuses a tip that does not fit before anything is built on it

    # -- plain numbers, mm ------------------------------------------------------------------------------

    @property
    def width_mm(self) -> float:
        """Finished width at the root."""
        return float(self.width)

    @property
    def length_mm(self) -> float:
        """Root line to tip."""
        return float(self.length)

    @property
    def waist_mm(self) -> float:
        """Width half way down its sides."""
        return self.width_mm if self.waist is None else float(self.waist)

    @property
    def insertion_mm(self) -> float:
        """What it carries beyond the root line."""
        return float(self.insertion)

    @property
    def inset_mm(self) -> float:
        """Tip to snap centre."""
        return PARTS["snap_inset"].value if self.snap.inset is None else float(self.snap.inset)

    @property
    def reach_mm(self) -> float:
        """Root line to snap centre."""
        return self.length_mm - self.inset_mm

    @property
    def snap_centre(self) -> tuple[float, float]:
        """The snap's centre in the frame of either half, mm."""
        return (0.0, -self.reach_mm)

    # -- shape ------------------------------------------------------------------------------------------

    @property
    def outline(self) -> FloatArray:
        """The front's seam line: from the left end of the mouth round the tip to the right end, (n, 2) mm.

        The mouth, between its two ends, stays open.
        """
        top = self.insertion_mm
        body = self._body()
        boundary = np.asarray(shapely.orient_polygons(body).exterior.coords)[:-1]
        above = boundary[:, 1] > top + 1e-9
        first_below = next(i for i in range(len(boundary)) if above[i - 1] and not above[i] and boundary[i, 0] < 0)
        path = np.roll(boundary, -first_below, axis=0)
        path = path[: int(np.argmax(path[:, 1] > top + 1e-9))]
        half = self.width_mm / 2
        return joined([[-half, top]], path[path[:, 1] < top - 1e-9], [[half, top]])

    def _body(self) -> shapely.Polygon:
        """The finished shape, carried well past the mouth so that rounding the tip's corners leaves the mouth be."""
        tip, radius = self._tip_line()
        high = self.insertion_mm + 3 * radius + 10.0
        lowest = 0.0
        for _ in range(20):  # rounding a corner lifts it: let the shoulders down by what is missing
            shoulders = -self.length_mm - tip[:, 1].min() - lowest
            body = self._rounded(tip + np.array([0.0, shoulders]), radius, high)
            missing = float(body.bounds[1]) + self.length_mm
            if abs(missing) < 1e-6:
                break
            lowest += missing
        return body

    def _tip_line(self) -> tuple[FloatArray, float]:
        if isinstance(self.tip, str):
            kind = TIPS[self.tip]
            depth = kind.depth_share * self.width_mm if self.tip_depth is None else float(self.tip_depth)
            line = kind.make(self.width_mm, depth)
            radius = kind.corner_mm if self.tip_radius is None else float(self.tip_radius)
        else:
            own = np.asarray(self.tip)
            line = (own - (own[0] + own[-1]) / 2) * (self.width_mm / (own[-1, 0] - own[0, 0] or math.inf))
            if self.tip_depth is not None:
                line = line * [1.0, float(self.tip_depth) / max(1e-9, -line[:, 1].min())]
            radius = 1.5 if self.tip_radius is None else float(self.tip_radius)
        lean = math.tan(math.radians(self.slant))
        return line + np.column_stack([np.zeros(len(line)), line[:, 0] * lean]), radius

    def _rounded(self, tip: FloatArray, radius: float, high: float) -> shapely.Polygon:
        if max(tip[0, 1], tip[-1, 1]) > 0:
            depth = -tip[:, 1].min() + max(tip[0, 1], tip[-1, 1])
            raise ParameterError("tab.length", self.length_mm, f"at least the tip's own depth ({mm_text(depth)})")
        left, right = self._side(tip[0], -1.0), self._side(tip[-1], 1.0)[::-1]
        half = self.width_mm / 2
        shape = shapely.Polygon(joined([[-half, high]], left, tip, right, [[half, high]]))
        if not shape.is_valid:
            raise ParameterError("tab.tip", "a line that crosses itself", "a simple line from shoulder to shoulder")
        # inner corners first, then outer ones; both keep straight sides where they are
        parts = polygons_of(grown(grown(grown(shape, radius), -2 * radius), radius)) if radius > 0 else [shape]
        if len(parts) != 1:
            raise ParameterError("tab.tip_radius", radius, "small enough to leave the tab in one piece")
        return parts[0]

    def _side(self, shoulder: FloatArray, sign: float) -> FloatArray:
        """One side from the root line down to the shoulder, drawn in at its middle by the waist."""
        y = np.linspace(0.0, float(shoulder[1]), 49 if self.waist_mm < self.width_mm else 2)
        share = np.sin(np.pi * np.linspace(0.0, 1.0, len(y))) ** 2
        return np.column_stack([sign * (self.width_mm - (self.width_mm - self.waist_mm) * share) / 2, y])

    @property
    def shape(self) -> shapely.Polygon:
        """The finished shape with its insertion allowance, as seen on the front."""
        return polygon_from(self.outline, name="tab.tip")

    @property
    def cut_shape(self) -> shapely.Polygon:
        """What is left after trimming: the shape with its seam allowance, as seen on the front."""
        return polygons_of(grown(self.shape, BAG["allowance"].value))[0]

    @property
    def ticks(self) -> tuple[FloatArray, ...]:
        """Four alignment ticks on the front, wholly outside the trimmed allowance, each (2, 2) mm from inside out."""
        cut = self.cut_shape
        gap, length = PARTS["tick_gap"].value, PARTS["tick_length"].value
        left, _, right, _ = cut.bounds
        ticks = []
        for share in (0.12, 0.70):
            y = -share * self.length_mm
            band = shapely.box(left - 1, y - 3, right + 1, y + 3)
            near = shapely.intersection(cut, band).bounds
            for edge, sign in ((near[0], -1.0), (near[2], 1.0)):
                start = edge + sign * gap
                ticks.append(np.array([[start, y], [start + sign * length, y]]))
        return tuple(ticks)

    @property
    def decoration_area(self) -> shapely.Polygon | shapely.MultiPolygon:
        """Where the front is decorated: inside the seam by the clearance, below the root line."""
        inner = grown(self.shape, -PARTS["decoration_seam_clearance"].value)
        left, bottom, right, _ = self.shape.bounds
        parts = polygons_of(shapely.intersection(inner, shapely.box(left, bottom, right, 0.0)))
        return parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)

    # -- designs ----------------------------------------------------------------------------------------

    def front(self) -> Design:
        """The front's hooping: (batting), decoration, ticks, then the back laid on and the seam."""
        palette = self.palette
        stops = [
            *self._batting_stops(),
            *decorating_stops(self.decoration, self.decoration_area, palette, before=
                 "Take the hoop off without unhooping and trim the batting close outside the stitching; put the hoop "
                 "back, lay the tab's front cloth over all, right side up, and tape it flat at its edges."
                 if self.batting
                 else "Hoop the tab's front cloth with its stabilizer, right side up."),
            Stop(Purpose.TICKS, palette.thread("mark"), _ticks(self.ticks)),
            Stop(
                Purpose.SEAM, palette.thread("seam"), (Line(self.outline, DoubleRun(length=float(self.seam_stitch))),),
                "Cut off any thread that crosses the tab. Lay the finished tab back right side down: its four ticks "
                "show on its wrong side in bobbin thread; bring each onto the stitched one below it, and tape the "
                "piece flat outside the ticks.",
            ),
        ]  # fmt: skip
        # batting is laid in first; the cloth that a basting box holds down comes with the decoration
        return Design("tab-front", sewn_stops(stops), basted_at=len(self._batting_stops()))

    def back(self) -> Design:
        """The back's hooping: outline, mirrored ticks, and the snap's target with its slits."""
        palette = self.palette
        outline = Line(mirrored(self.outline), Running(length=float(self.seam_stitch), tolerance=DoubleRun().tolerance))
        return Design(
            "tab-back",
            (
                Stop(Purpose.OUTLINE, palette.thread("seam"), (outline,),
                     "Hoop the tab's back cloth with its stabilizer, right side up."),
                Stop(Purpose.TICKS, palette.thread("mark"), _ticks([mirrored(tick) for tick in self.ticks])),
                Stop(Purpose.SNAP, palette.thread("mark"), self.snap.target(self.snap_centre)),
            ),
        )  # fmt: skip

    def _batting_stops(self) -> tuple[Stop, ...]:
        if not self.batting:
            return ()
        inset = PARTS["batting_inset"].value
        left, bottom, right, _ = self.shape.bounds
        below = shapely.intersection(self.shape, shapely.box(left, bottom, right, 0.0))
        place, tack = (polygons_of(grown(below, -(inset + more))) for more in (0.0, 1.5))
        if len(place) != 1 or len(tack) != 1:
            least = 2 * (inset + 1.5)
            raise ParameterError("tab.batting", True, f"false, or the tab everywhere wider than {mm_text(least)}")
        return (
            Stop(Purpose.PLACE, self.palette.thread("mark"), (Line(np.asarray(place[0].exterior.coords)),),
                 "Hoop the stabilizer alone: batting and cloth are laid on it."),
            Stop(Purpose.TACK, self.palette.thread("seam"), (Line(np.asarray(tack[0].exterior.coords)),),
                 "Lay the batting over the whole placement line."),
        )  # fmt: skip

    @property
    def after(self) -> dict[str, str]:
        """What the maker does with each half once its last stop is sewn, by design name."""
        allowance = both_text(BAG["allowance"].value)
        return {
            "tab-front": "Take everything out of the hoop, tear away what shows of the stabilizer, trim to a "
            f"{allowance} allowance (the ticks go with the trimmings), clip the curves and turn through the mouth. "
            "Press beside the snap, never on it: heat weakens the magnet.",
            "tab-back": "Take the cloth out and cut the piece loosely, beyond its ticks. Tear the stabilizer away "
            "outside the outline, so that the ticks show on the wrong side too. Cut the two slits, push the prongs "
            "of the thin half through from the right side and close them over a backing plate and a scrap of "
            "stiffener. Keep the ticks: the front's hooping needs them.",
        }

    def findings(self) -> tuple[Finding, ...]:
        """What the tab's own geometry says: a snap too near the seam."""
        room = float(shapely.LineString(self.outline).distance(shapely.Point(self.snap_centre)))
        needed = self.snap.keepout_mm
        if room >= needed:
            return ()
        return (
            Finding(
                Level.WARNING,
                "snap-near-seam",
                "tab-front",
                f"The snap's centre is {both_text(room)} from the seam; the needle would come too near the metal.",
                f"Set tab.snap.inset to at least {both_text(self.inset_mm + needed - room)}, widen the tab, "
                "or take a smaller snap.",
                round(room, 3),
                needed,
            ),
        )

    def __repr__(self) -> str:
        tip = self.tip if isinstance(self.tip, str) else "own"
        return f"<ClosureTab {self.width_mm:g} x {self.length_mm:g} mm, {tip} tip>"


def _ticks(ticks: tuple[FloatArray, ...] | list[FloatArray]) -> tuple[Line, ...]:
    return tuple(Line(tick, Running(length=2.0)) for tick in ticks)
