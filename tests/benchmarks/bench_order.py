"""How far orders are from the Held-Karp bound, and how long they take; a script, not a test.

Run: python tests/benchmarks/bench_order.py [most pieces] [fields for the best known, some minutes each]

For dots (one way each, both ends free) the bound from below is exact to within 0.8 % on average (Johnson,
McGeoch, Rothberg, SODA 1996). For columns, one-way pieces and rings there is no such bound: the figure is what
is saved against always going to the nearest. Where OR-tools can be imported, its routing search (guided local
search, five times our processor time, at least 2 s) orders the same dots.
"""

# ruff: noqa: T201 (a script that is run by hand prints its table)

from __future__ import annotations

import math
import sys
import time

import numpy as np

from stitchcraft.stitching import order_search
from stitchcraft.stitching.order import best_order, travel_of
from stitchcraft.stitching.order_exact import task_of
from stitchcraft.stitching.order_ways import nearest_first, travel_along


def scattered(count):
    return np.random.default_rng(count).uniform(0, 180, (count, 2))


def polka(count):
    random = np.random.default_rng(count)
    side = math.ceil(math.sqrt(count * 1.16))
    grid = np.array([(i + 0.5 * (j % 2), 0.866 * j) for j in range(side + 4) for i in range(side)])[:count]
    return grid / grid.max() * 180 + random.normal(0, 0.15, (count, 2))


def least_tree(apart, price):
    """Weight and degrees of the minimum spanning tree over distances plus prices (Prim's algorithm)."""
    count = len(apart)
    degree, key, parent = np.zeros(count), np.full(count, np.inf), np.zeros(count, dtype=int)
    barred = np.zeros(count)
    at, total = 0, 0.0
    for _ in range(count - 1):
        barred[at] = np.inf
        reach = apart[at] + price
        reach += price[at]
        nearer = (reach < key) & (barred == 0)
        key[nearer], parent[nearer] = reach[nearer], at
        at = int((key + barred).argmin())
        total += key[at]
        degree[at] += 1
        degree[parent[at]] += 1
    return total, degree


def held_karp_bound(xy, travel, steps):
    """Largest 1-tree over node prices, by subgradient steps; no open path over the points is shorter."""
    apart = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1))
    price, before, best, push, stalled = np.zeros(len(xy)), 0.0, -math.inf, 1.5, 0
    for _ in range(steps):
        total, degree = least_tree(apart, price)
        ends = np.argsort(price, kind="stable")[:2]
        value = total + price[ends].sum() - 2 * price.sum()
        degree[ends] += 1
        stalled = 0 if value > best + 1e-9 else stalled + 1
        best = max(best, value)
        if stalled > 12:
            push, stalled = 0.7 * push, 0
        slope = degree - 2
        if not slope.any() or push < 1e-5:
            break
        price = price + push * (travel - value) / (slope**2).sum() * (0.7 * slope + 0.3 * before)
        before = slope
    return best


def routed(xy, seconds):
    """Travel of the order that OR-tools finds, or None without it."""
    try:
        from ortools.constraint_solver import pywrapcp, routing_enums_pb2
    except ImportError:
        return None
    count = len(xy)
    table = np.zeros((count + 1, count + 1), dtype=np.int64)
    table[1:, 1:] = np.rint(1000 * np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1)))
    manager = pywrapcp.RoutingIndexManager(count + 1, 1, 0)
    model = pywrapcp.RoutingModel(manager)
    model.SetArcCostEvaluatorOfAllVehicles(model.RegisterTransitMatrix(table.tolist()))
    settings = pywrapcp.DefaultRoutingSearchParameters()
    settings.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PATH_CHEAPEST_ARC
    settings.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    settings.time_limit.FromMilliseconds(int(1000 * seconds))
    answer = model.SolveWithParameters(settings)
    at, order = model.Start(0), []
    while not model.IsEnd(at):
        if manager.IndexToNode(at):
            order.append(manager.IndexToNode(at) - 1)
        at = answer.Value(model.NextVar(at))
    return float(np.hypot(*np.diff(xy[order], axis=0).T).sum())


def dots(name, xy):
    points = [point[None] for point in xy]
    began, busy = time.perf_counter(), time.process_time()
    order = best_order(points, points)
    seconds, busy = time.perf_counter() - began, time.process_time() - busy
    travel = travel_of(order, points, points)
    bound = held_karp_bound(xy, travel, 1500 if len(xy) <= 500 else 500)
    nearest = travel_along(task_of(points, points, None, None), nearest_first(task_of(points, points, None, None)))
    text = f"{name:9s} {len(xy):5d}  {100 * (travel / bound - 1):6.2f} %  {seconds:6.2f} s ({busy:.2f} s busy)"
    text += f"  nearest first {100 * (nearest / bound - 1):5.1f} %"
    other = routed(xy, max(2.0, 5 * busy))
    if other is not None:
        text += f"  OR-tools {100 * (other / bound - 1):5.2f} % in {max(2.0, 5 * busy):.1f} s"
    print(text, flush=True)


def over_best_known(count, seeds):
    """Travel over the best known, for several fields: the best that eight times the effort finds from 8 seeds."""
    usual, over = order_search.effort_for, []
    for seed in range(seeds):
        points = [point[None] for point in np.random.default_rng(1000 * count + seed).uniform(0, 180, (count, 2))]
        travel = travel_of(best_order(points, points), points, points)
        order_search.effort_for = lambda some: order_search.Effort(usual(some).starts, 8 * usual(some).shakes)
        known = min(travel_of(best_order(points, points, seed=k), points, points) for k in range(8))
        order_search.effort_for = usual
        over.append(travel / min(known, travel) - 1)
    print(f"scattered {count:5d}  over the best known: mean {100 * np.mean(over):.2f} %, worst {100 * max(over):.2f} %")


def pieces(kind, count):
    random = np.random.default_rng(count)
    middle = scattered(count)[:, None]
    if kind == "rings":
        angle = np.arange(8) * np.pi / 4
        ends = middle + 1.5 * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
        return list(ends), list(ends)
    ends = middle + random.normal(0, 5, (count, 2, 2))
    if kind == "one way":
        return list(ends[:, :1]), list(ends[:, 1:])
    return list(ends), [pair[::-1] for pair in ends]


def with_ways(kind, count):
    entries, exits = pieces(kind, count)
    task = task_of(entries, exits, None, None)
    began, busy = time.perf_counter(), time.process_time()
    travel = travel_of(best_order(entries, exits), entries, exits)
    seconds, busy = time.perf_counter() - began, time.process_time() - busy
    saved = 1 - travel / travel_along(task, nearest_first(task))
    print(
        f"{kind:9s} {count:5d}  {100 * saved:6.2f} % saved against nearest first  {seconds:6.2f} s ({busy:.2f} s busy)"
    )


def main():
    most = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for count in (50, 100, 200, 500, 1000, 2000):
        if count <= most:
            dots("scattered", scattered(count))
            dots("polka", polka(count))
    for kind in ("columns", "rings", "one way"):
        for count in (12, 50, 200, 500):
            if count <= most:
                with_ways(kind, count)
    if len(sys.argv) > 2:
        over_best_known(500, int(sys.argv[2]))


if __name__ == "__main__":
    main()
