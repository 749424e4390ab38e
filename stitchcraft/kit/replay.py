"""The page that replays the sewing of a kit's parts."""

from __future__ import annotations

from stitchcraft.kit.build import Kit
from stitchcraft.view import PlayerPart, player_html


def player_of(kit: Kit) -> str:
    """Make the page of a kit, each part as it lies in its field; the same kit gives the same text."""
    # the PDF library comes with the sheet's words: checking and drawing need none
    from stitchcraft.paper.words import sewn_words, title_of

    parts = [
        PlayerPart(
            one.plan,
            one.hooped.placement,
            one.hooped.hoop,
            after=one.part.after,
            title=title_of(one.name),
            sews=tuple(sewn_words(one.name, stop.purpose) for stop in one.plan.stops),
        )
        for one in kit.parts
    ]
    return player_html(kit.family.name, parts, machine=kit.machine)
