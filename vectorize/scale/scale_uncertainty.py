"""How unsure the size of a plan is, and what that does to the edge and the area of a part."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Points, step_count

STEP_MM = 1.0
"""The edge is looked at once in so many millimetres, and at least so often on each piece."""
LEAST_STEPS = 8
EDGE_SHARE = 0.95
"""How much of an edge a statement about it speaks of; the rest may lie farther off."""


@dataclass(frozen=True, slots=True)
class SizeDoubt:
    """The covariance of the relative errors of lengths along a plan's x (`xx`), along its y (`yy`), and of both (`xy`).

    Known dimensions in two directions tell the factors of both axes one by one, each as well as its own dimension is
    long; dimensions in one direction tell one factor, which errs in both alike.
    """

    xx: float = 0.0
    yy: float = 0.0
    xy: float = 0.0

    @staticmethod
    def alike(sigma: float) -> SizeDoubt:
        """Return the doubt of one factor for both axes, of relative standard deviation `sigma`."""
        return SizeDoubt(sigma**2, sigma**2, sigma**2)

    @staticmethod
    def of_axes(spans_px: Points, end_sigma_px: float) -> SizeDoubt:
        """Return the doubt of two factors fitted by least squares to lengths between points that people picked.

        Args:
            spans_px: (N, 2) steps from one end of each known dimension to the other, in two directions or more.
            end_sigma_px: Standard deviation of each coordinate of an end.
        """
        # By a small share more along an axis, a length grows by the square of its step along it over itself.
        design = spans_px**2 / np.hypot(*spans_px.T)[:, None]
        (xx, xy), (_, yy) = (2.0 * end_sigma_px**2 * np.linalg.inv(design.T @ design)).tolist()
        return SizeDoubt(xx, yy, xy)

    @property
    def sigma(self) -> float:
        """Return the relative standard deviation of a length, as root mean square over both axes."""
        return math.sqrt((self.xx + self.yy) / 2)

    @property
    def sigma_of_difference(self) -> float:
        """Return the standard deviation of the relative difference of both axes' factors."""
        return math.sqrt(max(0.0, self.xx + self.yy - 2.0 * self.xy))

    @property
    def correlation(self) -> float:
        """Return how much both axes err together, from -1 to 1; 0 where nothing is unsure."""
        return self.xy / math.sqrt(self.xx * self.yy) if self.xx * self.yy > 0 else 0.0

    def of(self, outline: Outline) -> tuple[float, float]:
        """Return what a part's edge lies off by in mm and its area in mm2, each as one standard deviation.

        That of the edge is what 95 % of its places stay below, each with its own standard deviation. The part grows or
        shrinks about its middle; only what moves an edge across itself counts.
        """
        if self.xx == self.yy == 0.0:
            return 0.0, 0.0
        across = np.vstack(list(_across(outline)))
        along_x, along_y, weight = across.T
        squares = self.xx * along_x**2 + self.yy * along_y**2 + 2.0 * self.xy * along_x * along_y
        order = np.argsort(squares)
        covered = np.cumsum(weight[order])
        edge = math.sqrt(max(0.0, float(squares[order][np.searchsorted(covered, EDGE_SHARE * covered[-1])])))
        return edge, outline.area_mm2 * math.sqrt(max(0.0, self.xx + self.yy + 2.0 * self.xy))


def _across(outline: Outline) -> Iterator[Points]:
    """Yield (N, 3) for stretches of the edge: what errors along x and along y move it across itself, and its length."""
    x, y = outline.centroid
    for ring in outline.rings:
        circle = ring.as_circle()
        counts = [step_count(s.length / STEP_MM, least=LEAST_STEPS) for s in ring.segments]
        points = np.array([s.point_at(k / n) for s, n in zip(ring.segments, counts, strict=True) for k in range(n)])
        steps = np.roll(points, -1, axis=0) - points
        lengths = np.maximum(np.hypot(*steps.T), 1e-12)
        middles = (np.roll(points, -1, axis=0) + points) / 2 - (x, y)
        normals = np.column_stack([steps[:, 1], -steps[:, 0]]) / lengths[:, None]
        moved = middles * normals
        if circle is not None:
            # What was drawn as a circle is fitted as one, whatever the two axes make of it.
            (cx, cy), radius = circle
            side = math.copysign(1.0, ring.signed_area_mm2)
            moved = np.array([cx - x, cy - y]) * normals + side * radius / 2
        yield np.column_stack([moved, lengths])
