"""Everything that has mass, with where it sits: wood, finish, glue, equipment; and what scales have said since.

Arms aft of the datum are positive; moment = mass x station; balance point = sum of moments over sum of
masses (FAA-H-8083-25, weight and balance). A reading of a part, an assembly or the model replaces the
estimates of everything that was on the scale.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from nesting.estimate import Estimate, as_estimate, total
from nesting.finish import STAGES, Stage
from vectorize.errors import JobError

_CENTRE_LINE = Estimate(0.0)

MODEL = "model"
"""The name of a reading that has the whole model on the scale."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One mass in g at a station and lateral arm in mm; `part` names what it belongs to, `what` what it is.

    `also` names further owners, of a joint or of an assembly that was weighed whole (`is_weighed`).
    """

    part: str
    what: str
    stage: Stage
    mass: Estimate
    station: Estimate
    lateral: Estimate = _CENTRE_LINE
    is_fuel: bool = False
    also: tuple[str, ...] = ()
    is_weighed: bool = False

    @property
    def owners(self) -> frozenset[str]:
        """Return the parts it belongs to: one, or all of a joint or a weighed assembly."""
        return frozenset((self.part, *self.also))

    @property
    def heading(self) -> str:
        """Return what it is listed under: its part, or all parts of an assembly that was weighed whole."""
        return " + ".join(sorted(self.owners)) if self.is_weighed else self.part


@dataclass(frozen=True, slots=True)
class Reading:
    """What a scale said of some parts together at a stage, and where they balanced, if anybody looked."""

    parts: tuple[str, ...]
    mass: Estimate
    stage: Stage = "cut"
    balance: Estimate | None = None

    @property
    def name(self) -> str:
        """Return what was weighed, in words."""
        return " + ".join(self.parts)


@dataclass(frozen=True, slots=True)
class Difference:
    """A reading against the estimate that it replaced."""

    name: str
    stage: Stage
    estimated: Estimate
    weighed: Estimate

    @property
    def difference_g(self) -> float:
        """Return reading less estimate."""
        return self.weighed.value - self.estimated.value

    @property
    def difference_share(self) -> float:
        """Return that as a share of the estimate."""
        return self.difference_g / self.estimated.value

    @property
    def is_surprising(self) -> bool:
        """Return whether it lies outside what the estimate allowed (three standard deviations)."""
        return abs(self.difference_g) > 3 * (self.estimated - self.weighed).sigma


@dataclass(frozen=True, slots=True)
class Ledger:
    """All entries, readings already applied, and what the readings changed."""

    entries: tuple[Entry, ...]
    differences: tuple[Difference, ...] = ()

    def mass(self, *, fuel_share: float = 1.0) -> Estimate:
        """Return the total mass in g with the given share of the fuel aboard."""
        return total(entry.mass * _aboard(entry, fuel_share) for entry in self.entries)

    def moment(self, *, fuel_share: float = 1.0) -> Estimate:
        """Return the sum of mass x station in g mm."""
        return total(entry.mass * entry.station * _aboard(entry, fuel_share) for entry in self.entries)

    def lateral_moment(self, *, fuel_share: float = 1.0) -> Estimate:
        """Return the sum of mass x lateral arm in g mm."""
        return total(entry.mass * entry.lateral * _aboard(entry, fuel_share) for entry in self.entries)

    def balance(self, *, fuel_share: float = 1.0) -> Estimate:
        """Return the station of the balance point in mm.

        Raises:
            JobError: Nothing in the ledger has mass.
        """
        mass = self.mass(fuel_share=fuel_share)
        if not mass.value > 0:
            raise JobError(
                "nothing that has both mass and a station is in the ledger, so there is no balance point; "
                "seat the parts or add equipment under [balance] in job.toml."
            )
        return self.moment(fuel_share=fuel_share) / mass

    def lateral_balance(self, *, fuel_share: float = 1.0) -> Estimate:
        """Return how far to the right of the centre line the model balances, in mm."""
        return self.lateral_moment(fuel_share=fuel_share) / self.mass(fuel_share=fuel_share)

    @property
    def has_fuel(self) -> bool:
        """Return whether some entry is fuel."""
        return any(entry.is_fuel for entry in self.entries)

    def with_entries(self, *entries: Entry) -> Ledger:
        """Return the ledger with more entries."""
        return replace(self, entries=(*self.entries, *entries))

    def without(self, part: str) -> Ledger:
        """Return the ledger without what belongs to one part alone."""
        return replace(self, entries=tuple(e for e in self.entries if e.owners != frozenset((part,))))


def _aboard(entry: Entry, fuel_share: float) -> float:
    return fuel_share if entry.is_fuel else 1.0


def entry(
    part: str, mass: Estimate | float, station: Estimate | float, *, what: str = "", stage: Stage = "fitted",
    lateral: Estimate | float = 0.0, is_fuel: bool = False,
) -> Entry:  # fmt: skip
    """Return an entry from plain numbers or estimates."""
    return Entry(part, what or part, stage, as_estimate(mass), as_estimate(station), as_estimate(lateral), is_fuel)


def with_readings(entries: Sequence[Entry], readings: Iterable[Reading]) -> Ledger:
    """Return the ledger after each reading, in the order they were taken, replaced what it weighed.

    What belongs to a later stage than the reading stays an estimate: paint, for parts weighed bare. Fuel is
    never on the scale.

    Raises:
        JobError: A reading of something that is not in the ledger, of part of an assembly that was weighed
            whole before, or of nothing.
    """
    now = tuple(entries)
    differences: list[Difference] = []
    for reading in readings:
        now, difference = _applied(now, reading)
        differences.append(difference)
    return Ledger(now, tuple(differences))


def _applied(entries: tuple[Entry, ...], reading: Reading) -> tuple[tuple[Entry, ...], Difference]:
    on_scale = _on_scale(entries, reading)
    mass = total(entry.mass for entry in on_scale)
    if not (mass.value > 0 and reading.mass.value > 0):
        raise JobError(f"{reading.name} was weighed as {reading.mass.value:g} g; it must be above zero.")
    owners = sorted(frozenset().union(*(entry.owners for entry in on_scale)))
    merged = Entry(
        part=owners[0],
        also=tuple(owners[1:]),
        what=f"{reading.name}, weighed",
        is_weighed=True,
        stage=reading.stage,
        mass=reading.mass,
        station=reading.balance or total(entry.mass * entry.station for entry in on_scale) / mass,
        lateral=total(entry.mass * entry.lateral for entry in on_scale) / mass,
    )
    kept = tuple(entry for entry in entries if entry not in on_scale)
    return (*kept, merged), Difference(reading.name, reading.stage, mass, reading.mass)


def _on_scale(entries: tuple[Entry, ...], reading: Reading) -> tuple[Entry, ...]:
    latest = STAGES.index(reading.stage)
    done = [entry for entry in entries if STAGES.index(entry.stage) <= latest and not entry.is_fuel]
    if MODEL in reading.parts:
        return tuple(done)
    wanted = frozenset(reading.parts)
    known = frozenset().union(*(entry.owners for entry in entries))
    if missing := sorted(wanted - known):
        raise JobError(f"{missing[0]!r} was weighed, but is not in the ledger; known are {', '.join(sorted(known))}.")
    for entry in done:
        if entry.is_weighed and entry.owners & wanted and not entry.owners <= wanted:
            raise JobError(
                f"{reading.name} was weighed after {' + '.join(sorted(entry.owners))} was weighed as one; "
                "a later reading must hold all of it."
            )
    return tuple(entry for entry in done if entry.owners <= wanted)
