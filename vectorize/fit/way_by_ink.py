"""The ways through a doubtful place held against the ink: the one that leaves least unexplained is taken."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from vectorize.fit.ink_view import InkView, Pen, share_left
from vectorize.fit.joint_hypotheses import JointHypothesis, Side, apexes, bends, passes, rounds, to_apex
from vectorize.shapes.segment import Line, Point, Points, Segment

PLAIN_SHARE = 0.012
"""A joint more must leave this much less of the ink unexplained, as a share of black over the place."""

FOLD_DEG = 150.0

CLEAR_TIMES = 1.3
CLEAR_SHARE = 0.03
"""A plain corner that leaves little more than the pen does elsewhere is no longer in doubt."""

NEAR_PENS = 1.2
"""A corner may be cut off by so much only where that explains the ink plainly: a chamfer so small is seldom drawn."""

WORN_SHARE = 0.5
"""A way that carries less than this share of its pen's ink somewhere is not the one that was drawn."""

BARE_SHARE = 0.75
"""In a gap a pixel that is lighter than this share of the darkest near it is bare paper."""

ENDS_MM = (-0.5, -0.4, -0.3, -0.2, -0.1, 0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""How far beyond a corner (or short of it) a pen may have been lifted: 0.2 to 1 mm too far and up to 0.5 mm short are
usual for hurried and pencilled plans (common practice, no source); finer steps than the blur of a scan tell no more."""

OVERSHOOT_MM = 0.2
"""A side that is led on by less is as well explained by its round end, half a pen wide."""

DOUBTFUL_TIMES, DOUBTFUL_MM, MOST_OFF_MM = 2.5, 0.4, 1.5
"""A corner is in doubt where so many times more of the ink than is plain stays unexplained and another way that
explains it hardly worse lies so far away; farther than the last is another shape.

Chosen on six drawn sheets in two hands, 598 such places; half the multiple tells a third of the parts that are right.
On 18 sheets in nine hands it told 7 of 157 parts that were right, and five wrong ones that nothing else told."""

FLAT_MM = 0.01
NEAR_MM = 2.0


@dataclass(frozen=True, slots=True)
class DoubtfulCorner:
    """A place, in mm, where no way explains the ink well, and how far from the one taken another good one lies."""

    at: Point
    off_mm: float


def best_way(
    fitted: JointHypothesis,
    arms: tuple[Side, Side],
    rest: Sequence[Points],
    sight: InkView,
    pen: Pen,
    *,
    holding: tuple[Point, ...] = (),
) -> tuple[JointHypothesis, DoubtfulCorner | None]:
    """Return the way through a place that leaves least of the ink unexplained, and whether it stays in doubt.

    `rest` is all else of the ring. The place is looked at as far as the points `holding`, at least.
    """
    one, other = arms
    corners = apexes(one, other, fitted)
    sharp = [to_apex(one, other, corner) for corner in corners]
    if sight.is_dashed:
        return next(iter(sharp), fitted), None
    place = _looked_at(fitted, arms, [*corners[:1], *holding], rest, sight, pen)
    if place is None:
        return fitted, None
    ended = [place.with_ends(way, apex) for way, apex in zip(sharp, corners, strict=True)]
    corners_seen = [seen for seen, _ in ended]
    # Sides that run on beyond their crossing do so whichever way the outline takes.
    place = place.beside([line for _, line in ended[:1]])
    best = min([place.seen(fitted), *corners_seen], key=_cost)
    if not fitted.between and best.is_plain(pen):
        return best.way, None
    rounded = [way for apex in corners[:1] for way in rounds(one, other, apex)]
    wider = min((place.seen(way) for way in rounded if not place.holds(way)), key=_cost, default=best)
    if _cost(wider) < _cost(best):
        # A line that goes on straight hides where a round leaves it: what is seen of the place may be too little.
        ends = wider.way.before.end, wider.way.after.start
        return best_way(fitted, arms, rest, sight, pen, holding=(*holding, *ends))
    smooth = [*bends(one, other), *(way for way in rounded if place.holds(way))]
    considered = others = [place.seen(way) for way in [fitted, *smooth, *_blunt(one, other, fitted, place)]]
    reach = NEAR_PENS * pen.width_mm
    for apex in corners[:1]:
        in_gap_mm = max((_width(gap) for gap in sight.gaps if _comes_near(gap, apex, 2 * reach)), default=0.0)
        worn_mm = [math.inf if _is_bare(seen.way, sight, pen) else in_gap_mm for seen in others]
        # What is worn off explains any way through it.
        others = [
            seen
            for seen, worn in zip(others, worn_mm, strict=True)
            if not _is_near(apex, seen.way, reach, worn)
            or (seen.is_plain(pen) and not worn and not passes(seen.way, arms, apex))
        ]
    found = min([*corners_seen, *others], key=_cost, default=None)
    return (fitted, None) if found is None else (found.way, _doubt(found, [*corners_seen, *considered], pen))


def _doubt(taken: _Seen, ways: Sequence[_Seen], pen: Pen) -> DoubtfulCorner | None:
    """Return how far another way lies that explains the ink hardly worse, where the one taken explains it badly."""
    plain = CLEAR_TIMES * pen.rest + CLEAR_SHARE
    if taken.left < DOUBTFUL_TIMES * plain:
        return None
    line = shapely.LineString(flattened(taken.way.segments))
    near = [seen.way for seen in ways if math.isfinite(seen.left) and _cost(seen) - _cost(taken) < taken.left - plain]
    off = max((line.hausdorff_distance(shapely.LineString(flattened(way.segments))) for way in near), default=0.0)
    middle = taken.way.between[len(taken.way.between) // 2].start if taken.way.between else taken.way.before.end
    return DoubtfulCorner(middle, min(off, MOST_OFF_MM)) if off >= DOUBTFUL_MM else None


@dataclass(frozen=True, slots=True)
class _Seen:
    """A way through a place, and the share of the ink there that it leaves unexplained."""

    way: JointHypothesis
    left: float

    def is_plain(self, pen: Pen) -> bool:
        """Whether it leaves little more than the pen does elsewhere."""
        return self.left < CLEAR_TIMES * pen.rest + CLEAR_SHARE


def _cost(seen: _Seen) -> float:
    return seen.left + PLAIN_SHARE * (len(seen.way.between) + 1)


@dataclass(frozen=True, slots=True, eq=False)
class _Place:
    """The pixels of a doubtful place that count, how dark they are, and how far from the rest of the ring they lie."""

    points: Points
    seen_ink: Points
    rest_mm: Points
    low: Points
    high: Points
    pen: Pen

    def holds(self, way: JointHypothesis) -> bool:
        """Whether all of a way between its long pieces is seen."""
        ends = np.array([way.before.end, way.after.start])
        return bool(np.all((ends >= self.low) & (ends <= self.high)))

    def seen(self, way: JointHypothesis) -> _Seen:
        """Return a way with what it leaves unexplained."""
        return _Seen(way, math.inf if _folds(way) else self._left(self._away(flattened(way.segments))))

    def with_ends(self, way: JointHypothesis, apex: Point) -> tuple[_Seen, Points]:
        """Return the way with a corner at `apex` as seen with each side ending where that explains most.

        A pen is seldom lifted where two lines cross: it is led on beyond the other line, or stops short of it. Also
        returned is how far each pixel is from a side that is led on.
        """
        at = next(k for k, piece in enumerate(way.segments) if piece.end == apex)
        sides = flattened(way.segments[: at + 1]), flattened(way.segments[at + 1 :])[::-1]
        away = [[self._away(_ending(side, by)) for by in ENDS_MM] for side in sides]
        ends, left = [ENDS_MM.index(0.0)] * 2, math.inf
        for k in (0, 1, 0, 1):
            lefts = [self._left(np.minimum(mine, away[1 - k][ends[1 - k]])) for mine in away[k]]
            ends[k], left = int(np.argmin(lefts)), min(lefts)
        led_on = [away[k][ends[k]] for k in (0, 1) if ENDS_MM[ends[k]] >= OVERSHOOT_MM]
        return _Seen(way, left), np.min([np.full(len(self.points), NEAR_MM), *led_on], axis=0)

    def beside(self, lines_mm: Sequence[Points]) -> _Place:
        """Return the place with further lines drawn, given by how far each pixel is from them."""
        return replace(self, rest_mm=np.min([self.rest_mm, *lines_mm], axis=0))

    def _away(self, line: Points) -> Points:
        return _distances(self.points, _near(line, self.low, self.high))

    def _left(self, away: Points) -> float:
        return share_left(self.seen_ink, self.pen.darkness(np.minimum(self.rest_mm, away)))


def _looked_at(
    fitted: JointHypothesis,
    arms: tuple[Side, Side],
    corners: Sequence[Point],
    rest: Sequence[Points],
    sight: InkView,
    pen: Pen,
) -> _Place | None:
    """Return what is seen of a place as far as its `corners`, None where too little of it counts."""
    low, high = _box(fitted, arms, corners, pen)
    points, seen = sight.window(low, high)
    counts = _counts(points, seen, sight, pen)
    if counts.sum() < max(12, 0.4 * len(points)):
        return None
    rest_mm = _distances(points[counts], _joined([_near(line, low, high) for line in rest]))
    return _Place(points[counts], seen[counts], rest_mm, low, high, pen)


def _ending(line: Points, by_mm: float) -> Points:
    """Return an open line led on straight beyond its last point, or cut back before it where `by_mm` is negative."""
    if by_mm >= 0.0:
        step = line[-1] - line[-2]
        return np.vstack([line, line[-1] + by_mm * step / max(float(np.hypot(*step)), 1e-9)])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    until = max(0.0, along[-1] + by_mm)
    end = np.array([np.interp(until, along, line[:, k]) for k in (0, 1)])
    return np.vstack([line[along < until], end]) if until > 0.0 else line[:2]


def _is_bare(way: JointHypothesis, sight: InkView, pen: Pen) -> bool:
    """Whether the ink has all but worn away somewhere between the long pieces of a way."""
    line = shapely.LineString(flattened(way.between)) if way.between else shapely.LineString()
    if line.length == 0.0:
        return False
    along = np.arange(0.0, line.length, sight.step_mm / 2)
    offsets = np.arange(-pen.width_mm, pen.width_mm, sight.step_mm / 3)
    points, ahead = (shapely.get_coordinates(shapely.line_interpolate_point(line, along + d)) for d in (0.0, 1e-4))
    normals = (ahead - points)[:, ::-1] * np.array([-1.0, 1.0]) / 1e-4
    ink = sight.at((points[:, None] + offsets[:, None] * normals[:, None]).reshape(-1, 2)).reshape(len(points), -1)
    return bool(ink.sum(axis=1).min() < WORN_SHARE * pen.black * pen.darkness(offsets).sum())


def _is_near(apex: Point, way: JointHypothesis, reach_mm: float, worn_mm: float) -> bool:
    """Whether a way cuts off a corner by so little that ink worn off there would show the same.

    A square corner's cut is twice as long as it is deep; a longer one, but for the width of a gap there, is the way
    of a slight bend.
    """
    line = flattened(way.segments)
    away = _distances(np.array([apex]), (line[:-1], np.diff(line, axis=0)))[0]
    return bool(away < reach_mm) and sum(piece.length for piece in way.between) < 2 * reach_mm + worn_mm


def _width(gap: Points) -> float:
    return float(np.hypot(*(gap[-1] - gap[0])))


def _comes_near(line: Points, place: Point, reach_mm: float) -> bool:
    return bool(np.min(np.hypot(*(line - place).T)) < reach_mm)


def _folds(way: JointHypothesis) -> bool:
    """Whether a short piece of a way runs back along its neighbour: nobody draws that."""
    return bool(way.between) and any(
        turn_deg(a, b) > FOLD_DEG for a, b in itertools.pairwise(way.segments) if a.length > 0 and b.length > 0
    )


def turn_deg(one: Segment, other: Segment) -> float:
    """Return by how many degrees the line turns where one segment follows another."""
    (ax, ay), (bx, by) = _direction(one, 1.0), _direction(other, 0.0)
    return math.degrees(abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)))


def _direction(segment: Segment, share: float) -> Point:
    low, high = (share - 1e-3, share) if share > 0.5 else (share, share + 1e-3)
    (x0, y0), (x1, y1) = segment.point_at(low), segment.point_at(high)
    size = math.hypot(x1 - x0, y1 - y0) or 1.0
    return ((x1 - x0) / size, (y1 - y0) / size)


def _box(fitted: JointHypothesis, arms: tuple[Side, Side], corners: Sequence[Point], pen: Pen) -> tuple[Points, Points]:
    near = [fitted.before.end, fitted.after.start, *(arm.at(0.0) for arm in arms), *corners]
    near += [segment.end for segment in fitted.between]
    points = np.array(near)
    pad = 1.2 * pen.width_mm + 2 * pen.blur_mm
    return points.min(axis=0) - pad, points.max(axis=0) + pad


def _counts(points: Points, seen: Points, sight: InkView, pen: Pen) -> NDArray[np.bool_]:
    """Return which pixels are neither under another line nor bare in a gap, whichever way the line ran through it."""
    counts = np.ones(len(points), np.bool_)
    low, high = points.min(axis=0), points.max(axis=0)
    reach = 0.5 * pen.width_mm + sight.step_mm
    for gap in sight.gaps:
        # As far as the blur of a line that had not worn away would reach.
        worn = shapely.MultiPoint(gap).convex_hull.buffer(0.5 * pen.width_mm + 3.0 * pen.blur_mm)
        counts &= (seen > BARE_SHARE * seen.max()) | ~shapely.contains_xy(worn, points)
    for line in sight.others:
        if np.any(line.max(axis=0) < low - pen.width_mm) or np.any(line.min(axis=0) > high + pen.width_mm):
            continue
        away = _distances(points, _near(line, low, high))
        counts &= away > reach
    return counts


def _blunt(one: Side, other: Side, fitted: JointHypothesis, place: _Place) -> list[JointHypothesis]:
    """Return the way with a short straight end between two corners, moved along the arms to where the ink has it."""

    def way(u: float, v: float) -> JointHypothesis:
        first, last = one.at(u), other.at(v)
        before, after = one.up_to(first), other.up_to(last)
        start, end = before[-1].end, after[0].start
        return JointHypothesis(before[0], (*before[1:], Line(start, end), *after[:-1]), after[-1])

    def ink_cost(u: float, v: float) -> float:
        is_within = one.has_room(one.at(u)) and other.has_room(other.at(v))
        return _cost(place.seen(way(u, v))) if is_within else math.inf

    spot = (one.beyond(fitted.before.end), other.beyond(fitted.after.start))
    least = ink_cost(*spot)
    for step in (0.4, 0.15, 0.05, 0.02):
        for _ in range(6):
            tries = [(spot[0] + a * step, spot[1] + b * step) for a, b in ((1, 0), (-1, 0), (0, 1), (0, -1))]
            costs = [ink_cost(*t) for t in tries]
            if min(costs) >= least:
                break
            least, spot = min(costs), tries[int(np.argmin(costs))]
    found = way(*spot)
    ends = found.segments[len(one.up_to(one.at(spot[0]))) - 1].end, found.after.start
    return [found] if math.dist(*ends) > 1e-6 else []


def flattened(segments: Sequence[Segment]) -> Points:
    """Return points along segments that follow each other, within `FLAT_MM` of them."""
    points = [point for segment in segments for point in segment.flattened(FLAT_MM)]
    return np.array([*points, segments[-1].end])


def _near(line: Points, low: Points, high: Points) -> tuple[Points, Points]:
    """Return start and step of the pieces of an open line that come near a box."""
    a, b = line[:-1], line[1:]
    near = np.all((np.maximum(a, b) > low - NEAR_MM) & (np.minimum(a, b) < high + NEAR_MM), axis=1)
    return a[near], (b - a)[near]


def _joined(pieces: Sequence[tuple[Points, Points]]) -> tuple[Points, Points]:
    none = np.empty((0, 2))
    return np.vstack([none, *(starts for starts, _ in pieces)]), np.vstack([none, *(steps for _, steps in pieces)])


def _distances(points: Points, pieces: tuple[Points, Points]) -> Points:
    """Return how far points are from the nearest piece, `NEAR_MM` at most."""
    starts, steps = pieces
    if len(starts) == 0:
        return np.full(len(points), NEAR_MM)
    x, y = points[:, :1] - starts[:, 0], points[:, 1:] - starts[:, 1]
    dx, dy = steps.T
    share = np.clip((x * dx + y * dy) / np.maximum(dx * dx + dy * dy, 1e-18), 0.0, 1.0)
    x -= share * dx
    y -= share * dy
    return np.asarray(np.sqrt(np.minimum((x * x + y * y).min(axis=1), NEAR_MM**2)), np.float64)
