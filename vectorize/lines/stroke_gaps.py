"""Bridge the gaps between ends of strokes that were meant to meet."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from scipy.spatial import cKDTree

from vectorize.shapes.segment import Line, Point, Segment
from vectorize.shapes.stroke import Stroke

_ALONG_DEG = 40.0
"""An end points at another within this; ends that nearly touch need not point anywhere."""
_TOUCHING_SHARE = 0.2


def bridged(strokes: Sequence[Stroke], *, gap: float, snap: float) -> list[Stroke]:
    """Return straight strokes that span gaps of up to `gap` between free ends of solid strokes.

    Two ends are joined when each is the other's nearest and both point at each other. Ends that lie
    within `snap` of any other stroke are not free.
    """
    ends = _free_ends(strokes, snap)
    if len(ends) < 2 or gap <= snap:
        return []
    points = np.array([point for point, _, _ in ends])
    away, nearest = (np.asarray(column)[:, 1].tolist() for column in cKDTree(points).query(points, k=2))
    found = []
    for i, (distance, j) in enumerate(zip(away, nearest, strict=True)):
        if i < j and nearest[j] == i and distance <= gap and _face_each_other(ends[i], ends[j], distance, gap):
            pen = strokes[ends[i][2]].pen_width
            found.append(Stroke((Line(ends[i][0], ends[j][0]),), False, strokes[ends[i][2]].layer, pen))
    return found


End = tuple[Point, tuple[float, float], int]
"""Where a stroke ends, the direction in which it would go on, and its number."""


def _free_ends(strokes: Sequence[Stroke], snap: float) -> list[End]:
    open_ones = [n for n, s in enumerate(strokes) if not s.is_closed and not s.is_dashed]
    if not open_ones:
        return []
    lines = [_line(stroke) for stroke in strokes]
    tree = shapely.STRtree(lines)
    ends = []
    for n in open_ones:
        segments = strokes[n].segments
        for point, direction in (
            (segments[0].start, _out(segments[0], 0.0)),
            (segments[-1].end, _out(segments[-1], 1.0)),
        ):
            near = tree.query(shapely.Point(point), predicate="dwithin", distance=snap)
            if set(near.tolist()) <= {n}:
                ends.append((point, direction, n))
    return ends


def _line(stroke: Stroke) -> shapely.LineString:
    points = [p for s in stroke.segments for p in s.flattened(max(1e-6, s.length / 200))]
    return shapely.LineString([*points, stroke.segments[-1].end])


def _out(segment: Segment, share: float) -> tuple[float, float]:
    tip, inner = (segment.start, segment.point_at(0.02)) if share == 0.0 else (segment.end, segment.point_at(0.98))
    length = max(1e-12, math.dist(tip, inner))
    return (tip[0] - inner[0]) / length, (tip[1] - inner[1]) / length


def _face_each_other(one: End, other: End, distance: float, gap: float) -> bool:
    if distance <= _TOUCHING_SHARE * gap:
        return True
    across = np.subtract(other[0], one[0]) / distance
    least = math.cos(math.radians(_ALONG_DEG))
    return bool(across @ np.array(one[1]) > least and -across @ np.array(other[1]) > least)
