"""How much ballast, where, brings the balance point into its range.

B = W (x_target - x_cg) / (x_ballast - x_target): the maintenance handbooks' formula, derived from the
balance of moments about the target. Several loadings (tank full and empty) must all lie in the range, so
each gives an interval of ballast and the answer lies in all of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from nesting.balance.ledger import Entry, Ledger, entry
from nesting.wood.estimate import Estimate, total
from vectorize.basics.errors import JobError

LEAD_KG_M3 = 11_340.0
"""Density of cast lead (handbook value, from memory)."""
_SAME_PLACE_MM = 1e-6

Axis = Literal["station", "lateral"]
"""Which way the balance point is to be moved: fore and aft, or sideways."""


@dataclass(frozen=True, slots=True)
class Range:
    """Where the balance point may lie: stations in mm, the forward limit first.

    Raises:
        JobError: The range is empty.
    """

    low_mm: float
    high_mm: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low_mm) and math.isfinite(self.high_mm) and self.low_mm < self.high_mm):
            raise JobError(
                f"the balance range from {self.low_mm:g} to {self.high_mm:g} mm is empty; write its smaller end first."
            )

    @property
    def middle_mm(self) -> float:
        """Return the middle of the range."""
        return (self.low_mm + self.high_mm) / 2

    def holds(self, station_mm: float) -> bool:
        """Return whether a station lies inside, ends included."""
        slack = 1e-9 * max(1.0, abs(self.low_mm), abs(self.high_mm))
        return self.low_mm - slack <= station_mm <= self.high_mm + slack


@dataclass(frozen=True, slots=True)
class BallastPlace:
    """A place where ballast may go: its station and lateral arm, the most it holds, how thick the wood is there."""

    name: str
    station_mm: float
    lateral_mm: float = 0.0
    most_g: float = math.inf
    depth_mm: float | None = None
    density_kg_m3: float = LEAD_KG_M3

    def __post_init__(self) -> None:
        for what, value in {"the most it holds": self.most_g, "its depth": self.depth_mm}.items():
            if value is not None and not value > 0:
                raise JobError(f"ballast place {self.name}: {what} is {value:g}; it must be above zero.")


@dataclass(frozen=True, slots=True)
class Ballast:
    """Ballast at one place: how much brings the balance point just into the range and how much to its middle.

    `problem` says why this place does not do; then the masses are None.
    """

    place: BallastPlace
    least: Estimate | None
    to_middle: Estimate | None
    problem: str = ""

    def entry(self) -> Entry | None:
        """Return the least ballast as an entry of the ledger; None where there is none."""
        if self.least is None or self.least.value <= 0:
            return None
        return entry("ballast", self.least, self.place.station_mm, what=self.place.name, lateral=self.place.lateral_mm)

    @property
    def plug_diameter_mm(self) -> float | None:
        """Return the diameter of a plug of the least ballast through the wood's thickness at this place."""
        if self.least is None or self.place.depth_mm is None or self.least.value <= 0:
            return None
        return plug_diameter_mm(self.least.value, self.place.depth_mm, density_kg_m3=self.place.density_kg_m3)


def ballast_to(target_mm: float, mass: Estimate, balance: Estimate, station_mm: float) -> Estimate:
    """Return the ballast at `station_mm` that brings the balance point to the target; negative: take away.

    Raises:
        JobError: The ballast would sit at the target itself, where it moves nothing.
    """
    if abs(station_mm - target_mm) < _SAME_PLACE_MM:
        raise JobError(
            f"ballast at {station_mm:g} mm would sit at the wanted balance point itself and move nothing; "
            "choose a place ahead of it or behind it."
        )
    return mass * (Estimate(target_mm) - balance) / (station_mm - target_mm)


def plug_diameter_mm(mass_g: float, depth_mm: float, *, density_kg_m3: float = LEAD_KG_M3) -> float:
    """Return the diameter of a round plug of this mass and depth.

    Raises:
        JobError: A mass or depth that is not above zero.
    """
    if not (mass_g > 0 and depth_mm > 0 and density_kg_m3 > 0):
        raise JobError(f"a plug of {mass_g:g} g and {depth_mm:g} mm depth cannot be; both must be above zero.")
    return math.sqrt(4 * mass_g / (math.pi * depth_mm * density_kg_m3 * 1e-6))


def loadings(ledger: Ledger) -> tuple[float, ...]:
    """Return the shares of fuel to look at: empty and full, or just one where there is no fuel."""
    return (0.0, 1.0) if ledger.has_fuel else (1.0,)


def find_ballast(ledger: Ledger, limits: Range, place: BallastPlace, *, axis: Axis = "station") -> Ballast:
    """Return the least ballast at a place that brings every loading into the range.

    Raises:
        JobError: Nothing has mass, or the place is the balance point itself, where ballast moves nothing.
    """
    cases = tuple(_case(ledger, share, axis) for share in loadings(ledger))
    arm_mm = place.station_mm if axis == "station" else place.lateral_mm
    if all(limits.holds(moment.value / mass.value) for mass, moment in cases):
        return Ballast(place, Estimate(0.0), _to_middle(cases, limits, place, arm_mm))
    _refuse_useless_place(cases, place, arm_mm)
    least, most = _interval(cases, limits, arm_mm)
    if least.value > most:
        return Ballast(place, None, None, _why_none(cases, limits))
    if least.value > place.most_g:
        text = f"{least.value:.1f} g would be needed, and the place holds {place.most_g:g} g"
        return Ballast(place, None, None, text)
    return Ballast(place, least, _to_middle(cases, limits, place, arm_mm))


def best_ballast(
    ledger: Ledger, limits: Range, places: Iterable[BallastPlace], *, axis: Axis = "station"
) -> Ballast | None:
    """Return the place that needs least, or None where no place does; places at the balance point are passed over."""
    found = []
    for place in places:
        try:
            found.append(find_ballast(ledger, limits, place, axis=axis))
        except JobError:
            continue
    possible = [(ballast.least.value, number) for number, ballast in enumerate(found) if ballast.least is not None]
    return found[min(possible)[1]] if possible else None


_Case = tuple[Estimate, Estimate]
"""Mass and moment of one loading."""


def _case(ledger: Ledger, share: float, axis: Axis) -> _Case:
    moment = ledger.moment if axis == "station" else ledger.lateral_moment
    return ledger.need_mass(fuel_share=share), moment(fuel_share=share)


def _interval(cases: Sequence[_Case], limits: Range, arm_mm: float) -> tuple[Estimate, float]:
    """Return the least ballast and the most, from low (W + B) <= M + B arm <= high (W + B) for every loading."""
    least, most = Estimate(0.0), math.inf
    for mass, moment in cases:
        for limit, sign in ((limits.low_mm, 1.0), (limits.high_mm, -1.0)):
            slope, need = sign * (arm_mm - limit), (mass * limit - moment) * sign
            if abs(slope) < _SAME_PLACE_MM:
                most = most if need.value <= 0 else -math.inf
            elif slope > 0:
                least = max(least, need / slope, key=lambda amount: amount.value)
            else:
                most = min(most, need.value / slope)
    return least, most


def _to_middle(cases: Sequence[_Case], limits: Range, place: BallastPlace, arm_mm: float) -> Estimate | None:
    """Return the ballast that centres the loadings about the middle of the range, or None if it cannot."""
    if abs(arm_mm - limits.middle_mm) < _SAME_PLACE_MM:
        return None
    mass = total(mass for mass, _ in cases) / len(cases)
    moment = total(moment for _, moment in cases) / len(cases)
    amount = ballast_to(limits.middle_mm, mass, moment / mass, arm_mm)
    return amount if 0 <= amount.value <= place.most_g else None


def _refuse_useless_place(cases: Sequence[_Case], place: BallastPlace, arm_mm: float) -> None:
    if any(abs(arm_mm - moment.value / mass.value) < _SAME_PLACE_MM for mass, moment in cases):
        raise JobError(
            f"ballast place {place.name} is at {arm_mm:g} mm, the balance point itself; "
            "ballast there moves nothing. Choose a place ahead of it or behind it."
        )


def _why_none(cases: Sequence[_Case], limits: Range) -> str:
    points = [moment.value / mass.value for mass, moment in cases]
    if max(points) - min(points) > limits.high_mm - limits.low_mm:
        return (
            f"fuel alone moves the balance point by {max(points) - min(points):.1f} mm, more than the range is wide; "
            "move the tank"
        )
    end = "nose-heavy" if min(points) < limits.low_mm else "tail-heavy"
    return f"the model is {end}, and ballast there would make it more so"
