"""The kit's pictures."""

from __future__ import annotations

from stitchcraft.kit.build import Kit


def preview_png(kit: Kit) -> bytes:
    """Draw the bag with its parts in place, and each part as sewn."""
    _ = kit
    return b""
