"""Everything that has mass, with where it sits: wood, finish, glue, equipment; and what scales have said since.

Arms aft of the datum are positive; moment = mass x station; balance point = sum of moments over sum of
masses (FAA-H-8083-25, weight and balance). A reading of a part, an assembly or the model replaces the
estimates of everything that was on the scale.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from nesting.wood.covering import STAGES, Stage
from nesting.wood.estimate import Estimate, as_estimate, total
from nesting.wood.scale_reading import HARDLY_WORKED_SHARE, as_it_flies, likely_stage
from vectorize.basics.errors import JobError
from vectorize.basics.notes import Note
from vectorize.basics.wording import listed

_CENTRE_LINE = Estimate(0.0)

_STAGE_WORDS = {"sawn": "as sawn", "cut": "carved"}

MODEL = "model"
"""The name of a reading that has the whole model on the scale."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One mass in g at a station and lateral arm in mm; `part` names what it belongs to, `what` what it is.

    `also` names further owners, of a joint or of an assembly that was weighed whole (`is_weighed`). `sawn_share` is
    the mass over what the same wood weighs as sawn, before it is carved.
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
    sawn_share: float = 1.0

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
    """What a scale said of some parts together at a stage, and where they balanced, if anybody looked.

    Without a stage (None) it is of bare wood: as sawn or as carved, whichever the reading is nearer to.
    `is_joined` where the pieces of one part were glued together by then: their glue was on the scale.
    """

    parts: tuple[str, ...]
    mass: Estimate
    stage: Stage | None = "cut"
    balance: Estimate | None = None
    is_joined: bool = False

    @property
    def name(self) -> str:
        """Return what was weighed, in words."""
        return " + ".join(self.parts)


@dataclass(frozen=True, slots=True)
class Difference:
    """A reading against the estimate of its stage; `flies` is what counts from now on.

    That is the reading itself, or, of sawn wood that is still to be carved, what will be left of it.
    `is_stage_assumed` where nobody said at which stage it was taken and it matters.
    """

    name: str
    stage: Stage
    estimated: Estimate
    weighed: Estimate
    flies: Estimate
    is_stage_assumed: bool = False

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
        return self.moment(fuel_share=fuel_share) / self.need_mass(fuel_share=fuel_share)

    def lateral_balance(self, *, fuel_share: float = 1.0) -> Estimate:
        """Return how far to the right of the centre line the model balances, in mm; raises as `balance`."""
        return self.lateral_moment(fuel_share=fuel_share) / self.need_mass(fuel_share=fuel_share)

    def need_mass(self, *, fuel_share: float = 1.0) -> Estimate:
        """Return the mass in grams, which is above zero.

        Raises:
            JobError: Nothing in the ledger has mass.
        """
        mass = self.mass(fuel_share=fuel_share)
        if not mass.value > 0:
            raise JobError(
                "nothing that has both mass and a station is in the ledger, so there is no balance point; "
                "seat the parts or add equipment under [balance] in job.toml."
            )
        return mass

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
    sawn = total(entry.mass / entry.sawn_share for entry in on_scale)
    if not (mass.value > 0 and reading.mass.value > 0):
        raise JobError(f"{reading.name} was weighed as {reading.mass.value:g} g; it must be above zero.")
    stage = reading.stage or _likely_stage(reading, sawn=sawn, cut=mass)
    share = mass.value / sawn.value
    flies = as_it_flies(reading.mass, share, name=reading.name) if stage == "sawn" else reading.mass
    owners = sorted(frozenset().union(*(entry.owners for entry in on_scale)))
    merged = Entry(
        part=owners[0],
        also=tuple(owners[1:]),
        what=f"{reading.name}, weighed",
        is_weighed=True,
        stage=max(("cut" if stage == "sawn" else stage, *(entry.stage for entry in on_scale)), key=STAGES.index),
        mass=flies,
        station=reading.balance or total(entry.mass * entry.station for entry in on_scale) / mass,
        lateral=total(entry.mass * entry.lateral for entry in on_scale) / mass,
    )
    kept = tuple(entry for entry in entries if entry not in on_scale)
    is_assumed = reading.stage is None and share <= HARDLY_WORKED_SHARE
    estimated = sawn if stage == "sawn" else mass
    return (*kept, merged), Difference(reading.name, stage, estimated, reading.mass, flies, is_assumed)


def _likely_stage(reading: Reading, *, sawn: Estimate, cut: Estimate) -> Stage:
    found = likely_stage(reading.mass.value, sawn_g=sawn.value, carved_g=cut.value)
    return "sawn" if found == "sawn" else "cut"


def stage_notes(differences: Iterable[Difference]) -> tuple[Note, ...]:
    """Return a note for each reading of which nobody said whether the wood was carved by then."""
    return tuple(
        Note(
            "stage-assumed",
            f"{one.name}: {one.weighed.value:.1f} g is taken as weighed {_STAGE_WORDS.get(one.stage, one.stage)}, "
            f'so {one.flies.value:.1f} g fly; say weighed_as = "sawn" or "carved" to be sure.',
        )
        for one in differences
        if one.is_stage_assumed
    )


def was_on_scale_with_model(entry: Entry, readings: Iterable[Reading]) -> bool:
    """Return whether the whole model stood on the scale with that mass, be it in the ledger or not."""
    return any(_is_done(entry, reading) for reading in readings if MODEL in reading.parts)


def _is_done(entry: Entry, reading: Reading) -> bool:
    latest = max(STAGES.index(reading.stage or "cut"), _least_stage(reading))
    return STAGES.index(entry.stage) <= latest and not entry.is_fuel


def _least_stage(reading: Reading) -> int:
    """Return the stage that any reading holds: a sawn blank has the same pieces on the scale as a carved one."""
    return STAGES.index("joined" if reading.is_joined else "cut")


def _on_scale(entries: tuple[Entry, ...], reading: Reading) -> tuple[Entry, ...]:
    done = [entry for entry in entries if _is_done(entry, reading)]
    if MODEL in reading.parts:
        return tuple(done)
    wanted = frozenset(reading.parts)
    known = frozenset().union(*(entry.owners for entry in entries))
    if missing := sorted(wanted - known):
        raise JobError(f"{missing[0]!r} was weighed, but is not in the ledger; known are {listed(sorted(known))}.")
    for entry in done:
        if entry.is_weighed and entry.owners & wanted and not entry.owners <= wanted:
            raise JobError(
                f"{reading.name} was weighed after {' + '.join(sorted(entry.owners))} was weighed as one; "
                "a later reading must hold all of it."
            )
    return tuple(entry for entry in done if entry.owners <= wanted)
