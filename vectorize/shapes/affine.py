"""The one affine map: of a page's drawings to pixels, of pixels to millimetres, of parts onto paper."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from vectorize.shapes.outline import Pose
from vectorize.shapes.segment import Point, Segment, as_cubics, mapped

_SAME_SHARE = 1e-9
"""Factors that differ by less are equal: files round their matrices."""


@dataclass(frozen=True, slots=True)
class Affine:
    """The map (x, y) → (a·x + c·y + e, b·x + d·y + f), in the order that PDF and SVG write it."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @staticmethod
    def shift(x: float, y: float) -> Affine:
        """Return the move by (x, y)."""
        return Affine(e=x, f=y)

    @staticmethod
    def from_pose(pose: Pose) -> Affine:
        """Return a rigid move as a map."""
        e, f = pose.moved((0.0, 0.0))
        (ax, ay), (cx, cy) = pose.moved((1.0, 0.0)), pose.moved((0.0, 1.0))
        return Affine(ax - e, ay - f, cx - e, cy - f, e, f)

    def __call__(self, point: Point) -> Point:
        """Return where `point` comes to lie."""
        x, y = point
        return (self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    def then(self, after: Affine) -> Affine:
        """Return this map followed by `after`."""
        e, f = after((self.e, self.f))
        (ax, ay), (cx, cy) = after.turned((self.a, self.b)), after.turned((self.c, self.d))
        return Affine(ax, ay, cx, cy, e, f)

    def turned(self, vector: Point) -> Point:
        """Return what becomes of a direction."""
        x, y = vector
        return (self.a * x + self.c * y, self.b * x + self.d * y)

    @property
    def scale(self) -> float:
        """Return the mean factor of lengths: the root of the area factor."""
        return math.sqrt(abs(self.a * self.d - self.b * self.c))

    @property
    def is_mirror(self) -> bool:
        """Return whether the map turns the drawing over."""
        return self.a * self.d - self.b * self.c < 0

    @property
    def keeps_circles(self) -> bool:
        """Return whether the map is a similarity, so that an arc stays an arc."""
        sign = -1.0 if self.is_mirror else 1.0
        slack = _SAME_SHARE * max(abs(self.a), abs(self.b), abs(self.c), abs(self.d))
        return abs(self.a - sign * self.d) < slack and abs(self.b + sign * self.c) < slack

    def segments(self, segments: Iterable[Segment]) -> tuple[Segment, ...]:
        """Return the pieces under this map; arcs become cubics where it does not keep circles."""
        keeps = self.keeps_circles
        pieces = segments if keeps else (cubic for segment in segments for cubic in as_cubics(segment))
        return tuple(mapped(s, self, keeps_circles=keeps, mirrors=self.is_mirror) for s in pieces)
