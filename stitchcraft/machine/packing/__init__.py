"""Several pieces in few sewing fields, and a bound from below on how few there can be."""

from stitchcraft.machine.packing.pack import moved, pack
from stitchcraft.machine.packing.pieces import (
    ANY_TURN,
    GRAIN_TURNS,
    QUARTER_TURNS,
    Laid,
    PackedField,
    Packing,
    Piece,
    largest_fields,
)

__all__ = [
    "ANY_TURN", "GRAIN_TURNS", "QUARTER_TURNS", "Laid", "PackedField", "Packing", "Piece", "largest_fields", "moved",
    "pack",
]  # fmt: skip
