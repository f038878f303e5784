"""What a job cuts from strip stock, and how: parts that strips are found for, pieces that are named, bent wire."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace

from nesting.job.given import Given
from nesting.job.schema import JobSpec
from nesting.job.stock_schema import StripTable
from nesting.job.wood import materials_of
from nesting.wood.bent_wire import STEEL_G_MM3, BentWire
from nesting.wood.board import Board
from nesting.wood.density import Wood, areal_density
from nesting.wood.estimate import Estimate
from nesting.wood.match import MATCH_MM, ROUNDING_MM
from nesting.wood.material import Material, is_same_material
from nesting.wood.part import Part
from nesting.wood.shopping import along_and_across
from nesting.wood.stock import StripPlan, StripStock
from nesting.wood.strip_cutting import StripPiece, cut_strips
from vectorize.basics.errors import JobError

SCALE_STEP_G = 0.1
"""A length is weighed on the scale that boards are weighed on, to this step."""
WIRE = "steel wire"
"""The material of strip stock that bent wire is cut from."""
SLENDER = 3.0
"""A part this many times as long as wide may come from strip stock (no source)."""
_PLANED_MM = 0.05
"""A part may be this much wider than its strip: a traced edge is no truer."""


def on_strips(given: Given, parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts, those that strip stock is found for with it: the smallest that holds them.

    What the job ties to boards, or pins on one, comes from there.

    Raises:
        JobError: A board of the rack has the name of a strip.
    """
    boards = {board.name.casefold() for board in given.rack.boards}
    ways = [(table, strip) for table in given.spec.strip for strip in _ways(table)]
    for table, strip in ways:
        if strip.name.casefold() in boards:
            raise JobError(
                f"strip {table.name!r} stands among boards as {strip.name!r}, and a board of the rack has that name; "
                "rename one."
            )
    return tuple(part if part.name in given.pinned else _on_strip(part, ways, given.spec) for part in parts)


def _on_strip(part: Part, ways: Sequence[tuple[StripTable, Board]], spec: JobSpec) -> Part:
    materials = materials_of(spec)
    fitting = [strip for table, strip in ways if _fits(part, table, strip, materials)]
    least = min(fitting, key=lambda strip: strip.thickness_mm * strip.width_mm, default=None)
    return part if least is None else replace(part, strip=least)


def _ways(table: StripTable) -> tuple[Board, ...]:
    """Return a strip as a board that lies flat and as one that stands on edge; nothing for what is round."""
    if table.thickness is None or table.width is None:
        return ()
    flat = Board(f"strip {table.name}", table.material, table.thickness, table.length, table.width, mass_g=table.mass)
    turned = replace(flat, name=f"{flat.name}, on edge", thickness_mm=table.width, width_mm=table.thickness)
    return flat, turned


def _fits(part: Part, table: StripTable, strip: Board, materials: Mapping[str, Material]) -> bool:
    """Return whether a part can be planed from a strip that lies so: of its wood, as thick, and wide enough."""
    if part.board is not None or part.boards:
        return False
    length, width = along_and_across(part)
    return (
        SLENDER * width <= length <= max(table.length, *table.offcuts, 0.0)
        and is_same_material(part.material, strip.material, materials)
        and abs(strip.thickness_mm - part.thickness_mm) <= MATCH_MM + ROUNDING_MM
        and width <= strip.width_mm + _PLANED_MM
    )


def piece_mass(table: StripTable, length_mm: float, *, wood: Wood) -> Estimate:
    """Return what a piece of strip stock weighs, in g: by what a whole length weighs, else by its material.

    Raises:
        JobError: The material is not known, and nobody said what a length weighs.
    """
    round_mm = table.diameter or 0.0
    section_mm2 = math.pi / 4 * round_mm**2 or (table.thickness or 0.0) * (table.width or 0.0)
    if table.mass is not None:
        return Estimate.reading(table.mass, SCALE_STEP_G, f"mass of {table.name}") * (length_mm / table.length)
    if table.material == WIRE:
        return Estimate(section_mm2 * length_mm * STEEL_G_MM3)
    thick_mm = table.thickness or round_mm
    strip = Board(f"strip {table.name}", table.material, thick_mm, table.length, section_mm2 / thick_mm)
    return areal_density(strip, wood=wood) * (length_mm * strip.width_mm)


def strip_plans(spec: JobSpec, parts: Sequence[Part], *, kerf_mm: float) -> Iterator[StripPlan]:
    """Give how the pieces of each strip stock but wire are cut: the parts that come from it, and those it names."""
    for table in spec.strip:
        mine = [part for part in parts if part.strip in _ways(table)]
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
