"""Gaps too wide to be bridged by themselves, laid as edges that the whole sheet then decides on.

What speaks for one line across a gap is known from natural contours: nearness, good continuation and likeness, each
on its own (Elder & Goldberg 2002, doi:10.1167/2.4.5). They are measured here and weighed in `vectorize.faces.gaps`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from vectorize.lines.bridges import line_lengths, split
from vectorize.lines.centre import ink_across
from vectorize.lines.graph import Edge, LineWork, WideGap, filled, outward_directions, pieces_of
from vectorize.shapes.segment import Point, Points

WIDEST_GAPS = 3.0
"""So many times what is bridged anyway: 6 mm where 2 mm are, the largest gap that one line was seen to leave."""

LEAST_EXTENT_MM = 6.0
"""Lines from drawings smaller than this are not led on: lettering and arrowheads."""

LEAST_STROKE_MM = 4.0
"""A shorter stroke with a free end is a leg of a letter or overshoots a corner."""

LEAST_DASH_MM = 1.5
"""A shorter dash tells no direction to lead it on in."""

ASIDE_DEG = 55.0
"""Across a gap a line turns off its end by no more than this."""

CORNER_DEG = 25.0
"""Two ends that differ from one line by less than this make no corner."""

TEE_ASIDE = 0.15
"""A line that is led on to another goes this much aside at most, by its length."""

MOST_FROM_END = 2
MOST_ON_SHEET = 300
"""So many gaps are laid from one end and on one sheet, the likeliest: each may add a face."""


@dataclass(frozen=True, slots=True)
class _End:
    """A free end: its edge and node, where it is, its direction outward by its last leg and by more of it, its ink."""

    edge: int
    node: int
    at: Point
    outs: tuple[Point, Point]
    ink: float
    is_dashed: bool


@dataclass(frozen=True, slots=True)
class _Way:
    """A way across: from an end to another, or to a spot (edge, point) on a line; the less it `costs`, the likelier."""

    cost: float
    first: _End
    second: _End | None
    onto: tuple[int, int] | None
    path: Points
    bend_deg: float

    @property
    def is_corner(self) -> bool:
        return len(self.path) == 3


def with_wide_gaps(
    work: LineWork, darkness: NDArray[np.uint8], *, gap_px: float, px_per_mm: float, pen_px: float
) -> LineWork:
    """Return the line work with an edge over each gap of up to three times `gap_px` that a line may go on over.

    They join free ends that point at each other or at a common corner, and free ends with lines ahead. No edge
    that was there is changed but for new nodes where such a gap ends on it.
    """
    if gap_px <= 0 or not work.edges:
        return work
    extent = _extents(work)
    ends = _free_ends(work, extent, darkness, px_per_mm, pen_px)
    reach = WIDEST_GAPS * gap_px + pen_px
    lines = _Lines.of(work, extent, LEAST_EXTENT_MM * px_per_mm)
    ways = [*_between(ends, reach, pen_px), *_onto(lines, ends, reach, pen_px)] if ends else []
    taken = _chosen(lines, ways, pen_px)
    return _laid(work, taken, px_per_mm)


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """All points of a line work, each with its edge, its number there, and whether it is part of a large drawing."""

    points: Points
    owner: NDArray[np.int64]
    number: NDArray[np.int64]
    is_large: NDArray[np.bool_]
    tree: cKDTree

    @classmethod
    def of(cls, work: LineWork, extent: Points, least: float) -> _Lines:
        points = np.vstack([np.zeros((0, 2)), *(edge.points for edge in work.edges)])
        counts = [len(edge.points) for edge in work.edges]
        owner = np.repeat(np.arange(len(counts)), counts)
        number = np.concatenate([np.zeros(0, np.int64), *(np.arange(n) for n in counts)])
        return cls(points, owner, number, (extent >= least)[owner], cKDTree(points))


def _extents(work: LineWork) -> Points:
    """Return for each edge the larger side of the box round the drawing that it is part of."""
    of_piece = pieces_of(work)
    low, high = (np.full((int(of_piece.max(initial=-1)) + 1, 2), sign * np.inf) for sign in (1, -1))
    np.minimum.at(low, of_piece, [edge.points.min(axis=0) for edge in work.edges])
    np.maximum.at(high, of_piece, [edge.points.max(axis=0) for edge in work.edges])
    return np.asarray((high - low).max(axis=1)[of_piece], np.float64)


def _free_ends(
    work: LineWork, extent: Points, darkness: NDArray[np.uint8], px_per_mm: float, pen_px: float
) -> list[_End]:
    lengths = line_lengths(work, darkness, pen_px)
    free = [
        (index, node)
        for index, node in work.open_ends()
        if extent[index] >= LEAST_EXTENT_MM * px_per_mm
        and lengths[index] >= (LEAST_DASH_MM if work.edges[index].is_dashed else LEAST_STROKE_MM) * px_per_mm
        and not work.edges[index].is_bridge
    ]
    inks = ink_across(darkness, [work.edges[index].points for index, _ in free], width_px=pen_px).tolist()
    reach = max(4.0 * pen_px, 2.5 * px_per_mm)
    found = []
    for (index, node), ink in zip(free, inks, strict=True):
        edge, at = work.edges[index], work.nodes[node]
        outs = outward_directions(edge, node, skip_px=0.7 * pen_px, reach_px=reach, pen_px=pen_px)
        found.append(_End(index, node, (float(at[0]), float(at[1])), outs, ink, edge.is_dashed))
    return found


def _between(ends: Sequence[_End], reach: float, pen_px: float) -> list[_Way]:
    """Return the ways between pairs of ends, straight or round the corner that they make."""
    ways = []
    for i, j in sorted(cKDTree(np.array([end.at for end in ends])).query_pairs(1.5 * reach)):
        one, other = ends[i], ends[j]
        found = [
            w for k in (0, 1) for w in (_straight(one, other, k, reach), _round(one, other, k, reach, pen_px)) if w
        ]
        if found:
            ways.append(min(found, key=lambda way: way.cost))
    return ways


def _straight(one: _End, other: _End, told: int, reach: float) -> _Way | None:
    gap = math.dist(one.at, other.at)
    if not 0 < gap <= reach:
        return None
    dx, dy = (other.at[0] - one.at[0]) / gap, (other.at[1] - one.at[1]) / gap
    bends = [_angle(one.outs[told], (dx, dy)), _angle(other.outs[told], (-dx, -dy))]
    if max(bends) > ASIDE_DEG:
        return None
    bend = sum(bends)
    return _Way(gap * (1 + bend / 30.0), one, other, None, np.array([one.at, other.at]), bend)


def _round(one: _End, other: _End, told: int, reach: float, pen_px: float) -> _Way | None:
    (ax, ay), (bx, by) = one.outs[told], other.outs[told]
    cross = ax * by - ay * bx
    if abs(cross) < math.sin(math.radians(CORNER_DEG)):
        return None
    ex, ey = other.at[0] - one.at[0], other.at[1] - one.at[1]
    s, t = (ex * by - ey * bx) / cross, (ex * ay - ey * ax) / cross
    if min(s, t) < -pen_px or max(s, 0.0) + max(t, 0.0) > reach:
        return None
    corner = (one.at[0] + s * ax, one.at[1] + s * ay)
    return _Way(1.5 * (abs(s) + abs(t)), one, other, None, np.array([one.at, corner, other.at]), 0.0)


def _angle(one: Point, other: Point) -> float:
    """Return the degrees between two unit vectors."""
    return math.degrees(math.acos(max(-1.0, min(1.0, one[0] * other[0] + one[1] * other[1]))))


def _onto(lines: _Lines, ends: Sequence[_End], reach: float, pen_px: float) -> list[_Way]:
    """Return the ways from the ends of dashed lines straight on to the first line ahead.

    A dash may end on a line that crosses its own. Where a solid line stops short of another it is a witness line, a
    leader or a cross far more often than an outline.
    """
    ways = []
    for end in ends:
        if not end.is_dashed:
            continue
        near = np.array(lines.tree.query_ball_point(end.at, reach), np.int64)
        step = lines.points[near] - end.at
        along = step @ np.array(end.outs[0])
        aside = np.abs(step @ np.array([-end.outs[0][1], end.outs[0][0]]))
        is_own = (lines.owner[near] == end.edge) & (np.hypot(*step.T) < 6 * pen_px)
        ahead = np.flatnonzero((along > 0) & (aside <= np.maximum(1.0, TEE_ASIDE * along)) & ~is_own)
        if len(ahead) == 0:
            continue
        spot = near[ahead[np.argmin(along[ahead])]]
        at, onto = lines.points[spot], (int(lines.owner[spot]), int(lines.number[spot]))
        bend = _angle(end.outs[0], tuple((at - end.at) / max(float(np.hypot(*(at - end.at))), 1e-9)))
        length = math.dist(at, end.at)
        ways.append(_Way(1.5 * length * (1 + bend / 30.0), end, None, onto, np.array([end.at, at]), bend))
    return ways


def _chosen(lines: _Lines, ways: Sequence[_Way], pen_px: float) -> list[_Way]:
    """Return the likeliest ways, a few from each end, that cross no line and no other way."""
    taken: list[_Way] = []
    used: dict[int, int] = {}
    for way in sorted(ways, key=lambda way: (way.cost, way.first.node, way.onto or ())):
        nodes = [end.node for end in (way.first, way.second) if end is not None]
        if len(taken) >= MOST_ON_SHEET or any(used.get(node, 0) >= MOST_FROM_END for node in nodes):
            continue
        if _is_barred(lines, way, pen_px) or any(_cross(way.path, other.path) for other in taken):
            continue
        taken.append(way)
        used |= {node: used.get(node, 0) + 1 for node in nodes}
    return taken


def _is_barred(lines: _Lines, way: _Way, pen_px: float) -> bool:
    """Whether a line lies across a way, or along it; specks and lettering that a gap holds do not count."""
    path = filled(way.path)
    away = np.minimum(np.hypot(*(path - path[0]).T), np.hypot(*(path - path[-1]).T))
    inner = path[away > max(2.0, 0.6 * pen_px)]
    if len(inner) == 0:
        return False
    reached, spots = (np.asarray(column) for column in lines.tree.query(inner, distance_upper_bound=1.2))
    return bool(np.any(lines.is_large[spots[np.isfinite(reached)]]))


def _cross(one: Points, other: Points) -> bool:
    """Whether two ways cross, or share more than an end."""
    if np.any(one.max(axis=0) < other.min(axis=0)) or np.any(other.max(axis=0) < one.min(axis=0)):
        return False
    from shapely import LineString

    met = LineString(one).intersection(LineString(other))
    ends = [point for point in (one[0], one[-1]) if min(np.hypot(*(point - e)) for e in (other[0], other[-1])) < 0.5]
    return not met.is_empty and not (met.geom_type == "Point" and ends)


def _laid(work: LineWork, ways: Sequence[_Way], px_per_mm: float) -> LineWork:
    nodes = work.nodes.tolist()
    splits: dict[int, list[tuple[int, int]]] = {}
    new = []
    for way in ways:
        node = _landing(work, way, nodes, splits)
        if node == way.first.node:
            continue
        path = np.vstack([way.path[:-1], nodes[node]])
        gap = _gap(way, node, path, px_per_mm)
        new.append(
            Edge(way.first.node, node, path, is_bridge=True, is_tee=gap.is_tee, is_dashed=gap.is_dashed, wide=gap)
        )
    edges = [piece for k, e in enumerate(work.edges) for piece in (split(e, splits[k]) if k in splits else [e])]
    return LineWork(np.array(nodes, np.float64).reshape(-1, 2), (*edges, *new))


def _landing(work: LineWork, way: _Way, nodes: list[list[float]], splits: dict[int, list[tuple[int, int]]]) -> int:
    """Return the node where a way ends, a new one where it lands within a line."""
    if way.second is not None:
        return way.second.node
    assert way.onto is not None
    index, k = way.onto
    edge = work.edges[index]
    if k in (0, len(edge.points) - 1):
        return edge.start if k == 0 else edge.end
    for cut, node in splits.get(index, ()):
        if cut == k:
            return node
    nodes.append(edge.points[k].tolist())
    splits.setdefault(index, []).append((k, len(nodes) - 1))
    return len(nodes) - 1


def _gap(way: _Way, node: int, path: Points, px_per_mm: float) -> WideGap:
    """Return what is measured of a gap; ink that is not known tells nothing against it."""
    length_mm = float(np.sum(np.hypot(*np.diff(path, axis=0).T))) / px_per_mm
    inks = [end.ink for end in (way.first, way.second) if end is not None]
    likeness = min(inks) / max(inks) if np.all(np.isfinite(inks)) and max(inks) > 0 else 1.0
    is_dashed = way.first.is_dashed and (way.second is None or way.second.is_dashed)
    return WideGap(
        (way.first.node, node), length_mm, way.bend_deg, likeness, way.is_corner, way.second is None, is_dashed
    )
