"""The page that replays the sewing of a kit's parts."""

from __future__ import annotations

from stitchcraft.errors import ParameterError
from stitchcraft.kit.build import Kit
from stitchcraft.view import PlayerPart, player_html


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
    # the PDF library comes with the sheet's words: checking and drawing need none
    from stitchcraft.paper.words import sewn_words, title_of

    parts = [
        PlayerPart(
            one.plan,
            one.hooped.placement,
            one.hooped.hoop,
            after=one.part.after,
            title=title_of(one.name),
            sews=tuple(sewn_words(one.part, stop.purpose) for stop in one.plan.stops),
        )
        for one in kit.parts
        if part in (None, one.name)
    ]
    return player_html(kit.family.name, parts, machine=kit.machine)
