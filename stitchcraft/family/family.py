"""One style applied to a bag: all its parts, matched to each other and in place."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import Any, Final

import shapely

from stitchcraft.bag import Bag, Closure, CutPiece, cut_list, solve_closure
from stitchcraft.defaults import BAG
from stitchcraft.errors import Findings, ParameterError
from stitchcraft.family.findings import (
    binding_findings,
    closure_findings,
    connector_findings,
    corner_findings,
    missing_findings,
    needed,
    overlap_findings,
    tab_findings,
)
from stitchcraft.family.making import (
    connector_parts,
    corner_parts,
    covered,
    label_parts,
    moved,
    shaping_parts,
    snap_mark_parts,
    tab_parts,
)
from stitchcraft.family.part import Part, Style
from stitchcraft.family.reading import family_options
from stitchcraft.family.room import (
    connector_height,
    connector_width,
    corner_size,
    label_stitch,
    label_width,
    medallion_width,
    tab_width,
    usual_inset,
)
from stitchcraft.family.variants import family_variants
from stitchcraft.geometry.curves import grown
from stitchcraft.parts import (
    ClosureTab,
    CornerAccent,
    Fastener,
    Label,
    Palette,
    Snap,
    SnapMark,
    StrapConnector,
)
from stitchcraft.spec import Spec, read_spec, words
from stitchcraft.units import MM_PER, Unit, lengths_said_in

PART_KINDS: Final = words.PARTS
"""What a kit can be limited to; ``snap-mark`` comes where no connector carries the target: with connectors that are a
pair, or, on a bag without straps, when it is asked for and connectors are not."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Family:
    """A style applied to a bag.

    Attributes:
        bag: The bag.
        style: What the parts have in common.
        tab: Options of `ClosureTab` that differ from what the bag and the style give.
        corner: Options of `CornerAccent`, likewise.
        connector: Options of `StrapConnector`, likewise.
        label: Options of `Label`; no text, no label.
        drop: Top edge to the snap's target, mm; None has it solved.
        parts: Kinds of part to make; None makes all that suit the bag.
        name: A title for people.
        units: The unit that papers, pictures and findings say first: ``"mm"``, ``"cm"`` or ``"in"``.

    Raises:
        ParameterError: If a kind of part, an option or the unit is unknown, or if a connector is to hold the straps of
            a bag that has none.
    """

    bag: Bag
    style: Style = field(default_factory=Style)
    tab: Mapping[str, Any] = field(default_factory=dict)
    corner: Mapping[str, Any] = field(default_factory=dict)
    connector: Mapping[str, Any] = field(default_factory=dict)
    label: Mapping[str, Any] = field(default_factory=dict)
    drop: float | str | None = None
    parts: tuple[str, ...] | None = None
    name: str = "Bag"
    units: Unit = "mm"

    def __post_init__(self) -> None:
        if not isinstance(self.bag, Bag):
            raise ParameterError("bag", self.bag, "a Bag")
        if self.units not in MM_PER:
            raise ParameterError("units", self.units, "one of " + ", ".join(MM_PER))
        for kind in self.parts or ():
            if kind not in PART_KINDS:
                raise ParameterError("parts", kind, "one of " + ", ".join(PART_KINDS))
        for table, part in (
            ("tab", ClosureTab), ("corner", CornerAccent), ("connector", StrapConnector), ("label", Label),
        ):  # fmt: skip
            allowed = [option.name for option in fields(part)]
            for key in getattr(self, table):
                if key not in allowed:
                    raise ParameterError(f"{table} option", key, "one of " + ", ".join(allowed))
        if not self.bag.has_straps and self._layout in ("bridge", "pair"):
            needs = '"medallion", as bag.straps is "none": there are no strap ends to hold'
            raise ParameterError("connector.layout", self._layout, needs)

    @classmethod
    def from_spec(cls, source: str | Path | Spec) -> Family:
        """Read a family from a spec file, or make it of a spec already read.

        Raises:
            SpecError: If the file cannot be used.
            ParameterError: If its values contradict each other.
            ArtworkError: If a drawing that it names cannot be used.
        """
        spec = source if isinstance(source, Spec) else read_spec(Path(source))
        return cls(**family_options(spec))

    @property
    def closure(self) -> Closure:
        """The closure, solved."""
        fastener = self.fastener
        return solve_closure(
            self.bag, length=self.tab.get("length"), inset=fastener.inset, drop=self.drop,
            inset_key=f"{fastener.key}.inset", usual_inset=usual_inset(self.bag, self.tab, fastener),
        )  # fmt: skip

    @property
    def fastener(self) -> Fastener:
        """What closes the tab, its inset as the maker gave it: her own, or the usual snap that the tab holds."""
        width = float(self.tab["width"]) if "width" in self.tab else tab_width(self.bag)
        own = self.tab.get("fastener")
        chosen: Fastener = self.tab.get("snap", Snap.suited(width)) if own is None else own
        return chosen

    @property
    def closure_tab(self) -> ClosureTab:
        """The tab, its length and inset solved."""
        closure = self.closure
        # a snap may be given under either name, and is kept under its own
        options = {key: value for key, value in self.tab.items() if key not in ("snap", "fastener")}
        if "width" not in options:
            options["width"] = tab_width(self.bag)
        options["length"] = closure.length_mm
        options |= self._fastened(inset=closure.inset_mm)
        shared = {
            "decoration": self.style.decoration,
            "palette": self.style.palette,
            "insertion": self.bag.insertion_mm,
            "seam_stitch": self.style.fabric.seam_length,
        }
        return ClosureTab(**{**shared, **options})

    def _fastened(self, **changes: float) -> dict[str, Fastener]:
        """The fastener as an option of a part, under the name that its kind has."""
        fastener: Any = self.fastener
        return {"snap" if isinstance(fastener, Snap) else "fastener": replace(fastener, **changes)}

    @property
    def corner_accent(self) -> CornerAccent:
        """The corner accent of this bag.

        Raises:
            ParameterError: If it cannot be made, or the bag has no room for one.
        """
        shared = {
            "profile": self.style.profile,
            "depth": self.bag.depth_mm,
            "seam": self.bag.seam_mm,
            "decoration": self.style.decoration,
            "edge": self.style.edge,
            "palette": self.style.palette,
        }
        if not {"width", "height"} <= self.corner.keys():
            size = self._corner_size()
            if size is None:  # as wide as it is high, then
                size = self.corner.get("width", self.corner.get("height"))
            if size is None:
                kind = f"a {self.style.profile}" if isinstance(self.style.profile, str) else "this"
                raise ParameterError(
                    "corner", "left to the bag", f"given its width and height, or left out (parts): {kind} accent of "
                    "a usual size has no room beside the boxed base and the connector",
                )  # fmt: skip
            shared |= {"width": size, "height": size}
        return CornerAccent(**{**shared, **self.corner})

    def _corner_size(self) -> float | None:
        edge = self.corner.get("edge", self.style.edge)
        return corner_size(self.bag, self.corner.get("profile", self.style.profile), edge, self._taken())

    def _taken(self) -> shapely.Geometry | None:
        """What the connectors cover of the panel, their cover stitches included; None without connectors."""
        if self.parts is not None and "connector" not in self.parts:
            return None
        connector = self.strap_connector
        shape = grown(connector.shape, connector.edge.half_mm)
        # of a pair the left one: the accent that is asked about is the left one too
        across = -self.bag.strap_spacing_mm / 2 if connector.layout == "pair" else 0.0
        return moved(shape, (across, -self.closure.drop_mm))

    @property
    def _asked(self) -> tuple[str, ...]:
        return PART_KINDS if self.parts is None else self.parts

    @property
    def kinds(self) -> tuple[str, ...]:
        """Kinds of part that are made: those asked for, or else all that the bag has room for."""
        if self.parts is not None:
            return tuple(kind for kind in PART_KINDS if kind in self.parts)
        fits = "width" in self.corner or "height" in self.corner or self._corner_size() is not None
        return tuple(kind for kind in PART_KINDS if kind != "corner" or fits)

    @property
    def _layout(self) -> Any:
        """The connectors' layout: the maker's own, or what suits a bag with straps or without."""
        return self.connector.get("layout", "bridge" if self.bag.has_straps else "medallion")

    @property
    def strap_connector(self) -> StrapConnector:
        """The strap connector of this bag; the medallion of a bag without straps."""
        edge, layout = self.connector.get("edge", self.style.edge), self._layout
        fastener = None if layout == "pair" else self.fastener
        shared: dict[str, Any] = {
            "layout": layout,
            "height": connector_height(self.bag, self.closure.drop_mm, edge, fastener),
            "decoration": self.style.decoration,
            "edge": edge,
            "palette": self.style.palette,
            **self._fastened(),
        }
        if self.bag.has_straps:
            shared |= {"spacing": self.bag.strap_spacing_mm, "strap_width": self.bag.strap_width_mm}
        if layout == "medallion":
            shared |= {"outline": "oval", "width": max(shared["height"], medallion_width(self.fastener, edge))}
        elif self.connector.get("ends", "both") == "both":
            shared["width"] = connector_width(self.bag, edge, bridge=layout == "bridge")
        return StrapConnector(**{**shared, **self.connector})

    def made(self) -> tuple[Part, ...]:
        """Make all parts.

        Returns:
            The parts in the order of the work: first what is sewn loose, the tab's back before its front; then
            what is sewn on the panels, from the top edge down, so that the corners come last and the panels can
            be cut to size after them.

        Raises:
            ParameterError: If a part cannot be made at all.
        """
        makers: dict[str, Callable[[], tuple[Part, ...]]] = {
            "tab": lambda: tab_parts(self.closure_tab),
            "corner": lambda: corner_parts(self.corner_accent, self.bag),
            "connector": lambda: connector_parts(self.strap_connector, self.bag, drop_mm=self.closure.drop_mm),
            "label": lambda: label_parts(self._label()),
            "shaping-marks": lambda: shaping_parts(self.bag, self.style.palette),
            "snap-mark": self._snap_mark_parts,
        }
        with lengths_said_in(self.units):
            made = tuple(part for kind in self.kinds for part in makers[kind]())
        if not made:
            lack = "; ".join(needed(kind, self.bag) for kind in self.kinds)
            raise ParameterError("parts", list(self.kinds), f"a list of which at least one can be made: {lack}")
        loose = [part for part in made if not part.placements]
        placed = [part for part in made if part.placements]
        placed.sort(key=lambda part: -max(place.at_mm[1] for place in part.placements))
        return (*loose, *placed)

    def _made_kinds(self) -> tuple[str, ...]:
        """Kinds of which there is at least one part."""
        lacking = {
            "label": not self.label.get("text"),
            "shaping-marks": self.bag.shaping is None,
            "snap-mark": not self._marks_target,
        }
        return tuple(kind for kind in self.kinds if not lacking.get(kind, False))

    @property
    def _marks_target(self) -> bool:
        """Whether a mark of its own carries the target: no connector does."""
        asked = self.parts is not None and "snap-mark" in self.parts and "connector" not in self.parts
        return bool(self._layout == "pair") or (asked and not self.bag.has_straps)

    def covered(self) -> tuple[tuple[str, shapely.Polygon], ...]:
        """What the left half and the middle of the front panel carry: part name and shape, panel frame."""
        corner = self.corner_accent if "corner" in self.kinds else None
        connector = self.strap_connector if "connector" in self.kinds else None
        return covered(self.bag, corner, connector, drop_mm=self.closure.drop_mm)

    def _label(self) -> Label | None:
        if not self.label.get("text"):
            return None
        own = {"palette": self.style.palette, "stitch": label_stitch(self.style.fabric, self.label), **self.label}
        if own.get("width") is None and own.get("height") is None:
            own["width"] = label_width(self.bag, own)
        return Label(**own)

    def _snap_mark_parts(self) -> tuple[Part, ...]:
        if not self._marks_target:
            return ()
        mark = SnapMark(**self._fastened(), palette=self.style.palette)  # type: ignore[arg-type]
        return snap_mark_parts(mark, self.fastener, drop_mm=self.closure.drop_mm)

    # -- cut list and findings --------------------------------------------------------------------------

    def variants(
        self, *, sizes: Mapping[str, float | Bag] | None = None, palettes: Mapping[str, Palette] | None = None
    ) -> tuple[Family, ...]:
        """The family in other sizes and other threads.

        What grows with the bag and what stays is told in `stitchcraft.family.variants`: in short, silhouettes and
        places grow; motifs, lines, threads, allowances and the fastener stay.

        Args:
            sizes: For each name how many times larger, 0.25 to 4, or another bag; None keeps the bag.
            palettes: For each name the style's palette; None keeps it.

        Returns:
            Every size in every palette, sizes first, each named after the family and both.

        Raises:
            ParameterError: If a size cannot be used, or there is none.

        Example:
            >>> family = Family(bag=Bag(width=300, height=260), name="Reed")
            >>> [one.name for one in family.variants(sizes={"small": 1, "large": 1.4})]
            ['Reed, small', 'Reed, large']
        """
        return family_variants(self, sizes=sizes, palettes=palettes)

    def cut_list(self, parts: Sequence[Part] | None = None) -> tuple[CutPiece, ...]:
        """Everything to cut: the bag's own pieces, then the ornaments' (bounding sizes), mm.

        Args:
            parts: The parts, where they are made already; None makes them.
        """
        made = self.made() if parts is None else parts
        with lengths_said_in(self.units):
            pieces = [*cut_list(self.bag), *self.backings([part.name for part in made])]
        for part in made:
            count = max(1, len(part.placements))
            for name, material, shape in part.cloth:
                left, bottom, right, top = shape.bounds
                pieces.append(CutPiece(name, material, count, right - left, top - bottom, f"for {part.name}"))
        return tuple(pieces)

    def backings(self, parts: Sequence[str]) -> tuple[CutPiece, ...]:
        """Squares of stiffener behind the fastener's halves.

        Args:
            parts: Names of the parts that are made: with the tab comes its half, with the target the bag's.
        """
        halves = {"in the tab": "tab-back" in parts, "in the front": {"connector-front", "snap-mark"} & {*parts}}
        most = self.closure_tab.width_mm - 2 * BAG["allowance"].value - 2 if "tab-back" in parts else 0.0
        pieces = []
        for note, side in self.fastener.backings_mm:
            wanted = next((bool(made) for where, made in halves.items() if note.endswith(where)), True)
            side = round(min(side, most), 1) if note.endswith("in the tab") else side
            if wanted and side > 0:
                pieces.append(CutPiece(f"{self.fastener.spot} backing", "stiffener", 1, side, side, note))
        return tuple(pieces)

    def findings(self) -> Findings:
        """What the bag's and the parts' own geometry says, before anything is stitched."""
        with lengths_said_in(self.units):
            return self._found()

    def _found(self) -> Findings:
        wanted = self.kinds
        found = [
            *binding_findings(self.bag),
            *missing_findings(self.bag, self._asked, self._made_kinds(), asked=self.parts is not None),
        ]
        if "tab" in wanted:
            found += tab_findings(self.bag, self.closure, self.closure_tab)
            found += closure_findings(self.bag, self.closure, self.fastener)
        if "connector" in wanted:
            found += connector_findings(self.bag, self.closure, self.strap_connector)
        if "corner" in wanted:
            found += corner_findings(self.bag, self.corner_accent)
        label = self._label()
        if label is not None and "label" in wanted:
            found += label.findings()
        found += overlap_findings(self.bag, self.covered())
        return Findings(found)

    def __repr__(self) -> str:
        return f"<Family {self.name!r} for {self.bag!r}>"
