"""What booleans and offsets on curves stand on: where pieces of a ring cross, and rings without hairlines."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from vectorize.shapes.outline import Ring
from vectorize.shapes.segment import Line, Point, Points, Segment
from vectorize.shapes.segment_parts import direction_at, part_of, velocity_at, with_ends

HAIRLINE_MM = 0.02
HAIRLINE_DEG = 10.0
"""A piece that turns back within this angle and lies this close on its neighbour encloses nothing with it."""


def points_with_shares(segment: Segment, tolerance_mm: float) -> tuple[Points, Points]:
    """Return flattened points, `end` included, and the parameter of each."""
    points = np.array([*segment.flattened(tolerance_mm), segment.end])
    return points, np.linspace(0.0, 1.0, len(points))


def nearest_share(segment: Segment, point: Point, guess: float) -> float:
    """Return the parameter near `guess` whose point is nearest to `point` (Newton on the distance, kept in 0 to 1)."""
    share = guess
    for _ in range(6):
        x, y = segment.point_at(share)
        dx, dy = velocity_at(segment, share)
        size = dx * dx + dy * dy
        if size == 0.0:
            break
        step = ((point[0] - x) * dx + (point[1] - y) * dy) / size
        share = min(1.0, max(0.0, share + step))
        if abs(step) < 1e-14:
            break
    return share


def crossing(one: Segment, at_one: float, other: Segment, at_other: float) -> tuple[float, float] | None:
    """Return the parameters where the two pieces cross near the guesses, or None where Newton does not settle."""
    s, t = at_one, at_other
    for _ in range(12):
        (x0, y0), (x1, y1) = one.point_at(s), other.point_at(t)
        (ax, ay), (bx, by) = velocity_at(one, s), velocity_at(other, t)
        det = bx * ay - ax * by
        if abs(det) < 1e-9 * math.hypot(ax, ay) * math.hypot(bx, by) or det == 0.0:
            return None
        gx, gy = x1 - x0, y1 - y0
        step_s, step_t = (bx * gy - by * gx) / det, (ax * gy - ay * gx) / det
        s, t = s + step_s, t + step_t
        if max(abs(step_s), abs(step_t)) < 1e-14:
            break
    is_inside = -1e-9 <= s <= 1 + 1e-9 and -1e-9 <= t <= 1 + 1e-9
    return (min(1.0, max(0.0, s)), min(1.0, max(0.0, t))) if is_inside else None


def lines_merged(ring: Ring) -> Ring:
    """Return `ring` with straight neighbours in one line made one piece."""
    merged: list[Segment] = []
    for segment in ring.segments:
        if merged and _is_straight_on(merged[-1], segment):
            segment = Line(merged.pop().start, segment.end)
        merged.append(segment)
    if len(merged) > 3 and _is_straight_on(merged[-1], merged[0]):
        merged[0] = Line(merged.pop().start, merged[0].end)
    return Ring(tuple(merged))


def _is_straight_on(before: Segment, after: Segment) -> bool:
    if not (isinstance(before, Line) and isinstance(after, Line)):
        return False
    (ax, ay), (bx, by) = direction_at(before, 1.0), direction_at(after, 0.0)
    return abs(ax * by - ay * bx) * min(before.length, after.length) < 1e-7 and ax * bx + ay * by > 0


def without_spikes(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """Return the pieces of a ring without hairlines: a piece walked out and, within `HAIRLINE_MM`, back again.

    They are what is left between two edges, straight or curved, that should lie on each other and differ by rounding.
    """
    kept = list(segments)
    i = 0
    while i < len(kept) and len(kept) > 3:
        before, after = kept[i - 1], kept[i]
        if _is_straight_back(before, after):
            rest: list[Segment] = [Line(before.start, after.end)]
        elif _runs_back(before, after):
            rest = [_without_hairline(before, after)]
        else:
            i += 1
            continue
        if math.dist(before.start, after.end) < 1e-5:
            rest = []
        kept = [*rest, *kept[1:-1]] if i == 0 else [*kept[: i - 1], *rest, *kept[i + 1 :]]
        kept = _closed(kept)
        i = max(0, i - 2)
    return tuple(kept)


def _closed(segments: list[Segment]) -> list[Segment]:
    """Close the jumps of a few nanometres that dropping a hairline leaves."""
    ends = [*segments[1:], segments[0]]
    return [s if s.end == t.start else with_ends(s, s.start, t.start) for s, t in zip(segments, ends, strict=True)]


def _is_straight_back(before: Segment, after: Segment) -> bool:
    if not (isinstance(before, Line) and isinstance(after, Line)):
        return False
    (ax, ay), (bx, by) = direction_at(before, 1.0), direction_at(after, 0.0)
    return abs(ax * by - ay * bx) * min(before.length, after.length) < 1e-5 and ax * bx + ay * by < 0


def _runs_back(before: Segment, after: Segment) -> bool:
    """Whether of two pieces, one of them curved, the shorter lies on the longer, walked the other way."""
    (ax, ay), (bx, by) = direction_at(before, 1.0), direction_at(after, 0.0)
    if ax * bx + ay * by > -math.cos(math.radians(HAIRLINE_DEG)):
        return False
    shorter, longer = sorted((before, after), key=lambda piece: piece.length)
    return all(distance_to([longer], shorter.point_at(share)) < HAIRLINE_MM for share in (0.0, 0.25, 0.5, 0.75, 1.0))


def _without_hairline(before: Segment, after: Segment) -> Segment:
    """Return what the longer of two pieces has beyond the shorter, which lies on it."""
    if before.length <= after.length:
        share = nearest_share(after, before.start, before.length / after.length)
        return with_ends(part_of(after, share, 1.0), before.start, after.end)
    share = nearest_share(before, after.end, 1.0 - after.length / before.length)
    return with_ends(part_of(before, 0.0, share), before.start, after.end)


def corner_indices(ring: Ring, *, least_turn_deg: float = 20.0) -> list[int]:
    """Return the indices of the pieces that begin at a corner, where the tangent turns by at least `least_turn_deg`."""
    found = []
    for index, segment in enumerate(ring.segments):
        (ax, ay), (bx, by) = direction_at(ring.segments[index - 1], 1.0), direction_at(segment, 0.0)
        turn = abs(math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by)))
        if turn >= least_turn_deg:
            found.append(index)
    return found


def distance_to(segments: Sequence[Segment], point: Point) -> float:
    """Return the distance from `point` to the nearest of `segments`, to about 0.01 mm."""
    from shapely.geometry import LineString
    from shapely.geometry import Point as ShapelyPoint

    target = ShapelyPoint(point)
    lines = (LineString(points_with_shares(segment, 0.01)[0]) for segment in segments)
    return min(float(line.distance(target)) for line in lines)
