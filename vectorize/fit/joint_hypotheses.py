"""The ways in which a line may run through a doubtful place between two long pieces that are sure."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

import numpy as np

from vectorize.shapes.primitives import Round, Shape, Straight, as_point, crossings, fit_circle, touching
from vectorize.shapes.segment import Arc, Cubic, Line, Point, Segment

BENDS_MM = (0.4, 0.8, 1.4)
"""How far before and behind a place a smooth bend may begin."""

ROUNDS_MM = (0.6, 0.9, 1.2, 1.5, 1.9, 2.3, 2.8, 3.4, 4.1, 5.0)
"""How far before and behind a corner its round may begin: steps of a quarter move its middle by less than 0.1 mm."""

FARTHEST_APEX_MM = 6.0
"""A sharp corner lies no farther beyond its rounded line."""

TOUCH_MM = 0.1
"""A line that passes a circle this closely was drawn to touch it; both are known to some hundredths of a millimetre."""

FARTHEST_ASIDE_MM, LONGEST_GRAZE_MM = 0.7, 25.0
"""Two lines no farther apart than this (pens are 0.2 to 0.8 mm wide), over so much of their length at most, are one in
the ink; the longest seen on drawn sheets was 15 mm."""

LEAST_LEFT_SHARE = 0.6
"""No more than this share of a long piece is cut away to reach a corner."""


@dataclass(frozen=True, slots=True)
class JointHypothesis:
    """One way through a place: the long piece before it, what lies between, and the long piece after it."""

    before: Segment
    between: tuple[Segment, ...]
    after: Segment

    @property
    def segments(self) -> tuple[Segment, ...]:
        """Return all pieces in order."""
        return (self.before, *self.between, self.after)


@dataclass(frozen=True, slots=True)
class Side:
    """A long piece that leads up to a place, cut where the place disturbs it, and how it goes on from the cut."""

    segment: Segment
    shape: Shape
    is_after: bool

    @staticmethod
    def of(segment: Segment, pen_mm: float, fitted: Shape | None = None, *, is_after: bool = False) -> Side:
        """Return the arm of a segment that ends at the place; of one that begins there with `is_after`."""
        known = None if fitted is None else _walked_back(fitted) if is_after else fitted
        facing = segment.reversed() if is_after else segment
        match facing:
            case Line(start, end):
                size = math.dist(start, end) or 1.0
                shape: Shape = Straight(end, ((end[0] - start[0]) / size, (end[1] - start[1]) / size))
            case Arc():
                shape = Round(facing.centre, facing.radius, 1 if facing.bulge > 0 else -1)
            case Cubic():
                facing, shape = _cut_back(facing, max(0.8, 1.5 * pen_mm))
        if known is not None and type(known) is type(shape):
            shape = known
        return Side(facing, shape, is_after)

    def at(self, beyond_mm: float) -> Point:
        """Return the point `beyond_mm` beyond the cut."""
        (x, y), (tx, ty) = self.segment.end, self.shape.tangent(self.segment.end)
        return self.shape.nearest((x + beyond_mm * tx, y + beyond_mm * ty))

    def beyond(self, point: Point) -> float:
        """Return how far beyond the cut a point lies."""
        (x, y), (tx, ty) = self.segment.end, self.shape.tangent(self.segment.end)
        return (point[0] - x) * tx + (point[1] - y) * ty

    def has_room(self, point: Point) -> bool:
        """Whether much of the arm is left when it is led on, or cut back, to a point."""
        return self.beyond(point) > -LEAST_LEFT_SHARE * self.segment.length

    def direction(self, point: Point) -> Point:
        """Return the direction of walking up to the place."""
        return self.shape.tangent(point)

    def up_to(self, point: Point) -> list[Segment]:
        """Return the arm led on, or cut back, to a point on it; in the ring's own order."""
        match self.segment, self.shape:
            case Line(start, _), _:
                pieces: list[Segment] = [Line(start, point)]
            case Arc(start, _, _), Round() as circle:
                pieces = [circle_arc(circle, start, point)]
            case Cubic(), _:
                pieces = self._cubic_up_to(point)
            case _:
                raise TypeError("an arm is a line, an arc or a cubic")
        return [piece.reversed() for piece in reversed(pieces)] if self.is_after else pieces

    def _cubic_up_to(self, point: Point) -> list[Segment]:
        (x, y), beyond = self.segment.end, self.beyond(point)
        if beyond < 0:
            return [_cut_back(self.segment, -beyond)[0]] if isinstance(self.segment, Cubic) else [self.segment]
        if beyond < 1e-3:
            return [self.segment]
        rest = Line((x, y), point) if isinstance(self.shape, Straight) else circle_arc(self.shape, (x, y), point)
        return [self.segment, rest]


def _walked_back(shape: Shape) -> Shape:
    if isinstance(shape, Straight):
        return Straight(shape.at, (-shape.along[0], -shape.along[1]))
    return replace(shape, turn=-shape.turn)


def circle_arc(circle: Round, start: Point, end: Point) -> Segment:
    """Return the piece of a circle from one point on it to another."""
    begin = math.atan2(start[1] - circle.centre[1], start[0] - circle.centre[0])
    finish = math.atan2(end[1] - circle.centre[1], end[0] - circle.centre[0])
    sweep = (finish - begin) * circle.turn % (2 * math.pi) * circle.turn
    bulge = math.tan(sweep / 4)
    return Line(start, end) if abs(bulge) < 1e-5 or abs(sweep) > 1.9 * math.pi else Arc(start, end, bulge)


def _cut_back(cubic: Cubic, by_mm: float) -> tuple[Cubic, Shape]:
    """Return a cubic cut back from its end, at most to 60 %, and the circle or line on which it goes on."""
    shares = np.linspace(0.0, 1.0, 65)
    points = cubic.points_at(shares)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    share = float(np.interp(max(0.6 * along[-1], along[-1] - by_mm), along, shares))
    kept = _first_part(cubic, share)
    reach = np.interp(
        np.linspace(max(0.0, np.interp(share, shares, along) - 4.0), np.interp(share, shares, along), 12), along, shares
    )
    circle = fit_circle(cubic.points_at(reach))
    if circle is not None and 1.0 < circle.radius < 2000.0:
        return kept, circle
    (x0, y0), (x1, y1) = kept.point_at(0.99), kept.end
    size = math.hypot(x1 - x0, y1 - y0) or 1.0
    return kept, Straight(kept.end, ((x1 - x0) / size, (y1 - y0) / size))


def _first_part(cubic: Cubic, share: float) -> Cubic:
    """Return the cubic up to a parameter. Source: de Casteljau's construction."""
    p = [np.array(q) for q in (cubic.start, cubic.first, cubic.second, cubic.end)]
    ends = [p[0]]
    while len(p) > 1:
        p = [a + share * (b - a) for a, b in itertools.pairwise(p)]
        ends.append(p[0])
    return Cubic(*(as_point(q) for q in ends))


def apexes(one: Side, other: Side, fitted: JointHypothesis) -> list[Point]:
    """Return where the two arms cross or touch near the place, the nearest first.

    A circle that was led on under a disturbed stretch may dip through a line twice.
    """
    rough = ((fitted.before.end[0] + fitted.after.start[0]) / 2, (fitted.before.end[1] + fitted.after.start[1]) / 2)
    met = crossings(one.shape, other.shape) + touching(one.shape, other.shape, within_mm=TOUCH_MM)
    found = sorted(met, key=lambda p: math.dist(p, rough))
    return [p for p in found if math.dist(p, rough) < _reach(one, other, p) and one.has_room(p) and other.has_room(p)]


def _reach(one: Side, other: Side, apex: Point) -> float:
    """Return how far from its rounded line a corner may lie: lines that part slightly run together for long."""
    (ax, ay), (bx, by) = one.direction(apex), other.direction(apex)
    return max(FARTHEST_APEX_MM, min(LONGEST_GRAZE_MM, FARTHEST_ASIDE_MM / max(1e-9, abs(ax * by - ay * bx))))


def passes(way: JointHypothesis, arms: tuple[Side, Side], apex: Point) -> bool:
    """Whether a way runs on along an arm beyond where the two cross, and comes back: such ink is an overshoot."""
    ends = [point for piece in way.between for point in (piece.start, piece.end)]
    return any(arm.beyond(point) > arm.beyond(apex) + TOUCH_MM for arm in arms for point in ends)


def to_apex(one: Side, other: Side, apex: Point) -> JointHypothesis:
    """Return the way with one sharp corner, where the two arms cross."""
    before, after = one.up_to(apex), other.up_to(apex)
    before[-1], after[0] = replace(before[-1], end=apex), replace(after[0], start=apex)
    return JointHypothesis(before[0], (*before[1:], *after[:-1]), after[-1])


def bends(one: Side, other: Side) -> list[JointHypothesis]:
    """Return smooth ways, from shortly before the place to shortly behind it."""
    found = [bend(one, other, one.at(-back), other.at(-back)) for back in BENDS_MM]
    return [way for way in found if way is not None]


def bend(one: Side, other: Side, first: Point, last: Point) -> JointHypothesis | None:
    """Return the smooth way that leaves one arm at `first` and joins the other at `last`, None where it turns back."""
    before, after = one.up_to(first), other.up_to(last)
    start, end = before[-1].end, after[0].start
    t0, t1 = one.direction(start), tuple(-v for v in other.direction(end))
    turn = math.atan2(t0[0] * t1[1] - t0[1] * t1[0], t0[0] * t1[0] + t0[1] * t1[1])
    if abs(turn) > math.radians(150):
        return None
    # The handles of a circular arc with that chord and turn.
    size = math.dist(start, end) / (3 * math.cos(turn / 4) ** 2)
    curve = Cubic(
        start,
        (start[0] + size * t0[0], start[1] + size * t0[1]),
        (end[0] - size * t1[0], end[1] - size * t1[1]),
        end,
    )
    return JointHypothesis(before[0], (*before[1:], curve, *after[:-1]), after[-1])


def rounds(one: Side, other: Side, apex: Point) -> list[JointHypothesis]:
    """Return ways that round a corner off, by as much on either side of it."""
    beyond = one.beyond(apex), other.beyond(apex)
    found = []
    for back in ROUNDS_MM:
        ends = one.at(beyond[0] - back), other.at(beyond[1] - back)
        way = bend(one, other, *ends) if one.has_room(ends[0]) and other.has_room(ends[1]) else None
        found += [] if way is None else [way]
    return found
