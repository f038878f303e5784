"""What a model carries besides its parts and equipment: pieces of strip stock and bent wire, with their places."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from nesting.balance.ledger import Entry, entry
from nesting.job.model_schema import WireTable
from nesting.job.places import Places
from nesting.job.schema import JobSpec
from nesting.job.stock_schema import StripPieceTable
from nesting.job.strip_stock import piece_mass
from nesting.wood.bent_wire import BentWire
from nesting.wood.covering import Stage
from nesting.wood.density import Wood
from nesting.wood.estimate import Estimate
from vectorize.basics.errors import JobError
from vectorize.basics.notes import Note
from vectorize.basics.wording import listed


@dataclass(frozen=True, slots=True)
class LoosePieces:
    """Those that have a place, for the balance; those that have none and count in the budget alone; notes on both."""

    seated: tuple[Entry, ...] = ()
    homeless: tuple[Entry, ...] = ()
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True, slots=True)
class _Loose:
    """A piece as the job has it: what it weighs is worked out late, since its wood may be unknown.

    `aft_mm` and `right_mm` are its centre of mass from the place that the job gives.
    """

    table: StripPieceTable | WireTable
    kind: str
    stage: Stage
    mass: Callable[[], Estimate]
    aft_mm: float = 0.0
    right_mm: float = 0.0


def loose_pieces(spec: JobSpec, places: Places, wires: Sequence[BentWire], wood: Wood) -> LoosePieces:
    """Return the job's pieces of strip and its bent wire; what is equipment by the same name counts there alone.

    All pieces of one name are one mass.

    Raises:
        JobError: A place on the drawing, where there is no datum.
    """
    seated, homeless, notes = [], [], []
    equipment = {item.name for item in spec.balance.item}
    for one in (*_strips(spec, wood), *_wires(spec, wires)):
        name = one.table.name
        if name in equipment:
            continue
        has_place = one.table.station is not None or one.table.at is not None
        try:
            mass = one.mass()
        except JobError as error:
            is_asked = has_place or spec.budget is not None
            notes.append(Note("no-balance-entry", f"{name} is left out: {error}", "open" if is_asked else "fixed"))
            continue
        if not has_place:
            homeless.append(entry(name, mass, 0.0, stage=one.stage))
            continue
        at = places.station(f"{one.kind} {name!r}", one.table.station, one.table.at) + one.aft_mm
        seated.append(entry(name, mass, at, stage=one.stage, lateral=one.table.lateral + one.right_mm))
    without = [_without_place(homeless)] if homeless else []
    return LoosePieces(tuple(seated), tuple(homeless), (*notes, *without))


def _strips(spec: JobSpec, wood: Wood) -> Iterator[_Loose]:
    for strip in spec.strip:
        for piece in strip.piece:
            weigh = partial(piece_mass, strip, piece.length * piece.count, wood=wood)
            yield _Loose(piece, "piece of strip", "cut", weigh)


def _wires(spec: JobSpec, wires: Sequence[BentWire]) -> Iterator[_Loose]:
    for table, wire in zip(spec.wire, wires, strict=True):
        aft_mm, right_mm, _ = wire.centroid_mm
        yield _Loose(table, "wire", "fitted", partial(Estimate, wire.mass_g), aft_mm, right_mm)


def _without_place(pieces: Sequence[Entry]) -> Note:
    named = listed(f"{piece.part} ({piece.mass.value:.1f} g)" for piece in pieces)
    return Note(
        "no-station",
        f"without a place, so that the balance leaves them out: {named}; "
        "give each [[strip.piece]] and [[wire]] its station.",
    )
