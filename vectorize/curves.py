"""From measured boundary points to few lines and circular arcs within a tolerance.

Corners are found first, from the directions of the line before and behind; the points near them, where
a pen line is rounded, are not used. Between corners straight lines and arcs are fitted by least squares
and then brought to meet, so that a corner is where its two edges cross and not where the ink is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from vectorize.curve import Arc, Line, Point, Points, Segment
from vectorize.outline import Ring

CORNER_DEG = 18.0
"""A turn sharper than this within a pen width or two is a corner; a blunter one is left to the fits."""

_SMOOTH = 7
_FLATTEST_BULGE = 1e-5


@dataclass(frozen=True, slots=True)
class FitSettings:
    """How closely to follow: `tolerance_mm` bounds the mean of seven neighbouring points, not each one."""

    tolerance_mm: float = 0.05
    pen_mm: float = 0.4
    step_mm: float = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class FittedRing:
    """A ring and the root mean square distance of the points that it was fitted to."""

    ring: Ring
    rms_mm: float


@dataclass(frozen=True, slots=True)
class _Straight:
    """A line through `at` along the unit vector `along`."""

    at: Point
    along: Point

    def distances(self, points: Points) -> Points:
        nx, ny = -self.along[1], self.along[0]
        return np.asarray((points[:, 0] - self.at[0]) * nx + (points[:, 1] - self.at[1]) * ny, np.float64)

    def nearest(self, point: Point) -> Point:
        t = (point[0] - self.at[0]) * self.along[0] + (point[1] - self.at[1]) * self.along[1]
        return (self.at[0] + t * self.along[0], self.at[1] + t * self.along[1])

    def tangent(self, point: Point) -> Point:
        return self.along


@dataclass(frozen=True, slots=True)
class _Round:
    """A circle, walked counter-clockwise if `turn` is 1 and clockwise if it is -1."""

    centre: Point
    radius: float
    turn: int

    def distances(self, points: Points) -> Points:
        away = np.hypot(points[:, 0] - self.centre[0], points[:, 1] - self.centre[1])
        return np.asarray((self.radius - away) * self.turn, np.float64)

    def nearest(self, point: Point) -> Point:
        away = math.dist(point, self.centre) or 1.0
        k = self.radius / away
        return (self.centre[0] + k * (point[0] - self.centre[0]), self.centre[1] + k * (point[1] - self.centre[1]))

    def tangent(self, point: Point) -> Point:
        away = math.dist(point, self.centre) or 1.0
        return (
            -self.turn * (point[1] - self.centre[1]) / away,
            self.turn * (point[0] - self.centre[0]) / away,
        )


_Shape: TypeAlias = _Straight | _Round


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """A fitted shape with the points where its own data begin and end."""

    shape: _Shape
    first: Point
    last: Point
    rms: float
    count: int


def fit_ring(points: Points, is_clean: NDArray[np.bool_], *, settings: FitSettings) -> FittedRing:
    """Return lines and arcs along a closed boundary.

    Args:
        points: (N, 2) in millimetres, once round, about evenly spaced, first not repeated.
        is_clean: (N,) False where a point was disturbed and must not be fitted.
        settings: Tolerance, pen width and point spacing.

    Raises:
        OutlineError: The points enclose nothing.
    """
    circle = _whole_circle(points[is_clean] if is_clean.sum() > 8 else points, settings)
    if circle is not None:
        return circle
    corners = find_corners(points, settings=settings)
    if len(corners) == 0:
        return _closed(_smooth_loop(points, is_clean, settings), settings)
    pieces: list[_Piece] = []
    for first, last in zip(corners, (*corners[1:], corners[0] + len(points)), strict=True):
        index = np.arange(first, last + 1) % len(points)
        pieces.extend(_section(points[index], is_clean[index], settings))
    return _closed(pieces, settings)


def find_corners(points: Points, *, settings: FitSettings) -> list[int]:
    """Return the indices of sharp corners in order.

    At each point the lines through the windows behind and ahead are compared with one circle through both:
    a corner is where two lines fit better and turn by more than `CORNER_DEG`.
    """
    count = len(points)
    gap = max(2, round(0.8 * settings.pen_mm / settings.step_mm))
    window = max(5, round(1.0 / settings.step_mm))
    if count < 2 * (gap + window) + 2:
        gap, window = 2, max(3, (count - 6) // 4)
    if count < 10:
        return []
    direction, spread = _window_lines(points, window)
    half = gap + window // 2
    before, after = np.roll(direction, half, axis=0), np.roll(direction, -half, axis=0)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.degrees(np.abs(np.arctan2(cross, np.sum(before * after, axis=1))))
    straightness = np.sqrt((np.roll(spread, half) ** 2 + np.roll(spread, -half) ** 2) / 2)
    corners = []
    for index in _peaks(turn, CORNER_DEG, gap + 1):
        arms = np.concatenate([np.arange(-gap - window, -gap + 1), np.arange(gap, gap + window + 1)]) + index
        circle = _fit_circle(points[arms % count])
        bend = math.inf if circle is None else float(np.sqrt(np.mean(circle.distances(points[arms % count]) ** 2)))
        if turn[index] > 60 or straightness[index] < 0.8 * bend:
            corners.append(index)
    return _sharpest_apart(corners, turn, gap + 1, count)


def _window_lines(points: Points, window: int) -> tuple[Points, Points]:
    """Return direction (N, 2) and root mean square spread (N,) of the window centred at each point."""
    centred = points - points.mean(axis=0)
    mean = uniform_filter1d(centred, window, axis=0, mode="wrap")
    moments = [
        uniform_filter1d(centred[:, a] * centred[:, b], window, mode="wrap") for a, b in ((0, 0), (1, 1), (0, 1))
    ]
    xx, yy, xy = (m - mean[:, a] * mean[:, b] for m, (a, b) in zip(moments, ((0, 0), (1, 1), (0, 1)), strict=True))
    angle = 0.5 * np.arctan2(2 * xy, xx - yy)
    direction = np.column_stack([np.cos(angle), np.sin(angle)])
    heading = np.roll(points, -(window // 2), axis=0) - np.roll(points, window // 2, axis=0)
    direction *= np.where(np.sum(direction * heading, axis=1) < 0, -1.0, 1.0)[:, None]
    least = (xx + yy) / 2 - np.sqrt(((xx - yy) / 2) ** 2 + xy**2)
    return direction, np.sqrt(np.maximum(least, 0.0))


def _peaks(values: Points, least: float, reach: int) -> list[int]:
    """Indices of values above `least` that are greatest within `reach` on a closed sequence."""
    highest = values.copy()
    for step in range(1, reach + 1):
        highest = np.maximum(highest, np.maximum(np.roll(values, step), np.roll(values, -step)))
    return [int(i) for i in np.flatnonzero((values >= least) & (values == highest))]


def _sharpest_apart(corners: list[int], turn: Points, reach: int, count: int) -> list[int]:
    kept: list[int] = []
    for index in sorted(corners, key=lambda i: -turn[i]):
        if all(min((index - k) % count, (k - index) % count) > reach for k in kept):
            kept.append(index)
    return sorted(kept)


def _whole_circle(points: Points, settings: FitSettings) -> FittedRing | None:
    circle = _fit_circle(points)
    if circle is None:
        return None
    away = circle.distances(points)
    if np.max(np.abs(uniform_filter1d(away, _SMOOTH, mode="wrap"))) > settings.tolerance_mm:
        return None
    rms = float(np.sqrt(np.mean(away**2)))
    return FittedRing(Ring.circle(circle.centre, circle.radius), rms)


def _smooth_loop(points: Points, is_clean: NDArray[np.bool_], settings: FitSettings) -> list[_Piece]:
    """Fit a loop without corners; it is opened where a first fit ends its first piece."""
    index = np.append(np.arange(len(points)), 0)
    _, cut = _greedy(points[index], is_clean[index], settings)[0]
    index = (index + cut) % len(points)
    return [piece for piece, _ in _greedy(points[index], is_clean[index], settings)]


def _section(points: Points, is_clean: NDArray[np.bool_], settings: FitSettings) -> list[_Piece]:
    """Fit the points between two corners, leaving out those the corners round off."""
    trim = min(max(1, round(0.9 * settings.pen_mm / settings.step_mm)), max(0, (len(points) - 5) // 2))
    inner = slice(trim, len(points) - trim)
    pieces = [piece for piece, _ in _greedy(points[inner], is_clean[inner], settings)]
    first, last = _as_point(points[0]), _as_point(points[-1])
    pieces[0] = _Piece(pieces[0].shape, first, pieces[0].last, pieces[0].rms, pieces[0].count)
    pieces[-1] = _Piece(pieces[-1].shape, pieces[-1].first, last, pieces[-1].rms, pieces[-1].count)
    return pieces


def _greedy(points: Points, is_clean: NDArray[np.bool_], settings: FitSettings) -> list[tuple[_Piece, int]]:
    """Return the longest pieces that fit, one after another, each with the index where it ends."""
    begin, last = 0, len(points) - 1
    pieces: list[tuple[_Piece, int]] = []
    while begin < last or not pieces:
        end = last
        piece = _fitted(points, is_clean, begin, end, settings)
        if piece is None:
            low, high = begin + 1, last
            while high - low > 1:
                middle = (low + high) // 2
                trial = _fitted(points, is_clean, begin, middle, settings)
                low, high = (low, middle) if trial is None else (middle, high)
            end = max(low, min(begin + 3, last))
            piece = _fitted(points, is_clean, begin, end, settings, must=True)
        assert piece is not None
        pieces.append((piece, end))
        begin = end
    return pieces


def _fitted(
    points: Points, is_clean: NDArray[np.bool_], begin: int, end: int, settings: FitSettings, *, must: bool = False
) -> _Piece | None:
    """Return the line, else the arc, that follows points begin..end within the tolerance."""
    chosen = points[begin : end + 1]
    clean = is_clean[begin : end + 1]
    data = chosen[clean] if clean.sum() >= max(4, len(chosen) // 5) else chosen
    first, last = _as_point(chosen[0]), _as_point(chosen[-1])
    line = _fit_line(data, _as_point(chosen[-1] - chosen[0]))
    for shape in (line, _fit_circle(data) if len(data) >= 6 else None):
        if shape is None:
            continue
        away = shape.distances(data)
        smooth = uniform_filter1d(away, min(_SMOOTH, len(away)), mode="nearest")
        if np.max(np.abs(smooth)) <= settings.tolerance_mm:
            return _Piece(shape, first, last, float(np.sqrt(np.mean(away**2))), len(data))
    return _Piece(line, first, last, settings.tolerance_mm, len(data)) if must else None


def _fit_line(points: Points, heading: Point) -> _Straight:
    """Orthogonal least squares, once reweighted against points off the line."""
    weights = np.ones(len(points))
    centre, along = points[0], np.asarray(heading)
    for _ in range(3):
        centre = np.average(points, axis=0, weights=weights)
        delta = points - centre
        xx, yy, xy = (float(np.sum(weights * delta[:, a] * delta[:, b])) for a, b in ((0, 0), (1, 1), (0, 1)))
        angle = 0.5 * math.atan2(2 * xy, xx - yy)
        along = np.array([math.cos(angle), math.sin(angle)])
        weights = _tukey(delta @ np.array([-along[1], along[0]]))
    if along[0] * heading[0] + along[1] * heading[1] < 0:
        along = -along
    return _Straight(_as_point(centre), _as_point(along))


def _fit_circle(points: Points) -> _Round | None:
    """Algebraic circle (Kasa 1976) made geometric by two Gauss-Newton steps; None where it is straight."""
    centre = points.mean(axis=0)
    size = float(np.max(np.abs(points - centre))) or 1.0
    x, y = ((points - centre) / size).T
    design = np.column_stack([x, y, np.ones(len(x))])
    solution = np.linalg.lstsq(design, x * x + y * y, rcond=None)[0]
    a, b = solution[0] / 2, solution[1] / 2
    radius = math.sqrt(max(float(solution[2]) + a * a + b * b, 1e-12))
    weights = np.ones(len(x))
    for _ in range(4):
        dx, dy = x - a, y - b
        away = np.maximum(np.hypot(dx, dy), 1e-9)
        rest = away - radius
        weights = _tukey(rest)
        jacobian = np.column_stack([-dx / away, -dy / away, -np.ones(len(x))]) * weights[:, None]
        step = np.linalg.lstsq(jacobian, -rest * weights, rcond=None)[0]
        a, b, radius = a + float(step[0]), b + float(step[1]), radius + float(step[2])
        if not (0 < radius < 1e3):
            return None
    turn = np.sum((x[:-1] - a) * (y[1:] - b) - (y[:-1] - b) * (x[1:] - a))
    centre_mm = (float(centre[0] + size * a), float(centre[1] + size * b))
    return _Round(centre_mm, radius * size, 1 if turn >= 0 else -1)


def _tukey(rest: Points) -> Points:
    """Biweight with the usual cut at 4.685 robust standard deviations."""
    scale = 1.4826 * float(np.median(np.abs(rest))) + 1e-9
    u = np.minimum(np.abs(rest) / (4.685 * scale), 1.0)
    return np.asarray((1.0 - u * u) ** 2 + 1e-6, np.float64)


def _closed(pieces: Sequence[_Piece], settings: FitSettings) -> FittedRing:
    """Bring neighbouring pieces to meet and return the ring."""
    pieces = _without_repeats(pieces)
    reach = 1.5 * settings.pen_mm + 0.5
    joints = [_joint(before, after, reach) for before, after in zip((pieces[-1], *pieces[:-1]), pieces, strict=True)]
    segments: list[Segment] = []
    for piece, start, end in zip(pieces, joints, (*joints[1:], joints[0]), strict=True):
        if len(pieces) > 1 and math.dist(start, end) < 1e-6:
            continue
        segments.append(_segment(piece.shape, start, end))
    segments = _meeting(segments)
    total = sum(piece.count for piece in pieces) or 1
    rms = math.sqrt(sum(piece.count * piece.rms**2 for piece in pieces) / total)
    return FittedRing(Ring(tuple(segments)), rms)


def _without_repeats(pieces: Sequence[_Piece]) -> list[_Piece]:
    """Drop nothing but make sure that there are at least two pieces (a lone arc cannot close)."""
    if len(pieces) > 1:
        return list(pieces)
    piece = pieces[0]
    middle = piece.shape.nearest(piece.last)
    return [piece, _Piece(_Straight(middle, (1.0, 0.0)), piece.last, piece.first, 0.0, 1)]


def _meeting(segments: list[Segment]) -> list[Segment]:
    """Close the hairline jumps that dropping a piece of no length leaves."""
    closed: list[Segment] = []
    for segment, after in zip(segments, (*segments[1:], segments[0]), strict=True):
        if segment.end == after.start:
            closed.append(segment)
        elif isinstance(segment, Arc):
            closed.append(Arc(segment.start, after.start, segment.bulge))
        else:
            closed.append(Line(segment.start, after.start))
    return closed


def _joint(before: _Piece, after: _Piece, reach: float) -> Point:
    """Where two pieces meet: their crossing if they cross at an angle, else midway between them."""
    rough = ((before.last[0] + after.first[0]) / 2, (before.last[1] + after.first[1]) / 2)
    t0, t1 = before.shape.tangent(rough), after.shape.tangent(rough)
    angle = math.degrees(abs(math.atan2(t0[0] * t1[1] - t0[1] * t1[0], t0[0] * t1[0] + t0[1] * t1[1])))
    if 8.0 < angle < 176.0:
        crossings = _crossings(before.shape, after.shape)
        near = min(crossings, key=lambda p: math.dist(p, rough), default=None)
        # A sharp corner lies farther out than its rounded line: by one over the sine of half its angle.
        allowed = reach / max(0.1, math.cos(math.radians(angle / 2)))
        if near is not None and math.dist(near, rough) < allowed:
            return near
    a, b = before.shape.nearest(rough), after.shape.nearest(rough)
    return ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)


def _crossings(one: _Shape, other: _Shape) -> list[Point]:
    match one, other:
        case _Straight(), _Straight():
            return _line_line(one, other)
        case _Straight(), _Round():
            return _line_circle(one, other)
        case _Round(), _Straight():
            return _line_circle(other, one)
        case _Round(), _Round():
            return _circle_circle(one, other)
    return []


def _line_line(one: _Straight, other: _Straight) -> list[Point]:
    cross = one.along[0] * other.along[1] - one.along[1] * other.along[0]
    if abs(cross) < 1e-9:
        return []
    dx, dy = other.at[0] - one.at[0], other.at[1] - one.at[1]
    t = (dx * other.along[1] - dy * other.along[0]) / cross
    return [(one.at[0] + t * one.along[0], one.at[1] + t * one.along[1])]


def _line_circle(line: _Straight, circle: _Round) -> list[Point]:
    foot = line.nearest(circle.centre)
    rest = circle.radius**2 - math.dist(foot, circle.centre) ** 2
    if rest < 0:
        return []
    t = math.sqrt(rest)
    return [(foot[0] + k * line.along[0], foot[1] + k * line.along[1]) for k in (t, -t)]


def _circle_circle(one: _Round, other: _Round) -> list[Point]:
    away = math.dist(one.centre, other.centre)
    if away < 1e-9:
        return []
    a = (one.radius**2 - other.radius**2 + away**2) / (2 * away)
    rest = one.radius**2 - a * a
    if rest < 0:
        return []
    ux, uy = (other.centre[0] - one.centre[0]) / away, (other.centre[1] - one.centre[1]) / away
    h = math.sqrt(rest)
    return [(one.centre[0] + a * ux - k * uy, one.centre[1] + a * uy + k * ux) for k in (h, -h)]


def _segment(shape: _Shape, start: Point, end: Point) -> Segment:
    if isinstance(shape, _Straight):
        return Line(start, end)
    begin = math.atan2(start[1] - shape.centre[1], start[0] - shape.centre[0])
    finish = math.atan2(end[1] - shape.centre[1], end[0] - shape.centre[0])
    sweep = (finish - begin) * shape.turn % (2 * math.pi) * shape.turn
    bulge = math.tan(sweep / 4)
    if abs(bulge) < _FLATTEST_BULGE or abs(sweep) > 1.98 * math.pi:
        return Line(start, end)
    return Arc(start, end, bulge)


def _as_point(values: Points | NDArray[np.float64]) -> Point:
    return (float(values[0]), float(values[1]))
