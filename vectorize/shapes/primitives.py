"""Straight lines and circles: fitted to points, measured against, and where they cross."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from vectorize.shapes.segment import Point, Points


@dataclass(frozen=True, slots=True)
class Straight:
    """A line through `at` along the unit vector `along`."""

    at: Point
    along: Point

    def distances(self, points: Points) -> Points:
        """Return the signed distance of each point, positive at the left."""
        nx, ny = -self.along[1], self.along[0]
        return np.asarray((points[:, 0] - self.at[0]) * nx + (points[:, 1] - self.at[1]) * ny, np.float64)

    def nearest(self, point: Point) -> Point:
        """Return the nearest point of the line."""
        t = (point[0] - self.at[0]) * self.along[0] + (point[1] - self.at[1]) * self.along[1]
        return (self.at[0] + t * self.along[0], self.at[1] + t * self.along[1])

    def tangent(self, point: Point) -> Point:
        """Return the direction of walking near `point`."""
        return self.along


@dataclass(frozen=True, slots=True)
class Round:
    """A circle, walked counter-clockwise if `turn` is 1 and clockwise if it is -1."""

    centre: Point
    radius: float
    turn: int

    def distances(self, points: Points) -> Points:
        """Return the signed distance of each point, positive at the left."""
        away = np.hypot(points[:, 0] - self.centre[0], points[:, 1] - self.centre[1])
        return np.asarray((self.radius - away) * self.turn, np.float64)

    def nearest(self, point: Point) -> Point:
        """Return the nearest point of the circle."""
        away = math.dist(point, self.centre) or 1.0
        k = self.radius / away
        return (self.centre[0] + k * (point[0] - self.centre[0]), self.centre[1] + k * (point[1] - self.centre[1]))

    def tangent(self, point: Point) -> Point:
        """Return the direction of walking near `point`."""
        away = math.dist(point, self.centre) or 1.0
        return (-self.turn * (point[1] - self.centre[1]) / away, self.turn * (point[0] - self.centre[0]) / away)


Shape: TypeAlias = Straight | Round


def fit_line(points: Points, heading: Point, *, rounds: int = 2) -> Straight:
    """Return the line of least orthogonal squares, reweighted against points off it (Tukey's biweight)."""
    weights = np.ones(len(points))
    centre, along = points[0], np.asarray(heading)
    for step in range(rounds):
        total = weights.sum()
        centre = weights @ points / total
        x, y = (points - centre).T
        xx, yy, xy = float(weights @ (x * x)), float(weights @ (y * y)), float(weights @ (x * y))
        angle = 0.5 * math.atan2(2 * xy, xx - yy)
        along = np.array([math.cos(angle), math.sin(angle)])
        if step < rounds - 1:
            weights = biweight(y * along[0] - x * along[1])
    if along[0] * heading[0] + along[1] * heading[1] < 0:
        along = -along
    return Straight(as_point(centre), as_point(along))


def fit_circle(points: Points, *, rounds: int = 3) -> Round | None:
    """Return the circle of least geometric squares, None where the points are straight.

    An algebraic circle (Kasa 1976, doi:10.1109/TIM.1976.6312298) is made geometric by Gauss-Newton steps with
    Tukey's biweight.
    """
    centre = points.mean(axis=0)
    size = float(np.max(np.abs(points - centre))) or 1.0
    x, y = ((points - centre) / size).T
    solution = _solved(np.column_stack([x, y, np.ones(len(x))]), x * x + y * y)
    if solution is None:
        return None
    a, b = solution[0] / 2, solution[1] / 2
    radius = math.sqrt(max(solution[2] + a * a + b * b, 1e-12))
    for _ in range(rounds):
        dx, dy = x - a, y - b
        away = np.maximum(np.hypot(dx, dy), 1e-9)
        rest = away - radius
        weights = biweight(rest)
        jacobian = np.column_stack([-dx / away, -dy / away, -np.ones(len(x))])
        step = _solved(jacobian * weights[:, None], -rest * weights)
        if step is None:
            return None
        a, b, radius = a + step[0], b + step[1], radius + step[2]
        if not 0 < radius < 1e3:
            return None
    turn = float(np.sum((x[:-1] - a) * (y[1:] - b) - (y[:-1] - b) * (x[1:] - a)))
    return Round((float(centre[0] + size * a), float(centre[1] + size * b)), radius * size, 1 if turn >= 0 else -1)


def _solved(design: Points, target: Points) -> tuple[float, float, float] | None:
    """Normal equations of three unknowns; the columns are of order one, so they are well scaled."""
    try:
        a, b, c = np.linalg.solve(design.T @ design, design.T @ target).tolist()
    except np.linalg.LinAlgError:
        return None
    return (a, b, c) if all(map(math.isfinite, (a, b, c))) else None


def biweight(rest: Points) -> Points:
    """Return Tukey's weights with the usual cut at 4.685 robust standard deviations."""
    size = np.abs(rest)
    middle = len(size) // 2
    scale = 1.4826 * float(np.partition(size, middle)[middle]) + 1e-9
    u = np.minimum(size / (4.685 * scale), 1.0)
    return np.asarray((1.0 - u * u) ** 2 + 1e-6, np.float64)


def crossings(one: Shape, other: Shape) -> list[Point]:
    """Return the points where two shapes cross."""
    match one, other:
        case Straight(), Straight():
            return _line_line(one, other)
        case Straight(), Round():
            return _line_circle(one, other)
        case Round(), Straight():
            return _line_circle(other, one)
        case Round(), Round():
            return _circle_circle(one, other)
    return []


def touching(one: Shape, other: Shape, *, within_mm: float) -> list[Point]:
    """Return where a line touches a circle, or passes it by less than `within_mm`."""
    match one, other:
        case (Straight() as line, Round() as circle) | (Round() as circle, Straight() as line):
            foot = line.nearest(circle.centre)
            if abs(math.dist(foot, circle.centre) - circle.radius) < within_mm:
                return [foot]
    return []


def _line_line(one: Straight, other: Straight) -> list[Point]:
    cross = one.along[0] * other.along[1] - one.along[1] * other.along[0]
    if abs(cross) < 1e-9:
        return []
    dx, dy = other.at[0] - one.at[0], other.at[1] - one.at[1]
    t = (dx * other.along[1] - dy * other.along[0]) / cross
    return [(one.at[0] + t * one.along[0], one.at[1] + t * one.along[1])]


def _line_circle(line: Straight, circle: Round) -> list[Point]:
    foot = line.nearest(circle.centre)
    rest = circle.radius**2 - math.dist(foot, circle.centre) ** 2
    if rest < 0:
        return []
    t = math.sqrt(rest)
    return [(foot[0] + k * line.along[0], foot[1] + k * line.along[1]) for k in (t, -t)]


def _circle_circle(one: Round, other: Round) -> list[Point]:
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


def as_point(values: Points | NDArray[np.float64]) -> Point:
    """Return a pair of floats."""
    return (float(values[0]), float(values[1]))
