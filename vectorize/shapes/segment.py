"""Lines, circular arcs and cubic splines: the pieces that a ring is made of.

Areas, moments and lengths are exact for lines and arcs and exact (Green's theorem on polynomials)
for cubics; only flattening takes a tolerance.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Point: TypeAlias = tuple[float, float]
Points: TypeAlias = NDArray[np.float64]

MOST_STEPS = 20_000
"""Into so many steps a piece is divided at most: a circle of 60 m within 0.001 mm takes no more, and no memory is
spent on what no part can be."""

# Gauss-Legendre with 8 nodes integrates polynomials up to degree 15 exactly; the second moment of a
# cubic has degree 11.
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)


def step_count(wanted: float, *, least: int = 1) -> int:
    """Return `wanted` steps as a whole number, rounded up, from `least` to `MOST_STEPS`."""
    return max(least, min(MOST_STEPS, math.ceil(min(wanted, float(MOST_STEPS)))))


@dataclass(frozen=True, slots=True)
class Line:
    """The straight piece from `start` to `end`."""

    start: Point
    end: Point

    def point_at(self, share: float) -> Point:
        """Return the point at `share` (0 to 1) of the way."""
        return (
            self.start[0] + share * (self.end[0] - self.start[0]),
            self.start[1] + share * (self.end[1] - self.start[1]),
        )

    @property
    def length(self) -> float:
        """Return the length."""
        return math.dist(self.start, self.end)

    def flattened(self, tolerance: float) -> list[Point]:
        """Return the points from `start` up to, but without, `end`."""
        return [self.start]

    def reversed(self) -> Line:
        """Return the same piece walked the other way."""
        return Line(self.end, self.start)


@dataclass(frozen=True, slots=True)
class Arc:
    """The circular piece from `start` to `end`.

    `bulge` is the tangent of a quarter of the angle swept, positive when the arc turns
    counter-clockwise (the definition that DXF uses for polyline vertices); it is never zero.
    """

    start: Point
    end: Point
    bulge: float

    @property
    def sweep(self) -> float:
        """Return the swept angle in radians, positive counter-clockwise."""
        return 4.0 * math.atan(self.bulge)

    @property
    def radius(self) -> float:
        """Return the radius."""
        b = self.bulge
        return math.dist(self.start, self.end) * (1.0 + b * b) / (4.0 * abs(b))

    @property
    def centre(self) -> Point:
        """Return the centre of the circle."""
        (x0, y0), (x1, y1), b = self.start, self.end, self.bulge
        k = (1.0 - b * b) / (4.0 * b)
        return ((x0 + x1) / 2 - k * (y1 - y0), (y0 + y1) / 2 + k * (x1 - x0))

    @property
    def length(self) -> float:
        """Return the length along the arc."""
        return self.radius * abs(self.sweep)

    def point_at(self, share: float) -> Point:
        """Return the point at `share` (0 to 1) of the way."""
        cx, cy = self.centre
        angle = math.atan2(self.start[1] - cy, self.start[0] - cx) + share * self.sweep
        return (cx + self.radius * math.cos(angle), cy + self.radius * math.sin(angle))

    def flattened(self, tolerance: float) -> list[Point]:
        """Return points on the arc from `start`, without `end`, chords within `tolerance`, at most `MOST_STEPS`."""
        radius = self.radius
        widest = 2.0 * math.acos(max(-1.0, 1.0 - min(tolerance, radius) / radius)) if radius > 0 else math.pi
        count = step_count(abs(self.sweep) / max(widest, 1e-6))
        (cx, cy), step = self.centre, self.sweep / count
        begin = math.atan2(self.start[1] - cy, self.start[0] - cx)
        turned = [(math.cos(begin + i * step), math.sin(begin + i * step)) for i in range(1, count)]
        return [self.start, *((cx + radius * cos, cy + radius * sin) for cos, sin in turned)]

    def reversed(self) -> Arc:
        """Return the same piece walked the other way."""
        return Arc(self.end, self.start, -self.bulge)


@dataclass(frozen=True, slots=True)
class Cubic:
    """The cubic Bezier piece from `start` to `end` with control points `first` and `second`."""

    start: Point
    first: Point
    second: Point
    end: Point

    def _array(self) -> Points:
        return np.array([self.start, self.first, self.second, self.end], dtype=np.float64)

    def points_at(self, shares: Points) -> Points:
        """Return the (N, 2) points at the given parameters (0 to 1)."""
        t = np.asarray(shares, dtype=np.float64)[:, None]
        a, b, c, d = self._array()
        return np.asarray((1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d)

    def velocities_at(self, shares: Points) -> Points:
        """Return the (N, 2) derivatives at the given parameters."""
        t = np.asarray(shares, dtype=np.float64)[:, None]
        a, b, c, d = self._array()
        return np.asarray(3 * (1 - t) ** 2 * (b - a) + 6 * (1 - t) * t * (c - b) + 3 * t**2 * (d - c))

    def point_at(self, share: float) -> Point:
        """Return the point at parameter `share` (0 to 1)."""
        x, y = self.points_at(np.array([share]))[0]
        return (float(x), float(y))

    @property
    def length(self) -> float:
        """Return the length along the curve, to about 1e-9 of it for curves without cusps."""
        edges = np.linspace(0.0, 1.0, 17)
        total = 0.0
        for low, high in itertools.pairwise(edges):
            shares = (low + high) / 2 + (high - low) / 2 * _NODES
            total += float(np.sum(_WEIGHTS * np.hypot(*self.velocities_at(shares).T)) * (high - low) / 2)
        return total

    def flattened(self, tolerance: float) -> list[Point]:
        """Return points on the curve from `start`, without `end`, chords within `tolerance`, at most `MOST_STEPS`."""
        a, b, c, d = self._array()
        bend = max(float(np.hypot(*(a - 2 * b + c))), float(np.hypot(*(b - 2 * c + d))))
        # Wang's bound for a cubic: n = sqrt(6 * bend / (8 * tolerance)).
        count = step_count(math.sqrt(0.75 * bend / tolerance))
        points = self.points_at(np.arange(count) / count)
        return [(float(x), float(y)) for x, y in points]

    def reversed(self) -> Cubic:
        """Return the same piece walked the other way."""
        return Cubic(self.end, self.second, self.first, self.start)


Segment: TypeAlias = Line | Arc | Cubic


def mapped(segment: Segment, move: Callable[[Point], Point], *, keeps_circles: bool, mirrors: bool) -> Segment:
    """Return `segment` under the affine map `move`.

    An arc stays an arc under a similarity (`keeps_circles`); otherwise it must have been split into
    cubics first (`as_cubics`).

    Raises:
        ValueError: An arc under a map that does not keep circles.
    """
    match segment:
        case Line(start, end):
            return Line(move(start), move(end))
        case Arc(start, end, bulge):
            if not keeps_circles:
                raise ValueError("an arc does not stay an arc under this map; split it into cubics first")
            return Arc(move(start), move(end), -bulge if mirrors else bulge)
        case Cubic(start, first, second, end):
            return Cubic(move(start), move(first), move(second), move(end))


def control_points(segment: Segment) -> tuple[Point, ...]:
    """Return the ends of a segment, and of a cubic the two points that it is drawn towards."""
    ends = (segment.start, segment.end)
    return (*ends, segment.first, segment.second) if isinstance(segment, Cubic) else ends


def as_cubics(segment: Segment) -> tuple[Segment, ...]:
    """Return an arc as cubics of at most 22.5 degrees (off by at most 7e-8 of the radius); others as they are.

    Source: the handle length 4/3 tan(angle/4) of the standard Bezier circle approximation.
    """
    if not isinstance(segment, Arc):
        return (segment,)
    count = max(1, math.ceil(abs(segment.sweep) / (math.pi / 8)))
    step = segment.sweep / count
    handle = 4.0 / 3.0 * math.tan(step / 4.0)
    cx, cy = segment.centre
    ends = [segment.start, *(segment.point_at(i / count) for i in range(1, count)), segment.end]
    pieces: list[Segment] = []
    for (x0, y0), (x1, y1) in itertools.pairwise(ends):
        first = (x0 - handle * (y0 - cy), y0 + handle * (x0 - cx))
        second = (x1 + handle * (y1 - cy), y1 - handle * (x1 - cx))
        pieces.append(Cubic((x0, y0), first, second, (x1, y1)))
    return tuple(pieces)


def extreme_points(segment: Segment, tolerance: float) -> list[Point]:
    """Return points whose bounding box is that of `segment`: exact for lines and arcs, to `tolerance` for cubics."""
    if not isinstance(segment, Arc):
        return [*segment.flattened(tolerance), segment.end]
    (cx, cy), radius, sweep = segment.centre, segment.radius, segment.sweep
    begin = math.atan2(segment.start[1] - cy, segment.start[0] - cx)
    low, high = sorted((begin, begin + sweep))
    quarters = range(math.ceil(low / (math.pi / 2)), math.floor(high / (math.pi / 2)) + 1)
    compass = ((1, 0), (0, 1), (-1, 0), (0, -1))
    tops = [(cx + radius * compass[q % 4][0], cy + radius * compass[q % 4][1]) for q in quarters]
    return [segment.start, *tops, segment.end]


def boundary_integrals(segment: Segment) -> tuple[float, float, float]:
    """Return this piece's share of (area, integral of x dA, integral of y dA) by Green's theorem.

    Summed over a closed counter-clockwise ring they give the area and its first moments.
    Lines and cubics are exact; an arc is exact through its cubics to 1e-14 of the area.
    """
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment.start, segment.end
        cross = x0 * y1 - x1 * y0
        return cross / 2, (x0 + x1) * cross / 6, (y0 + y1) * cross / 6
    if isinstance(segment, Arc):
        return _arc_integrals(segment)
    shares = (_NODES + 1) / 2
    weights = _WEIGHTS / 2
    x, y = segment.points_at(shares).T
    dx, dy = segment.velocities_at(shares).T
    cross = x * dy - y * dx
    return (
        float(np.sum(weights * cross) / 2),
        float(np.sum(weights * x * cross) / 3),
        float(np.sum(weights * y * cross) / 3),
    )


def _arc_integrals(arc: Arc) -> tuple[float, float, float]:
    """Chord triangle plus the circular segment between chord and arc, both closed forms."""
    area, mx, my = boundary_integrals(Line(arc.start, arc.end))
    sweep, radius = arc.sweep, arc.radius
    cap = radius * radius * (abs(sweep) - math.sin(abs(sweep))) / 2
    if cap == 0.0:
        return area, mx, my
    reach = 4 * radius * math.sin(abs(sweep) / 2) ** 3 / (3 * (abs(sweep) - math.sin(abs(sweep))))
    (cx, cy), (px, py) = arc.centre, arc.point_at(0.5)
    x = cx + (px - cx) / radius * reach
    y = cy + (py - cy) / radius * reach
    signed = math.copysign(cap, sweep)
    return area + signed, mx + signed * x, my + signed * y
