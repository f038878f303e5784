"""Line work as a planar graph: edges between nodes, in original pixels."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vectorize.basics.compiled import compiled
from vectorize.shapes.segment import Point, Points

UNLIKE_SHARE = 0.7
"""Two lines were drawn with different pens where one carries less than this share of the other's ink."""

BEND_PX = 0.8
BEND_SHARE = 0.06
"""A line of pixels bends where it leaves its chord by more than this, or by more than this share of the chord."""

LEAST_LEG_PENS = 0.75
"""What is shorter tells no direction."""

LEG_SKIP_SHARE = 0.2
"""Thinning bends the very end of a line; of a short leg little can be spared."""


@dataclass(frozen=True, slots=True)
class WideGap:
    """A gap that is too wide to be bridged without asking what the whole sheet makes of it.

    `ends` are the nodes that it lies between; `bend_deg` is by how much the way across turns off the two ends in all,
    none where it goes round the corner that they make (`is_corner`); `likeness` is the ink of the fainter line against
    the other's, from 0 to 1.
    """

    ends: tuple[int, int]
    length_mm: float
    bend_deg: float
    likeness: float
    is_corner: bool
    is_tee: bool
    is_dashed: bool


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """A line between two nodes.

    `points` is (N, 2), from the start node to the end node, both included. A closed loop that meets
    nothing has one node, where it starts and ends. A bridge was not drawn: it spans a gap; `is_tee` marks
    one that takes a line on to another which it may have been meant to stop short of. A dashed line of long and short
    strokes in turn `is_chain`. Over a `wide` gap lines only
    may go on: it divides faces, and is neither a part of any line nor an end of its freedom.
    """

    start: int
    end: int
    points: Points
    is_bridge: bool = False
    is_dashed: bool = False
    is_tee: bool = False
    is_chain: bool = False
    wide: WideGap | None = None

    @property
    def length(self) -> float:
        """Return the length along the points."""
        return float(np.sum(np.hypot(*np.diff(self.points, axis=0).T)))

    @property
    def is_loop(self) -> bool:
        """Return whether the edge ends where it starts."""
        return self.start == self.end

    def reversed(self) -> Edge:
        """Return the edge walked the other way."""
        return replace(self, start=self.end, end=self.start, points=self.points[::-1])


def mean_along(values: NDArray[np.float64], lengths: NDArray[np.float64]) -> float:
    """Return the mean of what edges carry, weighted by their lengths; their plain mean if none has any length.

    `values` and `lengths` are (N,), N at least 1. A thinned speck is an edge of one pixel, thus of no length.
    """
    return float(np.average(values, weights=lengths if np.any(lengths) else None))


@dataclass(frozen=True, slots=True, eq=False)
class LineWork:
    """Edges and the points where they meet. `nodes` is (M, 2); edge ends index into it."""

    nodes: Points
    edges: tuple[Edge, ...]

    def degrees(self) -> NDArray[np.int64]:
        """Return how many edge ends meet at each node (a loop counts twice, what spans a wide gap not at all)."""
        ends = np.array([(edge.start, edge.end) for edge in self.edges if edge.wide is None], np.int64).reshape(-1)
        return np.bincount(ends, minlength=len(self.nodes))

    def open_ends(self) -> list[tuple[int, int]]:
        """Return (edge index, node) of every line end that meets nothing."""
        degrees = self.degrees()
        return [
            (index, node)
            for index, edge in enumerate(self.edges)
            for node in (edge.start, edge.end)
            if degrees[node] == 1 and edge.wide is None
        ]

    def at_nodes(self) -> dict[int, list[int]]:
        """Return the edges at each node but those that span wide gaps; a loop is listed twice."""
        found: dict[int, list[int]] = defaultdict(list)
        for index, edge in enumerate(self.edges):
            if edge.wide is not None:
                continue
            found[edge.start].append(index)
            found[edge.end].append(index)
        return found


def prune_spurs(work: LineWork, *, spur_px: float) -> LineWork:
    """Return the line work without spurs and without nodes where only two lines meet.

    A spur is a free end shorter than `spur_px` at a junction: a whisker of the thinning. A junction that
    the thinning tore into two (a crossing seen as >-<) becomes one node again.
    """
    return joined(_contracted(_pruned(work, spur_px), spur_px))


def _pruned(work: LineWork, spur_px: float) -> LineWork:
    degrees = work.degrees()

    def is_spur(edge: Edge) -> bool:
        ends = sorted((int(degrees[edge.start]), int(degrees[edge.end])))
        return ends[0] == 1 and ends[1] >= 3 and edge.length < spur_px

    return LineWork(work.nodes, tuple(edge for edge in work.edges if not is_spur(edge)))


def _contracted(work: LineWork, reach_px: float) -> LineWork:
    """Merge the two nodes of every edge between junctions that is shorter than `reach_px`."""
    degrees = work.degrees()
    return merged(
        work,
        [
            index
            for index, edge in enumerate(work.edges)
            if degrees[edge.start] >= 3 and degrees[edge.end] >= 3 and edge.length < reach_px
        ],
    )


def merged(work: LineWork, shrunk: Iterable[int]) -> LineWork:
    """Return the line work with each of the given edges shrunk to one node, at the mean of those it joins.

    An edge whose ends are already one node, as a loop is, stays.
    """
    parent = list(range(len(work.nodes)))

    def root(node: int) -> int:
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    gone: set[int] = set()
    for index in shrunk:
        edge = work.edges[index]
        if root(edge.start) != root(edge.end):
            parent[root(edge.end)] = root(edge.start)
            gone.add(index)
    members: dict[int, list[int]] = defaultdict(list)
    for node in range(len(work.nodes)):
        members[root(node)].append(node)
    nodes = work.nodes.copy()
    for head, group in members.items():
        if len(group) > 1:
            nodes[head] = work.nodes[group].mean(axis=0)
    kept = [edge for index, edge in enumerate(work.edges) if index not in gone]
    return LineWork(nodes, tuple(_moved(replace(e, start=root(e.start), end=root(e.end)), nodes) for e in kept))


def _moved(edge: Edge, nodes: Points) -> Edge:
    first, last = nodes[edge.start], nodes[edge.end]
    if np.array_equal(edge.points[0], first) and np.array_equal(edge.points[-1], last):
        return edge
    return replace(edge, points=np.vstack([first, edge.points[1:-1], last]))


def joined(work: LineWork) -> LineWork:
    """Join the two edges at every node where exactly two different edges meet."""
    edges: dict[int, Edge] = dict(enumerate(work.edges))
    at = {node: list(found) for node, found in work.at_nodes().items()}
    for node, found in at.items():
        if len(found) != 2 or found[0] == found[1]:
            continue
        first, second = edges[found[0]], edges[found[1]]
        if first.is_bridge or second.is_bridge:
            continue
        before = first if first.end == node else first.reversed()
        after = second if second.start == node else second.reversed()
        joined = replace(before, end=after.end, points=np.vstack([before.points[:-1], after.points]))
        edges[found[0]] = joined
        del edges[found[1]]
        if after.end in at:
            at[after.end] = [found[0] if index == found[1] else index for index in at[after.end]]
    return LineWork(work.nodes, tuple(edges[index] for index in sorted(edges)))


def filled(path: Points) -> Points:
    """Return a path with points at most one unit apart."""
    pieces = [
        np.linspace(a, b, max(2, math.ceil(float(np.hypot(*(b - a)))) + 1))[:-1] for a, b in itertools.pairwise(path)
    ]
    return np.vstack([*pieces, path[-1:]])


def end_direction(edge: Edge, node: int, *, skip_px: float, reach_px: float) -> Point:
    """Return the unit direction in which `edge` leaves `node`, measured between two distances from it."""
    points = edge.points if edge.start == node else edge.points[::-1]
    x, y = _direction_between(points, skip_px, reach_px)
    return (x, y)


@compiled
def _direction_between(points: Points, skip_px: float, reach_px: float) -> tuple[float, float]:  # pragma: no cover
    """Return the unit direction between two points at these distances along a path, the first at most a third along."""
    away = np.zeros(len(points))
    for k in range(1, len(points)):
        away[k] = away[k - 1] + math.hypot(points[k, 0] - points[k - 1, 0], points[k, 1] - points[k - 1, 1])
        if away[k] > max(3.0 * skip_px, reach_px):
            away, points = away[: k + 1], points[: k + 1]
            break
    low, high = min(skip_px, away[-1] / 3.0), min(reach_px, away[-1])
    x = np.interp(high, away, points[:, 0]) - np.interp(low, away, points[:, 0])
    y = np.interp(high, away, points[:, 1]) - np.interp(low, away, points[:, 1])
    size = math.hypot(x, y) or 1.0
    return x / size, y / size


def outward_directions(edge: Edge, node: int, *, skip_px: float, reach_px: float, pen_px: float) -> tuple[Point, Point]:
    """Return where the end of `edge` at `node` points, away from it: its straight leg alone, and over the whole reach.

    The two differ where a line goes round a corner soon before it ends. A short leg tells its direction badly.
    """
    leg_px = _straight_reach(edge, node, reach_px, pen_px)
    legs = [
        end_direction(edge, node, skip_px=min(skip_px, LEG_SKIP_SHARE * leg_px), reach_px=leg_px),
        end_direction(edge, node, skip_px=skip_px, reach_px=reach_px),
    ]
    leg, whole = ((-x, -y) for x, y in legs)
    return leg, whole


def _straight_reach(edge: Edge, node: int, reach: float, pen_px: float) -> float:
    """Return how far, up to `reach`, a line runs straight from its end."""
    points = edge.points if edge.start == node else edge.points[::-1]
    return float(_straight(points, reach, LEAST_LEG_PENS * pen_px))


@compiled
def _straight(points: Points, reach: float, least: float) -> float:  # pragma: no cover - compiled
    """Return how far, from `reach` down to `least`, a path keeps to the chord from its start."""
    away = np.zeros(len(points))
    for k in range(1, len(points)):
        away[k] = away[k - 1] + math.hypot(points[k, 0] - points[k - 1, 0], points[k, 1] - points[k - 1, 1])
        if away[k] > reach:
            away = away[: k + 1]
            break
    count = len(away)
    while reach > least:
        while away[count - 1] > reach:
            count -= 1
        x, y = points[count - 1, 0] - points[0, 0], points[count - 1, 1] - points[0, 1]
        aside = 0.0
        for k in range(count):
            aside = max(aside, abs((points[k, 0] - points[0, 0]) * y - (points[k, 1] - points[0, 1]) * x))
        if aside <= max(BEND_PX, BEND_SHARE * reach) * math.hypot(x, y):
            break
        reach *= 0.8
    return reach


def pieces_of(work: LineWork, *, is_whole: bool = False) -> NDArray[np.int64]:
    """Return for each edge the number of the connected drawing that it belongs to; wide gaps join only if `is_whole`.

    What spans one has the number of the drawing where it starts.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    ends = np.array([(edge.start, edge.end) for edge in work.edges], np.int64).reshape(-1, 2)
    joins = ends[[is_whole or edge.wide is None for edge in work.edges]]
    links = coo_array((np.ones(len(joins)), (joins[:, 0], joins[:, 1])), shape=(len(work.nodes),) * 2)
    _, label = connected_components(links, directed=False)
    _, compact = np.unique(label[ends[:, 0]], return_inverse=True)
    return np.asarray(compact, np.int64)
