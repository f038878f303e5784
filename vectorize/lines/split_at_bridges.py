"""A node wherever a bridge crosses a line.

Thinning gives drawn lines a node where they cross. A bridge is laid afterwards: where it crosses a line
without one, the two sides of either would change along an edge, and no boundary could be followed through.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from vectorize.lines.graph import Edge, LineWork
from vectorize.shapes.segment import Points

_SAME_PX = 1.5
"""A crossing this near a node that both have is that node."""

_Cut = tuple[int, int, Points]


def split_at_intersections(work: LineWork) -> LineWork:
    """Return the line work with bridges and the lines they cross split at new nodes."""
    boxes = np.array([(*e.points.min(axis=0), *e.points.max(axis=0)) for e in work.edges]).reshape(-1, 4)
    nodes = work.nodes.tolist()
    cuts: dict[int, list[_Cut]] = defaultdict(list)
    done: set[tuple[int, int]] = set()
    for index, edge in enumerate(work.edges):
        if not edge.is_bridge:
            continue
        box = boxes[index]
        is_near = np.all(boxes[:, :2] <= box[2:], axis=1) & np.all(boxes[:, 2:] >= box[:2], axis=1)
        for other in np.flatnonzero(is_near).tolist():
            pair = (min(index, other), max(index, other))
            if other == index or pair in done:
                continue
            done.add(pair)
            for here, there, at in _crossings(edge, work.edges[other], work.nodes):
                node = _end_at(at, (edge, work.edges[other]), work.nodes)
                if node is None:
                    nodes.append(at.tolist())
                    node = len(nodes) - 1
                for number, segment in ((index, here), (other, there)):
                    if node not in (work.edges[number].start, work.edges[number].end):
                        cuts[number].append((segment, node, np.array(nodes[node])))
    edges = [piece for i, edge in enumerate(work.edges) for piece in (_split(edge, cuts[i]) if i in cuts else [edge])]
    return LineWork(np.array(nodes, np.float64).reshape(-1, 2), tuple(edges))


def _end_at(at: Points, edges: Sequence[Edge], nodes: Points) -> int | None:
    """Return the end of one of the edges that a crossing is as good as on: there the other edge is split at it.

    With a node of its own beside it, the line would come off whatever it joins there; a loop would come open.
    """
    ends = [node for edge in edges for node in (edge.start, edge.end)]
    nearest = min(ends, key=lambda node: float(np.hypot(*(nodes[node] - at))))
    return nearest if np.hypot(*(nodes[nearest] - at)) <= _SAME_PX else None


def _crossings(one: Edge, other: Edge, nodes: Points) -> list[_Cut]:
    """Return (segment of one, segment of the other, point) where two edges cross, but not at a node of both."""
    a0, a1 = one.points[:-1], one.points[1:]
    low, high = one.points.min(axis=0), one.points.max(axis=0)
    b0, b1 = other.points[:-1], other.points[1:]
    near = np.flatnonzero(np.all(np.minimum(b0, b1) <= high, axis=1) & np.all(np.maximum(b0, b1) >= low, axis=1))
    if not len(near):
        return []
    u, v = a1 - a0, (b1 - b0)[near]
    w = b0[near][None] - a0[:, None]
    denominator = _cross(u[:, None], v[None])
    with np.errstate(divide="ignore", invalid="ignore"):
        s, t = _cross(w, v[None]) / denominator, _cross(w, u[:, None]) / denominator
        hits = np.argwhere((s >= 0) & (s < 1) & (t >= 0) & (t < 1))
    shared = [nodes[node] for node in {one.start, one.end} & {other.start, other.end}]
    found: list[_Cut] = []
    for i, k in hits.tolist():
        at = a0[i] + s[i, k] * u[i]
        if all(np.hypot(*(at - seen)) > _SAME_PX for seen in [*shared, *(cut[2] for cut in found)]):
            found.append((i, int(near[k]), at))
    return found


def _cross(one: Points, other: Points) -> NDArray[np.float64]:
    return np.asarray(one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0], np.float64)


def _split(edge: Edge, cuts: Sequence[_Cut]) -> list[Edge]:
    """Cut an edge within the given segments; several cuts are taken in the order in which they lie along it."""
    in_order = sorted(cuts, key=lambda cut: (cut[0], float(np.hypot(*(cut[2] - edge.points[cut[0]])))))
    pieces: list[Edge] = []
    begin, start, head = 0, edge.start, edge.points[:0]
    for segment, node, at in in_order:
        points = np.vstack([head, edge.points[begin : segment + 1], at[None]])
        pieces.append(replace(edge, start=start, end=node, points=points))
        begin, start, head = segment + 1, node, at[None]
    pieces.append(replace(edge, start=start, points=np.vstack([head, edge.points[begin:]])))
    return [piece for piece in pieces if piece.length > 0]
