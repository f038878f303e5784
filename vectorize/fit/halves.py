"""A half-plan made whole: measured points and their image on the other side of the centre line.

The halves are fitted as one, so that no seam shows where the edge crosses the centre line squarely. Where it
comes to it at a slant there is a corner on the centre line, however blunt.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vectorize.basics.errors import PickError
from vectorize.shapes.segment import Point, Points

AXIS_MM = 1.2
"""What is drawn this close to a half-plan's centre line is the centre line itself."""

SLANT_MM = 4.0
"""How an edge comes to the centre line is told from this much of it."""

FEWEST_POINTS = 8
"""Fewer tell nothing of a slant."""

LEAST_SLANT = math.tan(math.radians(1.0))
SURE_SLANT = 4.0
"""An edge is slanted by more than this, and by more than so many times what that is unsure by."""


@dataclass(frozen=True, slots=True)
class Axis:
    """A centre line through `at` along the unit vector `along`."""

    at: Point
    along: Point

    @staticmethod
    def through(ends: Points) -> Axis:
        """Return the line from the first of two points to the second."""
        (ax, ay), (bx, by) = ends.tolist()
        size = max(math.dist((ax, ay), (bx, by)), 1e-9)
        return Axis((ax, ay), ((bx - ax) / size, (by - ay) / size))

    def across(self, points: Points) -> tuple[Points, Points]:
        """Return how far points, (N, 2), lie at the left of the centre line, and how far along it."""
        away = points - np.asarray(self.at)
        return away @ np.array([-self.along[1], self.along[0]]), away @ np.asarray(self.along)

    def mirrored(self, points: Points) -> Points:
        """Return the image of points, (N, 2), on the other side."""
        off, _ = self.across(points)
        return np.asarray(points - 2 * off[:, None] * np.array([-self.along[1], self.along[0]]), np.float64)

    def image(self, point: Point) -> Point:
        """Return the image of one point on the other side."""
        ((x, y),) = self.mirrored(np.array([point])).tolist()
        return (x, y)

    def turned(self) -> Axis:
        """Return the same line walked the other way: its left is on the other side."""
        return Axis(self.at, (-self.along[0], -self.along[1]))


@dataclass(frozen=True, slots=True, eq=False)
class Whole:
    """A whole boundary once round: (N, 2) points, which of them were measured, and corners on its centre line."""

    points: Points
    is_clean: NDArray[np.bool_]
    corners: tuple[int, ...]
    axis: Axis


def completed(points: Points, is_clean: NDArray[np.bool_], ends: Points) -> Whole:
    """Return half a boundary made whole about the line through two `ends`.

    Points within `AXIS_MM` of the centre line belong to it and go.

    Raises:
        PickError: The boundary does not touch the centre line, or lies on both sides of it.
    """
    axis = Axis.through(ends)
    if np.median(axis.across(points)[0]) < 0:
        axis = axis.turned()
    side, _ = axis.across(points)
    off = side > AXIS_MM
    breaks = np.flatnonzero(off & ~np.roll(off, 1))
    if len(breaks) != 1 or np.any(side < -AXIS_MM):
        raise PickError("the half does not lie along its centre line on one side; check the two points of the mirror.")
    half = np.roll(points, -breaks[0], axis=0)[: int(off.sum())]
    clean = np.roll(is_clean, -breaks[0])[: int(off.sum())]
    image = axis.mirrored(half[::-1])
    step = float(np.median(np.hypot(*np.diff(half, axis=0).T)))
    (late, is_late_slanted), (early, is_early_slanted) = _foot(half[::-1], clean[::-1], axis), _foot(half, clean, axis)
    over, over_foot = _filled(half[-1], late, image[0], step)
    back, back_foot = _filled(image[-1], early, half[0], step)
    whole = np.vstack([half, over, image, back])
    blank = [np.zeros(len(fill), np.bool_) for fill in (over, back)]
    slanted = ((is_late_slanted, len(half) + over_foot), (is_early_slanted, len(whole) - len(back) + back_foot))
    corners = tuple(index for is_slanted, index in slanted if is_slanted)
    return Whole(whole, np.concatenate([clean, blank[0], clean[::-1], blank[1]]), corners, axis)


def _foot(half: Points, is_clean: NDArray[np.bool_], axis: Axis) -> tuple[Points, bool]:
    """Return where a half that begins near the centre line meets it, and whether it does so at a slant.

    Told by a parabola through its clean points; without enough of them it is taken to cross squarely.
    """
    near = np.arange(len(half)) * float(np.median(np.hypot(*np.diff(half, axis=0).T))) < SLANT_MM
    off, level = axis.across(half)
    chosen = near & is_clean
    foot, is_slanted = float(level[0]), False
    if np.count_nonzero(chosen) >= FEWEST_POINTS and float(np.ptp(off[chosen])) > SLANT_MM / 2:
        (_, slope, at_axis), covariance = np.polyfit(off[chosen], level[chosen], 2, cov=True)
        is_slanted = bool(abs(slope) > max(LEAST_SLANT, SURE_SLANT * math.sqrt(max(covariance[1, 1], 0.0))))
        foot = float(at_axis) if is_slanted else foot
    return np.asarray(axis.at) + foot * np.asarray(axis.along), is_slanted


def _filled(start: Points, foot: Points, end: Points, step: float) -> tuple[Points, int]:
    """Points from `start` by `foot` to `end` without both ends, spaced by `step`, and which of them is the foot."""
    count = max(1, int(np.hypot(*(foot - start)) / step))
    there = np.linspace(start, foot, count + 1)[1:]
    back = np.linspace(foot, end, count + 1)[1:-1]
    return np.vstack([there, back]), len(there) - 1
