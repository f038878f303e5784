"""A node where a thin line ends on the corner of a thick one.

Where a dash of a centre line happens to stop on the end of an outline, only two lines meet, and the graph shows one
line that turns. The ink across tells that two pens drew it.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from vectorize.lines.centre import ink_across
from vectorize.lines.graph import UNLIKE_SHARE, Edge, LineWork
from vectorize.shapes.segment import Point, Points

FARTHEST_MM = 25.0
"""From its free end such a line is no longer than a dash."""

TURN_DEG = 40.0
"""It meets the other line at more than this angle; a smaller one is a curve."""


def with_pen_changes(
    work: LineWork, darkness: NDArray[np.uint8], *, px_per_mm: float, pen_px: float
) -> tuple[LineWork, frozenset[int]]:
    """Return the line work split where the pen changes at a corner, and the nodes where it was split."""
    corners = [
        (index, corner)
        for index, node in work.open_ends()
        if (corner := _first_corner(work.edges[index], node, FARTHEST_MM * px_per_mm, pen_px)) is not None
    ]
    sides = [_sides(work.edges[index].points, k, pen_px) for index, k in corners]
    ink = ink_across(darkness, [side for pair in sides for side in pair], width_px=pen_px).reshape(-1, 2)
    is_change = ink.min(axis=1, initial=np.inf) < UNLIKE_SHARE * ink.max(axis=1, initial=0.0)
    cuts: dict[int, set[int]] = {}
    for (index, k), changes in zip(corners, is_change.tolist(), strict=True):
        if changes:
            cuts.setdefault(index, set()).add(k)
    return _cut(work, cuts)


def _first_corner(edge: Edge, node: int, farthest_px: float, pen_px: float) -> int | None:
    """Return the index of the first point from a free end where the edge turns sharply, None if there is none near."""
    points = edge.points if edge.start == node else edge.points[::-1]
    arm = max(4, round(1.5 * pen_px))
    near = points[: round(farthest_px) + arm + 1]
    if len(near) < 4 * arm or len(points) < 6 * arm:
        return None
    before, after = near[arm:-arm] - near[: -2 * arm], near[2 * arm :] - near[arm:-arm]
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.degrees(np.abs(np.arctan2(cross, np.sum(before * after, axis=1))))
    sharp = np.flatnonzero(turn > TURN_DEG)
    if len(sharp) == 0:
        return None
    first = sharp[sharp <= sharp[0] + 2 * arm]
    k = int(first[np.argmax(turn[first])]) + arm
    return k if edge.start == node else len(points) - 1 - k


def _sides(points: Points, k: int, pen_px: float) -> tuple[Points, Points]:
    """Return the line just before and just after a corner, without what its own rounding disturbs."""
    spare, reach = math.ceil(1.2 * pen_px), math.ceil(1.2 * pen_px) + max(8, round(4 * pen_px))
    return points[max(0, k - reach) : max(0, k - spare)], points[k + spare : k + reach]


def _cut(work: LineWork, cuts: dict[int, set[int]]) -> tuple[LineWork, frozenset[int]]:
    nodes: list[Point] = [(float(x), float(y)) for x, y in work.nodes]
    edges: list[Edge] = []
    new: set[int] = set()
    for index, edge in enumerate(work.edges):
        begin, start = 0, edge.start
        for k in sorted(cuts.get(index, ())):
            nodes.append((float(edge.points[k, 0]), float(edge.points[k, 1])))
            new.add(len(nodes) - 1)
            edges.append(replace(edge, start=start, end=len(nodes) - 1, points=edge.points[begin : k + 1]))
            begin, start = k, len(nodes) - 1
        edges.append(replace(edge, start=start, points=edge.points[begin:]) if begin else edge)
    return LineWork(np.array(nodes, np.float64).reshape(-1, 2), tuple(edges)), frozenset(new)
