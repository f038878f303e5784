"""The box round one line of lettering."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from vectorize.curve import Point, Points


@dataclass(frozen=True, slots=True)
class TextBox:
    """A rectangle round one line of lettering, in pixels of the picture (x, y), turned as the lettering is.

    `corners_px` begins at one end of the text's upper edge and runs clockwise as seen; which end is known only once
    the text is read, and until then the longer side counts as the upper edge. `sure` is the share of the box that
    the detector takes for lettering, 0 to 1.
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

    def turned(self, quarters: int) -> TextBox:
        """Return the same rectangle with its upper edge `quarters` quarter turns further counter-clockwise."""
        first = -quarters % 4
        return TextBox.of(np.roll(self.points, -first, axis=0), self.sure)

    def bounds_px(self) -> tuple[float, float, float, float]:
        """Return the least x and y and the greatest x and y."""
        (left, top), (right, bottom) = self.points.min(axis=0).tolist(), self.points.max(axis=0).tolist()
        return left, top, right, bottom

    @property
    def points(self) -> Points:
        """The corners as a (4, 2) array."""
        return np.array(self.corners_px, np.float64)
