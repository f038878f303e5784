"""Where a part's mass sits on the model: its station behind the datum and its lateral arm.

Stations grow aft, lateral arms to the right as seen from the pilot's seat.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from nesting.wood.part import Part
from vectorize.basics.errors import JobError
from vectorize.shapes.outline import Pose
from vectorize.shapes.segment import Point

_QUARTER = 0.7
"""Sine of a turn that is nearer to a quarter than to none."""


@dataclass(frozen=True, slots=True)
class Datum:
    """The point on the side view that stations are counted from, and which way aft is (degrees, 0 is along x)."""

    point: Point
    aft_deg: float = 0.0

    def station_mm(self, point: Point) -> float:
        """Return how far aft of the datum a point of the side view lies."""
        return self._components(point)[0]

    def across_mm(self, point: Point) -> float:
        """Return how far a point lies to the left of the aft direction: up on a side view with its nose at the left."""
        return self._components(point)[1]

    @property
    def up(self) -> float:
        """Return 1 where left of the way aft is the model's up, -1 where the nose is at the right of the paper."""
        return 1.0 if abs(self.aft_deg) <= 90.0 else -1.0

    def height_mm(self, point: Point) -> float:
        """Return how far above the datum line a point of the side view lies."""
        return self.up * self.across_mm(point)

    def _components(self, point: Point) -> tuple[float, float]:
        dx, dy = point[0] - self.point[0], point[1] - self.point[1]
        cos, sin = math.cos(math.radians(self.aft_deg)), math.sin(math.radians(self.aft_deg))
        return dx * cos + dy * sin, dy * cos - dx * sin


@dataclass(frozen=True, slots=True)
class Seat:
    """How a part comes to its place: one of three ways.

    `station_mm` given outright; or `anchor` (a point of the part, in its own frame) brought to `at` (a point
    of the side view) and the part turned by `angle_deg` about it; or neither: it is drawn in place.

    `lateral_mm` is the part's arm to the right. With `is_from_above` (a wing or tail half drawn flat) the
    part's own reach across the aft direction is added to it, to the side on which it lies as it is seated:
    seen from above with the nose at the left, up on the paper is right. Hand `left` or `right` says it outright.
    Of a pair, and of copies that may be turned over, every second one lies on the other side.
    """

    station_mm: float | None = None
    anchor: Point | None = None
    at: Point | None = None
    angle_deg: float = 0.0
    lateral_mm: float = 0.0
    is_from_above: bool = False

    def __post_init__(self) -> None:
        if (self.anchor is None) != (self.at is None):
            raise JobError("a seat needs both its anchor on the part and the point of the side view it comes to.")
        if self.station_mm is not None and self.anchor is not None:
            raise JobError("a seat has both a station and an anchor; give one.")

    @property
    def is_flat(self) -> bool:
        """Return whether its part lies flat in the model: drawn from above, or turned by about a quarter."""
        return self.is_from_above or abs(math.sin(math.radians(self.angle_deg))) > _QUARTER

    @property
    def pose(self) -> Pose:
        """Return the move that brings the part's plan onto the side view."""
        if self.anchor is None or self.at is None:
            return Pose()
        x, y = Pose(angle_deg=self.angle_deg).moved(self.anchor)
        return Pose(self.at[0] - x, self.at[1] - y, self.angle_deg)


@dataclass(frozen=True, slots=True)
class Where:
    """Station and lateral arm of a mass, in mm."""

    station_mm: float
    lateral_mm: float = 0.0


def locate(part: Part, copy: int, seat: Seat, datum: Datum | None) -> Where:
    """Return where one copy of a part has its mass.

    Raises:
        JobError: A place on the drawing, but no datum to count from.
    """
    is_mirrored = is_opposite(part, copy, seat)
    lateral = -seat.lateral_mm if is_mirrored else seat.lateral_mm
    if seat.station_mm is not None:
        return Where(seat.station_mm, lateral)
    if datum is None:
        raise JobError(f"part {part.name} has its place on the drawing, but there is no datum; give [balance] datum.")
    centre, reach = part.centroid, 0.0
    if seat.anchor is not None and seat.at is not None:
        arm = Pose(angle_deg=seat.angle_deg).moved((centre[0] - seat.anchor[0], centre[1] - seat.anchor[1]))
        centre = (seat.at[0] + arm[0], seat.at[1] + arm[1])
        reach = datum.across_mm(centre) - datum.across_mm(seat.at)
    else:
        reach = datum.across_mm(centre)
    if seat.is_from_above:
        lateral += abs(reach) * _side(part, reach) * (-1 if is_mirrored else 1)
    return Where(datum.station_mm(centre), lateral)


def is_opposite(part: Part, copy: int, seat: Seat) -> bool:
    """Return whether a copy lies on the other side of the model than the first one."""
    if part.hand == "either" and seat.is_from_above and seat.station_mm is None:
        return copy % 2 == 0
    return bool(part.is_copy_flipped(copy))


def _side(part: Part, reach_mm: float) -> float:
    """Return 1 for a half that lies on the right, -1 for one on the left."""
    said = {"left": -1.0, "right": 1.0}.get(part.hand)
    return math.copysign(1.0, reach_mm) if said is None else said
