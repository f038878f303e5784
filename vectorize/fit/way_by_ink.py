"""The ways through a doubtful place held against the ink: the one that leaves least unexplained is taken."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from vectorize.fit.acute_tips import TIP_DEG, TIP_SPAN_MM, blunt_tips, led_on_to, tip_deg
from vectorize.fit.ink_view import InkView, Pen
from vectorize.fit.joint_hypotheses import JointHypothesis, Side, apexes, bends, passes, rounds, to_apex
from vectorize.fit.place_by_ink import (
    CLEAR_SHARE,
    CLEAR_TIMES,
    ENDS_MM,
    OVERSHOOT_MM,
    PLAIN_SHARE,
    Place,
    Seen,
    cost,
    distances,
    flattened,
    looked_at,
)
from vectorize.shapes.segment import Line, Point, Points

NEAR_PENS = 1.2
"""A corner may be cut off by so much only where that explains the ink plainly: a chamfer so small is seldom drawn."""

WORN_SHARE = 0.5
"""A way that carries less than this share of its pen's ink somewhere is not the one that was drawn."""

DOUBTFUL_TIMES, DOUBTFUL_MM, MOST_OFF_MM = 2.5, 0.4, 1.5
"""A corner is in doubt where so many times more of the ink than is plain stays unexplained and another way that
explains it hardly worse lies so far away; farther than the last is another shape.

Chosen on six drawn sheets in two hands, 598 such places; half the multiple tells a third of the parts that are right.
On 18 sheets in nine hands it told 7 of 157 parts that were right, and five wrong ones that nothing else told."""


TIP_REST, TIP_SLACK, TIP_TIMES, TIP_OFF_MM = 0.2, 0.003, 1.5, 0.3
"""An acute tip is in doubt where another way leaves so little more of the ink unexplained and lies so far away."""


@dataclass(frozen=True, slots=True)
class DoubtfulCorner:
    """A place, in mm, where no way explains the ink well, and how far from the one taken another good one lies.

    Of an acute tip, `tips` are where the way taken and the other one come to their ends.
    """

    at: Point
    off_mm: float
    tips: tuple[Point, Point] | None = None


def best_way(
    fitted: JointHypothesis,
    arms: tuple[Side, Side],
    rest: Sequence[Points],
    sight: InkView,
    pen: Pen,
    *,
    holding: tuple[Point, ...] = (),
    shortest_mm: float | None = None,
) -> tuple[JointHypothesis, DoubtfulCorner | None]:
    """Return the way through a place that leaves least of the ink unexplained, and whether it stays in doubt.

    `rest` is all else of the ring. The place is looked at as far as the points `holding`, at least. No side of an
    acute tip ends more than `shortest_mm` before it (a negative number; None where nothing tells).
    """
    one, other = arms
    corners = apexes(one, other, fitted)
    sharp = [to_apex(one, other, corner) for corner in corners]
    if sight.is_dashed:
        return next(iter(sharp), fitted), None
    is_tip = (
        bool(corners)
        and tip_deg(one, other, corners[0]) < TIP_DEG
        and sum(piece.length for piece in fitted.between) <= TIP_SPAN_MM
    )
    if is_tip:
        sight = replace(sight, others=tuple(led_on_to(corners[0], sight.others)))
    place = looked_at(fitted, arms, [*corners[:1], *holding], rest, sight, pen)
    if place is None:
        return fitted, None
    shortest = shortest_mm if is_tip and shortest_mm is not None else ENDS_MM[0]
    ended = [place.with_ends(way, apex, shortest_mm=shortest) for way, apex in zip(sharp, corners, strict=True)]
    corners_seen = [one.seen for one in ended]
    if is_tip:
        # Sides that fall short are unusual where no other corner says that they do.
        unusual = [sum(by <= -OVERSHOOT_MM for by in one.ends_mm) if shortest_mm is None else 0 for one in ended]
        charged = [replace(seen, extra=PLAIN_SHARE * k) for seen, k in zip(corners_seen, unusual, strict=True)]
        return _best_tip(fitted, arms, corners[0], charged, place, sight)
    # Sides that run on beyond their crossing do so whichever way the outline takes.
    place = place.beside([ended.aside_mm for ended in ended[:1]])
    best = min([place.seen(fitted), *corners_seen], key=cost)
    if not fitted.between and best.is_plain(pen):
        return best.way, None
    rounded = [way for apex in corners[:1] for way in rounds(one, other, apex)]
    wider = min((place.seen(way) for way in rounded if not place.holds(way)), key=cost, default=best)
    if cost(wider) < cost(best):
        # A line that goes on straight hides where a round leaves it: what is seen of the place may be too little.
        ends = wider.way.before.end, wider.way.after.start
        return best_way(fitted, arms, rest, sight, pen, holding=(*holding, *ends), shortest_mm=shortest_mm)
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
    found = min([*corners_seen, *others], key=cost, default=None)
    return (fitted, None) if found is None else (found.way, _doubt(found, [*corners_seen, *considered], pen))


def _best_tip(
    fitted: JointHypothesis,
    arms: tuple[Side, Side],
    apex: Point,
    sharp: Sequence[Seen],
    place: Place,
    sight: InkView,
) -> tuple[JointHypothesis, DoubtfulCorner | None]:
    """Return the way round an acute tip that leaves least of the ink unexplained, and whether it stays in doubt."""
    one, other = arms
    smooth = [fitted, *(way for way in [*bends(one, other), *rounds(one, other, apex)] if place.holds(way))]
    blunt = [seen for seen in blunt_tips(one, other, apex, place) if not _is_bare(seen.way, sight, place.pen)]
    ways = [*sharp, *map(place.seen, smooth), *blunt]
    # By chance alone a joint more explains the more, the less the ink is like the pen's elsewhere.
    joint = PLAIN_SHARE + TIP_REST * place.pen.rest
    costs = [seen.left + seen.extra + joint * len(seen.way.between) for seen in ways]
    found = ways[int(np.argmin(costs))]
    # What even that way leaves unexplained may hide as much from another.
    slack = max(TIP_SLACK, found.left - TIP_TIMES * (CLEAR_TIMES * place.pen.rest + CLEAR_SHARE))
    rivals = [seen.way for seen, one in zip(ways, costs, strict=True) if one - min(costs) < slack]
    line, *lines = (shapely.LineString(flattened(way.segments)) for way in [found.way, *rivals])
    offs = [line.hausdorff_distance(one) for one in lines]
    far = int(np.argmax(offs))
    if offs[far] < TIP_OFF_MM:
        return found.way, None
    nearest = [one.interpolate(one.project(shapely.Point(apex))) for one in (line, lines[far])]
    tips = (nearest[0].x, nearest[0].y), (nearest[1].x, nearest[1].y)
    return found.way, DoubtfulCorner(tips[0], min(offs[far], MOST_OFF_MM), tips)


def _doubt(taken: Seen, ways: Sequence[Seen], pen: Pen) -> DoubtfulCorner | None:
    """Return how far another way lies that explains the ink hardly worse, where the one taken explains it badly."""
    plain = CLEAR_TIMES * pen.rest + CLEAR_SHARE
    if taken.left < DOUBTFUL_TIMES * plain:
        return None
    line = shapely.LineString(flattened(taken.way.segments))
    near = [seen.way for seen in ways if math.isfinite(seen.left) and cost(seen) - cost(taken) < taken.left - plain]
    off = max((line.hausdorff_distance(shapely.LineString(flattened(way.segments))) for way in near), default=0.0)
    middle = taken.way.between[len(taken.way.between) // 2].start if taken.way.between else taken.way.before.end
    return DoubtfulCorner(middle, min(off, MOST_OFF_MM)) if off >= DOUBTFUL_MM else None


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
    away = distances(np.array([apex]), (line[:-1], np.diff(line, axis=0)))[0]
    return bool(away < reach_mm) and sum(piece.length for piece in way.between) < 2 * reach_mm + worn_mm


def _width(gap: Points) -> float:
    return float(np.hypot(*(gap[-1] - gap[0])))


def _comes_near(line: Points, place: Point, reach_mm: float) -> bool:
    return bool(np.min(np.hypot(*(line - place).T)) < reach_mm)


def _blunt(one: Side, other: Side, fitted: JointHypothesis, place: Place) -> list[JointHypothesis]:
    """Return the way with a short straight end between two corners, moved along the arms to where the ink has it."""

    def way(u: float, v: float) -> JointHypothesis:
        first, last = one.at(u), other.at(v)
        before, after = one.up_to(first), other.up_to(last)
        start, end = before[-1].end, after[0].start
        return JointHypothesis(before[0], (*before[1:], Line(start, end), *after[:-1]), after[-1])

    def ink_cost(u: float, v: float) -> float:
        is_within = one.has_room(one.at(u)) and other.has_room(other.at(v))
        return cost(place.seen(way(u, v))) if is_within else math.inf

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
