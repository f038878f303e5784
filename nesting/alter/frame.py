"""Places as a table of the job gives them, and how they become millimetres on the plan that a part is drawn on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from nesting.alter.axis import Axis
from vectorize.basics.quantity import Length, Pixel
from vectorize.basics.spec_table import Table
from vectorize.shapes.segment import Point


class Station(Table):
    """A place by its station aft of the plan's datum and its height above it."""

    station: Length
    height: Length = 0.0


Spot = Pixel | Station
"""A place on the plan: `[x, y]` in pixels, or `{ station = "35 mm", height = "12 mm" }`."""

ToMillimetres = Callable[[tuple[float, ...]], Point]


def _as_given(place: tuple[float, ...]) -> Point:
    return place[0], place[1]


@dataclass(frozen=True, slots=True)
class PlanFrame:
    """How places in the job's tables become millimetres on one plan; without a map they are in millimetres as given."""

    to_mm: ToMillimetres = _as_given
    axis: Axis = field(default_factory=Axis)

    def point(self, spot: Spot) -> Point:
        """Return a place in millimetres."""
        if isinstance(spot, Station):
            return self.axis.point(spot.station, spot.height)
        return self.to_mm(spot)

    def points(self, spots: Sequence[Spot]) -> tuple[Point, ...]:
        """Return places in millimetres."""
        return tuple(map(self.point, spots))

    def line(self, spots: tuple[Spot, Spot]) -> tuple[Point, Point]:
        """Return the two ends of a line in millimetres."""
        return self.point(spots[0]), self.point(spots[1])

    def maybe(self, spot: Spot | None) -> Point | None:
        """Return a place in millimetres, or None where none is given."""
        return None if spot is None else self.point(spot)
