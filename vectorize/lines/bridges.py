"""Gaps in drawn lines: ends that point at each other, at a common corner, or at a line are joined."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from vectorize.lines.centre import ink_across
from vectorize.lines.graph import UNLIKE_SHARE, Edge, LineWork, outward_directions, pieces_of
from vectorize.shapes.segment import Point, Points

SHORTEST_STROKE_MM = 3.0
"""A stroke shorter than this is a mark or a letter; its ends are left alone."""

MARK_GAPS = 2.0
"""Two marks that are both smaller than this many times the gap between them are two letters, not a broken line."""

_ASIDE_DEG = 30.0

CLOSING_DEG, CLOSING_SHARE = 50.0, 0.2
"""A line that comes back to its start is closed over less than this share of its length, however short it is, and the
way across may turn so much: a small circle turns by 30 degrees over the length that tells its ends' directions. The
open side of a C is a quarter of it."""


@dataclass(frozen=True, slots=True)
class _End:
    """A free end: where it is, where it points, and the ink that its line carries across, nan where unknown.

    `whole` is its direction told over more of the line than the last straight leg; `length_px` is that of its edge and
    `extent_px` the larger side of all the ink that hangs together with it.
    """

    edge: int
    node: int
    at: Point
    out: Point
    whole: Point
    ink: float
    length_px: float
    extent_px: float


@dataclass(frozen=True, slots=True)
class _Bridge:
    """The points from one end to another (or, with `second` None, to a spot on edge `onto`)."""

    first: _End
    second: _End | None
    path: tuple[Point, ...]
    onto: tuple[int, int] | None = None

    @property
    def length(self) -> float:
        return sum(math.dist(a, b) for a, b in zip(self.path, self.path[1:], strict=False))


def with_bridges(
    work: LineWork, darkness: NDArray[np.uint8], *, gap_px: float, px_per_mm: float, pen_px: float
) -> LineWork:
    """Return the line work with gaps of up to `gap_px` bridged.

    Two ends that continue each other are joined straight, best of one pen; two of one pen that make a corner through
    the point where their directions meet; the two ends of one line that stop side by side straight across; an end that
    stops short of a line is taken on to it. Every such edge has `is_bridge`; one onto a line also has
    `is_tee`, since the line may well have been meant to stop.
    An end that lies in a space of a dashed line touches that line.
    """
    work = _touching_spaces(work, pen_px)
    ends = _free_ends(work, darkness, px_per_mm, pen_px)
    bridges = _between_ends(ends, gap_px, pen_px, is_alike=True)
    bridges += _across(work, _rest(ends, bridges), bridges, gap_px, pen_px)
    bridges += _between_ends(_rest(ends, bridges), gap_px, pen_px, is_alike=False)
    bridges += _onto_lines(work, _rest(ends, bridges), gap_px, pen_px)
    return _added(work, bridges)


def _rest(ends: Sequence[_End], bridges: Sequence[_Bridge]) -> list[_End]:
    """Return the ends that no bridge has used."""
    used = {end.node for bridge in bridges for end in (bridge.first, bridge.second) if end is not None}
    return [end for end in ends if end.node not in used]


def _touching_spaces(work: LineWork, pen_px: float) -> LineWork:
    """Return the line work with each free end that lies within a pen width of a dashed line's space made a node of it.

    A drawn dash would have met the line there; where there is a space instead, the skeleton shows nothing to meet.
    """
    spaces = [i for i, edge in enumerate(work.edges) if edge.is_bridge and edge.is_dashed]
    ends = [node for index, node in work.open_ends() if not work.edges[index].is_dashed]
    spots = [(i, k) for i in spaces for k in range(1, len(work.edges[i].points) - 1)]
    if not spots or not ends:
        return work
    points = np.vstack([work.edges[i].points[1:-1] for i in spaces])
    found = cKDTree(points).query(work.nodes[ends], distance_upper_bound=pen_px)
    away, nearest = (np.asarray(column).tolist() for column in found)
    splits: dict[int, list[tuple[int, int]]] = {}
    for node, far, spot in zip(ends, away, nearest, strict=True):
        if np.isfinite(far):
            index, k = spots[spot]
            if all(taken != k for taken, _ in splits.get(index, ())):
                splits.setdefault(index, []).append((k, node))
    edges = [e for i, e in enumerate(work.edges) if i not in splits]
    for index, cuts in splits.items():
        points = work.edges[index].points.copy()
        for k, node in cuts:
            points[k] = work.nodes[node]
        edges += split(replace(work.edges[index], points=points), cuts)
    return LineWork(work.nodes, tuple(edges))


def _free_ends(work: LineWork, darkness: NDArray[np.uint8], px_per_mm: float, pen_px: float) -> list[_End]:
    bridged = {node for e in work.edges if e.is_bridge and not e.is_dashed for node in (e.start, e.end)}
    lengths = line_lengths(work, darkness, pen_px)
    free = [
        (index, node)
        for index, node in work.open_ends()
        if _is_line(work.edges[index], lengths[index], bridged, px_per_mm)
    ]
    inks = ink_across(darkness, [work.edges[index].points for index, _ in free], width_px=pen_px).tolist()
    extents = _extents(work) if free else []
    reach = max(4.0 * pen_px, 2.5 * px_per_mm)
    ends = []
    for (index, node), ink in zip(free, inks, strict=True):
        edge = work.edges[index]
        leg, whole = outward_directions(edge, node, skip_px=0.7 * pen_px, reach_px=reach, pen_px=pen_px)
        at = work.nodes[node]
        ends.append(_End(index, node, (float(at[0]), float(at[1])), leg, whole, ink, edge.length, extents[index]))
    return ends


def _extents(work: LineWork) -> list[float]:
    """Return for each edge the larger side of the box round all the edges that hang together with it."""
    of_edge = pieces_of(work)
    low = np.full((len(work.edges), 2), np.inf)
    high = -low
    np.minimum.at(low, of_edge, [edge.points.min(axis=0) for edge in work.edges])
    np.maximum.at(high, of_edge, [edge.points.max(axis=0) for edge in work.edges])
    found: list[float] = np.max(high - low, axis=1)[of_edge].tolist()
    return found


def line_lengths(work: LineWork, darkness: NDArray[np.uint8], pen_px: float) -> list[float]:
    """Return for each edge its length in pixels, with that of an edge of the same pen which it goes on in.

    On a small faint circle a node may stand where the pen seemed to change.
    """
    lengths = [edge.length for edge in work.edges]
    degrees = work.degrees()
    pairs = [
        (pair[0], pair[1])
        for node, pair in work.at_nodes().items()
        if degrees[node] == 2 and pair[0] != pair[1] and not any(work.edges[k].is_bridge for k in pair)
    ]
    inks = ink_across(darkness, [work.edges[k].points for pair in pairs for k in pair], width_px=pen_px).reshape(-1, 2)
    whole = list(lengths)
    for (one, other), (a, b) in zip(pairs, inks.tolist(), strict=True):
        if not min(a, b) < UNLIKE_SHARE * max(a, b):
            whole[one] += lengths[other]
            whole[other] += lengths[one]
    return whole


def _is_line(edge: Edge, length_px: float, bridged: set[int], px_per_mm: float) -> bool:
    """Whether an edge is a line that may have gaps, or the last stroke of a broken one: no dash, no mark, no letter."""
    is_stroke = length_px >= SHORTEST_STROKE_MM * px_per_mm or edge.start in bridged or edge.end in bridged
    return is_stroke and not edge.is_dashed


def _between_ends(ends: Sequence[_End], gap_px: float, pen_px: float, *, is_alike: bool) -> list[_Bridge]:
    """Join the best pairs first, of one pen (`is_alike`) or of two; each end is used once."""
    if len(ends) < 2:
        return []
    # The thinning shortens each end by up to half a pen width.
    reach = gap_px + pen_px
    found: list[tuple[float, int, int, tuple[Point, ...]]] = []
    for i, j in cKDTree(np.array([end.at for end in ends])).query_pairs(1.5 * reach):
        one, other = ends[i], ends[j]
        if _are_alike(one, other) != is_alike or _are_marks(one, other):
            continue
        closes = one.edge == other.edge
        if closes and math.dist(one.at, other.at) > CLOSING_SHARE * one.length_px:
            continue
        aside = math.cos(math.radians(CLOSING_DEG if closes else _ASIDE_DEG))
        joined = _join(one, other, reach, pen_px, aside)
        if joined is None:
            joined = _join(replace(one, out=one.whole), replace(other, out=other.whole), reach, pen_px, aside)
        if joined is not None:
            found.append((joined[0], i, j, joined[1]))
    used: set[int] = set()
    bridges = []
    for _, i, j, path in sorted(found):
        if i not in used and j not in used:
            used |= {i, j}
            bridges.append(_Bridge(ends[i], ends[j], path))
    return bridges


def _join(one: _End, other: _End, reach: float, pen_px: float, limit: float) -> tuple[float, tuple[Point, ...]] | None:
    """Return cost and path of joining two ends, None where they do not belong together.

    `limit` is the cosine of the angle by which a straight way across turns off an end at most.
    """
    gap = math.dist(one.at, other.at)
    if gap <= 1.0 * pen_px:
        return gap, (one.at, other.at)
    dx, dy = (other.at[0] - one.at[0]) / gap, (other.at[1] - one.at[1]) / gap
    if gap <= reach and one.out[0] * dx + one.out[1] * dy > limit and -(other.out[0] * dx + other.out[1] * dy) > limit:
        return gap, (one.at, other.at)
    cross = one.out[0] * other.out[1] - one.out[1] * other.out[0]
    if not _are_alike(one, other) or abs(cross) < math.sin(math.radians(20.0)):
        return None
    ex, ey = other.at[0] - one.at[0], other.at[1] - one.at[1]
    s = (ex * other.out[1] - ey * other.out[0]) / cross
    t = (ex * one.out[1] - ey * one.out[0]) / cross
    if not (-pen_px <= s <= reach and -pen_px <= t <= reach):
        return None
    corner = (one.at[0] + s * one.out[0], one.at[1] + s * one.out[1])
    return 1.3 * (abs(s) + abs(t)), (one.at, corner, other.at)


def _are_marks(one: _End, other: _End) -> bool:
    """Whether two ends are those of marks that are small against the gap between them."""
    return max(one.extent_px, other.extent_px) < MARK_GAPS * math.dist(one.at, other.at)


def _are_alike(one: _End, other: _End) -> bool:
    """Whether two ends carry about the same ink, as far as that is known."""
    return not min(one.ink, other.ink) < UNLIKE_SHARE * max(one.ink, other.ink)


def _across(
    work: LineWork, free: Sequence[_End], bridges: Sequence[_Bridge], gap_px: float, pen_px: float
) -> list[_Bridge]:
    """Close what is open at one end only: a thin trailing edge that has worn away.

    Its two ends are those of one line, whatever gaps in it have been bridged, point the same way, and lie abreast.
    """
    if len(free) < 2:
        return []
    near = sorted(cKDTree(np.array([end.at for end in free])).query_pairs(gap_px + pen_px))
    abreast = [(free[i], free[j]) for i, j in near if _are_abreast(free[i], free[j])]
    if not abreast:
        return []
    line = _lines(work, [(b.first.node, b.second.node) for b in bridges if b.second is not None])
    whole = np.bincount(line, [edge.length for edge in work.edges])
    return [
        _Bridge(one, other, (one.at, other.at))
        for one, other in abreast
        if line[one.edge] == line[other.edge] and math.dist(one.at, other.at) < CLOSING_SHARE * whole[line[one.edge]]
    ]


def _are_abreast(one: _End, other: _End) -> bool:
    """Whether two ends point the same way and neither is ahead of the other."""
    limit = math.cos(math.radians(_ASIDE_DEG))
    dx, dy = other.at[0] - one.at[0], other.at[1] - one.at[1]
    ahead = max(abs(end.whole[0] * dx + end.whole[1] * dy) for end in (one, other))
    is_one_way = one.whole[0] * other.whole[0] + one.whole[1] * other.whole[1] > limit
    return is_one_way and ahead < limit * math.hypot(dx, dy)


def _lines(work: LineWork, joins: Sequence[tuple[int, int]]) -> list[int]:
    """Return for each edge the number of the line it is in: edges that join end to end, where no third meets them."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    ends = np.array([(edge.start, edge.end) for edge in work.edges], np.int64)
    own = len(work.nodes) + np.arange(ends.size).reshape(ends.shape)
    # Where three or more meet, each has an end of its own.
    ends = np.where(work.degrees()[ends] > 2, own, ends)
    links = np.vstack([ends, np.array(joins, np.int64).reshape(-1, 2)])
    size = len(work.nodes) + ends.size
    _, label = connected_components(coo_array((np.ones(len(links)), links.T), shape=(size, size)), directed=False)
    return [int(label[start]) for start in ends[:, 0]]


def _onto_lines(work: LineWork, ends: Sequence[_End], gap_px: float, pen_px: float) -> list[_Bridge]:
    """Take each remaining end straight on to the first line within the gap."""
    if not ends or not work.edges:
        return []
    lines = [(i, k) for i, e in enumerate(work.edges) for k in range(len(e.points))]
    points = np.vstack([e.points for e in work.edges])
    tree = cKDTree(points)
    bridges = []
    for end in ends:
        near = tree.query_ball_point(end.at, gap_px + 1.5 * pen_px)
        hit = _first_ahead(end, points[near], [lines[k] for k in near], pen_px)
        if hit is not None:
            at, onto = hit
            bridges.append(_Bridge(end, None, (end.at, at), onto))
    return bridges


def _first_ahead(
    end: _End, points: Points, owners: Sequence[tuple[int, int]], pen_px: float
) -> tuple[Point, tuple[int, int]] | None:
    """Return the nearest line point straight ahead of an end, not counting the end's own stroke."""
    best: tuple[float, int] | None = None
    for k, (x, y) in enumerate(points.tolist()):
        dx, dy = x - end.at[0], y - end.at[1]
        along = dx * end.out[0] + dy * end.out[1]
        aside = abs(dx * end.out[1] - dy * end.out[0])
        is_own = owners[k][0] == end.edge and math.hypot(dx, dy) < 6 * pen_px
        if along > 0 and aside <= max(1.0, 0.15 * along) and not is_own and (best is None or along < best[0]):
            best = (along, k)
    if best is None:
        return None
    x, y = points[best[1]].tolist()
    return (x, y), owners[best[1]]


def _added(work: LineWork, bridges: Sequence[_Bridge]) -> LineWork:
    """Return the line work with the bridges as edges; lines that one lands on are split there."""
    nodes = work.nodes.tolist()
    edges: list[Edge | None] = list(work.edges)
    splits: dict[int, list[tuple[int, int]]] = {}
    new: list[Edge] = []
    for bridge in bridges:
        if bridge.second is not None:
            node, is_tee = bridge.second.node, False
        else:
            assert bridge.onto is not None
            node, is_tee = _landing(work, bridge, nodes, splits), True
        path = np.array([*bridge.path[:-1], nodes[node]], np.float64)
        new.append(Edge(bridge.first.node, node, path, is_bridge=True, is_tee=is_tee))
    for index, cuts in splits.items():
        edge = edges[index]
        assert edge is not None
        edges[index] = None
        new.extend(split(edge, cuts))
    return LineWork(np.array(nodes, np.float64).reshape(-1, 2), (*(e for e in edges if e is not None), *new))


def _landing(
    work: LineWork, bridge: _Bridge, nodes: list[list[float]], splits: dict[int, list[tuple[int, int]]]
) -> int:
    """Return the node where a bridge lands, a new one unless it lands on an end of the line."""
    assert bridge.onto is not None
    index, k = bridge.onto
    edge = work.edges[index]
    if k == 0:
        return edge.start
    if k == len(edge.points) - 1:
        return edge.end
    for cut, node in splits.get(index, ()):
        if cut == k:
            return node
    nodes.append(edge.points[k].tolist())
    splits.setdefault(index, []).append((k, len(nodes) - 1))
    return len(nodes) - 1


def split(edge: Edge, cuts: Sequence[tuple[int, int]]) -> list[Edge]:
    """Return the pieces of an edge cut at (number of a point, node there)."""
    pieces = []
    begin, start = 0, edge.start
    for k, node in [*sorted(cuts), (len(edge.points) - 1, edge.end)]:
        pieces.append(replace(edge, start=start, end=node, points=edge.points[begin : k + 1]))
        begin, start = k, node
    return pieces
