"""Lengths along and across the grain, and moments of a piece along a direction."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nesting.wood.part import Part
from vectorize.shapes.outline import Outline, Pose
from vectorize.shapes.segment import Point


@dataclass(frozen=True, slots=True)
class GrainFrame:
    """Coordinates turned so that u runs along the grain and v across it."""

    grain_deg: float

    @staticmethod
    def of(part: Part) -> GrainFrame:
        """Return the frame of a part's grain."""
        return GrainFrame(part.grain_deg)

    def along(self, point: Point) -> float:
        """Return u of a point of the plan."""
        return self._turned(point, -self.grain_deg)[0]

    def from_plan(self, outline: Outline) -> Outline:
        """Return an outline in (u, v)."""
        return outline.placed(Pose(angle_deg=-self.grain_deg))

    def to_plan(self, outline: Outline) -> Outline:
        """Return an outline given in (u, v) back on the plan."""
        return outline.placed(Pose(angle_deg=self.grain_deg))

    def point_to_plan(self, point: Point) -> Point:
        """Return a point given in (u, v) back on the plan."""
        return self._turned(point, self.grain_deg)

    @staticmethod
    def _turned(point: Point, angle_deg: float) -> Point:
        return Pose(angle_deg=angle_deg).moved(point)


def second_moments_mm4(outline: Outline) -> tuple[float, float]:
    """Return (integral of x² dA, integral of x y dA) over an outline flattened to 0.001 mm, by Green's theorem."""
    square = product = 0.0
    for ring in outline.rings:
        x0, y0 = _columns(ring.flattened())
        x1, y1 = np.roll(x0, -1), np.roll(y0, -1)
        cross = x0 * y1 - x1 * y0
        square += math.fsum(cross * (x0 * x0 + x0 * x1 + x1 * x1)) / 12
        product += math.fsum(cross * (x0 * y1 + 2 * x0 * y0 + 2 * x1 * y1 + x1 * y0)) / 24
    return square, product


def _columns(points: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    return points[:, 0], points[:, 1]
