"""What a job cuts from strip stock, and how: parts that strips are found for, pieces that are named, bent wire."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from nesting.job.done_parts import done_parts
from nesting.job.schema import JobSpec
from nesting.job.stock_schema import StripTable
from nesting.job.wood import materials_of
from nesting.place.layout import Layout
from nesting.wood.bent_wire import BentWire
from nesting.wood.match import MATCH_MM, ROUNDING_MM
from nesting.wood.material import Material, is_same_material
from nesting.wood.part import Part
from nesting.wood.shopping import along_and_across
from nesting.wood.stock import StripPlan, StripStock
from nesting.wood.strip_cutting import StripPiece, cut_strips

WIRE = "steel wire"
"""The material of strip stock that bent wire is cut from."""
SLENDER = 3.0
"""A part this many times as long as wide may come from strip stock (no source)."""
_PLANED_MM = 0.05
"""A part may be this much wider than its strip: a traced edge is no truer."""


def parts_on_strips(spec: JobSpec, parts: Sequence[Part], layout: Layout | None) -> Mapping[str, StripTable]:
    """Return, by part, the strip stock that it is cut from: the smallest that holds it.

    What lies on a board of the layout comes from that board, and what is cut already from none.
    """
    if not spec.strip:
        return {}
    laid = {p.part for b in layout.boards for p in b.placements} if layout else set()
    away = laid | done_parts(spec, [part.name for part in parts])
    materials = materials_of(spec)
    found: dict[str, StripTable] = {}
    for part in parts:
        fitting = [table for table in spec.strip if _fits(part, table, materials)]
        if fitting and part.name not in away:
            found[part.name] = min(fitting, key=lambda s: (s.thickness or 0.0) * (s.width or 0.0))
    return found


def _fits(part: Part, strip: StripTable, materials: Mapping[str, Material]) -> bool:
    """Return whether a part can be planed from a strip, laid either way: of its wood, as thick, and wide enough."""
    if strip.thickness is None or strip.width is None or part.board is not None:
        return False
    length, width = along_and_across(part)
    ways = ((strip.thickness, strip.width), (strip.width, strip.thickness))
    return (
        SLENDER * width <= length <= max(strip.length, *strip.offcuts, 0.0)
        and is_same_material(part.material, strip.material, materials)
        and any(
            abs(thick - part.thickness_mm) <= MATCH_MM + ROUNDING_MM and width <= wide + _PLANED_MM
            for thick, wide in ways
        )
    )


def strip_plans(
    spec: JobSpec, parts: Sequence[Part], on_strips: Mapping[str, StripTable], *, kerf_mm: float
) -> Iterator[StripPlan]:
    """Give how the pieces of each strip stock but wire are cut; `on_strips` are the parts among them."""
    for table in spec.strip:
        mine = [part for part in parts if on_strips.get(part.name) == table]
        pieces = [StripPiece(part.name, along_and_across(part)[0], part.copies) for part in mine]
        if table.material != WIRE:
            yield from _plan(table, pieces, kerf_mm)


def wire_plans(spec: JobSpec, wires: Sequence[BentWire], *, kerf_mm: float) -> Iterator[StripPlan]:
    """Give how bent wire is cut from the wire that the job says is sold."""
    for table in spec.strip:
        pieces = [StripPiece(w.name, w.length_mm) for w in wires if is_wire_for(table, w)]
        if table.material == WIRE:
            yield from _plan(table, pieces, kerf_mm)


def is_wire_for(table: StripTable, wire: BentWire) -> bool:
    """Return whether a bent wire comes from that stock: wire of the same diameter."""
    is_wire = table.material == WIRE and table.diameter is not None
    return is_wire and abs((table.diameter or 0.0) - wire.diameter_mm) <= ROUNDING_MM


def _plan(table: StripTable, found: Collection[StripPiece], kerf_mm: float) -> Iterator[StripPlan]:
    pieces = (*found, *(StripPiece(p.name, p.length, p.count) for p in table.piece))
    if pieces:
        plan = cut_strips(pieces, new_mm=table.length, offcuts_mm=table.offcuts, at_hand=table.at_hand, kerf_mm=kerf_mm)
        yield StripPlan(StripStock(table.name, table.length, table.price), plan)
