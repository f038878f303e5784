"""Cut strokes where they meet: exact pieces of curves between shared nodes."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.cluster.hierarchy import DisjointSet
from scipy.spatial import cKDTree

from vectorize.shapes.segment import Arc, Cubic, Line, Point, Points, Segment, as_cubics
from vectorize.shapes.segment_parts import with_ends
from vectorize.shapes.stroke import Stroke

_END_SHARE = 1e-7

_LEAST_RETURN = 0.9 * math.pi
"""A curve turns by half a turn before it meets itself again; a little less, as ends may come near."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of one segment of one stroke between two nodes; `low` to `high` is its share of that segment.

    `shared` are further strokes that run along the same stretch.
    """

    segment: Segment
    start: int
    end: int
    stroke: int
    index: int
    low: float
    high: float
    shared: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """All pieces of a drawing and the nodes, (M, 2), that they share.

    `ends` are the nodes at which each stroke begins and ends; a closed one has none.
    """

    nodes: Points
    pieces: tuple[Piece, ...]
    strokes: tuple[Stroke, ...]
    ends: tuple[tuple[int, ...], ...]


def cut(strokes: Sequence[Stroke], *, flat: float, snap: float) -> Pieces:
    """Return the strokes cut at every crossing, touch and shared stretch.

    Args:
        strokes: The strokes of a page.
        flat: Chord tolerance with which crossings are looked for; they are then refined on the curves.
        snap: Ends and crossings nearer than this are one node.
    """
    owners = [(s, i) for s, stroke in enumerate(strokes) for i in range(len(stroke.segments))]
    segments = [strokes[s].segments[i] for s, i in owners]
    shares = _cut_shares(segments, owners, flat=flat, snap=snap)
    rough = [
        (segment, owner, low, high)
        for segment, owner, marks in zip(segments, owners, shares, strict=True)
        for low, high in itertools.pairwise(marks)
    ]
    ends = np.array([p for s, _, low, high in rough for p in (share_point(s, low), share_point(s, high))])
    nodes, of_end = _clustered(ends.reshape(-1, 2), snap)
    pieces = []
    firsts: dict[int, int] = {}
    lasts: dict[int, int] = {}
    for n, (segment, (stroke, index), low, high) in enumerate(rough):
        a, b = int(of_end[2 * n]), int(of_end[2 * n + 1])
        firsts.setdefault(stroke, a)
        lasts[stroke] = b
        body = between(segment, low, high)
        if a == b and body.length < 4 * snap:
            continue
        pieces.append(Piece(pinned(body, _xy(nodes[a]), _xy(nodes[b])), a, b, stroke, index, low, high))
    loose = tuple(
        () if stroke.is_closed or firsts[s] == lasts[s] else (firsts[s], lasts[s]) for s, stroke in enumerate(strokes)
    )
    return Pieces(nodes, _without_doubles(pieces, strokes, snap), tuple(strokes), loose)


def share_point(segment: Segment, share: float) -> Point:
    """Return the point at a share of a segment, its ends exactly."""
    if share <= 0.0:
        return segment.start
    return segment.end if share >= 1.0 else segment.point_at(share)


def between(segment: Segment, low: float, high: float) -> Segment:
    """Return the stretch of a segment between two shares, as a curve of the same kind."""
    if low <= 0.0 and high >= 1.0:
        return segment
    a, b = share_point(segment, low), share_point(segment, high)
    match segment:
        case Line():
            return Line(a, b)
        case Arc():
            return Arc(a, b, math.tan(segment.sweep * (high - low) / 4))
        case Cubic():
            shares = np.array([low, high])
            (ax, ay), (bx, by) = segment.velocities_at(shares) * (high - low) / 3
            return Cubic(a, (a[0] + ax, a[1] + ay), (b[0] - bx, b[1] - by), b)


def pinned(segment: Segment, start: Point, end: Point) -> Segment:
    """Return the segment with its ends moved onto its nodes, a hair at most; a whole turn stays where it is."""
    is_there = segment.start == start and segment.end == end
    return segment if is_there or (isinstance(segment, Arc) and start == end) else with_ends(segment, start, end)


def nearest_share(segment: Segment, point: Point) -> float:
    """Return the share of the segment at which it comes nearest to `point`."""
    match segment:
        case Line(a, b):
            along = np.subtract(b, a)
            return float(np.clip(np.subtract(point, a) @ along / (along @ along), 0.0, 1.0))
        case Arc():
            return _nearest_on_arc(segment, point)
        case Cubic():
            return _nearest_on_cubic(segment, point)


def _nearest_on_arc(arc: Arc, point: Point) -> float:
    (cx, cy), sweep = arc.centre, arc.sweep
    begin = math.atan2(arc.start[1] - cy, arc.start[0] - cx)
    turned = math.atan2(point[1] - cy, point[0] - cx) - begin
    turned = turned % (2 * math.pi) if sweep > 0 else -((-turned) % (2 * math.pi))
    share = turned / sweep
    if share <= 1.0:
        return share
    return 0.0 if math.dist(point, arc.start) < math.dist(point, arc.end) else 1.0


def _nearest_on_cubic(cubic: Cubic, point: Point) -> float:
    marks = np.linspace(0.0, 1.0, 33)
    best = float(marks[int(np.argmin(np.hypot(*(cubic.points_at(marks) - point).T)))])
    step = 1.0 / 32
    for _ in range(40):
        trial = np.clip([best - step, best, best + step], 0.0, 1.0)
        away = np.hypot(*(cubic.points_at(trial) - point).T)
        best = float(trial[int(np.argmin(away))])
        step *= 0.55
    return best


def _cut_shares(
    segments: Sequence[Segment], owners: Sequence[tuple[int, int]], *, flat: float, snap: float
) -> list[list[float]]:
    """Return for every segment the sorted shares at which it is to be cut, 0 and 1 included."""
    points = [[*s.flattened(flat), s.end] for s in segments]
    busy = np.flatnonzero(_meets_something(points, owners, snap))
    lines = np.full(len(segments), None, object)
    lines[busy] = [shapely.LineString(points[k]) for k in busy.tolist()]
    tree = shapely.STRtree(lines[busy])
    found: dict[int, list[float]] = defaultdict(list)
    ones, others = tree.query(lines[busy], predicate="dwithin", distance=snap)
    for i, j in zip(busy[ones].tolist(), busy[others].tolist(), strict=True):
        if i < j and not _only_join(segments, owners, i, j):
            for point in _meetings(lines[i], lines[j], segments[i], segments[j], snap):
                if _is_end(segments[i], point, snap) and _is_end(segments[j], point, snap):
                    continue
                a, b = _refined(segments[i], segments[j], point)
                found[i].append(a)
                found[j].append(b)
    return [_sorted_shares(segment, found[i], snap) for i, segment in enumerate(segments)]


def _meets_something(
    points: Sequence[Sequence[Point]], owners: Sequence[tuple[int, int]], snap: float
) -> NDArray[np.bool_]:
    """Return for each segment whether its stroke is more than a closed line that nothing meets, not even itself."""
    rows: dict[int, list[Point]] = defaultdict(list)
    for (stroke, _), some in zip(owners, points, strict=True):
        rows[stroke].extend(some)
    strokes = list(rows)
    lines = np.array([shapely.LineString(rows[stroke]) for stroke in strokes])
    ones, others = shapely.STRtree(lines).query(lines, predicate="dwithin", distance=snap)
    is_free = shapely.is_simple(lines) & shapely.is_closed(lines)
    is_free[ones[ones != others]] = False
    free = {stroke for stroke, alone in zip(strokes, is_free.tolist(), strict=True) if alone}
    return np.array([stroke not in free for stroke, _ in owners], np.bool_)


def _only_join(segments: Sequence[Segment], owners: Sequence[tuple[int, int]], i: int, j: int) -> bool:
    """Return whether two pieces follow each other in a stroke and meet at their joint only.

    Straight ones do; bent ones where they turn by less than half a turn together, as a curve that turns by no more
    never comes back to itself.
    """
    (stroke, index), (other_stroke, other_index) = owners[i], owners[j]
    if stroke != other_stroke or other_index != index + 1:
        return False
    one, other = segments[i], segments[j]
    if isinstance(one, Line) and isinstance(other, Line):
        return True
    corners = [p for segment in (one, other) for p in _hull_corners(segment)]
    steps = np.diff(np.array(corners), axis=0)
    steps = steps[np.hypot(*steps.T) > 0]
    turns = np.abs(np.diff(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))))
    return bool(np.sum(turns) < _LEAST_RETURN)


def _hull_corners(segment: Segment) -> tuple[Point, ...]:
    """Return the corners of a chain that turns at least as much as a segment does."""
    if isinstance(segment, Line):
        return (segment.start, segment.end)
    cubics = as_cubics(segment)
    return (segment.start, *(p for c in cubics if isinstance(c, Cubic) for p in (c.first, c.second, c.end)))


def _meetings(
    one: shapely.LineString, other: shapely.LineString, first: Segment, second: Segment, snap: float
) -> list[Point]:
    """Return crossings, the ends of shared stretches, and ends of one that touch the other."""
    shared = shapely.intersection(one, other)
    points = (
        [_xy(p) for p in shapely.get_coordinates(shapely.get_parts(shared)).tolist()] if not shared.is_empty else []
    )
    if shared.length > 2 * snap:
        # Two curves that run together: only where that begins and ends.
        merged = shapely.line_merge(shared) if shared.geom_type == "MultiLineString" else shared
        points = [_xy(p) for part in shapely.get_parts(merged) for p in (part.coords[0], part.coords[-1])]
    for end in (first.start, first.end):
        if shapely.distance(shapely.Point(end), other) <= snap:
            points.append(end)
    for end in (second.start, second.end):
        if shapely.distance(shapely.Point(end), one) <= snap:
            points.append(end)
    return points


def _is_end(segment: Segment, point: Point, snap: float) -> bool:
    return min(math.dist(point, segment.start), math.dist(point, segment.end)) <= snap


def _refined(first: Segment, second: Segment, point: Point) -> tuple[float, float]:
    """Return the shares of both curves where they cross near `point`, by Newton's method on the curves."""
    a, b = nearest_share(first, point), nearest_share(second, point)
    step = 1e-6
    for _ in range(4):
        here, there = np.array(share_point(first, a)), np.array(share_point(second, b))
        u = (np.array(first.point_at(a + step)) - first.point_at(a - step)) / (2 * step)
        v = (np.array(second.point_at(b + step)) - second.point_at(b - step)) / (2 * step)
        determinant = u[1] * v[0] - u[0] * v[1]
        if abs(determinant) < 1e-3 * math.hypot(*u) * math.hypot(*v):
            break
        gap = there - here
        da = (gap[1] * v[0] - gap[0] * v[1]) / determinant
        db = (u[0] * gap[1] - u[1] * gap[0]) / determinant
        if abs(da) > 0.05 or abs(db) > 0.05:
            break
        a, b = min(1.0, max(0.0, a + da)), min(1.0, max(0.0, b + db))
    return a, b


def _sorted_shares(segment: Segment, shares: list[float], snap: float) -> list[float]:
    if not shares:
        return [0.0, 1.0]
    kept = [0.0]
    for share in sorted(shares):
        if (
            share - kept[-1] > _END_SHARE
            and math.dist(share_point(segment, share), share_point(segment, kept[-1])) > snap
        ):
            kept.append(share)
    while len(kept) > 1 and math.dist(share_point(segment, kept[-1]), segment.end) <= snap:
        kept.pop()
    return [*kept, 1.0]


def _clustered(points: Points, snap: float) -> tuple[Points, NDArray[np.int64]]:
    """Return nodes and the node of each point; points nearer than `snap` share one."""
    groups = DisjointSet(range(len(points)))
    for a, b in cKDTree(points).query_pairs(snap):
        groups.merge(a, b)
    of_point = np.empty(len(points), np.int64)
    nodes = []
    for number, members in enumerate(groups.subsets()):
        group = sorted(members)
        of_point[group] = number
        nodes.append(points[group].mean(axis=0))
    return np.array(nodes).reshape(-1, 2), of_point


def _without_doubles(pieces: Sequence[Piece], strokes: Sequence[Stroke], snap: float) -> tuple[Piece, ...]:
    """Make one of pieces that lie on each other, shared by their strokes; a solid one comes before a dashed one."""
    order = sorted(range(len(pieces)), key=lambda n: (strokes[pieces[n].stroke].is_dashed, n))
    seen: dict[tuple[int, int], list[int]] = defaultdict(list)
    shared: dict[int, list[int]] = defaultdict(list)
    for n in order:
        key = (min(pieces[n].start, pieces[n].end), max(pieces[n].start, pieces[n].end))
        middle = pieces[n].segment.point_at(0.5)
        twin = next((m for m in seen[key] if math.dist(middle, pieces[m].segment.point_at(0.5)) < 2 * snap), None)
        if twin is None:
            seen[key].append(n)
        else:
            shared[twin].append(pieces[n].stroke)
    kept = sorted(n for group in seen.values() for n in group)
    return tuple(replace(pieces[n], shared=tuple(shared[n])) for n in kept)


def _xy(point: Sequence[float] | Points) -> Point:
    return float(point[0]), float(point[1])
