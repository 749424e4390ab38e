"""What closes a tab: one module a kind, all in one table."""

from __future__ import annotations

from typing import Final

from stitchcraft.parts.fasteners.base import Danger, Fastener, Setting, Supply
from stitchcraft.parts.fasteners.button import Button
from stitchcraft.parts.fasteners.magnetic import Snap
from stitchcraft.parts.fasteners.sew_in import SewInSnap
from stitchcraft.parts.fasteners.turn_lock import TurnLock

__all__ = ["FASTENERS", "Button", "Danger", "Fastener", "Setting", "SewInSnap", "Snap", "Supply", "TurnLock"]

FASTENERS: Final[dict[str, type[Fastener]]] = {kind.kind: kind for kind in (Snap, SewInSnap, TurnLock, Button)}
"""Every fastener by the name that the spec has for it."""
