"""A doubtful place of a ring as the ink shows it: what of the ink each way through it leaves unexplained."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from vectorize.fit.ink_view import InkView, Pen, share_left
from vectorize.fit.joint_hypotheses import JointHypothesis, Side, apexes, to_apex
from vectorize.shapes.segment import Point, Points, Segment

PLAIN_SHARE = 0.012
"""A joint more must leave this much less of the ink unexplained, as a share of black over the place."""

FOLD_DEG = 150.0
"""A piece that turns off its neighbour by more runs back along it. Chosen, not measured."""

CLEAR_TIMES = 1.3
CLEAR_SHARE = 0.03
"""A plain corner that leaves little more than the pen does elsewhere is no longer in doubt."""

BARE_SHARE = 0.75
"""In a gap a pixel that is lighter than this share of the darkest near it is bare paper."""

LIGHT_SHARE = 0.2
"""A pixel under another line that is lighter than this share of the darkest near it is bare paper, too: lines end there
that were taken to run on. Chosen where `acute_tips.TIP_DEG` says."""

ENDS_MM = (-0.5, -0.4, -0.3, -0.2, -0.1, 0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""How far beyond a corner (or short of it) a pen may have been lifted: 0.2 to 1 mm too far and up to 0.5 mm short are
usual for hurried and pencilled plans (common practice, no source); finer steps than the blur of a scan tell no more."""

OVERSHOOT_MM = 0.2
"""A side that is led on by less is as well explained by its round end, half a pen wide."""

FLAT_MM = 0.01
NEAR_MM = 2.0


@dataclass(frozen=True, slots=True)
class Seen:
    """A way through a place, the share of the ink there that it leaves unexplained, and what it is charged beside."""

    way: JointHypothesis
    left: float
    extra: float = 0.0

    def is_plain(self, pen: Pen) -> bool:
        """Whether it leaves little more than the pen does elsewhere."""
        return self.left < CLEAR_TIMES * pen.rest + CLEAR_SHARE


def cost(seen: Seen) -> float:
    """Return what a way leaves unexplained, and what its joints are charged."""
    return seen.left + PLAIN_SHARE * (len(seen.way.between) + 1)


@dataclass(frozen=True, slots=True, eq=False)
class WithEnds:
    """A way with a sharp corner as seen with its sides ending at `ends_mm` beyond it (negative: short of it).

    `aside_mm` is how far each pixel is from a side that is led on, and `exact` what sides that end at the corner leave.
    """

    seen: Seen
    aside_mm: Points
    ends_mm: tuple[float, float]
    exact: float


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """The pixels of a doubtful place that count, how dark they are, and how far from the rest of the ring they lie."""

    points: Points
    seen_ink: Points
    rest_mm: Points
    low: Points
    high: Points
    pen: Pen

    def holds(self, way: JointHypothesis) -> bool:
        """Whether all of a way between its long pieces is seen."""
        return self.shows(np.array([way.before.end, way.after.start]))

    def shows(self, points: Points) -> bool:
        """Whether all of (N, 2) points lie in what is looked at."""
        return bool(np.all((points >= self.low) & (points <= self.high)))

    def seen(self, way: JointHypothesis) -> Seen:
        """Return a way with what it leaves unexplained."""
        return Seen(way, math.inf if folds(way) else self._left(self._away(flattened(way.segments))))

    def with_ends(self, way: JointHypothesis, apex: Point, *, shortest_mm: float = ENDS_MM[0]) -> WithEnds:
        """Return the way with a corner at `apex` as seen with each side ending where that explains most.

        A pen is seldom lifted where two lines cross: it is led on beyond the other line, or stops short of it, by
        `shortest_mm` at most (negative).
        """
        at = next(k for k, piece in enumerate(way.segments) if piece.end == apex)
        sides = flattened(way.segments[: at + 1]), flattened(way.segments[at + 1 :])[::-1]
        tried = [by for by in ENDS_MM if by >= shortest_mm]
        away = [[self._away(ending(side, by)) for by in tried] for side in sides]
        ends, left = [tried.index(0.0)] * 2, math.inf
        for k in (0, 1, 0, 1):
            lefts = [self._left(np.minimum(mine, away[1 - k][ends[1 - k]])) for mine in away[k]]
            ends[k], left = int(np.argmin(lefts)), min(lefts)
        led_on = [away[k][ends[k]] for k in (0, 1) if tried[ends[k]] >= OVERSHOOT_MM]
        aside = np.min([np.full(len(self.points), NEAR_MM), *led_on], axis=0)
        exact = self._left(np.minimum(*(mine[tried.index(0.0)] for mine in away)))
        return WithEnds(Seen(way, left), aside, (tried[ends[0]], tried[ends[1]]), exact)

    def left_by(self, lines: Sequence[Points]) -> float:
        """Return what open lines, besides the rest of the ring, leave unexplained."""
        return self._left(np.min([self._away(line) for line in lines], axis=0))

    def beside(self, lines_mm: Sequence[Points]) -> Place:
        """Return the place with further lines drawn, given by how far each pixel is from them."""
        return replace(self, rest_mm=np.min([self.rest_mm, *lines_mm], axis=0))

    def _away(self, line: Points) -> Points:
        return distances(self.points, near_pieces(line, self.low, self.high))

    def _left(self, away: Points) -> float:
        return share_left(self.seen_ink, self.pen.darkness(np.minimum(self.rest_mm, away)))


def looked_at(
    fitted: JointHypothesis,
    arms: tuple[Side, Side],
    corners: Sequence[Point],
    rest: Sequence[Points],
    sight: InkView,
    pen: Pen,
) -> Place | None:
    """Return what is seen of a place as far as its `corners`, None where too little of it counts."""
    low, high = _box(fitted, arms, corners, pen)
    points, seen = sight.window(low, high)
    counts = _counts(points, seen, sight, pen)
    if counts.sum() < max(12, 0.4 * len(points)):
        return None
    rest_mm = distances(points[counts], _joined([near_pieces(line, low, high) for line in rest]))
    return Place(points[counts], seen[counts], rest_mm, low, high, pen)


def sharp_ends(
    fitted: JointHypothesis, arms: tuple[Side, Side], rest: Sequence[Points], sight: InkView, pen: Pen
) -> WithEnds | None:
    """Return how the sides of a place end where they cross, None where they do not or too little of it counts."""
    corners = apexes(*arms, fitted)[:1]
    place = looked_at(fitted, arms, corners, rest, sight, pen) if corners else None
    return None if place is None else place.with_ends(to_apex(*arms, corners[0]), corners[0])


def ending(line: Points, by_mm: float) -> Points:
    """Return an open line led on straight beyond its last point, or cut back before it where `by_mm` is negative."""
    if by_mm >= 0.0:
        step = line[-1] - line[-2]
        return np.vstack([line, line[-1] + by_mm * step / max(float(np.hypot(*step)), 1e-9)])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    until = max(0.0, along[-1] + by_mm)
    end = np.array([np.interp(until, along, line[:, k]) for k in (0, 1)])
    return np.vstack([line[along < until], end]) if until > 0.0 else line[:2]


def folds(way: JointHypothesis) -> bool:
    """Return whether a short piece of a way runs back along its neighbour: nobody draws that."""
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
        away = distances(points, near_pieces(line, low, high))
        # Bare paper beside a line tells that no other runs there either.
        counts &= (away > reach) | (seen < LIGHT_SHARE * seen.max())
    return counts


def flattened(segments: Sequence[Segment]) -> Points:
    """Return points along segments that follow each other, within `FLAT_MM` of them."""
    points = [point for segment in segments for point in segment.flattened(FLAT_MM)]
    return np.array([*points, segments[-1].end])


def near_pieces(line: Points, low: Points, high: Points) -> tuple[Points, Points]:
    """Return start and step of the pieces of an open line that come near a box."""
    a, b = line[:-1], line[1:]
    near = np.all((np.maximum(a, b) > low - NEAR_MM) & (np.minimum(a, b) < high + NEAR_MM), axis=1)
    return a[near], (b - a)[near]


def _joined(pieces: Sequence[tuple[Points, Points]]) -> tuple[Points, Points]:
    none = np.empty((0, 2))
    return np.vstack([none, *(starts for starts, _ in pieces)]), np.vstack([none, *(steps for _, steps in pieces)])


def distances(points: Points, pieces: tuple[Points, Points]) -> Points:
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
