"""Dealing pieces to few fields: first fit, in an order that is improved by small changes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.machine.packing.raster import Board, Grid

BoolArray = NDArray[np.bool_]

_STALE_AFTER: Final = 40
"""So many changes for each piece without a gain, and the search sets out from another order."""

_FIELDS_AT_A_TIME: Final = 2
"""With more fields than this, so many are emptied and filled anew together, with what was left over."""

_STALE_IN_PART: Final = 5
"""The same as `_STALE_AFTER`, where only some of the fields are filled anew."""

_WORSE_AT_FIRST: Final = 0.04
"""Share of a field by which a change may leave more over and still be taken, at the start; it falls to none."""

_OTHER_WAY: Final = 0.25
_OTHER_FIELD: Final = 0.1
"""How often a change sends a piece to the left instead of down, and lets other fields and turns come first."""

_SHAKEN: Final = (0.65, 1.5)
"""By how much the sizes are shaken where the search sets out anew."""


@dataclass(frozen=True, slots=True)
class _Deal:
    """What first fit makes of an order.

    Attributes:
        boards: The fields.
        left: The pieces that found no place.
    """

    boards: list[Board]
    left: list[int]


@dataclass(frozen=True, slots=True, eq=False)
class _Recipe:
    """What first fit goes by.

    Attributes:
        order: The pieces in order.
        pairs: In which order fields and common turns are tried for a field that is opened.
        leftmost: Boolean (n,), for every piece there is: whether it takes the leftmost place, not the lowest.
    """

    order: NDArray[np.intp]
    pairs: list[tuple[int, float]]
    leftmost: BoolArray

    def changed(self, random: np.random.Generator) -> _Recipe:
        """The same with a small change: two pieces exchanged, one put elsewhere, or one sent the other way."""
        pairs = self.pairs
        if len(pairs) > 1 and random.random() < _OTHER_FIELD:
            pairs = [pairs[k] for k in random.permutation(len(pairs))]
        one, other = random.integers(len(self.order), size=2)
        kind = random.random()
        if kind < _OTHER_WAY or one == other:
            leftmost = self.leftmost.copy()
            leftmost[self.order[one]] ^= True
            return _Recipe(self.order, pairs, leftmost)
        if kind < (1 + _OTHER_WAY) / 2:
            order = self.order.copy()
            order[[one, other]] = order[[other, one]]
        else:
            order = np.insert(np.delete(self.order, one), other, self.order[one])
        return _Recipe(order, pairs, self.leftmost)


@dataclass(slots=True)
class _Search:
    """What all parts of the search have in common, and what is left to spend."""

    grids: Sequence[Grid]
    shares: NDArray[np.float64]
    apart: BoolArray
    random: np.random.Generator
    steps: int

    def over(self, deal: _Deal) -> float:
        """Share of a field that what was left over takes."""
        return float(self.shares[deal.left].sum())

    def shaken(self, pieces: NDArray[np.intp], pairs: list[tuple[int, float]]) -> _Recipe:
        """The pieces from large to small, but shaken; some of them sent to the left."""
        size = -self.shares[pieces] * self.random.uniform(*_SHAKEN, len(pieces))
        leftmost = self.random.random(len(self.shares)) < _OTHER_WAY
        return _Recipe(pieces[np.argsort(size, kind="stable")], pairs, leftmost)


def dealt(
    grids: Sequence[Grid], shares: NDArray[np.float64], apart: BoolArray, *, bound: int, steps: int
) -> list[Board]:
    """Deal all pieces to as few fields as the search finds.

    Args:
        grids: The places in the fields there are, without a field that lies within another.
        shares: Each piece's share of the largest field, (n,), the clearance counted in.
        apart: Boolean (n, n): which pairs must not share a field.
        bound: Stop at this number of fields.
        steps: How long to look: so many ways of pieces are tried against so many neighbours.

    Returns:
        The fields in use. The same arguments give the same answer.
    """
    search = _Search(grids, shares, apart, np.random.default_rng(0), steps)
    pairs = [(number, turn) for number, grid in enumerate(grids) for turn in grid.turns]
    recipe = _Recipe(np.argsort(-shares, kind="stable"), pairs, np.zeros(len(shares), dtype=bool))
    best = _first_fit(search, recipe, len(shares)).boards
    while len(best) > bound and search.steps > 0:
        most = len(best) - 1
        few = most <= _FIELDS_AT_A_TIME
        now = _improved(search, recipe, most, _STALE_AFTER if few else _STALE_IN_PART)
        if not few:
            now = _mixed(search, now, recipe)
        if not now.left:
            best = now.boards
        recipe = search.shaken(np.arange(len(shares)), pairs)
    return [board for board in best if board.laid]


def _mixed(search: _Search, now: _Deal, recipe: _Recipe) -> _Deal:
    """Empty some of the fields and fill them anew with what was left over, again and again, as long as it helps."""
    stale, patience = 0, 6 * len(now.boards) ** 2
    while now.left and search.steps > 0 and stale < patience:
        chosen = search.random.choice(len(now.boards), _FIELDS_AT_A_TIME, replace=False).tolist()
        pieces = np.array(now.left + [piece for number in chosen for piece in now.boards[number].pieces])
        part = _improved(search, search.shaken(pieces, recipe.pairs), _FIELDS_AT_A_TIME, _STALE_IN_PART)
        more = search.over(part) - search.over(now)
        stale = 0 if more < -1e-9 else stale + 1
        if more <= 1e-9:
            kept = [board for number, board in enumerate(now.boards) if number not in chosen]
            # fields that were not needed are there for the next round
            spare = [Board(search.grids[0], recipe.pairs[0][1])] * (_FIELDS_AT_A_TIME - len(part.boards))
            now = _Deal([*kept, *part.boards, *spare], part.left)
    return now


def _improved(search: _Search, recipe: _Recipe, most: int, patience: int) -> _Deal:
    """Change what first fit goes by a little, again and again, so that fewer pieces are left over."""
    now = _first_fit(search, recipe, most)
    stale, enough = 0, patience * len(recipe.order)
    while now.left and search.steps > 0 and stale < enough:
        other = recipe.changed(search.random)
        tried = _first_fit(search, other, most)
        more = search.over(tried) - search.over(now)
        allowed = _WORSE_AT_FIRST * max(0.0, 1 - 1.5 * stale / enough)
        stale = 0 if more < -1e-9 else stale + 1
        if more <= 0 or search.random.random() < math.exp(-more / max(allowed, 1e-9)):
            recipe, now = other, tried
    return now


def _first_fit(search: _Search, recipe: _Recipe, most: int) -> _Deal:
    """Lay each piece into the first field that takes it, and open a new one for it while there may be more."""
    boards: list[Board] = []
    left: list[int] = []
    steps = len(recipe.order)
    for piece in recipe.order.tolist():
        share, leftmost = float(search.shares[piece]), bool(recipe.leftmost[piece])
        for board in boards:
            if board.load + share > 1 + 1e-9 or search.apart[piece, board.pieces].any():
                continue
            steps += len(board.grid.ways(piece, board.turn)) * len(board.laid)
            if _put(board, piece, share, leftmost=leftmost):
                break
        else:
            if len(boards) < most:
                boards.append(_opened(search.grids, piece, share, recipe.pairs))
            else:
                left.append(piece)
    search.steps -= steps
    return _Deal(boards, left)


def _put(board: Board, piece: int, share: float, *, leftmost: bool = False) -> bool:
    place = board.grid.place_for(board, piece, leftmost=leftmost)
    if place is None:
        return False
    board.laid.append((piece, *place))
    board.load += share
    return True


def _opened(grids: Sequence[Grid], piece: int, share: float, pairs: Sequence[tuple[int, float]]) -> Board:
    """A field with one piece; the caller has seen to it that some field takes it."""
    opened = (Board(grids[number], turn) for number, turn in pairs)
    return next(board for board in opened if _put(board, piece, share))
