"""What each number of a spec may be, lengths in mm: the file's schema and the Python classes hold to the same."""

from __future__ import annotations

from typing import Final

from stitchcraft.units import Length, length_between

RANGES: Final[dict[str, tuple[float, float]]] = {
    "machine.hoops": (10, 1000),
    "machine.speed": (50, 2000),
    "bag.width": (40, 1500),
    "bag.height": (40, 1500),
    "bag.depth": (0, 1000),
    "bag.seam": (2, 50),
    "bag.lining_seam": (2, 60),
    "bag.wall": (0, 30),
    "hooping.bags": (1, 50),
    "hooping.gap": (0, 100),
    "bag.binding.strip": (10, 300),
    "bag.binding.depth": (1, 50),
    "bag.binding.overlap": (0, 500),
    "bag.shaping.down": (5, 500),
    "bag.shaping.over": (5, 500),
    "bag.straps.spacing": (10, 1000),
    "bag.straps.width": (3, 150),
    "tab.width": (15, 400),
    "tab.length": (15, 1000),
    "tab.waist": (5, 400),
    "tab.slant": (-40, 40),
    "tab.tip_radius": (0, 100),
    "tab.tip_depth": (1, 400),
    "tab.snap.diameter": (5, 60),
    "tab.snap.inset": (3, 500),
    "tab.snap.prongs": (2, 60),
    "tab.snap.slit": (1, 30),
    "tab.fastener.diameter": (5, 80),
    "tab.fastener.inset": (3, 500),
    "tab.fastener.prongs": (2, 119),
    "tab.fastener.post_prongs": (2, 119),
    "tab.fastener.slit": (1, 30),
    "tab.fastener.width": (10, 120),
    "tab.fastener.height": (6, 120),
    "tab.fastener.hole_width": (3, 110),
    "tab.fastener.hole_height": (3, 110),
    "tab.fastener.thickness": (1, 40),
    "tab.fastener.bead": (1, 4),
    "tab.fastener.holes": (2, 8),
    "closure.drop": (5, 1000),
    "corner.width": (10, 750),
    "corner.height": (10, 750),
    "corner.echo": (1.5, 100),
    "connector.spacing": (10, 1000),
    "connector.strap_width": (3, 150),
    "connector.width": (12, 1000),
    "connector.height": (12, 400),
    "connector.snap_up": (-200, 200),
    "connector.snap_right": (-500, 500),
    "label.width": (5, 400),
    "label.height": (2, 100),
    "edge.width": (1, 12),
    "decoration.inset": (0, 100),
    "decoration.shift": (-1000, 1000),
    "decoration.angle": (-360, 360),
    "decoration.width": (1, 1000),
    "decoration.height": (1, 300),
    "decoration.letter_spacing": (-10, 100),
    "decoration.arc": (3, 2000),
    "prices": (0, 1_000_000),
}


def ranged(value: Length, key: str) -> float:
    """Turn a length into mm and hold it to its key's range.

    Args:
        value: mm, or text with a unit.
        key: A key of `RANGES`; an error names it.

    Raises:
        ParameterError: If it is no length or out of range.

    Example:
        >>> ranged("3 in", "tab.width")
        76.19999999999999
    """
    low, high = RANGES[key]
    return length_between(value, name=key, low=low, high=high)


def keep_ranged(owner: object, table: str, *keys: str) -> None:
    """Replace lengths of a frozen value by their mm, each held to its range; None stays.

    Raises:
        ParameterError: As in `ranged`.
    """
    for key in keys:
        value = getattr(owner, key)
        if value is not None:
            object.__setattr__(owner, key, ranged(value, f"{table}.{key}"))
