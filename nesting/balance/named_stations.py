"""Named places of the model against its balance point: how far from it, at which angle. Pure geometry.

Stations grow aft of the datum, heights up; the datum line runs through the datum along the model.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from nesting.balance.balance_report import Loading
from nesting.wood.estimate import Estimate
from vectorize.basics.errors import JobError


@dataclass(frozen=True, slots=True)
class NamedStation:
    """A place on the side view: a point, the axle of a wheel, or a line to a second point.

    `balance_height_mm` is how high the balance point is taken to lie, for the angle of an axle.

    Raises:
        JobError: A line of no length, or an axle that is a line.
    """

    name: str
    station_mm: float
    height_mm: float = 0.0
    to: tuple[float, float] | None = None
    is_axle: bool = False
    balance_height_mm: float = 0.0

    def __post_init__(self) -> None:
        if self.to is not None and math.dist(self.to, (self.station_mm, self.height_mm)) < 0.1:
            raise JobError(f"[[station]] {self.name!r}: its two points are one; give them apart from each other.")
        if self.to is not None and self.is_axle:
            raise JobError(f"[[station]] {self.name!r} is a line and an axle; it can be one of them.")

    @property
    def line_deg(self) -> float | None:
        """Return the angle of a line to the datum line, its fore end higher being positive; None for a point."""
        if self.to is None:
            return None
        (fore, high), (aft, low) = sorted(((self.station_mm, self.height_mm), self.to))
        return math.degrees(math.atan2(high - low, aft - fore))


@dataclass(frozen=True, slots=True)
class StationAt:
    """A named place for one loading: how far aft of the balance point, and of an axle the angle ahead of it.

    The angle is at the balance point, between straight down and the axle, with the datum line level; ahead is positive.
    """

    fuel_share: float
    from_balance_mm: Estimate
    ahead_deg: float | None


@dataclass(frozen=True, slots=True)
class StationResult:
    """A named place with what it is for each loading, tank empty first where there is fuel."""

    named: NamedStation
    at: tuple[StationAt, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the place as documented in the `balance` output."""
        return {
            "name": self.named.name,
            "station_mm": self.named.station_mm,
            "height_mm": self.named.height_mm,
            "to_mm": None if self.named.to is None else list(self.named.to),
            "line_deg": self.named.line_deg,
            "loadings": [
                {
                    "fuel_share": one.fuel_share,
                    "from_balance_mm": one.from_balance_mm.value,
                    "sigma_mm": one.from_balance_mm.sigma,
                    "ahead_deg": one.ahead_deg,
                }
                for one in self.at
            ],
        }


def stations_against_balance(named: Sequence[NamedStation], loadings: Sequence[Loading]) -> tuple[StationResult, ...]:
    """Return every named place against the balance point of each loading, foremost first."""
    in_order = sorted(named, key=lambda one: one.station_mm)
    return tuple(StationResult(one, tuple(_at(one, loading) for loading in loadings)) for one in in_order)


def _at(named: NamedStation, loading: Loading) -> StationAt:
    away = named.station_mm - loading.balance
    angle = None
    if named.is_axle:
        below = named.balance_height_mm - named.height_mm
        if below <= 0:
            raise JobError(
                f"[[station]] {named.name!r}: the axle is {-below:g} mm above the balance point, so no wheel on it can "
                "stand; give its height below the datum line as a negative one."
            )
        angle = math.degrees(math.atan2(-away.value, below))
    return StationAt(loading.fuel_share, away, angle)
