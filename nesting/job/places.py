"""Where things sit on the model, as a job says it: datum, seats, equipment, ballast, and the range to balance in."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

from nesting.alter.frame import Spot, Station
from nesting.balance.aerodynamic_chord import MeanChord, Section, mean_chord
from nesting.balance.balance_report import Alternative, BalancePlan, Change
from nesting.balance.ballast import BallastPlace, Range
from nesting.balance.ledger import Entry, entry
from nesting.balance.named_stations import NamedStation
from nesting.balance.station import Datum, Seat
from nesting.job.deriving import owner_of
from nesting.job.folder import Job
from nesting.job.model_schema import BalanceTable
from nesting.job.plans import OpenPlan
from nesting.wood.estimate import Estimate
from nesting.wood.part import Part
from vectorize.basics.errors import JobError
from vectorize.basics.quantity import Pixel
from vectorize.basics.wording import listed, shown
from vectorize.shapes.segment import Point


class Places:
    """Datum, seats, items and ballast places, their points brought from pixels to millimetres."""

    def __init__(self, job: Job, plans: dict[str, OpenPlan], parts: Sequence[Part]) -> None:
        self.plans, self.table, self.named_tables = plans, job.spec.balance, job.spec.station
        self.names = {table.name for table in job.spec.part}
        self.pieces = [part.name for part in parts]
        self.drawn_on = {part.name: plans[part.plan] for part in parts if part.plan in plans}
        self.datum = self._datum()

    @property
    def side_view(self) -> OpenPlan:
        """Return the plan that stations are read on: the named one, or the first."""
        name = self.table.plan
        if name is None:
            return next(iter(self.plans.values()))
        if name not in self.plans:
            raise JobError(f"[balance] plan is {shown(name)}, which is not there; plans: {listed(self.plans)}.")
        return self.plans[name]

    def _datum(self) -> Datum | None:
        if self.table.datum is None:
            return None
        point = self.side_view.to_mm(self.table.datum)
        if self.table.aft == "right":
            return Datum(point)
        if self.table.aft == "left":
            return Datum(point, 180.0)
        x, y = self.side_view.to_mm(self.table.aft)
        if math.hypot(x - point[0], y - point[1]) < 1.0:
            raise JobError("[balance] aft is less than 1 mm from the datum; pick a point farther aft.")
        return Datum(point, math.degrees(math.atan2(y - point[1], x - point[0])))

    def seats(self) -> dict[str, Seat]:
        """Return how every part that has a place comes to it."""
        seats = {name: Seat() for name in known_parts(self.table.in_place, self.names, "[balance] in_place")}
        for table in self.table.seat:
            (name,) = known_parts((table.part,), self.names, "[[balance.seat]]")
            drawn_on = self.drawn_on.get(name, self.side_view)
            seats[name] = Seat(
                station_mm=table.station,
                anchor=None if table.anchor is None else drawn_on.to_mm(table.anchor),
                at=None if table.at is None else self.side_view.to_mm(table.at),
                angle_deg=table.angle,
                lateral_mm=table.lateral,
                is_from_above=table.from_above,
            )
        # Planks, strips and sides sit where the part that they make up does.
        owners = {name: owner_of(name, self.names) for name in self.pieces}
        return seats | {name: seats[o] for name, o in owners.items() if o in seats and name not in self.names}

    def station(self, what: str, station: float | None, at: Pixel | None) -> float:
        """Return a station in mm, given outright or by a point of the side view."""
        if station is not None:
            return station
        if at is None or self.datum is None:
            raise JobError(f"{what} has its place on the drawing, but there is no datum; give [balance] datum.")
        point: Point = self.side_view.to_mm(at)
        return self.datum.station_mm(point)

    def named(self) -> tuple[NamedStation, ...]:
        """Return the job's named stations."""
        return tuple(
            NamedStation(
                one.name,
                *((one.station or 0.0, one.height) if one.at is None else self._spot(one.name, one.at)),
                to=None if one.to is None else self._spot(one.name, one.to),
                is_axle=one.axle,
                balance_height_mm=one.balance_height,
            )
            for one in self.named_tables
        )

    def _spot(self, name: str, spot: Spot) -> tuple[float, float]:
        """Return station and height of a place, given outright or by a point of the side view."""
        if isinstance(spot, Station):
            return spot.station, spot.height
        station = self.station(f"station {name!r}", None, spot)
        assert self.datum is not None  # `station` has told where it is missing
        return station, self.datum.height_mm(self.side_view.to_mm(spot))

    def items(self) -> list[Entry]:
        """Return the equipment with mass, station and lateral arm."""
        return [
            entry(
                item.name,
                Estimate.measured(item.mass, item.spread, f"mass of {item.name}"),
                self.station(f"item {item.name!r}", item.station, item.at),
                lateral=item.lateral,
                is_fuel=item.fuel,
            )
            for item in self.table.item
        ]

    def plan(self) -> BalancePlan:
        """Return what the balance is held against."""
        table = self.table
        chord = _chord(table)
        alternatives: dict[str, list[Change]] = {}
        for a in table.alternative:
            alternatives.setdefault(a.name, []).append(Change(a.item, a.mass, a.station, a.lateral))
        return BalancePlan(
            limits=_range(table, chord),
            lateral=None if table.lateral is None else Range(*table.lateral),
            chord=chord,
            places=tuple(
                BallastPlace(
                    b.name,
                    self.station(f"ballast place {b.name!r}", b.station, b.at),
                    b.lateral,
                    math.inf if b.most is None else b.most,
                    b.depth,
                )
                for b in table.ballast
            ),
            alternatives=tuple(Alternative(name, tuple(changes)) for name, changes in alternatives.items()),
            resolves_mm=table.resolves,
        )


def _chord(table: BalanceTable) -> MeanChord | None:
    if table.chord is None:
        return None
    if table.chord.sections:
        return mean_chord([Section(s.span, s.chord, s.leading_edge) for s in table.chord.sections])
    length, edge = table.chord.length or 0.0, table.chord.leading_edge or 0.0
    if length <= 0:
        raise JobError(f"[balance.chord] length is {length:g} mm; it must be above zero.")
    return MeanChord(length, 0.0, edge, 0.0)


def _range(table: BalanceTable, chord: MeanChord | None) -> Range | None:
    if table.range is None:
        return None
    ends = []
    for kind, value in table.range:
        if kind == "chord" and chord is None:
            raise JobError("[balance] range is in percent of the mean chord, but [balance.chord] is missing; add it.")
        ends.append(chord.station_mm(value) if kind == "chord" and chord is not None else value)
    return Range(*ends)


def balance_limits(job: Job, plans: dict[str, OpenPlan]) -> tuple[str, Datum, Range] | None:
    """Return the side view's name, its datum and the range that the balance is to lie in, where a job says all three.

    Raises:
        JobError: A plan that is not there, or a range that cannot be.
    """
    if job.spec.balance.range is None or job.spec.balance.datum is None or not plans:
        return None
    places = Places(job, plans, ())
    limits = _range(job.spec.balance, _chord(job.spec.balance))
    if places.datum is None or limits is None:
        return None
    return next(name for name, plan in plans.items() if plan is places.side_view), places.datum, limits


def known_parts(names: Sequence[str], known: Collection[str], where: str) -> tuple[str, ...]:
    """Return `names`, each of which must be `known`.

    Raises:
        JobError: One that is not; `where` says where it stands.
    """
    for name in names:
        if name not in known:
            raise JobError(f"{where} names part {shown(name)}, which is not there; parts: {listed(sorted(known))}.")
    return tuple(names)
