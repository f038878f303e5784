"""Stations and heights on the plan."""

from __future__ import annotations

import math
from dataclasses import dataclass

from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Point


@dataclass(frozen=True, slots=True)
class Axis:
    """Where stations are counted from, and which way is aft.

    A station is the distance aft of `datum`; a height is counted at right angles to that, towards the top
    of the plan (towards its right where aft is straight up or down, as for a wing seen from above).
    """

    datum: Point = (0.0, 0.0)
    aft_deg: float = 0.0

    @property
    def aft(self) -> Point:
        """Return the unit vector that points aft."""
        angle = math.radians(self.aft_deg)
        return (math.cos(angle), math.sin(angle))

    @property
    def up(self) -> Point:
        """Return the unit vector of heights."""
        x, y = self.aft
        up = (-y, x)
        is_down = up[1] < -1e-9 or (abs(up[1]) <= 1e-9 and up[0] < 0)
        return (-up[0], -up[1]) if is_down else up

    def station_mm(self, point: Point) -> float:
        """Return the station of a point."""
        return self._along(point, self.aft)

    def height_mm(self, point: Point) -> float:
        """Return the height of a point."""
        return self._along(point, self.up)

    def _along(self, point: Point, direction: Point) -> float:
        return (point[0] - self.datum[0]) * direction[0] + (point[1] - self.datum[1]) * direction[1]

    def point(self, station_mm: float, height_mm: float = 0.0) -> Point:
        """Return the point on the plan at a station and height."""
        (ax, ay), (ux, uy) = self.aft, self.up
        return (
            self.datum[0] + station_mm * ax + height_mm * ux,
            self.datum[1] + station_mm * ay + height_mm * uy,
        )

    def stations_of(self, outline: Outline) -> tuple[float, float]:
        """Return the least and the greatest station of an outline, to 0.001 mm."""
        return self._range(outline, self.aft)

    def heights_of(self, outline: Outline) -> tuple[float, float]:
        """Return the least and the greatest height of an outline, to 0.001 mm."""
        return self._range(outline, self.up)

    def _range(self, outline: Outline, direction: Point) -> tuple[float, float]:
        points = outline.exterior.flattened() - self.datum
        along = points @ direction
        return float(along.min()), float(along.max())

    def band(self, first_mm: float, last_mm: float, *, reach_mm: float = 1e4) -> Outline:
        """Return everything between two stations, `reach_mm` up and down."""
        corners = [(first_mm, -reach_mm), (last_mm, -reach_mm), (last_mm, reach_mm), (first_mm, reach_mm)]
        return Outline.from_points([self.point(*corner) for corner in corners])


def direction_deg(start: Point, end: Point) -> float:
    """Return the direction from one point to another, in degrees."""
    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
