"""A part of a piece of a curve, the piece between other ends, and the way it goes at a parameter."""

from __future__ import annotations

import math

import numpy as np

from vectorize.shapes.segment import Arc, Cubic, Line, Point, Segment


def part_of(segment: Segment, begin: float, end: float) -> Segment:
    """Return the stretch of `segment` from parameter `begin` to `end`, walked backwards where `end` < `begin`."""
    if begin > end:
        return part_of(segment, end, begin).reversed()
    if (begin, end) == (0.0, 1.0):
        return segment
    match segment:
        case Line():
            return Line(segment.point_at(begin), segment.point_at(end))
        case Arc():
            bulge = math.tan(math.atan(segment.bulge) * (end - begin))
            return Arc(_arc_point(segment, begin), _arc_point(segment, end), bulge)
        case Cubic():
            return _cubic_part(segment, begin, end)


def _arc_point(arc: Arc, share: float) -> Point:
    """Give the very end points at the ends, so that neighbours still meet."""
    return arc.start if share == 0.0 else arc.end if share == 1.0 else arc.point_at(share)


def _cubic_part(cubic: Cubic, begin: float, end: float) -> Cubic:
    """De Casteljau at both ends, written as blossoms."""
    control = np.array([cubic.start, cubic.first, cubic.second, cubic.end])

    def blossom(*at: float) -> Point:
        points = control
        for share in at:
            points = (1 - share) * points[:-1] + share * points[1:]
        return (float(points[0][0]), float(points[0][1]))

    return Cubic(
        blossom(begin, begin, begin), blossom(begin, begin, end), blossom(begin, end, end), blossom(end, end, end)
    )


def with_ends(segment: Segment, start: Point, end: Point) -> Segment:
    """Return `segment` between slightly other ends; a cubic's handles move along with their ends."""
    match segment:
        case Line():
            return Line(start, end)
        case Arc(_, _, bulge):
            return Arc(start, end, bulge)
        case Cubic(old_start, first, second, old_end):
            return Cubic(
                start,
                (first[0] + start[0] - old_start[0], first[1] + start[1] - old_start[1]),
                (second[0] + end[0] - old_end[0], second[1] + end[1] - old_end[1]),
                end,
            )


def velocity_at(segment: Segment, share: float) -> Point:
    """Return the derivative of the point with respect to the parameter."""
    match segment:
        case Line((x0, y0), (x1, y1)):
            return (x1 - x0, y1 - y0)
        case Arc():
            (cx, cy), (x, y) = segment.centre, segment.point_at(share)
            return (-(y - cy) * segment.sweep, (x - cx) * segment.sweep)
        case Cubic():
            dx, dy = segment.velocities_at(np.array([share]))[0]
            return (float(dx), float(dy))


def direction_at(segment: Segment, share: float) -> Point:
    """Return the unit tangent; at a handle of no length, the tangent just beside it."""
    dx, dy = velocity_at(segment, share)
    size = math.hypot(dx, dy)
    if size < 1e-12:
        beside = 1e-4 if share < 0.5 else -1e-4
        dx, dy = velocity_at(segment, share + beside)
        size = math.hypot(dx, dy) or 1.0
    return (dx / size, dy / size)
