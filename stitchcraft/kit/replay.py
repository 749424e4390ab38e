"""The page that replays the sewing of a kit's parts."""

from __future__ import annotations

from stitchcraft.errors import ParameterError
from stitchcraft.kit.build import Kit
from stitchcraft.kit.cloth_groups import Copy
from stitchcraft.kit.hooping_plan import Hooping
from stitchcraft.kit.sewn import SewnPart
from stitchcraft.kit.split_files import PieceFiles
from stitchcraft.view import PlayerPart, cloth_for, player_html


def player_of(kit: Kit, *, part: str | None = None) -> str:
    """Make the page of a kit, each part as it lies in its field; the same kit gives the same text.

    Args:
        kit: The kit.
        part: Name of the only part to show; None shows all.

    Raises:
        ParameterError: If the kit has no such part.
    """
    names = [one.name for one in kit.parts]
    if part is not None and part not in names:
        raise ParameterError("part", part, "one of " + ", ".join(names))
    pieces: dict[str, list[PlayerPart]] = {}
    for one in kit.hoopings.hoopings:
        if one.piece is not None:
            whole = one.copies[0]
            pieces.setdefault(whole.part.name, []).append(_piece(kit, whole, one.piece))
    parts: list[PlayerPart] = []
    for sewn in kit.parts:
        if part in (None, sewn.name):
            # of what no field takes whole there are only the pieces to sew
            parts += pieces.get(sewn.name) or [_whole(kit, sewn)]
    if part is None:
        parts += [_shared(kit, one) for one in kit.hoopings.shared]
    return player_html(kit.family.name, parts, machine=kit.machine)


def _cloth(kit: Kit, one: SewnPart) -> str | None:
    """Colour of a part's cloth in the page: the bag's, and where that is another, one on which its threads show."""
    return cloth_for(one.plan) if one.cloth is None and kit.family.style.cloth is not None else one.cloth


def _whole(kit: Kit, one: SewnPart) -> PlayerPart:
    """A part as it lies in its field."""
    # the PDF library comes with the sheet's words: checking and drawing need none
    from stitchcraft.paper.words import sewn_words, title_of

    return PlayerPart(
        one.plan,
        one.hooped.placement,
        one.hooped.hoop,
        after=one.part.after,
        title=title_of(one.name),
        sews=tuple(sewn_words(one.part, stop.purpose) for stop in one.plan.stops),
        cloth=_cloth(kit, one),
    )


def _shared(kit: Kit, one: Hooping) -> PlayerPart:
    """A hooping that parts share, as it lies in its field."""
    # as above
    from stitchcraft.kit.papers import sheet_hooping
    from stitchcraft.paper.words import after_words, merged_words, pieces_title

    hooping = sheet_hooping(one)
    sews = tuple(merged_words(hooping, number) for number in range(len(hooping.plan.stops)))
    title = f"{one.name.replace('-', ' ').capitalize()}: {pieces_title(hooping)}"
    return PlayerPart(
        hooping.plan, None, one.hoop, after=after_words(hooping), title=title, sews=sews,
        cloth=_cloth(kit, one.copies[0].part),
    )  # fmt: skip


def _piece(kit: Kit, copy: Copy, files: PieceFiles) -> PlayerPart:
    """A piece of a part that fits no field."""
    # as above
    from stitchcraft.kit.papers import sheet_piece
    from stitchcraft.paper.words import sewn_words, title_of

    one = sheet_piece(copy, files)
    sews = tuple(sewn_words(one.part, stop.purpose) for stop in one.plan.stops)
    return PlayerPart(
        one.plan, one.placement, one.hoop, after=one.part.after, title=title_of(one.name), sews=sews,
        cloth=_cloth(kit, copy.part),
    )  # fmt: skip
