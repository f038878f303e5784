"""What a job says of wood, finish, weight and balance, as the values that the stages take."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from nesting.balance.ballast import BallastPlace, Range
from nesting.balance.entries import Build, part_entries
from nesting.balance.ledger import MODEL, Entry, Ledger, Reading, entry, with_readings
from nesting.balance.planform import MeanChord, Section, mean_chord
from nesting.balance.report import Alternative, BalancePlan, Change
from nesting.balance.station import Datum, Seat
from nesting.board import Board
from nesting.density import Accuracy
from nesting.estimate import Estimate
from nesting.finish import COATS, GLUES, Coat, Finish, Glue, Joint, edited
from nesting.job.deriving import Carving, owner_of
from nesting.job.folder import Job
from nesting.job.making import stored_layout
from nesting.job.model_schema import BalanceTable
from nesting.job.plans import OpenPlan, open_plans
from nesting.job.quantity import Pixel
from nesting.job.rack import read_rack
from nesting.job.tracing import Progress, derive_parts, trace_job
from nesting.job.wood import accuracy_of, materials_of, needs_of
from nesting.material import Material
from nesting.needs import Need, need_notes
from nesting.part import Part
from nesting.place.layout import Layout
from nesting.weigh import Copy, WeightTable, weigh_parts
from vectorize.curve import Point
from vectorize.errors import JobError
from vectorize.notes import Note


@dataclass(frozen=True, slots=True)
class Model:
    """A job's parts, boards and everything said of them, ready for weighing, comparing, balancing, assigning.

    `layout` is the stored one, where it still belongs to these parts and boards. `items` are equipment.
    """

    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    materials: Mapping[str, Material]
    accuracy: Accuracy
    needs: Mapping[str, Need]
    build: Build
    seats: Mapping[str, Seat]
    datum: Datum | None
    items: tuple[Entry, ...]
    readings: tuple[Reading, ...]
    plan: BalancePlan
    layout: Layout | None
    notes: tuple[Note, ...]
    carvings: tuple[Carving, ...] = ()

    def weigh(self, *, chosen: Mapping[Copy, str] | None = None) -> WeightTable:
        """Return the weights: from the layout's boards, or as `chosen`, else the lightest match."""
        layout = self.layout if chosen is None else None
        return weigh_parts(
            self.parts, self.boards, chosen=chosen, layout=layout, materials=self.materials, accuracy=self.accuracy
        )

    def need_notes(self, table: WeightTable) -> tuple[Note, ...]:
        """Return what the chosen boards do not give that parts ask for, and advice on grain cuts."""
        chosen = ((weight.part, weight.board) for weight in table.chosen)
        return need_notes(self.parts, self.boards, chosen, self.needs, materials=self.materials)

    def ledger(self, table: WeightTable) -> tuple[Ledger, tuple[Note, ...]]:
        """Return the ledger of the chosen boards with equipment and scale readings, and what has no place.

        A part without a station is left out, and so is a reading that it was part of.
        """
        entries, notes = self._entries(table, self.seats, self.datum)
        names = {part.name for part in self.parts} - set(self.seats)
        readings = [reading for reading in self.readings if not names & set(reading.parts)]
        return with_readings((*entries, *self.items), readings), notes

    def masses(self, table: WeightTable) -> Ledger:
        """Return the ledger of all parts for their masses alone: every station is zero, equipment is left out."""
        entries, _ = self._entries(table, {part.name: Seat(station_mm=0.0) for part in self.parts}, None)
        return with_readings(entries, (reading for reading in self.readings if MODEL not in reading.parts))

    def _entries(
        self, table: WeightTable, seats: Mapping[str, Seat], datum: Datum | None
    ) -> tuple[tuple[Entry, ...], tuple[Note, ...]]:
        # Readings of single parts come to the ledger as readings, so that their differences are told.
        unweighed = replace(table, weights=tuple(replace(weight, weighed_g=None) for weight in table.weights))
        return part_entries(
            unweighed, self.parts, self.boards, seats=seats, datum=datum, build=self.build,
            materials=self.materials, accuracy=self.accuracy,
        )  # fmt: skip

    def part(self, name: str) -> Part:
        """Return the part of that name.

        Raises:
            JobError: There is none.
        """
        for part in self.parts:
            if part.name == name:
                return part
        raise JobError(f"there is no part {name!r}; parts: {', '.join(part.name for part in self.parts) or 'none'}.")


def read_model(job: Job, *, progress: Progress, plans: dict[str, OpenPlan] | None = None) -> Model:
    """Return everything that a job says of its model; `plans` are its plans where the caller has them open already.

    Raises:
        SheetwoodError: A scan, rack or table that cannot be used.
    """
    plans = plans or open_plans(job)
    traced = trace_job(job, progress=progress, plans=plans)
    made = derive_parts(job, traced, plans=plans)
    parts = made.parts
    boards = read_rack(job)
    places = _Places(job, plans, parts)
    return Model(
        parts=parts,
        boards=boards,
        materials=materials_of(job),
        accuracy=accuracy_of(job),
        needs=needs_of(job),
        build=_build(job, parts),
        seats=places.seats(),
        datum=places.datum,
        items=tuple(places.items()),
        readings=_readings(job, parts),
        plan=places.plan(),
        layout=stored_layout(job, parts, boards),
        notes=(*traced.notes, *made.notes),
        carvings=made.carvings,
    )


def _build(job: Job, parts: Sequence[Part]) -> Build:
    spec = job.spec
    coats = edited(COATS, ({k: v for k, v in _coat(c).items() if v is not None} for c in spec.coat), Coat)
    glues = edited(GLUES, ({k: v for k, v in _coat(g).items() if v is not None} for g in spec.glue), Glue)
    known = {part.name for part in spec.part}
    finishes: dict[str, Finish] = {}
    for table in spec.finish:
        for name in _known_parts(table.parts, known, "[[finish]]"):
            if name in finishes:
                raise JobError(f"part {name!r} has two entries of [[finish]]; keep one.")
            finishes[name] = Finish((*table.both, *table.top), (*table.both, *table.bottom), table.edges, table.sanding)
    joints = tuple(
        Joint(j.name, _known_parts(j.parts, known, f"[[joint]] {j.name!r}"), j.glue, j.length * j.width)
        for j in spec.joint
    )
    return Build(finishes, joints, coats, glues)


def _coat(table: object) -> dict[str, object]:
    return {
        "name": getattr(table, "name", None),
        "g_per_m2": getattr(table, "weight", None),
        "spread": getattr(table, "spread", None),
        "stage": getattr(table, "stage", None),
    }


def _known_parts(names: Sequence[str], known: set[str], where: str) -> tuple[str, ...]:
    for name in names:
        if name not in known:
            raise JobError(f"{where} names part {name!r}, which is not there; parts: {', '.join(sorted(known))}.")
    return tuple(names)


def _readings(job: Job, parts: Sequence[Part]) -> tuple[Reading, ...]:
    """Return the readings of single parts first, then those of assemblies in the order of the job."""
    single = [
        Reading((p.name,), Estimate.reading(p.weighed_g * p.copies, 0.1 * p.copies, f"reading of {p.name}"))
        for p in parts
        if p.weighed_g is not None
    ]
    together = [
        Reading(
            table.parts,
            Estimate.reading(table.mass, table.step, f"reading of {' + '.join(table.parts)}, {table.stage}"),
            table.stage,
            None if table.balance is None else Estimate.measured(table.balance, 0.5, f"balance of {table.parts[0]}"),
        )
        for table in job.spec.weighed
    ]
    return (*single, *together)


class _Places:
    """Datum, seats, items and ballast places, their points brought from pixels to millimetres."""

    def __init__(self, job: Job, plans: dict[str, OpenPlan], parts: Sequence[Part]) -> None:
        self.plans, self.table = plans, job.spec.balance
        self.names = {table.name for table in job.spec.part}
        self.pieces = [part.name for part in parts]
        self.drawn_on = {part.name: plans[part.plan] for part in parts if part.plan in plans}
        self.datum = self._datum()

    @property
    def side_view(self) -> OpenPlan:
        name = self.table.plan
        if name is None:
            return next(iter(self.plans.values()))
        if name not in self.plans:
            raise JobError(f"[balance] plan is {name!r}, which is not there; plans: {', '.join(self.plans)}.")
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
        seats = {name: Seat() for name in _known_parts(self.table.in_place, self.names, "[balance] in_place")}
        for table in self.table.seat:
            (name,) = _known_parts((table.part,), self.names, "[[balance.seat]]")
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
        if station is not None:
            return station
        if at is None or self.datum is None:
            raise JobError(f"{what} has its place on the drawing, but there is no datum; give [balance] datum.")
        point: Point = self.side_view.to_mm(at)
        return self.datum.station_mm(point)

    def items(self) -> list[Entry]:
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
