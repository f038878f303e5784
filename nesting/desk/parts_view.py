"""How the parts of a job stand, as the JSON that the page shows. Nothing here reads a file or changes anything."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nesting.desk.outline_view import outline_view, rings_mm
from nesting.desk.plan_view import place_on_sheet
from nesting.desk.standing import PlanState, Standing
from nesting.desk.step_words import carve_in_words, step_in_words
from nesting.job.schema import JobSpec, PartTable
from nesting.wood.part import FREE_GRAIN_DEG, Part


def parts_view(
    spec: JobSpec, standing: Standing | None, *, placed: frozenset[str], tables: Mapping[str, Any] | None = None
) -> list[dict[str, Any]]:
    """Return every part of the job: what is asked, its outline where it is traced, and how it stands.

    Args:
        spec: What the job asks for.
        standing: What was made of it so far.
        placed: Names of the parts and pieces that lie on a board.
        tables: Each `[[part]]` as the builder wrote it, by name.
    """
    outlines = {stored.name: stored for stored in standing.outlines} if standing else {}
    made = {part.name: part for part in standing.parts} if standing else {}
    scales = {plan.name: plan.scale for plan in standing.plans} if standing else {}
    faults = standing.faults.by_part if standing else {}
    pieces = _pieces_of(spec, made)
    together = {name for reading in spec.weighed for name in reading.parts}
    views = []
    for number, table in enumerate(spec.part):
        stored = outlines.get(table.name)
        mine = {table.name, *pieces.get(table.name, ())}
        is_made = stored is not None or not mine.isdisjoint(made)
        on = next((p for p in standing.plans if p.name == table.plan), None) if standing else None
        if standing and on is None and len(standing.plans) == 1:
            on = standing.plans[0]
        view = _part_asked(number, table, on) | {
            "fault": faults.get(table.name),
            "state": _state(
                table, is_made=is_made, is_placed=not mine.isdisjoint(placed), is_weighed=not mine.isdisjoint(together)
            ),
            "pieces": pieces.get(table.name, []),
            "outline": None,
        }
        view |= made_view((tables or {}).get(table.name, {}))
        if stored is not None:
            view |= outline_view(stored, scales.get(stored.plan))
        if (part := made.get(table.name)) is not None:
            view |= _part_made(part)
        elif table.name in pieces:
            view |= _grain_made(made[pieces[table.name][0]])
        views.append(view)
    return views + [
        _piece(number, made[name], of, is_placed=name in placed)
        for number, (name, of) in enumerate(((n, of) for of, names in pieces.items() for n in names), len(views))
    ]


def carved_view(spec: JobSpec) -> list[dict[str, Any]]:
    """Return every panel that the job carves, with the ways to build it that it names."""
    return [
        {"part": table.name, "options": [option.name for option in spec.flex.option if option.part == table.name]}
        for table in spec.part
        if table.carve is not None
    ]


def _pieces_of(spec: JobSpec, made: Mapping[str, Part]) -> dict[str, list[str]]:
    """Return, for each part that its steps divide, the names of its pieces: planks, a left and a right one."""
    asked = [table.name for table in spec.part]
    pieces: dict[str, list[str]] = {}
    for name in made:
        owners = [owner for owner in asked if name.startswith(f"{owner} ")]
        if name not in asked and owners:
            pieces.setdefault(max(owners, key=len), []).append(name)
    return pieces


def _piece(number: int, part: Part, of: str, *, is_placed: bool) -> dict[str, Any]:
    """Return a piece that steps made of a part: shown and laid out like any other, but not asked for by itself."""
    # Its name was made of its part's, so it is not held to what a builder may write.
    asked = PartTable.model_construct(name=part.name, source=of, count=part.count, hand=part.hand, board=part.board)
    return (
        _part_asked(number, asked, None)
        | made_view({})
        | {
            "piece_of": of,
            "grain_tolerance": part.grain_tolerance_deg,
            "weighed_g": part.weighed_g,
            "fault": None,
            "state": "on a board" if is_placed else "traced",
            "pieces": [],
        }
        | _part_made(part)
    )


def _part_asked(number: int, table: PartTable, on: PlanState | None) -> dict[str, Any]:
    return {
        "number": number,
        "name": table.name,
        "piece_of": None,
        "plan": table.plan,
        "from": table.source,
        "pick": [place_on_sheet(point, on) for point in table.pick],
        "cutout": [place_on_sheet(point, on) for point in table.cutout],
        "fill": [place_on_sheet(point, on) for point in table.fill],
        "line": table.line,
        "mirror": None if table.mirror is None else [place_on_sheet(point, on) for point in table.mirror],
        "material": table.material,
        "thickness_mm": table.thickness,
        "grain": [place_on_sheet(point, on) for point in table.grain]
        if isinstance(table.grain, tuple)
        else table.grain,
        "grain_tolerance": table.grain_tolerance,
        "count": table.count,
        "hand": table.hand,
        "board": table.board,
        "weighed_g": table.weighed,
        "weighed_as": table.weighed_as,
        "is_cut": table.cut,
        "loaded": table.loaded,
        "use": table.use,
        "flat_mm": table.flat,
        "density_kg_m3": None if table.density is None else list(table.density),
        "least_stiffness_mpa": table.least_stiffness,
        "cuts": list(table.cuts),
        "boards": list(table.boards),
        "substitutes": [{"material": one.material, "thickness_mm": one.thickness} for one in table.substitutes],
        "marks": [
            {"kind": mark.kind, "at": [place_on_sheet(point, on) for point in mark.at], "text": mark.text}
            for mark in table.mark
        ],
    }


def _state(table: PartTable, *, is_made: bool, is_placed: bool, is_weighed: bool) -> str:
    if table.weighed is not None or is_weighed:
        return "weighed"
    if not is_made:
        return "not traced"
    if table.cut:
        return "cut"
    return "on a board" if is_placed else "traced"


def _part_made(part: Part) -> dict[str, Any]:
    """Return what is cut: for a part that was altered or made from another that is not what was traced."""
    return {
        "material": part.material,
        "thickness_mm": part.thickness_mm,
        "outline": rings_mm(part.outline),
        "area_mm2": part.outline.area_mm2,
        "size_mm": list(part.outline.size_mm),
        "copies": part.copies,
        "centroid_mm": list(part.centroid),
    } | _grain_made(part)


def _grain_made(part: Part) -> dict[str, Any]:
    return {
        "grain_deg": part.grain_deg,
        "is_grain_assumed": part.is_grain_assumed,
        "is_grain_free": part.grain_tolerance_deg >= FREE_GRAIN_DEG,
    }


def made_view(table: Mapping[str, Any]) -> dict[str, Any]:
    """Return how a part is made, from its table as the builder wrote it: each step and the carving, also in words."""
    carve = table.get("carve")
    return {
        "steps": [{"table": step, "text": step_in_words(step)} for step in table.get("step", [])],
        "carve": None if carve is None else {"table": carve, "text": carve_in_words(carve)},
    }
