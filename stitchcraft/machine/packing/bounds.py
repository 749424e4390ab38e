"""How many fields pieces take at least, however they are laid."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import grown
from stitchcraft.machine.fields import Hoop
from stitchcraft.machine.packing.pairs import core_of, never_together
from stitchcraft.machine.packing.pieces import Piece

BoolArray = NDArray[np.bool_]

_NODES: Final = 60_000
_PAIRS_TRIED: Final = 120
_TOLD_APART_MM: Final = 6.0
"""Proofs work with distances that are well above 0."""

_WORTH_TRYING: Final = 0.45
"""Pairs that take less of the field than this together are not looked at: a proof is not to be expected."""


def area_shares(pieces: Sequence[Piece], hoops: Sequence[Hoop], *, clearance: float, margin: float) -> FloatArray:
    """The share of the largest field that each piece takes, (n,), half of the clearance around it counted in.

    Pieces grown by half the clearance do not overlap, and lie in the field grown by as much; so the shares of
    pieces that lie in one field add up to 1 at most.
    """
    half = clearance / 2

    def room(hoop: Hoop) -> float:
        width, height = hoop.width - 2 * margin, hoop.height - 2 * margin
        return width * height + 2 * (width + height) * half + math.pi * half * half

    most = max(room(hoop) for hoop in hoops)
    # only what must lie in the field counts
    cores = [shapely.intersection(one.shape, shapely.convex_hull(shapely.MultiPoint(one.hull))) for one in pieces]
    return np.array([grown(core, half).area if half else core.area for core in cores]) / most


def kept_apart(
    pieces: Sequence[Piece],
    hoops: Sequence[Hoop],
    shares: FloatArray,
    apart: BoolArray,
    *,
    clearance: float,
    margin: float,
) -> BoolArray:
    """Find the pairs of pieces that cannot share any field: by area, or because a proof was found.

    Args:
        pieces: The pieces.
        hoops: The fields.
        shares: From `area_shares`.
        apart: Boolean (n, n), the pairs that must not share one anyway.
        clearance: Kept between two pieces, mm.
        margin: Kept free inside the edge of a field, mm.

    Returns:
        Boolean (n, n), symmetric.
    """
    found = apart | (shares[:, None] + shares[None, :] > 1 + 1e-9)
    kinds: dict[bytes, int] = {}
    kind = [kinds.setdefault(one.shape.wkb + one.hull.tobytes(), number) for number, one in enumerate(pieces)]
    inset = max(0.0, (_TOLD_APART_MM - clearance) / 2)
    cores = {number: core_of(pieces[number], inset=inset) for number in sorted(set(kind))}
    settled: dict[tuple[int, int], bool] = {}
    both = shares[:, None] + shares[None, :]
    pairs = [(i, j) for i in range(len(pieces)) for j in range(i) if not found[i, j] and both[i, j] > _WORTH_TRYING]
    for i, j in sorted(pairs, key=lambda pair: -both[pair]):
        key = (min(kind[i], kind[j]), max(kind[i], kind[j]))
        if key not in settled:
            if len(settled) >= _PAIRS_TRIED:
                continue
            relative = _relative_turns(pieces[key[0]], pieces[key[1]])
            settled[key] = all(
                never_together(
                    cores[key[0]], cores[key[1]], relative, (hoop.width - 2 * margin, hoop.height - 2 * margin),
                    clearance + 2 * inset,
                )
                for hoop in hoops
            )  # fmt: skip
        found[i, j] = found[j, i] = settled[key]
    return found


def _relative_turns(one: Piece, other: Piece) -> tuple[float, ...] | None:
    """The turns that two pieces can have against each other; None where so many are allowed that any is."""
    turns = {round((b - a) % 360, 6) for a in one.turns for b in other.turns}
    return None if len(turns) > 4 else tuple(sorted(turns))


def fewest_fields(shares: FloatArray, apart: BoolArray) -> int:
    """Give a number of fields below which nothing can go, from areas and the pairs that are kept apart.

    By areas alone it is the bin packing of one dimension; that, with the pairs kept apart, is solved by going
    through all ways, and where there are too many the last number proven is given.
    """
    count = len(shares)
    if not count:
        return 0
    bound = max(1, math.ceil(float(shares.sum()) - 1e-9), _clique(apart, shares))
    while bound < count and _cannot(shares, apart, bound):
        bound += 1
    return bound


def _clique(apart: BoolArray, shares: FloatArray) -> int:
    """Size of a set of pieces of which no two can share a field, grown greedily from each piece."""
    best = 1
    degree = apart.sum(axis=1)
    for first in range(len(shares)):
        members, candidates = [first], np.flatnonzero(apart[first])
        for piece in sorted(candidates.tolist(), key=lambda piece: (-degree[piece], -shares[piece], piece)):
            if apart[piece, members].all():
                members.append(piece)
        best = max(best, len(members))
    return best


def _cannot(shares: FloatArray, apart: BoolArray, bins: int) -> bool:
    """Whether it is proven that so many fields do not do: all ways of dealing the areas were gone through."""
    order = sorted(range(len(shares)), key=lambda piece: (-int(apart[piece].sum() > 0) * shares[piece], -shares[piece]))
    after = np.append(np.cumsum(shares[order][::-1])[::-1], 0.0).tolist()
    loads = [0.0] * bins
    held: list[list[int]] = [[] for _ in range(bins)]
    nodes = 0

    def goes(place: int) -> bool | None:
        """True if the rest can be dealt, False if not, None if that took too long."""
        nonlocal nodes
        if place == len(order):
            return True
        nodes += 1
        if nodes > _NODES:
            return None
        if after[place] > bins - sum(loads) + 1e-9:
            return False
        piece = order[place]
        seen: set[tuple[float, tuple[int, ...]]] = set()
        for number in range(bins):
            state = (round(loads[number], 9), tuple(held[number]) if apart.any() else ())
            if state in seen or loads[number] + shares[piece] > 1 + 1e-9 or apart[piece, held[number]].any():
                continue
            seen.add(state)
            loads[number] += shares[piece]
            held[number].append(piece)
            answer = goes(place + 1)
            held[number].pop()
            loads[number] -= shares[piece]
            if answer is not False:
                return answer
        return False

    return goes(0) is False
