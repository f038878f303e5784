"""A smooth curve through noisy points, as few cubics as the tolerance allows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.interpolate import BSpline, splprep

from vectorize.shapes.primitives import Round, Straight, as_point, fit_circle
from vectorize.shapes.segment import Cubic, Point, Points

END_STRETCH_MM = 6.0
"""The curve beyond an end is told from this much of it."""

STRAIGHT_RADIUS_MM = 2000.0
"""A flatter end goes on straight: its bend is within the noise."""

_MOST_CUBICS = 40


@dataclass(frozen=True, slots=True, eq=False)
class Free:
    """A cubic spline over arc length from `low` to `high`."""

    spline: BSpline
    low: float
    high: float

    @property
    def count(self) -> int:
        """Return the number of cubics."""
        return len(np.unique(self.spline.t)) - 1

    def at(self, along: float) -> Point:
        """Return the point at an arc length, extrapolated beyond the ends."""
        return as_point(np.asarray(self.spline(along), np.float64))

    def direction(self, along: float) -> Point:
        """Return the unit direction at an arc length."""
        dx, dy = np.asarray(self.spline(along, 1), np.float64).tolist()
        size = math.hypot(dx, dy) or 1.0
        return (dx / size, dy / size)

    def continued(self, *, at_end: bool) -> Straight | Round:
        """Return how the curve goes on beyond one end: as the circle of its last stretch, or straight."""
        reach = min(END_STRETCH_MM, 0.4 * (self.high - self.low))
        span = (self.high - reach, self.high) if at_end else (self.low, self.low + reach)
        circle = fit_circle(np.asarray(self.spline(np.linspace(*span, 12)), np.float64))
        if circle is not None and reach < circle.radius < STRAIGHT_RADIUS_MM:
            return circle
        along = self.high if at_end else self.low
        return Straight(self.at(along), self.direction(along))

    def cubics(self, start: Point, end: Point) -> list[Cubic]:
        """Return the curve as cubics from `start` to `end`, which lie near its two ends."""
        first, last = self.low + self._beyond(start, self.low), self.high + self._beyond(end, self.high)
        inner = [k for k in np.unique(self.spline.t).tolist() if first + 1e-6 < k < last - 1e-6]
        knots = np.array([first, *inner, last])
        points = np.asarray(self.spline(knots), np.float64)
        slopes = np.asarray(self.spline(knots, 1), np.float64)
        points[0], points[-1] = start, end
        pieces = []
        for k in range(len(knots) - 1):
            third = (knots[k + 1] - knots[k]) / 3
            controls = points[k] + third * slopes[k], points[k + 1] - third * slopes[k + 1]
            pieces.append(
                Cubic(as_point(points[k]), as_point(controls[0]), as_point(controls[1]), as_point(points[k + 1]))
            )
        return pieces

    def _beyond(self, point: Point, along: float) -> float:
        (x, y), (tx, ty) = self.at(along), self.direction(along)
        # Two lines that meet at a sharp point run together in the ink for some pen widths before it.
        return max(-END_STRETCH_MM, min(END_STRETCH_MM, (point[0] - x) * tx + (point[1] - y) * ty))


def fit_spline(
    points: Points, *, tolerance: float, noise: float, begin: int = 0, end: int | None = None
) -> tuple[Free, float] | None:
    """Return a smooth curve within `tolerance` of the points and its root mean square distance.

    FITPACK's smoothing spline (Dierckx 1981, doi:10.1016/0021-991X(81)90043-3) chooses the fewest knots for a sum of
    squares; that is tightened until the mean of three neighbouring residuals is within the tolerance. The curve
    spans points `begin` to `end`; those before and after only steady its ends.

    Returns None where too few points are given or too many pieces would be needed.
    """
    count = len(points)
    end = count - 1 if end is None else end
    if count < 8:
        return None
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    if np.any(np.diff(along) <= 0):
        return None
    spread = max(noise, tolerance / 3)
    for _ in range(6):
        found: Any = splprep([points[:, 0], points[:, 1]], u=along, s=2 * count * spread**2, k=3, quiet=True)
        knots, columns, _ = found[0]
        spline = BSpline(knots, np.column_stack(columns), 3)
        rest = np.asarray(spline(along), np.float64) - points
        if float(np.max(np.hypot(*_averaged(rest).T))) <= tolerance:
            if len(knots) - 7 > _MOST_CUBICS:
                return None
            rms = math.sqrt(float(np.mean(np.sum(rest**2, axis=1))) / 2)
            return Free(spline, float(along[begin]), float(along[end])), rms
        spread *= 0.6
    return None


def _averaged(rest: Points) -> Points:
    kernel = np.ones(3) / 3
    return np.column_stack([np.convolve(rest[:, k], kernel, "valid") for k in (0, 1)])
