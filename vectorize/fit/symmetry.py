"""A ring that was fitted through a boundary and its mirror image, made exactly symmetrical.

One half is kept and its image put in the place of the other, so that both are made of the same pieces.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from vectorize.fit.halves import Axis
from vectorize.fit.tolerances import KNOWN_MM
from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Arc, Cubic, Line, Point, Points, Segment, mapped
from vectorize.shapes.segment_parts import direction_at, part_of, with_ends

ON_AXIS_MM = 0.3
"""Pieces that end so close to the centre line end on it: a corner was known to be there, or is one by chance."""


STEEPEST_FOOT = math.tan(math.radians(5.0))
"""An edge that meets the centre line farther from square than this has a corner there, known or not."""

STEP_MM = 0.2


def symmetrical(ring: Ring, axis: Axis, corners: Points, *, within_mm: float) -> Ring:
    """Return `ring` made of one of its halves, the one of fewer pieces, and the image of that.

    An edge that meets the centre line squarely crosses it as one piece, or smoothly; one that comes at a slant, or to
    one of the known `corners`, (N, 2), has its corner there. A ring that would change by more than `within_mm` stays
    as it is.
    """
    halves = [(side, half) for side in (axis, axis.turned()) if (half := _half(ring, side))]
    halves.sort(key=lambda found: len(found[1]))
    wholes = [_squared(half, side, corners) for side, half in halves] + [_whole(half, [], [], a) for a, half in halves]
    return next((whole for whole in wholes if _away(whole, ring) <= within_mm), ring)


def _half(ring: Ring, axis: Axis) -> list[Segment]:
    """Return the pieces at the left of the centre line, in order and ending on it; none if they lie apart."""
    pieces = [piece for segment in ring.segments for piece in _cut(segment, axis)]
    is_left = [_side(piece.point_at(0.5), axis) > 0 and not _lies_on(piece, axis) for piece in pieces]
    starts = [k for k in range(len(pieces)) if is_left[k] and not is_left[k - 1]]
    if len(starts) != 1:
        return []
    first, count = starts[0], sum(is_left)
    chain = [*pieces[first:], *pieces[:first]][:count]
    chain[0] = with_ends(chain[0], _on(chain[0].start, axis), chain[0].end)
    chain[-1] = with_ends(chain[-1], chain[-1].start, _on(chain[-1].end, axis))
    return chain


def _cut(segment: Segment, axis: Axis) -> list[Segment]:
    """Return a piece in two where it goes from one side of the centre line well over to the other."""
    before, after = _side(segment.start, axis), _side(segment.end, axis)
    if min(abs(before), abs(after)) < ON_AXIS_MM or before * after > 0:
        return [segment]
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        is_before = _side(segment.point_at(middle), axis) * before > 0
        low, high = (middle, high) if is_before else (low, middle)
    return [part_of(segment, 0.0, low), part_of(segment, low, 1.0)]


def _squared(half: Sequence[Segment], axis: Axis, corners: Points) -> Ring:
    """Return the ring of a half that begins and ends on the centre line, and its image, without seams where square."""
    pieces, joint = _joined(list(half), axis, corners)
    # What is joined at the half's own beginning is found by walking it backwards.
    back, closing = _joined([piece.reversed() for piece in reversed(pieces)], axis, corners, is_rest=bool(joint))
    return _whole([piece.reversed() for piece in reversed(back)], joint, closing, axis)


def _whole(half: Sequence[Segment], joint: Sequence[Segment], closing: Sequence[Segment], axis: Axis) -> Ring:
    """Return a half, what joins its end to that of its image, the image, and what joins their beginnings."""
    image = [mapped(piece, axis.image, keeps_circles=True, mirrors=True).reversed() for piece in reversed(half)]
    return Ring((*half, *joint, *image, *(piece.reversed() for piece in closing)))


def _joined(
    half: list[Segment], axis: Axis, corners: Points, *, is_rest: bool = False
) -> tuple[list[Segment], list[Segment]]:
    """Return a half without what crosses the centre line as one piece at its end, and that piece if there is one.

    A half of one piece keeps it, unless it is the rest of a half.
    """
    *others, last = half
    direction = direction_at(last, 1.0)
    along, across = axis.along, (-axis.along[1], axis.along[0])
    rise, run = (abs(direction[0] * way[0] + direction[1] * way[1]) for way in (along, across))
    is_corner = any(math.dist(last.end, corner) < KNOWN_MM for corner in corners.tolist())
    if is_corner or rise > STEEPEST_FOOT * run:
        return half, []
    match last:
        case Line(start, _) if others or is_rest:
            return others, [Line(start, axis.image(start))]
        case Arc(start, end, _) if others or is_rest:
            return others, [_arc_over(start, end, axis.image(start))]
        case Cubic(start, first, second, end):
            return [*others, Cubic(start, first, _square_to(second, end, axis), end)], []
    return half, []


def _arc_over(start: Point, top: Point, end: Point) -> Segment:
    """Return the arc from `start` to `end` by `top`, which lies as far from both."""
    chord = math.dist(start, end)
    right = ((end[1] - start[1]) / chord, -(end[0] - start[0]) / chord)
    height = (top[0] - (start[0] + end[0]) / 2) * right[0] + (top[1] - (start[1] + end[1]) / 2) * right[1]
    return Arc(start, end, 2.0 * height / chord) if abs(height) > 1e-9 * chord else Line(start, end)


def _square_to(handle: Point, foot: Point, axis: Axis) -> Point:
    """Return a handle moved along the centre line so that its curve meets it squarely at `foot`."""
    along = (foot[0] - handle[0]) * axis.along[0] + (foot[1] - handle[1]) * axis.along[1]
    return (handle[0] + along * axis.along[0], handle[1] + along * axis.along[1])


def _side(point: Point, axis: Axis) -> float:
    return float(axis.across(np.array([point]))[0][0])


def _lies_on(piece: Segment, axis: Axis) -> bool:
    return max(abs(_side(at, axis)) for at in (piece.start, piece.point_at(0.5), piece.end)) < ON_AXIS_MM


def _on(point: Point, axis: Axis) -> Point:
    """Return the point of the centre line next to `point`."""
    (image,) = axis.mirrored(np.array([point])).tolist()
    return ((point[0] + image[0]) / 2, (point[1] + image[1]) / 2)


def _away(one: Ring, other: Ring) -> float:
    """Return how far one ring leaves another, in mm."""
    lines = [shapely.LinearRing(ring.flattened(0.005)) for ring in (one, other)]
    return max(
        float(shapely.distance(shapely.points(shapely.get_coordinates(a.segmentize(STEP_MM))), b).max())
        for a, b in (lines, lines[::-1])
    )
