"""The closure tab: two pieces sewn in two hoopings, seamed together, turned, and caught in the top edge.

Part frame: origin at the middle of the root line, tip towards -y. The front's frame is the front seen from
its right side; the back's is the back seen from *its* right side, so what lies at (x, y) on the back comes
to lie at (-x, y) on the front.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray, frozen_path
from stitchcraft.decoration import Decoration, Dots
from stitchcraft.defaults import BAG, PARTS, FabricProfile
from stitchcraft.design import Design, DoubleRun, Line, Purpose, Running, Stop
from stitchcraft.errors import Finding, ParameterError
from stitchcraft.geometry.curves import grown, mirrored, polygon_from, polygons_of
from stitchcraft.parts.decorating import decorating_stops
from stitchcraft.parts.fasteners import Danger, Fastener, Snap
from stitchcraft.parts.kinds import check_kind
from stitchcraft.parts.silhouette import Silhouette
from stitchcraft.parts.stops import sewn_stops
from stitchcraft.parts.tab_findings import fastener_findings, tick_findings, turning_findings
from stitchcraft.parts.threads import Palette
from stitchcraft.parts.tips import TIPS, TipMaker
from stitchcraft.ranges import RANGES, keep_ranged
from stitchcraft.units import Length, both_text, length_between, mm_text, number_between

TICK_SHARES: Final = (0.12, 0.70)
"""How far down its length a tab has its ticks, a pair at each: our own choice; unequal, so that no half is laid on
the wrong way up."""

_SEAM_LENGTH = FabricProfile(name="").seam_length


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClosureTab:
    """A closure tab. Lengths in (a number is mm), mm stored.

    Attributes:
        width: Finished width at the root.
        length: Finished length, root line to tip.
        tip: Name of a tip, or a line of your own: (n, 2) points from the left shoulder round to the right
            one, in any scale, or a function of width and depth, mm, that returns them; its width is scaled to the
            tab's.
        tip_depth: Shoulders to tip; None takes what suits the kind.
        tip_radius: Rounding of the tip's corners; None takes what suits the kind.
        waist: Width half way down its sides, where it is narrowest; None leaves the sides straight.
        slant: Degrees by which the tip leans; makes the tab asymmetric.
        snap: The magnetic snap that closes it.
        fastener: What closes it in the snap's stead; None for the snap.
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
    tip: str | FloatArray | TipMaker = "round"
    tip_depth: Length | None = None
    tip_radius: Length | None = None
    waist: Length | None = None
    slant: float = 0.0
    snap: Snap = Snap()
    fastener: Fastener | None = None
    decoration: Decoration = field(default_factory=Dots)
    batting: bool = False
    insertion: Length = 2 * BAG["allowance"].value
    seam_stitch: Length = _SEAM_LENGTH
    palette: Palette = Palette()

    def __post_init__(self) -> None:
        for key, kind in (("snap", Snap), ("decoration", Decoration), ("palette", Palette)):
            check_kind(getattr(self, key), kind, name=f"tab.{key}")
        if self.fastener is not None:
            check_kind(self.fastener, Fastener, name="tab.fastener")
        keep_ranged(self, "tab", "width", "length", "tip_depth", "tip_radius", "waist")
        for key, low, high in (("insertion", 2, 100), ("seam_stitch", 0.5, 5)):
            object.__setattr__(self, key, length_between(getattr(self, key), name=f"tab.{key}", low=low, high=high))
        least, most = RANGES["tab.slant"]
        number_between(self.slant, name="tab.slant", low=least, high=most)
        if isinstance(self.tip, str) and self.tip not in TIPS:
            raise ParameterError("tab.tip", self.tip, "one of " + ", ".join(TIPS))
        if not isinstance(self.tip, str) and not callable(self.tip):
            object.__setattr__(self, "tip", frozen_path(self.tip, name="tab.tip", at_least=3))
        if self.waist_mm > self.width_mm:
            raise ParameterError("tab.waist", self.waist, f"at most tab.width ({mm_text(self.width_mm)})")
        self._check_fastener()
        _ = self.outline  # refuses a tip that does not fit before anything is built on it

    def _check_fastener(self) -> None:
        key = self.fastened_by.key
        if self.inset_mm >= self.length_mm:
            raise ParameterError(f"{key}.inset", self.inset_mm, f"less than tab.length ({mm_text(self.length_mm)})")
        left, bottom, right, top = self.fastened_by.on_tab((0.0, -self.reach_mm)).bounds
        if right - left + 4 > self.width_mm:
            needs = f"at most tab.width less 4 mm ({mm_text(self.width_mm - 4)})"
            raise ParameterError(f"{key}.{self.fastened_by.across}", round(right - left, 3), needs)
        if bottom <= -self.length_mm or top >= self.insertion_mm:
            raise ParameterError(f"{key}.inset", self.inset_mm, "a place where the tab is long enough to hold it")

    # -- plain numbers, mm ------------------------------------------------------------------------------

    @property
    def fastened_by(self) -> Fastener:
        """What closes it."""
        return self.snap if self.fastener is None else self.fastener

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
        """Tip to where it closes: how far its point hangs beyond the fastener's middle."""
        inset = self.fastened_by.inset
        return self.fastened_by.usual_inset_mm if inset is None else float(inset)

    @property
    def reach_mm(self) -> float:
        """Root line to where it closes."""
        return self.length_mm - self.inset_mm

    @property
    def snap_centre(self) -> tuple[float, float]:
        """Where it closes, in the frame of either half, mm: a snap's centre, or where a button rests."""
        return (0.0, -self.reach_mm)

    # -- shape ------------------------------------------------------------------------------------------

    @property
    def silhouette(self) -> Silhouette:
        """Its shape alone, without what is sewn on it."""
        depth, radius = (None if value is None else float(value) for value in (self.tip_depth, self.tip_radius))
        return Silhouette(
            width=self.width_mm, length=self.length_mm, insertion=self.insertion_mm, waist=self.waist_mm,
            tip=self.tip, tip_depth=depth, tip_radius=radius, slant=self.slant,
        )  # fmt: skip

    @property
    def outline(self) -> FloatArray:
        """The front's seam line: from the left end of the mouth round the tip to the right end, (n, 2) mm.

        The mouth, between its two ends, stays open.
        """
        return self.silhouette.outline

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
        for share in TICK_SHARES:
            y = -share * self.length_mm
            band = shapely.box(left - 1, y - 3, right + 1, y + 3)
            near = shapely.intersection(cut, band).bounds
            for edge, sign in ((near[0], -1.0), (near[2], 1.0)):
                start = edge + sign * gap
                ticks.append(np.array([[start, y], [start + sign * length, y]]))
        return tuple(ticks)

    @property
    def decoration_area(self) -> shapely.Polygon | shapely.MultiPolygon:
        """Where the front is decorated: inside the seam, below the root line, clear of what goes through the front."""
        inner = grown(self.shape, -PARTS["decoration_seam_clearance"].value)
        left, bottom, right, _ = self.shape.bounds
        area = shapely.intersection(inner, shapely.box(left, bottom, right, 0.0))
        taken = self.fastened_by.front_keepout(self.snap_centre)
        parts = polygons_of(area if taken is None else shapely.difference(area, taken), smallest_mm2=1.0)
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
            Stop(Purpose.SNAP, palette.thread("mark"), self.fastened_by.front_marks(self.snap_centre)),
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
            sewn_stops((
                Stop(Purpose.OUTLINE, palette.thread("seam"), (outline,),
                     "Hoop the tab's back cloth with its stabilizer, right side up."),
                Stop(Purpose.TICKS, palette.thread("mark"), _ticks([mirrored(tick) for tick in self.ticks])),
                Stop(Purpose.SNAP, palette.thread("mark"), self.fastened_by.back_marks(self.snap_centre)),
            )),
        )  # fmt: skip

    def finished(self) -> Design | None:
        """What is sewn through the finished tab, such as a buttonhole, in a hooping of its own; None for nothing.

        Its frame is the front's. The outline on bare stabilizer says where the tab is laid.
        """
        through = self.fastened_by.through_tab(self.snap_centre)
        if not through:
            return None
        ring = Line(np.asarray(self.shape.exterior.coords), Running())
        return Design(
            f"tab-{self.fastened_by.word}",
            (
                Stop(Purpose.PLACE, self.palette.thread("mark"), (ring,), "Hoop tear-away stabilizer alone, taut."),
                Stop(Purpose.SNAP, self.palette.thread("edge"), through,
                     "Wind the bobbin with the same thread: the back shows too. Lay the finished tab on its stitched "
                     "outline, decorated side up, and tape it down all round, "
                     "clear of where the needle goes.", ordered=True),
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
        """What the maker does with each part once its last stop is sewn, by design name."""
        allowance, fastener = both_text(BAG["allowance"].value), self.fastened_by
        after = {
            "tab-front": "Take everything out of the hoop, tear away what shows of the stabilizer, trim to a "
            f"{allowance} allowance (the ticks go with the trimmings), clip the curves and turn through the mouth. "
            f"{fastener.tab_setting.text}",
            "tab-back": "Take the cloth out and cut the piece loosely, beyond its ticks. Tear the stabilizer away "
            "outside the outline, so that the ticks show on the wrong side too. "
            f"{fastener.back_setting.text} Keep the ticks: the front's hooping needs them.".lstrip(),
        }
        return after | {f"tab-{fastener.word}": fastener.through_setting.text}

    @property
    def dangers(self) -> dict[str, tuple[Danger, ...]]:
        """What can hurt at each part, by design name."""
        fastener = self.fastened_by
        return {
            "tab-front": fastener.tab_setting.dangers,
            "tab-back": fastener.back_setting.dangers,
            f"tab-{fastener.word}": fastener.through_setting.dangers,
        }

    def findings(self) -> tuple[Finding, ...]:
        """What the tab's own geometry says: a fastener too near the seam, curves and a mouth too tight to turn."""
        return (
            *fastener_findings(self.silhouette, self.fastened_by, self.snap_centre, self.inset_mm),
            *turning_findings(self.silhouette, self.fastened_by, batting=self.batting),
            *tick_findings(self.ticks, self.length_mm),
        )

    def __repr__(self) -> str:
        tip = self.tip if isinstance(self.tip, str) else "own"
        return f"<ClosureTab {self.width_mm:g} x {self.length_mm:g} mm, {tip} tip>"


def _ticks(ticks: tuple[FloatArray, ...] | list[FloatArray]) -> tuple[Line, ...]:
    return tuple(Line(tick, Running(length=2.0)) for tick in ticks)
