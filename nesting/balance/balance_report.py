"""The balance of a model in one value: mass, balance point, ballast at each place, alternatives side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from nesting.balance.aerodynamic_chord import MeanChord
from nesting.balance.ballast import Axis, Ballast, BallastPlace, Range, best_ballast, find_ballast, loadings
from nesting.balance.ledger import Difference, Entry, Ledger
from nesting.wood.estimate import Estimate, as_estimate
from vectorize.basics.errors import JobError
from vectorize.basics.notes import Note
from vectorize.basics.wording import listed

RESOLVES_MM = 1.0
"""What balancing on two fingertips or a stand by hand resolves (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Change:
    """An entry of the ledger taken at another mass or place; None keeps what it is."""

    item: str
    mass_g: float | None = None
    station_mm: float | None = None
    lateral_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Alternative:
    """A named set of changes to look at beside the model as planned."""

    name: str
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class BalancePlan:
    """What the balance is held against: range, lateral target, places for ballast, alternatives to look at."""

    limits: Range | None = None
    lateral: Range | None = None
    chord: MeanChord | None = None
    places: tuple[BallastPlace, ...] = ()
    alternatives: tuple[Alternative, ...] = ()
    resolves_mm: float = RESOLVES_MM


@dataclass(frozen=True, slots=True)
class Loading:
    """Mass and balance with a share of the fuel aboard."""

    fuel_share: float
    mass: Estimate
    balance: Estimate
    lateral: Estimate
    is_in_range: bool | None


@dataclass(frozen=True, slots=True)
class Trim:
    """The least ballast that brings a model into its ranges: at a tip, then fore and aft.

    `flying` is the ledger with both, None where a range cannot be reached.
    """

    tip: Ballast | None
    ballast: Ballast | None
    flying: Ledger | None

    @property
    def flying_mass(self) -> Estimate | None:
        """Return what the model weighs ready to fly."""
        return None if self.flying is None else self.flying.mass()

    @property
    def parts(self) -> tuple[Ballast, ...]:
        """Return the ballast that has to go in: none, one or two."""
        return tuple(one for one in (self.ballast, self.tip) if one is not None and one.entry() is not None)

    @property
    def mass_g(self) -> float:
        """Return how much ballast that is together; infinite where a range cannot be reached."""
        return sum(one.least.value for one in self.parts if one.least) if self.flying is not None else math.inf


@dataclass(frozen=True, slots=True)
class AlternativeResult:
    """One alternative against the plan: how far the balance point moves, ballast and flying weight then."""

    name: str
    mass: Estimate
    balance: Estimate
    shift: Estimate
    is_measurable: bool
    trim: Trim

    @property
    def flying_mass(self) -> Estimate | None:
        """Return what the model then weighs ready to fly; None where a range cannot be reached."""
        return self.trim.flying_mass


@dataclass(frozen=True, slots=True)
class BalanceReport:
    """Everything `sheetwood balance` shows.

    `ballast` has one entry per place for the fore and aft balance, `tip` per place for the lateral one;
    `flying_mass` includes the best of each (None where the range cannot be reached).
    """

    ledger: Ledger
    plan: BalancePlan
    loadings: tuple[Loading, ...]
    tip: tuple[Ballast, ...]
    ballast: tuple[Ballast, ...]
    best_tip: Ballast | None
    best: Ballast | None
    flying_mass: Estimate | None
    alternatives: tuple[AlternativeResult, ...]
    notes: tuple[Note, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the documented `balance` output."""
        return {
            "loadings": [self._loading_json(loading) for loading in self.loadings],
            "range_mm": None if self.plan.limits is None else [self.plan.limits.low_mm, self.plan.limits.high_mm],
            "entries": [entry_json(entry) for entry in self.ledger.entries],
            "as_built": [difference_json(difference) for difference in self.ledger.differences],
            "tip_ballast": [_ballast_json(ballast) for ballast in self.tip],
            "ballast": [_ballast_json(ballast) for ballast in self.ballast],
            "flying_mass_g": None if self.flying_mass is None else self.flying_mass.value,
            "flying_sigma_g": None if self.flying_mass is None else self.flying_mass.sigma,
            "alternatives": [_alternative_json(alternative) for alternative in self.alternatives],
            "notes": [note.as_json() for note in self.notes],
        }

    def _loading_json(self, loading: Loading) -> dict[str, Any]:
        chord = self.plan.chord
        return {
            "fuel_share": loading.fuel_share,
            "mass_g": loading.mass.value,
            "mass_sigma_g": loading.mass.sigma,
            "balance_mm": loading.balance.value,
            "balance_sigma_mm": loading.balance.sigma,
            "balance_share_of_chord": None if chord is None else chord.share(loading.balance.value),
            "lateral_mm": loading.lateral.value,
            "in_range": loading.is_in_range,
        }


def entry_json(entry: Entry) -> dict[str, Any]:
    """Return an entry of the ledger as documented."""
    return {
        "part": entry.part,
        "heading": entry.heading,
        "what": entry.what,
        "stage": entry.stage,
        "mass_g": entry.mass.value,
        "sigma_g": entry.mass.sigma,
        "station_mm": entry.station.value,
        "lateral_mm": entry.lateral.value,
        "fuel": entry.is_fuel,
        "weighed": entry.is_weighed,
    }


def difference_json(difference: Difference) -> dict[str, Any]:
    """Return a reading against its estimate as documented."""
    return {
        "weighed": difference.name,
        "stage": difference.stage,
        "estimated_g": difference.estimated.value,
        "estimated_sigma_g": difference.estimated.sigma,
        "weighed_g": difference.weighed.value,
        "flies_g": difference.flies.value,
        "difference_g": difference.difference_g,
        "difference_share": difference.difference_share,
        "surprising": difference.is_surprising,
    }


def _alternative_json(alternative: AlternativeResult) -> dict[str, Any]:
    return {
        "name": alternative.name,
        "mass_g": alternative.mass.value,
        "balance_mm": alternative.balance.value,
        "shift_mm": alternative.shift.value,
        "shift_sigma_mm": alternative.shift.sigma,
        "measurable": alternative.is_measurable,
        "flying_mass_g": None if alternative.flying_mass is None else alternative.flying_mass.value,
    }


def _ballast_json(ballast: Ballast) -> dict[str, Any]:
    return {
        "place": ballast.place.name,
        "station_mm": ballast.place.station_mm,
        "least_g": None if ballast.least is None else ballast.least.value,
        "least_sigma_g": None if ballast.least is None else ballast.least.sigma,
        "to_middle_g": None if ballast.to_middle is None else ballast.to_middle.value,
        "plug_diameter_mm": ballast.plug_diameter_mm,
        "plug_depth_mm": ballast.place.depth_mm,
        "problem": ballast.problem,
    }


def balance_report(ledger: Ledger, plan: BalancePlan, *, notes: Sequence[Note] = ()) -> BalanceReport:
    """Return the balance of a ledger held against a plan.

    Lateral ballast is settled first, for its mass moves the model fore and aft too.

    Raises:
        JobError: Nothing has mass, a ballast place at the balance point itself, an alternative of an unknown item.
    """
    trim = trimmed(ledger, plan)
    tip, tip_notes = _each_place(ledger, plan.lateral, plan.places, "lateral", trim.tip)
    ballast, notes_aft = _each_place(_with_ballast(ledger, trim.tip), plan.limits, plan.places, "station", trim.ballast)
    return BalanceReport(
        ledger=ledger,
        plan=plan,
        loadings=tuple(_loading(ledger, share, plan.limits) for share in loadings(ledger)),
        tip=tip,
        ballast=ballast,
        best_tip=trim.tip,
        best=trim.ballast,
        flying_mass=trim.flying_mass,
        alternatives=tuple(_alternative(ledger, plan, alternative) for alternative in plan.alternatives),
        notes=(*notes, *tip_notes, *notes_aft),
    )


def trimmed(ledger: Ledger, plan: BalancePlan) -> Trim:
    """Return the best ballast for both ranges of a plan, the lateral one first: its mass moves the model aft too."""
    best: dict[Axis, Ballast | None] = {}
    goals: tuple[tuple[Axis, Range | None], ...] = (("lateral", plan.lateral), ("station", plan.limits))
    is_reached = True
    for axis, limits in goals:
        best[axis] = None
        if limits is None:
            continue
        best[axis] = best_ballast(ledger, limits, _useful(plan.places, axis), axis=axis)
        is_reached = is_reached and (best[axis] is not None or _all_inside(ledger, limits, axis))
        ledger = _with_ballast(ledger, best[axis])
    return Trim(best["lateral"], best["station"], ledger if is_reached else None)


def _each_place(
    ledger: Ledger, limits: Range | None, places: Sequence[BallastPlace], axis: Axis, best: Ballast | None
) -> tuple[tuple[Ballast, ...], tuple[Note, ...]]:
    """Return what ballast each place of one axis would take, and a note where no place does."""
    if limits is None:
        return (), ()
    results = tuple(find_ballast(ledger, limits, place, axis=axis) for place in _useful(places, axis))
    if best is not None or _all_inside(ledger, limits, axis):
        return results, ()
    why = "; ".join(f"{b.place.name}: {b.problem}" for b in results) or "no place for ballast is given"
    what = "balance point" if axis == "station" else "lateral balance"
    return results, (Note("out-of-range", f"the {what} cannot be brought into its range ({why}).", "open"),)


def _useful(places: Sequence[BallastPlace], axis: Axis) -> list[BallastPlace]:
    """Return the places for one axis: those off the centre line hold lateral ballast, the others the rest."""
    return [place for place in places if (axis == "lateral") == bool(place.lateral_mm)]


def _all_inside(ledger: Ledger, limits: Range, axis: Axis) -> bool:
    point = ledger.balance if axis == "station" else ledger.lateral_balance
    return all(limits.holds(point(fuel_share=share).value) for share in loadings(ledger))


def _with_ballast(ledger: Ledger, ballast: Ballast | None) -> Ledger:
    entry = ballast.entry() if ballast is not None else None
    return ledger if entry is None else ledger.with_entries(entry)


def _loading(ledger: Ledger, share: float, limits: Range | None) -> Loading:
    balance = ledger.balance(fuel_share=share)
    return Loading(
        fuel_share=share,
        mass=ledger.mass(fuel_share=share),
        balance=balance,
        lateral=ledger.lateral_balance(fuel_share=share),
        is_in_range=None if limits is None else limits.holds(balance.value),
    )


def _alternative(ledger: Ledger, plan: BalancePlan, alternative: Alternative) -> AlternativeResult:
    changed = ledger
    for change in alternative.changes:
        changed = _changed(changed, change, alternative.name)
    shift = changed.balance() - ledger.balance()
    return AlternativeResult(
        name=alternative.name,
        mass=changed.mass(),
        balance=changed.balance(),
        shift=shift,
        is_measurable=abs(shift.value) >= plan.resolves_mm,
        trim=trimmed(changed, plan),
    )


def _changed(ledger: Ledger, change: Change, name: str) -> Ledger:
    if not any(change.item == entry.what for entry in ledger.entries):
        known = listed(entry.what for entry in ledger.entries if entry.stage == "fitted")
        raise JobError(f"alternative {name!r} changes {change.item!r}, which is not an item; items are {known}.")
    return replace(ledger, entries=tuple(_entry_as(e, change) if e.what == change.item else e for e in ledger.entries))


def _entry_as(entry: Entry, change: Change) -> Entry:
    return replace(
        entry,
        mass=entry.mass if change.mass_g is None else as_estimate(change.mass_g),
        station=entry.station if change.station_mm is None else as_estimate(change.station_mm),
        lateral=entry.lateral if change.lateral_mm is None else as_estimate(change.lateral_mm),
    )
