"""The ledger of a job: every chosen piece of wood with its finish and glue, at its place, and the equipment."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache

from nesting.balance.ledger import Entry
from nesting.balance.station import Datum, Seat, Where, locate
from nesting.balance.weights import Weight, WeightTable
from nesting.wood.board import Board
from nesting.wood.covering import COATS, GLUES, Coat, Finish, Glue, Joint, Layer, Stage, finish_layers, joint_mass
from nesting.wood.density import USUAL, Wood, areal_density
from nesting.wood.estimate import Estimate
from nesting.wood.glued_seams import Seam
from nesting.wood.match import strips_of
from nesting.wood.part import Part
from vectorize.basics.errors import InputError
from vectorize.basics.notes import Note

DRAWN_STATION_SIGMA_MM = 0.5
"""How sure a station read from the drawing is, once built (standard deviation, common practice)."""


@dataclass(frozen=True, slots=True)
class Build:
    """What is done to the wood once it is cut: finish by part, glued joints, and the tables they refer to.

    `joints` are those that the job names, `seams` those that steps make, each at its own place on the plan.
    """

    finishes: Mapping[str, Finish] = field(default_factory=dict)
    joints: tuple[Joint, ...] = ()
    seams: tuple[Seam, ...] = ()
    coats: Mapping[str, Coat] = field(default_factory=lambda: COATS)
    glues: Mapping[str, Glue] = field(default_factory=lambda: GLUES)


BARE = Build()


def part_entries(
    table: WeightTable,
    parts: Sequence[Part],
    boards: Sequence[Board],
    *,
    seats: Mapping[str, Seat],
    datum: Datum | None = None,
    build: Build = BARE,
    wood: Wood = USUAL,
) -> tuple[tuple[Entry, ...], tuple[Note, ...]]:
    """Return an entry for each chosen piece, its finish and its glue, and a note for each that has no place.

    A piece without a seat is left out of the balance: its mass is known, its station is not.
    """
    by_name, board_by_name = {part.name: part for part in parts}, {b.name: b for b in (*boards, *strips_of(parts))}
    entries: list[Entry] = []
    notes = [_no_place(part) for part in parts if part.name not in seats]

    @cache
    def areal(board: str) -> Estimate:
        return areal_density(board_by_name[board], wood=wood)

    @cache
    def layers(name: str, board: str) -> Sequence[Layer]:
        finish, thickness_mm = build.finishes.get(name), board_by_name[board].true_thickness_mm
        if finish is None:
            return ()
        return finish_layers(by_name[name], finish, areal=areal(board), thickness_mm=thickness_mm, coats=build.coats)

    for weight in table.chosen:
        part = by_name[weight.part]
        if part.name not in seats:
            continue
        try:
            where = locate(part, weight.copy, seats[part.name], datum)
            areal(weight.board)  # refused where its board cannot be weighed
            entries += _piece(part, weight, where, layers)
        except InputError as error:
            notes.append(Note("no-balance-entry", str(error), "open", part.name))
    entries += [*_joints(build, entries), *_seams(build, entries, by_name, seats, datum)]
    return tuple(entries), tuple(notes)


def _no_place(part: Part) -> Note:
    text = (
        f"part {part.name} has no station, so the balance leaves it out; "
        "say where it sits: as it is drawn, by a point of it on the side view, or by its station."
    )
    return Note("no-station", text, "open", part.name)


def _piece(part: Part, weight: Weight, where: Where, layers: Callable[[str, str], Iterable[Layer]]) -> Iterable[Entry]:
    # Copies of a part go by the same drawing, so an error in its place is common to all of them.
    station = Estimate.measured(where.station_mm, DRAWN_STATION_SIGMA_MM, f"place of {part.name}")
    lateral = Estimate(where.lateral_mm)
    yield Entry(
        part.name,
        f"{part.name} {weight.copy}, wood",
        "cut",
        weight.current,
        station,
        lateral,
        sawn_share=weight.finished_share,
    )
    for layer in layers(part.name, weight.board):
        what = f"{part.name} {weight.copy}, {layer.what}"
        yield Entry(part.name, what, layer.stage, layer.mass, station, lateral)


def _joints(build: Build, entries: Sequence[Entry]) -> Iterable[Entry]:
    """Yield the glue of each joint, midway between the parts it joins."""
    places = {entry.part: entry for entry in reversed(entries)}
    for joint in build.joints:
        joined = [places[name] for name in joint.parts if name in places]
        if not joined:
            continue
        share = 1 / len(joined)
        station = sum((entry.station * share for entry in joined), Estimate(0.0))
        lateral = sum((entry.lateral * share for entry in joined), Estimate(0.0))
        mass = joint_mass(joint, glues=build.glues)
        first, *others = (entry.part for entry in joined)
        yield Entry(first, f"glue in {joint.name}", "glued", mass, station, lateral, also=tuple(others))


def _seams(
    build: Build, entries: Sequence[Entry], parts: Mapping[str, Part], seats: Mapping[str, Seat], datum: Datum | None
) -> Iterable[Entry]:
    """Yield the glue of each seam that steps make, at its own place, once for each copy of the part."""
    there = {entry.part for entry in entries}
    for seam in build.seams:
        first, *others = seam.parts
        if first not in there:
            continue
        part = parts[first]
        joint = Joint(seam.name, seam.parts, seam.glue, seam.area_mm2 * seam.left_share)
        stage: Stage = "glued" if seam.is_whole_face else "joined"
        for copy in range(1, part.copies + 1):
            where = locate(replace(part, finished_centroid=seam.at), copy, seats[first], datum)
            station = Estimate.measured(where.station_mm, DRAWN_STATION_SIGMA_MM, f"place of {first}")
            yield Entry(
                first, f"glue in {seam.name}", stage, joint_mass(joint, glues=build.glues), station,
                Estimate(where.lateral_mm), also=tuple(others), sawn_share=seam.left_share,
            )  # fmt: skip
