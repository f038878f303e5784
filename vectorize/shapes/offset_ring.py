"""A ring moved sideways, its lines still lines and its arcs still arcs: from the middle of a pen line to its edge.

Corners stay sharp; one so sharp that it would run out far is cut off square, as a pen leaves it.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from vectorize.shapes.offset import MITRE_LIMIT
from vectorize.shapes.outline import Ring
from vectorize.shapes.primitives import as_point
from vectorize.shapes.segment import Arc, Cubic, Line, Point, Points, Segment

SMOOTH_DEG = 8.0
"""Pieces that meet at a smaller angle go on smoothly."""

TURN_DEG = 30.0
"""A cubic beside another follows it closely over so much of a turn."""

_NEAR_END = 1e-4
_CHECK_MM = 0.01
_SPOTS = 10


def offset_ring(ring: Ring, left_mm: float) -> Ring:
    """Return `ring` moved to the left of the way it runs by `left_mm`, to the right where that is negative.

    Lines and circles are exact, arcs between corners and cubics to some micrometres. Where a bend is tighter than the
    distance the ring comes back in straight pieces. A ring that would vanish is returned as it is.
    """
    if left_mm == 0.0:
        return ring
    circle = ring.as_circle()
    is_left_turn = ring.signed_area_mm2 > 0
    if circle is not None:
        radius = circle[1] - math.copysign(left_mm, left_mm if is_left_turn else -left_mm)
        return Ring.circle(circle[0], radius).oriented(is_counter_clockwise=is_left_turn) if radius > 0 else ring
    moved = _moved(ring, left_mm)
    outward = -left_mm if is_left_turn else left_mm
    if moved is not None and _is_like(moved, ring, outward):
        return moved
    rough = shapely.Polygon(ring.flattened(_CHECK_MM)).buffer(outward, join_style="mitre", mitre_limit=MITRE_LIMIT)
    if not isinstance(rough, shapely.Polygon) or rough.is_empty:
        return ring
    return Ring.from_points(rough.exterior.coords).oriented(is_counter_clockwise=is_left_turn)


def _moved(ring: Ring, left: float) -> Ring | None:
    """Return every piece moved, and joined to its neighbours where both have come to lie; None where one turns over."""
    joints = [
        _joint(before, after, left)
        for before, after in zip((ring.segments[-1], *ring.segments[:-1]), ring.segments, strict=True)
    ]
    segments: list[Segment] = []
    for segment, (_, start), (end, after) in zip(ring.segments, joints, (*joints[1:], joints[0]), strict=True):
        pieces = _pieces(segment, start, end, left)
        if pieces is None:
            return None
        segments += pieces
        if end != after:
            segments.append(Line(end, after))
    return Ring(tuple(segments))


def _joint(before: Segment, after: Segment, left: float) -> tuple[Point, Point]:
    """Return where the piece before a joint ends and the one after it begins: one point, or two of a cut corner."""
    (ax, ay), (bx, by) = _direction(before, at_end=True), _direction(after, at_end=False)
    x, y = after.start
    one, other = (x - left * ay, y + left * ax), (x - left * by, y + left * bx)
    turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
    if abs(turn) < math.radians(SMOOTH_DEG):
        middle = ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)
        return middle, middle
    if 1.0 / max(math.cos(turn / 2), 1e-9) <= MITRE_LIMIT:
        reach = left * math.tan(turn / 2)
        tip = (one[0] - reach * ax, one[1] - reach * ay)
        return tip, tip
    if turn * left > 0:
        return one, other
    # Cut off square at the limit, across the middle of the corner.
    reach = abs(left) * (MITRE_LIMIT - math.cos(turn / 2)) / max(abs(math.sin(turn / 2)), 1e-9)
    return (one[0] + reach * ax, one[1] + reach * ay), (other[0] - reach * bx, other[1] - reach * by)


def _direction(segment: Segment, *, at_end: bool) -> Point:
    """Return the unit direction of a piece at one of its ends."""
    near = segment.point_at(1 - _NEAR_END if at_end else _NEAR_END)
    (x0, y0), (x1, y1) = (near, segment.end) if at_end else (segment.start, near)
    size = math.hypot(x1 - x0, y1 - y0) or 1.0
    return ((x1 - x0) / size, (y1 - y0) / size)


def _pieces(segment: Segment, start: Point, end: Point, left: float) -> list[Segment] | None:
    """Return a moved piece between its new ends; None where that would run the other way."""
    along = (segment.end[0] - segment.start[0], segment.end[1] - segment.start[1])
    now = (end[0] - start[0], end[1] - start[1])
    if isinstance(segment, Arc):
        return _arc(segment, start, end, left)
    if along[0] * now[0] + along[1] * now[1] <= 0:
        return None
    return [Line(start, end)] if isinstance(segment, Line) else _cubics(segment, start, end, left)


def _cubics(cubic: Cubic, start: Point, end: Point, left: float) -> list[Segment]:
    """Return cubics from `start` to `end` along the curve beside this one, one for each `TURN_DEG` that it turns.

    The ends lie a little before or after those of the curve beside, where a corner moved them.
    """
    ends = cubic.velocities_at(np.array([0.0, 1.0]))
    begin, stop = (
        share + ((point[0] - x) * vx + (point[1] - y) * vy) / max(vx * vx + vy * vy, 1e-12)
        for share, point, (x, y), (vx, vy) in (
            (0.0, start, cubic.start, ends[0].tolist()),
            (1.0, end, cubic.end, ends[1].tolist()),
        )
    )
    (ax, ay), (bx, by) = ends.tolist()
    turn = math.degrees(abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)))
    count = max(1, math.ceil(turn / TURN_DEG))
    shares = np.linspace(begin, stop, count * _SPOTS + 1)
    velocity = cubic.velocities_at(shares)
    along = velocity / np.maximum(np.hypot(*velocity.T), 1e-9)[:, None]
    wanted = cubic.points_at(shares) + left * np.column_stack([-along[:, 1], along[:, 0]])
    wanted[0], wanted[-1] = start, end
    spans = [slice(k * _SPOTS, (k + 1) * _SPOTS + 1) for k in range(count)]
    return [_through(wanted[span], along[span.start], along[span.stop - 1]) for span in spans]


def _through(points: Points, first: Points, last: Points) -> Cubic:
    """Return the cubic from the first to the last point, with these directions there, that is closest to all."""
    k = np.linspace(0.0, 1.0, len(points))[:, None]
    near, far = 3 * (1 - k) ** 2 * k, 3 * (1 - k) * k**2
    fixed = ((1 - k) ** 3 + near) * points[0] + (k**3 + far) * points[-1]
    columns = np.column_stack([(near * first).ravel(), (-far * last).ravel()])
    (one, other), *_ = np.linalg.lstsq(columns, (points - fixed).ravel(), rcond=None)
    start, end = as_point(points[0]), as_point(points[-1])
    return Cubic(start, as_point(points[0] + one * first), as_point(points[-1] - other * last), end)


def _arc(arc: Arc, start: Point, end: Point, left: float) -> list[Segment] | None:
    """Return the arc of the circle about the same centre; its ends need not lie on it to the last micrometre."""
    radius = arc.radius - math.copysign(left, left * arc.bulge)
    chord = math.dist(start, end)
    if radius <= 0 or chord == 0 or chord > 2.02 * radius:
        return None
    half = math.asin(min(1.0, chord / (2 * radius)))
    half = math.pi - half if abs(arc.sweep) > math.pi else half
    return [Arc(start, end, math.copysign(math.tan(half / 2), arc.bulge))]


def _is_like(moved: Ring, ring: Ring, outward: float) -> bool:
    """Whether a moved ring is whole, and holds the old one or is held by it."""
    new, old = (shapely.Polygon(one.flattened(_CHECK_MM)) for one in (moved, ring))
    if not new.is_valid:
        return False
    inner, outer = (old, new) if outward > 0 else (new, old)
    return bool(inner.difference(outer.buffer(_CHECK_MM)).is_empty)
