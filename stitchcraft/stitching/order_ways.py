"""Ordering of many pieces when each may be sewn in several ways, of whatever kind.

A sequence of states is improved by three moves, each of which weighs ways and order together: one piece goes
elsewhere, sewn in whichever way fits there; two or three pieces in a row go elsewhere, as they are or turned;
a stretch of the sequence is turned end for end. Every move is weighed against all places at once.
"""

from __future__ import annotations

import itertools
from typing import Final

import numpy as np

from stitchcraft.arrays import FloatArray, IntArray
from stitchcraft.stitching.distances import distance
from stitchcraft.stitching.order_exact import Task

LEAST_GAIN_MM: Final = 1e-9
"""A move has to save at least this much, so that rounding cannot make two moves undo each other for ever."""


def travel_along(task: Task, states: IntArray) -> float:
    """Total travel of a sequence of states, the way in and the way out included, mm."""
    around = np.concatenate([[task.states], states, [task.states]])
    return float(task.legs(around[:-1], around[1:]).sum())


def nearest_first(task: Task, *, first: int | None = None) -> IntArray:
    """Always sew next whatever begins nearest to the needle.

    Args:
        task: The pieces.
        first: The state to begin with; the one nearest to the start if not given.

    Returns:
        (n,) states in sewing order.
    """
    all_states = np.arange(task.states)
    left = np.ones(task.states, dtype=bool)
    states = np.empty(task.pieces, dtype=np.int64)
    if first is None:
        first = int(task.legs(np.array(task.states), all_states).argmin())
    at = first
    for k in range(task.pieces):
        if k:
            away = distance(*(task.entry - task.exit[at]).T)
            at = int(np.where(left, away, np.inf).argmin())
        states[k] = at
        piece = task.piece[at]
        left[task.first[piece] : task.first[piece + 1]] = False
    return states


def best_ways(task: Task, states: IntArray) -> IntArray:
    """Keep the order and choose the best way for every piece at once (a shortest path through the ways)."""
    outside = np.array([task.states])
    ways = [np.arange(task.first[p], task.first[p + 1]) for p in task.piece[states]]
    so_far = task.legs(outside, ways[0])
    back: list[IntArray] = []
    for before, now in itertools.pairwise(ways):
        table = so_far[:, None] + task.between(before, now)
        back.append(table.argmin(axis=0))
        so_far = table.min(axis=0)
    way = int((so_far + task.legs(ways[-1], outside)).argmin())
    chosen = [ways[-1][way]]
    for own, choice in zip(ways[-2::-1], back[::-1], strict=True):
        way = int(choice[way])
        chosen.append(own[way])
    return np.array(chosen[::-1], dtype=np.int64)


def turned_ways(task: Task) -> IntArray:
    """For each state, the way of the same piece that comes closest to sewing it backwards, (m + 1,)."""
    turned = np.empty(task.states + 1, dtype=np.int64)
    turned[-1] = task.states
    for i in range(task.pieces):
        own = slice(int(task.first[i]), int(task.first[i + 1]))
        into, out = task.entry[own], task.exit[own]
        miss = distance(*(out[:, None] - into[None]).transpose(2, 0, 1))
        turned[own] = own.start + (miss + miss.T).argmin(axis=1)
    return turned


def improved(task: Task, costs: FloatArray, states: IntArray, *, sweeps: int = 40) -> IntArray:
    """Improve a sequence until none of the three moves helps, or for so many sweeps."""
    turned = turned_ways(task)
    around = np.concatenate([[task.states], states, [task.states]])
    for _ in range(sweeps):
        around[1:-1] = best_ways(task, around[1:-1])
        gained = _turn_stretches(around, costs, turned)
        around, moved = _move_pieces(task, around, costs, turned)
        if gained + moved < LEAST_GAIN_MM:
            break
    return around[1:-1]


def _turn_stretches(around: IntArray, costs: FloatArray, turned: IntArray) -> float:
    gained = 0.0
    count = len(around) - 2
    for i in range(1, count + 1):
        # what the stretch itself costs both ways: sewing it backwards need not cost the same
        ahead = np.concatenate([[0.0], np.cumsum(costs[around[i:-2], around[i + 1 : -1]])])
        astern = np.concatenate([[0.0], np.cumsum(costs[turned[around[i + 1 : -1]], turned[around[i:-2]]])])
        old = costs[around[i - 1], around[i]] + ahead + costs[around[i:-1], around[i + 1 :]]
        new = costs[around[i - 1], turned[around[i:-1]]] + astern + costs[turned[around[i]], around[i + 1 :]]
        saving = old - new
        j = int(saving.argmax())
        if saving[j] > LEAST_GAIN_MM:
            around[i : i + j + 1] = turned[around[i : i + j + 1]][::-1]
            gained += float(saving[j])
    return gained


def _move_pieces(task: Task, around: IntArray, costs: FloatArray, turned: IntArray) -> tuple[IntArray, float]:
    gained = 0.0
    for length in (1, 2, 3):
        i = 1
        while i + length < len(around):
            part = around[i : i + length]
            rest = np.concatenate([around[:i], around[i + length :]])
            if length == 1:
                ways = np.arange(task.first[task.piece[part[0]]], task.first[task.piece[part[0]] + 1])[:, None]
            else:
                ways = np.stack([part, turned[part][::-1]])
            inside = costs[ways[:, :-1], ways[:, 1:]].sum(axis=1)
            now = costs[around[i - 1], part[0]] + costs[part[-1], around[i + length]]
            now += costs[part[:-1], part[1:]].sum() - costs[around[i - 1], around[i + length]]
            there = costs[rest[:-1, None], ways[None, :, 0]] + costs[ways[None, :, -1], rest[1:, None]]
            there += inside[None] - costs[rest[:-1], rest[1:]][:, None]
            place, way = divmod(int(there.argmin()), len(ways))
            if now - there[place, way] > LEAST_GAIN_MM:
                around = np.concatenate([rest[: place + 1], ways[way], rest[place + 1 :]])
                gained += float(now - there[place, way])
            i += 1
    return around, gained
