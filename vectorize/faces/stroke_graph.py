"""The graph of a drawing: exact pieces of strokes chained to edges between places where lines meet."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vectorize.lines.graph import Edge, LineWork
from vectorize.lines.runs import Arm
from vectorize.lines.split_strokes import Pieces
from vectorize.shapes.segment import Points

Step = tuple[int, bool]
"""A piece, and whether it is walked from its start to its end."""

TELL_PX = 4.0
"""As in `subdivision`, for exact curves: nothing blurs them, so that a smaller circle tells arms apart that touch."""

FLAT_PX = 0.08
"""Chord tolerance of an edge's points, a hundredth of a millimetre; outlines are made of the exact pieces."""

STRAIGHT_STEP_PX = 8.0
"""Points of an edge lie no farther apart than this, so that what is beside it can be looked up along it."""


@dataclass(frozen=True, slots=True)
class Pen:
    """What a line was drawn with; a line goes on in another only with the same pen."""

    width: float
    is_dashed: bool
    is_bridge: bool
    is_axis: bool


@dataclass(frozen=True, slots=True, eq=False)
class Graph:
    """Edges as the readers of scans know them, with the exact steps along each and the pen it was drawn with."""

    work: LineWork
    steps: tuple[tuple[Step, ...], ...]
    pens: tuple[Pen, ...]


def graph_of(work: Pieces, pens: Sequence[Pen]) -> Graph:
    """Return the pieces chained where exactly two of one pen meet; `pens` are those of the pieces."""
    at: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for n, piece in enumerate(work.pieces):
        at[piece.start].append((n, 0))
        at[piece.end].append((n, 1))
    chains = list(_chained(work, pens, at))
    edges = tuple(_edge(work, chain, pens[chain[0][0]]) for chain in chains)
    return Graph(LineWork(work.nodes, edges), tuple(chains), tuple(pens[chain[0][0]] for chain in chains))


def _chained(work: Pieces, pens: Sequence[Pen], at: dict[int, list[tuple[int, int]]]) -> Iterator[tuple[Step, ...]]:
    """Yield the steps along each edge."""

    def following(step: Step) -> Step | None:
        n, forwards = step
        node = work.pieces[n].end if forwards else work.pieces[n].start
        here = at[node]
        if len(here) != 2:
            return None
        other, side = here[0] if here[1] == (n, 1 if forwards else 0) else here[1]
        return (other, side == 0) if pens[other] == pens[n] else None

    left = set(range(len(work.pieces)))
    for first in range(len(work.pieces)):
        if first not in left:
            continue
        ahead = _walked((first, True), following, left)
        is_ring = following(ahead[-1]) == (first, True)
        behind = [] if is_ring else _walked((first, False), following, left | {first})[1:]
        yield (*((n, not forwards) for n, forwards in reversed(behind)), *ahead)


def _walked(first: Step, following: Callable[[Step], Step | None], left: set[int]) -> list[Step]:
    steps, step = [first], first
    left.discard(first[0])
    while (after := following(step)) is not None and after[0] in left:
        left.discard(after[0])
        steps.append(after)
        step = after
    return steps


def _edge(work: Pieces, chain: Sequence[Step], pen: Pen) -> Edge:
    rows: list[Points] = []
    for n, forwards in chain:
        segment = work.pieces[n].segment
        points = np.array([*segment.flattened(FLAT_PX), segment.end])
        rows.append((points if forwards else points[::-1])[:-1])
    (first, ahead), (last, along) = chain[0], chain[-1]
    start = work.pieces[first].start if ahead else work.pieces[first].end
    end = work.pieces[last].end if along else work.pieces[last].start
    tip = work.pieces[last].segment.end if along else work.pieces[last].segment.start
    return Edge(start, end, _dense(np.vstack([*rows, np.array([tip])])), pen.is_bridge, pen.is_dashed)


def _dense(points: Points) -> Points:
    """Return points with more put in where they lie far apart."""
    sizes = np.hypot(*np.diff(points, axis=0).T)
    counts = np.maximum(np.ceil(sizes / STRAIGHT_STEP_PX).astype(np.int64), 1)
    if np.all(counts == 1):
        return points
    along = np.concatenate([np.arange(n) / n for n in counts])
    first = np.repeat(np.arange(len(counts)), counts)
    made = points[first] + along[:, None] * (points[first + 1] - points[first])
    return np.vstack([made, points[-1:]])


def ordered_arms(work: Pieces, graph: Graph, arms: dict[int, list[Arm]]) -> dict[int, tuple[Arm, ...]]:
    """Return the arms of each node anticlockwise, as seen with y pointing down, by their exact curves."""
    return {node: _anticlockwise(work, graph, leaving) for node, leaving in arms.items()}


def _anticlockwise(work: Pieces, graph: Graph, arms: list[Arm]) -> tuple[Arm, ...]:
    if len(arms) < 3:
        return tuple(sorted(arms))
    leaving = [graph.steps[edge][-1 if side else 0] for edge, side in arms]
    # An arm of the far end is walked backwards.
    steps = [(n, forwards != bool(side)) for (n, forwards), (_, side) in zip(leaving, arms, strict=True)]
    reach = min(TELL_PX, *(0.4 * _span(work, n) for n, _ in steps))
    angles = [_leaving_angle(work, step, reach) for step in steps]
    return tuple(arm for _, arm in sorted(zip(angles, arms, strict=True)))


def _span(work: Pieces, n: int) -> float:
    """Return about how far a piece gets from its ends."""
    segment = work.pieces[n].segment
    return max(math.dist(segment.start, segment.point_at(0.5)), 1e-9)


def _leaving_angle(work: Pieces, step: Step, reach: float) -> float:
    """Return the direction, in radians anticlockwise on the picture, in which a piece leaves a circle about its end."""
    n, forwards = step
    segment = work.pieces[n].segment if forwards else work.pieces[n].segment.reversed()
    low, high = 0.0, 0.5
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if math.dist(segment.start, segment.point_at(middle)) < reach else (low, middle)
    (x0, y0), (x, y) = segment.start, segment.point_at(high)
    return math.atan2(-(y - y0), x - x0)


def drawn_through(work: Pieces, graph: Graph, arms: dict[int, list[Arm]]) -> dict[int, list[tuple[Arm, Arm]]]:
    """Return, by node, the arms that one stroke goes through; where strokes share one that is left to their form."""
    found: dict[int, list[tuple[Arm, Arm]]] = {}
    for node, here in arms.items():
        if len(here) < 3:
            continue
        of_stroke: dict[int, list[Arm]] = defaultdict(list)
        for edge, side in here:
            piece = work.pieces[graph.steps[edge][-1 if side else 0][0]]
            for stroke in {piece.stroke, *piece.shared}:
                of_stroke[stroke].append((edge, side))
        pairs = {(pair[0], pair[1]) for pair in of_stroke.values() if len(pair) == 2}
        used = Counter(arm for pair in pairs for arm in pair)
        alone = sorted(pair for pair in pairs if used[pair[0]] == used[pair[1]] == 1)
        if alone:
            found[node] = alone
    return found


def spots_on(edges: Sequence[Edge]) -> tuple[Points, NDArray[np.int64]]:
    """Return all points of edges below each other, and the edge that each belongs to."""
    counts = [len(edge.points) for edge in edges]
    points = np.vstack([edge.points for edge in edges]) if edges else np.zeros((0, 2))
    return points, np.repeat(np.arange(len(edges)), counts)
