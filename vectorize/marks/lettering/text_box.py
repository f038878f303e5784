"""The box round one line of lettering."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from vectorize.shapes.segment import Point, Points

SHORT = 2.0
"""A box less long than this many heights does not tell its own direction: a figure or two."""


@dataclass(frozen=True, slots=True)
class TextBox:
    """A rectangle round one line of lettering, in pixels of the picture (x, y), turned as the lettering is.

    `corners_px` begins at one end of the text's upper edge and runs clockwise as seen. Which edge that is shows only
    once the text is read; until then it is the longer side, or of a short box the one that runs to the right.
    `sure` is the share of the box that the detector takes for lettering, 0 to 1.
    """

    corners_px: tuple[Point, Point, Point, Point]
    sure: float

    @classmethod
    def of(cls, points: Sequence[Points] | Points, sure: float) -> TextBox:
        """Return the box with four corners given as arrays."""
        a, b, c, d = ((float(x), float(y)) for x, y in points)
        return cls((a, b, c, d), sure)

    @property
    def width_px(self) -> float:
        """Length of the upper edge."""
        return math.dist(self.corners_px[0], self.corners_px[1])

    @property
    def height_px(self) -> float:
        """Length of the side that goes down."""
        return math.dist(self.corners_px[1], self.corners_px[2])

    @property
    def turn_deg(self) -> float:
        """Angle of the upper edge, counter-clockwise as seen, above -180 up to 180."""
        (x0, y0), (x1, y1) = self.corners_px[:2]
        return math.degrees(math.atan2(y0 - y1, x1 - x0))

    @property
    def quarters(self) -> int:
        """Nearest number of quarter turns counter-clockwise by which the text is turned, 0 to 3."""
        return round(self.turn_deg / 90) % 4

    @property
    def is_short(self) -> bool:
        """Whether the sides are too much alike to tell which one the text runs along."""
        return max(self.width_px, self.height_px) < SHORT * min(self.width_px, self.height_px)

    def turned(self, quarters: int) -> TextBox:
        """Return the same rectangle with its upper edge `quarters` quarter turns further counter-clockwise."""
        first = -quarters % 4
        return TextBox.of(np.roll(self.points, -first, axis=0), self.sure)

    def part(self, *, left: float, right: float, top: float = 0.0, bottom: float = 1.0) -> TextBox:
        """Return the box between shares of the width, and of the height from above; below 0 and above 1 lie outside."""
        a, b, _, d = self.points
        along, down = b - a, d - a
        corners = ((left, top), (right, top), (right, bottom), (left, bottom))
        return TextBox.of([a + x * along + y * down for x, y in corners], self.sure)

    def bounds_px(self) -> tuple[float, float, float, float]:
        """Return the least x and y and the greatest x and y."""
        (left, top), (right, bottom) = self.points.min(axis=0).tolist(), self.points.max(axis=0).tolist()
        return left, top, right, bottom

    @property
    def points(self) -> Points:
        """The corners as a (4, 2) array."""
        return np.array(self.corners_px, np.float64)
