"""Close the boundary of a region where the sides of a very short edge were misjudged.

Regions are told apart by looking a pixel or two to either side of an edge. An edge of a few pixels, where
several lines meet, may be judged wrongly; the directed boundary then has a node that it enters and does not
leave, and near it one that it leaves and does not enter. The shortest way along the line work between the
two is what was misjudged.
"""

from __future__ import annotations

import heapq
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence

from vectorize.linework.graph import Edge

FARTHEST_PX = 24.0
"""Misjudged edges are shorter than this: the look to the side reaches two pixels and skips three at each end."""

Step = tuple[int, bool]
"""An edge by its index, and whether it is walked forwards."""


def mended(edges: Sequence[Edge], steps: Sequence[Step]) -> list[Step]:
    """Return the steps with every broken place joined by the shortest way along the line work.

    A way that would walk an edge of the boundary backwards takes that edge out instead: it was a spur.
    What lies farther apart than `FARTHEST_PX` stays broken.
    """
    kept = set(steps)
    excess = Counter[int]()
    for index, forwards in steps:
        a, b = _ends(edges[index], forwards)
        excess[b] += 1
        excess[a] -= 1
    entered = sorted(node for node, count in excess.items() for _ in range(max(count, 0)))
    left = {node: -count for node, count in excess.items() if count < 0}
    if not entered or not left:
        return list(steps)
    meeting = _short_edges(edges)
    for node in entered:
        way = _shortest(edges, meeting, node, {goal for goal, count in left.items() if count > 0})
        if way is None:
            continue
        left[_ends(edges[way[-1][0]], way[-1][1])[1]] -= 1
        for index, forwards in way:
            if (index, not forwards) in kept:
                kept.remove((index, not forwards))
            else:
                kept.add((index, forwards))
    return sorted(kept)


def _ends(edge: Edge, forwards: bool) -> tuple[int, int]:
    return (edge.start, edge.end) if forwards else (edge.end, edge.start)


def _short_edges(edges: Sequence[Edge]) -> dict[int, list[Step]]:
    """Return, for each node, the short edges that meet there, walked away from it."""
    meeting: dict[int, list[Step]] = defaultdict(list)
    for index, edge in enumerate(edges):
        # More points than pixels of reach: too long, without measuring it.
        if len(edge.points) <= FARTHEST_PX and not edge.is_loop and edge.length <= FARTHEST_PX:
            meeting[edge.start].append((index, True))
            meeting[edge.end].append((index, False))
    return meeting


def _shortest(
    edges: Sequence[Edge], meeting: dict[int, list[Step]], start: int, goals: Iterable[int]
) -> list[Step] | None:
    """Return the shortest way from `start` to one of `goals`, or None if it is longer than `FARTHEST_PX`."""
    wanted = set(goals)
    queue: list[tuple[float, int, tuple[Step, ...]]] = [(0.0, start, ())]
    seen: set[int] = set()
    while queue:
        far, node, way = heapq.heappop(queue)
        if node in wanted and way:
            return list(way)
        if node in seen:
            continue
        seen.add(node)
        for index, forwards in meeting[node]:
            there = far + edges[index].length
            if there <= FARTHEST_PX:
                heapq.heappush(queue, (there, _ends(edges[index], forwards)[1], (*way, (index, forwards))))
    return None
