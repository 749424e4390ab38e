"""The hoopings of a kit: single ones, shared ones with files of their own, and the proof of those files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from stitchcraft.family import Family, Placed
from stitchcraft.kit.cloth_groups import Copy, copies_of, reasons
from stitchcraft.kit.hooping import Hooped
from stitchcraft.kit.hooping_options import HoopingOptions
from stitchcraft.kit.proofs import kit_proofs
from stitchcraft.kit.sewn import SewnPart
from stitchcraft.kit.sharing import Arrangement, deal
from stitchcraft.kit.split_files import PieceFiles, SplitPart, split_part
from stitchcraft.kit.together import Member, Together, sewn_together
from stitchcraft.machine import FileProof, Hoop, Machine, MachineFile, Placement, Proof, decode, encode, prove
from stitchcraft.units import both_text


@dataclass(frozen=True, slots=True, eq=False)
class SharedFiles:
    """The machine files of a hooping that parts share.

    Attributes:
        together: Their stitches in one plan, in the field's frame.
        data: The bytes, by format.
        files: The files as read back, by format.
        proofs: Each file held against the whole plan, by format.
        members: For each part in it the same part as taken out of those files, its proofs those of its own plan.
    """

    together: Together
    data: dict[str, bytes]
    files: dict[str, MachineFile]
    proofs: dict[str, FileProof]
    members: tuple[SewnPart, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Hooping:
    """One loading of the frame, or several alike.

    Attributes:
        name: Name of its files: the part's own, or ``"shared-1"``.
        hoop: The field; None if no listed field takes the part.
        copies: The parts in it, for one loading.
        placements: Where each lies.
        times: How often it is loaded like this.
        panels: The panels that it is sewn on; empty for loose parts.
        gap_mm: The smallest distance between what two parts cover; None for a single part.
        panel_move: How a panel lies in a shared field; None for anything else.
        shared: Its files, where parts share it; a single part has its own.
        piece: Its files, where it holds one piece of a part that fits no field.
        places: Where on the bag a part goes that is sewn by itself, each place once; the rest of them may be sewn in
            shared hoopings.
    """

    name: str
    hoop: Hoop | None
    copies: tuple[Copy, ...]
    placements: tuple[Placement, ...]
    times: int
    panels: tuple[str, ...]
    gap_mm: float | None = None
    panel_move: Placement | None = None
    shared: SharedFiles | None = None
    piece: PieceFiles | None = None
    places: tuple[Placed, ...] = ()

    @property
    def data(self) -> dict[str, bytes]:
        """The bytes of its own machine files by format; none if the part's own are sewn."""
        own = self.shared if self.shared is not None else self.piece
        return {} if own is None else own.data

    def file_name(self, fmt: str) -> str:
        """Name of one of its machine files."""
        return f"{self.name}.{fmt}"


@dataclass(frozen=True, slots=True, eq=False)
class HoopingPlan:
    """All hoopings of a kit.

    Attributes:
        options: What was asked for.
        hoopings: In the order of the work.
        alone: How many loadings it takes if every part is sewn alone.
        fewest: How many with sharing; as many as there are where it was asked for.
        bound: How many it takes at least.
        square_bound: The same with loose parts square to the field; else as *bound*.
        reasons: Pairs of parts that never share, and why.
        proofs: What the kit promises, measured on shared files and on pieces.
        split: The parts that are sewn in several hoopings.
    """

    options: HoopingOptions
    hoopings: tuple[Hooping, ...]
    alone: int
    fewest: int
    bound: int
    square_bound: int
    reasons: tuple[tuple[str, str, str], ...] = ()
    proofs: tuple[Proof, ...] = ()
    split: tuple[SplitPart, ...] = ()

    @property
    def loadings(self) -> int:
        """How often the frame is loaded."""
        return sum(one.times for one in self.hoopings)

    @property
    def shared(self) -> tuple[Hooping, ...]:
        """The hoopings that parts share."""
        return tuple(one for one in self.hoopings if one.shared is not None)

    @property
    def proven(self) -> bool:
        """Whether it is proven that fewer do not do."""
        return self.fewest == self.bound


def plan_hoopings(
    family: Family, machine: Machine, sewn: Sequence[SewnPart], options: HoopingOptions, *, margin: float
) -> HoopingPlan:
    """Plan the hoopings of a kit, and make and prove the files of those that are shared.

    Args:
        family: What the kit is made from.
        machine: Fields and formats.
        sewn: The parts in the order of the work.
        options: What is asked for; without sharing each part keeps its own hooping, and only the number that would
            do is worked out.
        margin: Kept free inside the edge of a field, mm.
    """
    copies = copies_of(sewn, options.bags)
    fitting = [copy for copy in copies if copy.part.hooped.hoop is not None]
    split = _split_parts(sewn, machine, options, margin)
    pieces = {one.part.name: len(one.pieces) for one in split}
    too_large = sum(pieces.get(copy.part.name, 1) for copy in copies if copy.part.hooped.hoop is None)
    # what fits no field takes two at least
    least = sum(min(2, pieces.get(copy.part.name, 1)) for copy in copies if copy.part.hooped.hoop is None)
    dealt = deal(fitting, machine.hoops, options, margin=margin)
    at = {part.name: number for number, part in enumerate(sewn)}
    if options.share:
        hoopings = _alike_once(dealt.arrangements, machine)
        alone = [part for part in sewn if part.hooped.hoop is None]
    else:
        hoopings, alone = [], list(sewn)
    hoopings += [_single(part, copies) for part in alone if part.name not in pieces]
    hoopings += [_piece(one, files, copies) for one in split for files in one.pieces]
    hoopings.sort(key=lambda one: min(at[copy.part.name] for copy in one.copies))
    return HoopingPlan(
        options,
        tuple(hoopings),
        alone=len(fitting) + too_large,
        fewest=len(dealt.arrangements) + too_large,
        bound=dealt.bound + least,
        square_bound=dealt.square_bound + least,
        reasons=tuple(reasons(copies, machine.hoops, margin=margin)),
        proofs=_proofs(family, sewn, hoopings, split),
        split=split,
    )


def _split_parts(
    sewn: Sequence[SewnPart], machine: Machine, options: HoopingOptions, margin: float
) -> tuple[SplitPart, ...]:
    if not options.split:
        return ()
    made = [split_part(part, sewn, machine, margin=margin) for part in sewn if part.hooped.hoop is None]
    return tuple(one for one in made if one is not None)


def _piece(one: SplitPart, files: PieceFiles, copies: Sequence[Copy]) -> Hooping:
    own = tuple(copy for copy in copies if copy.part is one.part)
    piece = files.piece
    return Hooping(
        files.name, piece.hoop, own[:1], (piece.placement,), len(own), _panels(own), piece=files, places=_places(own)
    )


def _single(part: SewnPart, copies: Sequence[Copy]) -> Hooping:
    own = tuple(copy for copy in copies if copy.part is part)
    return Hooping(
        part.name, part.hooped.hoop, own[:1], (part.hooped.placement,), len(own), _panels(own), places=_places(own)
    )


def _panels(copies: Sequence[Copy]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(copy.place.panel for copy in copies if copy.place is not None))


def _places(copies: Sequence[Copy]) -> tuple[Placed, ...]:
    return tuple(dict.fromkeys(copy.place for copy in copies if copy.place is not None))


def _alike_once(arrangements: Sequence[Arrangement], machine: Machine) -> list[Hooping]:
    """Hoopings that hold the same in the same way are one, loaded several times."""
    kinds: dict[object, list[Arrangement]] = {}
    for one in arrangements:
        names = tuple(sorted(copy.part.name for copy in one.copies))
        places = () if one.panel_move is None else tuple(
            (copy.part.name, copy.place.at_mm) for copy in one.copies if copy.place is not None
        )  # fmt: skip
        kinds.setdefault((names, places, one.hoop.name), []).append(one)
    hoopings: list[Hooping] = []
    shared = 0
    for alike in kinds.values():
        first = alike[0]
        held = [copy for one in alike for copy in one.copies]
        panels = _panels(held)
        if len(first.copies) == 1:
            name, files = first.copies[0].part.name, None
        else:
            shared += 1
            name = f"shared-{shared}"
            files = _files(name, first, panels, machine)
        hoopings.append(
            Hooping(name, first.hoop, first.copies, first.placements, len(alike), panels, first.gap_mm,
                    first.panel_move, files, places=_places(held) if files is None else ())
        )  # fmt: skip
    return hoopings


def _files(name: str, one: Arrangement, panels: tuple[str, ...], machine: Machine) -> SharedFiles:
    members = [
        Member(copy.title, copy.part.plan, placement)
        for copy, placement in zip(one.copies, one.placements, strict=True)
    ]
    together = sewn_together(name, members, first=_hooping_words(one, panels))
    data, files, proofs = {}, {}, {}
    for fmt in machine.formats:
        data[fmt] = encode(together.plan, fmt, placement=Placement(), name=name)
        files[fmt] = decode(data[fmt], fmt, path=f"{name}.{fmt}")
        proofs[fmt] = prove(together.plan, files[fmt], Placement())
    taken = []
    for number, (copy, placement) in enumerate(zip(one.copies, one.placements, strict=True)):
        own = {fmt: together.taken_out(file, number) for fmt, file in files.items()}
        # colours are the whole file's; what is the part's are its holes and its stops
        held = {fmt: replace(prove(copy.part.plan, file, placement), colours_equal=None) for fmt, file in own.items()}
        taken.append(SewnPart(copy.part.part, copy.part.plan, Hooped(one.hoop, placement, None), {}, own, held))
    return SharedFiles(together, data, files, proofs, tuple(taken))


def _hooping_words(one: Arrangement, panels: tuple[str, ...]) -> str:
    """What goes into the frame, and where."""
    count = len(one.copies)
    if one.panel_move is None:
        return (
            f"{one.copies[0].part.plan.stops[0].before} The {count} pieces lie on it side by side, as in the picture; "
            "they are numbered there."
        )
    x, y = (float(value) for value in one.panel_move.taken_back([(0.0, 0.0)])[0])
    side = "" if abs(x) < 0.05 else f"{both_text(abs(x))} {'right' if x > 0 else 'left'} of the middle line and "
    down = f"{both_text(abs(y))} {'below' if y < 0 else 'above'} the top edge"
    all_of_them = "both" if count == 2 else f"all {count}"
    panel = f"{panels[0]} panel" if len(panels) == 1 else "panel"
    return (
        f"Hoop the {panel} cloth with its backing, right side up, the middle of the field "
        f"{side or 'on the middle line, '}{down}; the crosshairs of {all_of_them} pieces then lie on "
        "their marks."
    )


def _proofs(
    family: Family, sewn: Sequence[SewnPart], hoopings: Sequence[Hooping], split: Sequence[SplitPart]
) -> tuple[Proof, ...]:
    """The kit's promises with parts as they lie in shared files or in pieces: the worst over all copies."""
    taken: dict[str, list[SewnPart]] = {one.part.name: [one.whole] for one in split}
    for one in hoopings:
        for member in one.shared.members if one.shared is not None else ():
            taken.setdefault(member.name, []).append(member)
    worst = {(proof.code, proof.parts): proof for one in split for proof in one.proofs}
    whole = set(worst)
    for number in range(max((len(own) for own in taken.values()), default=0)):
        parts = [
            taken[part.name][min(number, len(taken[part.name]) - 1)] if part.name in taken else part for part in sewn
        ]
        for proof in kit_proofs(family, parts):
            key = (proof.code, proof.parts)
            if not taken.keys() & set(proof.parts) or key in whole:
                continue
            if key not in worst or proof.measured > worst[key].measured:
                worst[key] = proof
    return tuple(worst.values())
