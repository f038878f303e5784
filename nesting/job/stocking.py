"""The stock list of a job: its boards, strips, wire, covering, paint and glue, with waste and cost."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

from nesting.balance.entries import Build
from nesting.balance.weights import WeightTable
from nesting.job.done_parts import done_parts
from nesting.job.model_values import build_of, pieces_of, wires_of
from nesting.job.schema import JobSpec
from nesting.job.strip_stock import WIRE, is_wire_for, strip_plans, wire_plans
from nesting.job.wood import materials_of
from nesting.place.layout import Layout
from nesting.wood.bent_wire import BentWire
from nesting.wood.board import Board
from nesting.wood.covering import Coat, Joint, coated, joint_mass, known_stuff
from nesting.wood.glued_seams import Seam
from nesting.wood.match import MATCH_MM, ROUNDING_MM, matching_boards, strips_of
from nesting.wood.material import canonical_name, is_same_material
from nesting.wood.part import Part
from nesting.wood.shopping import FILL, Wanted
from nesting.wood.stock import Pack, StockLine, StockList, StripPlan, packed_line, strip_line
from nesting.wood.strip_cutting import StripPiece
from vectorize.basics.errors import JobError
from vectorize.basics.notes import Note
from vectorize.basics.units import measure
from vectorize.basics.wording import listed

_SPREAD_ON = frozenset({"resin", "filler"})
"""Coats that go on with the covering and are poured or spread all the same."""


@dataclass(frozen=True, slots=True)
class Takes:
    """What a stock list is made from: the job with its parts, glued seams, rack, layout, missing boards and weights."""

    spec: JobSpec
    kerf_mm: float
    parts: tuple[Part, ...]
    seams: tuple[Seam, ...]
    boards: tuple[Board, ...]
    layout: Layout | None
    wanted: tuple[Wanted, ...]
    weights: WeightTable

    @property
    def units(self) -> str:
        """Return the system that the job is shown in."""
        return self.spec.job.units

    @property
    def build(self) -> Build:
        """Return the finishes and glued joints."""
        return build_of(self.spec, pieces_of(self.spec, self.parts), self.seams)

    @property
    def to_cut(self) -> tuple[Part, ...]:
        """Return the parts that are not cut yet."""
        done = done_parts(self.spec, [part.name for part in self.parts])
        return tuple(part for part in self.parts if part.name not in done)

    def thickness_mm(self, part: Part) -> float:
        """Return how thick a part is on the board that was chosen for it, as measured; as drawn where none is."""
        chosen = {weight.board for weight in self.weights.of(part.name) if weight.is_chosen}
        woods = (*self.boards, *strips_of([part]))
        return next((wood.true_thickness_mm for wood in woods if wood.name in chosen), part.thickness_mm)


def stock_list(takes: Takes) -> tuple[StockList, tuple[Note, ...]]:
    """Return all that the job takes, and an open note for each piece that no length of its strip holds.

    Raises:
        JobError: A coat, glue or part that is not there, wire that cannot be bent, a pack of what is not in the tables.
    """
    spec = takes.spec
    wires = wires_of(spec)
    strips = tuple(strip_plans(spec, takes.to_cut, kerf_mm=takes.kerf_mm))
    drawn = tuple(wire_plans(spec, wires, kerf_mm=takes.kerf_mm))
    build, packs = takes.build, _packs(takes)
    lines = (
        *_boards(takes),
        *(strip_line(plan) for plan in strips),
        *(strip_line(plan, "wire") for plan in drawn),
        *_loose_wire(takes, wires),
        *_coats(takes, build, packs),
        *_glues(takes, build, packs),
    )
    plans = (*strips, *drawn)
    notes = tuple(_too_long(plan, piece) for plan in plans for piece in plan.plan.left_out)
    return StockList(lines, plans, spec.stock.currency), notes


def _too_long(plan: StripPlan, piece: StripPiece) -> Note:
    text = (
        f"strip {plan.stock.name}: {piece.name} is {piece.length_mm:.1f} mm long, and no length of that strip holds "
        "it; scarf it, or take longer strip."
    )
    return Note("strip-too-short", text, "open")


def _packs(takes: Takes) -> Mapping[str, Pack]:
    """Return what each coat and glue is sold in.

    Raises:
        JobError: A pack of what is neither.
    """
    known = [*takes.build.coats, *takes.build.glues]
    for table in takes.spec.pack:
        if table.of not in known:
            near = get_close_matches(table.of, known, n=1)
            hint = f"did you mean {near[0]!r}?" if near else f"known are {listed(known)}."
            raise JobError(f"[[pack]] of {table.of!r}: there is no such coat or glue; {hint}")
    return {
        t.of: Pack((t.length or 0.0) * (t.width or 0.0) if t.mass is None else t.mass, t.price, t.solids)
        for t in takes.spec.pack
    }


def _boards(takes: Takes) -> Iterator[StockLine]:
    """Give the boards of the layout, without one what parts take by area; and those that are missing."""
    boards = {board.name: board for board in takes.boards}
    for laid in takes.layout.boards if takes.layout else ():
        yield StockLine(
            "board", f"board {laid.board}", laid.used_fraction, "pieces", 1 - laid.used_fraction, 1.0,
            tuple(dict.fromkeys(p.part for p in laid.placements)), packs=0, cost=boards[laid.board].price,
        )  # fmt: skip
    if takes.layout is None:
        missing = {name for line in takes.wanted for name in line.parts}
        on_boards = [part for part in takes.to_cut if part.strip is None and part.name not in missing]
        yield from _by_area(on_boards, takes)
    for line in takes.wanted:
        yield _to_buy(line, takes)


def _by_area(parts: Iterable[Part], takes: Takes) -> Iterator[StockLine]:
    """Give the area that parts of each wood and thickness take while nobody has laid them on boards."""
    materials = materials_of(takes.spec)
    groups: dict[tuple[str, float], list[Part]] = {}
    for part in parts:
        groups.setdefault((canonical_name(part.material, materials), part.thickness_mm), []).append(part)
    for (material, thickness), group in sorted(groups.items()):
        needed = sum(part.outline.area_mm2 * part.copies for part in group)
        like = matching_boards(replace(group[0], board=None), takes.boards, materials=materials)[0]
        yield StockLine(
            "board", f"{material} {measure(thickness, 'length', units=takes.units)}, not laid out yet", needed, "mm2",
            1 - FILL, needed / FILL, tuple(part.name for part in group), cost=_cost(needed / FILL, like),
        )  # fmt: skip


def _to_buy(line: Wanted, takes: Takes) -> StockLine:
    needed = sum(p.outline.area_mm2 * p.copies for p in takes.parts if p.name in line.parts)
    area, materials = line.boards * line.length_mm * line.width_mm, materials_of(takes.spec)
    like = (
        board for board in takes.boards
        if is_same_material(board.material, line.material, materials)
        and abs(board.thickness_mm - line.thickness_mm) <= MATCH_MM + ROUNDING_MM
    )  # fmt: skip
    what = f"{line.material} {measure(line.thickness_mm, 'length', units=takes.units)}, to buy"
    return StockLine(
        "board", what, needed, "mm2", max(0.0, 1 - needed / area), area, line.parts, packs=line.boards,
        cost=_cost(area, like), problem=line.problem,
    )  # fmt: skip


def _cost(area_mm2: float, like: Iterable[Board]) -> float | None:
    """Return what an area of wood costs by the least price per area among boards like it; None without a price."""
    prices = [board.price / board.shape.area_mm2 for board in like if board.price is not None]
    return area_mm2 * min(prices) if prices else None


def _loose_wire(takes: Takes, wires: Sequence[BentWire]) -> Iterator[StockLine]:
    """Give what is needed of wire of each diameter that no strip stock says how it is sold."""
    spec = takes.spec
    loose = [wire for wire in wires if not any(is_wire_for(table, wire) for table in spec.strip)]
    for diameter in sorted({wire.diameter_mm for wire in loose}):
        mine = [wire for wire in loose if wire.diameter_mm == diameter]
        length, waste = sum(wire.length_mm for wire in mine), spec.stock.wire
        what = f"{WIRE} {measure(diameter, 'length', units=takes.units)}"
        yield StockLine(
            "wire", what, length, "mm", waste, length / (1 - waste), tuple(wire.name for wire in mine)
        )  # fmt: skip


def _coats(takes: Takes, build: Build, packs: Mapping[str, Pack]) -> Iterator[StockLine]:
    """Give each coat with the area that it goes on: as its parts are weighed."""
    on: dict[str, list[tuple[str, float]]] = {}
    for part in takes.parts:
        finish = build.finishes.get(part.name)
        if finish is None:
            continue
        for coats, area, _ in coated(part, finish, thickness_mm=takes.thickness_mm(part)):
            for name in coats:
                on.setdefault(name, []).append((part.name, area * part.copies))
    for name, faces in on.items():
        coat = known_stuff(name, build.coats, "[[finish]]: coat")
        area = sum(area for _, area in faces)
        yield _coat_line(takes, coat, area, tuple(dict.fromkeys(part for part, _ in faces)), packs.get(name))


def _coat_line(takes: Takes, coat: Coat, area_mm2: float, parts: Sequence[str], pack: Pack | None) -> StockLine:
    table = takes.spec.stock
    is_poured = coat.name in _SPREAD_ON or any(t.of == coat.name and t.mass is not None for t in takes.spec.pack)
    is_sheet = coat.stage == "covered" and not is_poured
    return packed_line(
        "covering" if is_sheet else "paint", coat.name, area_mm2=area_mm2, dry_g=coat.g_per_m2 * area_mm2 * 1e-6,
        waste=table.covering if is_sheet else table.paint, parts=parts, pack=pack,
    )  # fmt: skip


def _glues(takes: Takes, build: Build, packs: Mapping[str, Pack]) -> Iterator[StockLine]:
    """Give each glue with what the joints of the job, and the seams of its steps as they are sawn, take."""
    copies = {part.name: part.copies for part in takes.parts}
    joints = [(joint, 1) for joint in build.joints]
    joints += [
        (Joint(seam.name, seam.parts, seam.glue, seam.area_mm2), copies[seam.parts[0]])
        for seam in build.seams
        if seam.parts[0] in copies
    ]
    for glue in dict.fromkeys(joint.glue for joint, _ in joints):
        mine = [(joint, count) for joint, count in joints if joint.glue == glue]
        yield packed_line(
            "glue", glue, area_mm2=sum(joint.area_mm2 * count for joint, count in mine),
            dry_g=sum(joint_mass(joint, glues=build.glues).value * count for joint, count in mine),
            waste=takes.spec.stock.glue, parts=tuple(dict.fromkeys(joint.name for joint, _ in mine)),
            pack=packs.get(glue),
        )  # fmt: skip
