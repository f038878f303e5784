"""What a job says of wood, finish, weight and balance, as the values that the stages take."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from nesting.alter.axis import Axis
from nesting.balance.balance_report import BalancePlan
from nesting.balance.budget import GROUPS, BudgetPlan
from nesting.balance.entries import Build, part_entries
from nesting.balance.ledger import MODEL, Entry, Ledger, Reading, with_readings
from nesting.balance.named_stations import NamedStation
from nesting.balance.station import Datum, Seat
from nesting.balance.weights import Copy, Weight, WeightTable, weigh_parts
from nesting.job.deriving import AllParts, Carving, owner_of, root_of
from nesting.job.done_parts import done_parts, read_parts
from nesting.job.folder import Job
from nesting.job.loose_pieces import loose_pieces
from nesting.job.places import Places, known_parts
from nesting.job.plans import OpenPlan, frame_of, plan_of
from nesting.job.rules import rules_of
from nesting.job.schema import JobSpec
from nesting.job.tracing import JobTrace
from nesting.job.wood import needs_of, wood_of
from nesting.place.layout import Layout
from nesting.place.layout_rules import NestRules
from nesting.place.lies import LiesOn, lies_on
from nesting.wood.bent_wire import BentWire
from nesting.wood.board import Board
from nesting.wood.covering import COATS, GLUES, Coat, Finish, Glue, Joint, Stage, edited
from nesting.wood.density import Wood
from nesting.wood.estimate import Estimate
from nesting.wood.glued_seams import Seam
from nesting.wood.match import strips_of
from nesting.wood.needs import Need, need_notes
from nesting.wood.part import Part
from nesting.wood.scale_reading import WeighedAs
from vectorize.basics.errors import JobError
from vectorize.basics.notes import Note
from vectorize.basics.wording import listed, shown


@dataclass(frozen=True, slots=True)
class Model:
    """A job's parts, boards and everything said of them, ready for weighing, comparing, balancing, assigning.

    `layout` is the stored one, where it still belongs to these parts and boards; `weights` are from it, or from the
    lightest matches. `items` are equipment, pieces of strip and bent wire, `homeless` what of these has mass and no
    place; `done` are the parts that are cut, which no board need hold any more, `read` those among them that a scale
    has read. `axes` has for each part of the job how stations run on its plan.
    """

    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    wood: Wood
    needs: Mapping[str, Need]
    build: Build
    seats: Mapping[str, Seat]
    datum: Datum | None
    items: tuple[Entry, ...]
    readings: tuple[Reading, ...]
    plan: BalancePlan
    layout: Layout | None
    weights: WeightTable
    rules: NestRules
    notes: tuple[Note, ...]
    carvings: tuple[Carving, ...] = ()
    axes: Mapping[str, Axis] = field(default_factory=dict)
    budget: BudgetPlan | None = None
    named: tuple[NamedStation, ...] = ()
    wires: tuple[BentWire, ...] = ()
    homeless: tuple[Entry, ...] = ()
    done: frozenset[str] = frozenset()
    read: frozenset[str] = frozenset()

    @property
    def lies(self) -> LiesOn:
        """Return the test whether a part can lie on a board."""
        return lies_on(self.rules)

    @property
    def woods(self) -> tuple[Board, ...]:
        """Return all that parts are cut from: the boards, and the strips of those that come from strip."""
        return (*self.boards, *strips_of(self.parts))

    def weighed_from(self, chosen: Mapping[Copy, str]) -> WeightTable:
        """Return the weights as if every copy came from the board named for it."""
        return weigh_parts(
            self.parts, self.boards, chosen=chosen, wood=self.wood,
            lies=self.lies, done=self.done,
        )  # fmt: skip

    def need_notes(self, table: WeightTable) -> tuple[Note, ...]:
        """Return what the chosen boards do not give that parts ask for, and advice on grain cuts."""
        chosen = ((weight.part, weight.board) for weight in table.chosen)
        return need_notes(self.parts, self.boards, chosen, self.needs, wood=self.wood)

    def ledger(self, table: WeightTable) -> tuple[Ledger, tuple[Note, ...]]:
        """Return the ledger of the chosen boards with equipment and scale readings, and what has no place.

        A part without a station or without known wood is left out, and so is a reading that it was part of.
        """
        entries, notes = self._entries(table, self.seats, self.datum)
        return with_readings((*entries, *self.items), self._readings_of(entries)), notes

    def masses(self, table: WeightTable) -> Ledger:
        """Return the ledger of all parts for their masses alone: every station is zero, equipment is left out."""
        entries, _ = self._entries(table, {part.name: Seat(station_mm=0.0) for part in self.parts}, None)
        return with_readings(entries, (one for one in self._readings_of(entries) if MODEL not in one.parts))

    def _readings_of(self, entries: Iterable[Entry]) -> list[Reading]:
        """Return the readings whose parts all have entries; notes say of the other parts why they have none."""
        missing = {part.name for part in self.parts} - {entry.part for entry in entries}
        return [reading for reading in self.readings if not missing & set(reading.parts)]

    def _entries(
        self, table: WeightTable, seats: Mapping[str, Seat], datum: Datum | None
    ) -> tuple[tuple[Entry, ...], tuple[Note, ...]]:
        own, used_up = self._used_up(table)
        # Readings of single parts come to the ledger as readings, so that their differences are told.
        weights = tuple(replace(weight, weighed_g=None) for weight in (*table.weights, *own))
        return part_entries(
            replace(table, weights=weights), self.parts, (*self.boards, *used_up), seats=seats, datum=datum,
            build=self.build, wood=self.wood,
        )  # fmt: skip

    def _used_up(self, table: WeightTable) -> tuple[tuple[Weight, ...], tuple[Board, ...]]:
        """Return weights of the parts that a scale has read and no board can make any more, and boards as theirs were.

        Their wood takes the default density of its material; what the scale said then replaces it.
        """
        missing = self.read - {weight.part for weight in table.chosen}
        parts = [replace(part, board=None, boards=(), strip=None) for part in self.parts if part.name in missing]
        boards = tuple(
            Board(f"wood of {part.name}", part.material, part.thickness_mm, *part.outline.size_mm) for part in parts
        )
        return weigh_parts(parts, boards, wood=self.wood).weights, boards

    def part(self, name: str) -> Part:
        """Return the part of that name.

        Raises:
            JobError: There is none.
        """
        for part in self.parts:
            if part.name == name:
                return part
        raise JobError(f"there is no part {shown(name)}; parts: {listed(part.name for part in self.parts)}.")


def model_of(
    job: Job,
    trace: JobTrace,
    made: AllParts,
    boards: tuple[Board, ...],
    plans: dict[str, OpenPlan],
    weights: WeightTable,
    layout: Layout | None,
) -> Model:
    """Return everything that a job says of its model.

    Raises:
        SheetwoodError: A table that cannot be used.
    """
    parts = made.parts
    places = Places(job, plans, parts)
    pieces, wood = pieces_of(job.spec, parts), wood_of(job.spec)
    wires = wires_of(job.spec)
    loose = loose_pieces(job.spec, places, wires, wood)
    return Model(
        parts=parts,
        boards=boards,
        wood=wood,
        needs=needs_of_pieces(job.spec, parts),
        build=build_of(job.spec, pieces, made.seams),
        seats=places.seats(),
        datum=places.datum,
        items=(*places.items(), *loose.seated),
        homeless=loose.homeless,
        readings=_readings(job, parts, pieces),
        plan=places.plan(),
        layout=layout,
        weights=weights,
        notes=(*trace.notes, *(note.retold() for note in made.notes), *loose.notes),
        carvings=made.carvings,
        axes=_axes(job.spec, plans),
        budget=_budget(job.spec),
        named=places.named(),
        wires=wires,
        rules=rules_of(job),
        done=done_parts(job.spec, [part.name for part in parts]),
        read=read_parts(job.spec, [part.name for part in parts]),
    )


def wires_of(spec: JobSpec) -> tuple[BentWire, ...]:
    """Return the bent wire of a job.

    Raises:
        JobError: One that cannot be bent.
    """
    return tuple(BentWire(w.name, w.diameter, w.radius, w.points) for w in spec.wire)


def _budget(spec: JobSpec) -> BudgetPlan | None:
    table = spec.budget
    if table is None:
        return None
    groups = {group: mass for group in GROUPS if (mass := getattr(table, group, None)) is not None}
    return BudgetPlan(table.limit, table.target, groups)


def _axes(spec: JobSpec, plans: dict[str, OpenPlan]) -> dict[str, Axis]:
    by_name = {table.name: table for table in spec.part}
    return {name: frame_of(spec, plan_of(root_of(table, by_name), plans)).axis for name, table in by_name.items()}


def needs_of_pieces(spec: JobSpec, parts: Sequence[Part]) -> dict[str, Need]:
    """Return what each part, or each piece that steps made of it, asks of its board."""
    pieces = pieces_of(spec, parts)
    return {piece: need for name, need in needs_of(spec).items() for piece in pieces[name]}


def asked_notes(
    spec: JobSpec, parts: Sequence[Part], boards: Sequence[Board], weights: WeightTable
) -> tuple[Note, ...]:
    """Return what the chosen boards do not give that parts ask for, and advice on grain cuts."""
    chosen = ((weight.part, weight.board) for weight in weights.chosen)
    return need_notes(parts, boards, chosen, needs_of_pieces(spec, parts), wood=wood_of(spec))


def pieces_of(spec: JobSpec, parts: Sequence[Part]) -> dict[str, tuple[str, ...]]:
    """Return for each part of the job what is said of when it is named: itself, or the pieces it was divided into."""
    names = {table.name for table in spec.part}
    owners = [(part.name, owner_of(part.name, names)) for part in parts]
    return {name: tuple(piece for piece, owner in owners if owner == name) or (name,) for name in names}


def _all_pieces(names: Sequence[str], pieces: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(piece for name in names for piece in pieces.get(name, (name,)))


def build_of(spec: JobSpec, pieces: Mapping[str, tuple[str, ...]], seams: Sequence[Seam]) -> Build:
    """Return what is done to the wood once it is cut, by the `pieces` of each part of the job (`pieces_of`).

    Raises:
        JobError: A part that is not there, or that has two finishes.
    """
    coats = edited(COATS, ({k: v for k, v in _coat(c).items() if v is not None} for c in spec.coat), Coat)
    glues = edited(GLUES, ({k: v for k, v in _coat(g).items() if v is not None} for g in spec.glue), Glue)
    finishes: dict[str, Finish] = {}
    for table in spec.finish:
        for name in _all_pieces(known_parts(table.parts, pieces, "[[finish]]"), pieces):
            if name in finishes:
                raise JobError(f"part {name!r} has two entries of [[finish]]; keep one.")
            finishes[name] = Finish((*table.both, *table.top), (*table.both, *table.bottom), table.edges, table.sanding)
    joints = tuple(
        Joint(
            j.name,
            _all_pieces(known_parts(j.parts, pieces, f"[[joint]] {j.name!r}"), pieces),
            j.glue,
            j.length * j.width,
        )
        for j in spec.joint
    )
    owned = {piece: name for name, own in pieces.items() for piece in own}
    said = [frozenset(joint.parts) for joint in spec.joint]
    kept = tuple(seam for seam in seams if not _is_said({owned.get(p, p) for p in seam.parts}, said))
    return Build(finishes, joints, kept, coats, glues)


def _is_said(owners: set[str], joints: Sequence[frozenset[str]]) -> bool:
    """Return whether the job names the joint between these parts itself: all of them, or the one part alone."""
    return any(owners <= joint if len(owners) > 1 else owners == joint for joint in joints)


def _coat(table: object) -> dict[str, object]:
    return {
        "name": getattr(table, "name", None),
        "g_per_m2": getattr(table, "weight", None),
        "spread": getattr(table, "spread", None),
        "stage": getattr(table, "stage", None),
        "modulus_per_density": getattr(table, "stiffness_per_density", None),
    }


def _readings(job: Job, parts: Sequence[Part], pieces: Mapping[str, tuple[str, ...]]) -> tuple[Reading, ...]:
    """Return the readings of single parts first, then those of assemblies in the order of the job."""
    single = [
        Reading(
            (p.name,),
            Estimate.reading(p.weighed_g * p.copies, 0.1 * p.copies, f"reading of {p.name}"),
            _stage_of(p.weighed_as),
        )
        for p in parts
        if p.weighed_g is not None
    ]
    there = {part.name: part.copies for part in parts}
    divided = [
        Reading(
            pieces[t.name],
            Estimate.reading(t.weighed * copies, 0.1 * copies, f"reading of {t.name}"),
            _stage_of(t.weighed_as),
            is_joined=True,
        )
        for t in job.spec.part
        if t.weighed is not None and t.name not in there and (copies := there.get(pieces[t.name][0], 0))
    ]
    together = [
        Reading(
            _all_pieces(table.parts, pieces),
            Estimate.reading(table.mass, table.step, f"reading of {' + '.join(table.parts)}, {table.stage or 'cut'}"),
            table.stage,
            None if table.balance is None else Estimate.measured(table.balance, 0.5, f"balance of {table.parts[0]}"),
            is_joined=table.stage is None,
        )
        for table in job.spec.weighed
    ]
    return (*single, *divided, *together)


def _stage_of(weighed_as: WeighedAs | None) -> Stage | None:
    """Return the stage of the ledger at which a part was weighed."""
    stages: dict[WeighedAs, Stage] = {"sawn": "sawn", "carved": "cut", "finished": "painted"}
    return None if weighed_as is None else stages[weighed_as]
