"""How a job stands, as the JSON that the page shows. Nothing here reads a file or changes anything."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from nesting.board import Board
from nesting.density import board_density
from nesting.desk.standing import PlanState, Standing
from nesting.desk.step_words import carve_in_words, step_in_words
from nesting.job.quantity import Pixel
from nesting.job.schema import JobSpec, PartTable, PlanTable
from nesting.job.store import StoredOutline
from nesting.part import FREE_GRAIN_DEG, Part
from nesting.weigh import WeightTable
from vectorize.errors import SheetwoodError
from vectorize.lens import Lens
from vectorize.notes import Note
from vectorize.outline import Outline
from vectorize.scale import PlanScale
from vectorize.scan import PageInfo
from vectorize.trace import Trace
from vectorize.units import format_density, format_length, format_mass

CHORD_MM = 0.03
"""Finer than a screen shows at any zoom that is of use; what is cut is never made from these points."""

_LENS_STEPS = 100
"""Steps along a page of a photo that a lens bent: between two, no line bows by a pixel."""


def plans_view(spec: JobSpec, standing: Standing | None) -> list[dict[str, Any]]:
    """Return every plan with its known dimensions, scale and what was said of it."""
    known = {plan.name: plan for plan in standing.plans} if standing else {}
    return [_plan(number, table, known.get(table.name)) for number, table in enumerate(spec.plan)]


def _plan(number: int, table: PlanTable, state: PlanState | None) -> dict[str, Any]:
    scale = state.scale if state else None
    residuals = scale.residuals if scale else ()
    dimensions = [
        {
            "from": _place(known.start, state),
            "to": _place(known.end, state),
            "length_mm": known.length,
            "residual_mm": round(residuals[i].error_mm, 4) if i < len(residuals) else None,
        }
        for i, known in enumerate(table.known)
    ]
    return {
        "number": number,
        "name": table.name,
        "file": table.file or ", ".join(table.files),
        "page": table.page,
        "edge": table.edge,
        "size": table.size,
        "axes": table.axes,
        "gap_mm": table.gap,
        "layers": None if table.layers is None else list(table.layers),
        "sheet": table.sheet,
        "corners": None if table.corners is None else [list(corner) for corner in table.corners],
        "bridges": [{"from": _place(bridge.start, state), "to": _place(bridge.end, state)} for bridge in table.bridge],
        "is_drawing": state.is_drawing if state else False,
        "pages": [_page(info) for info in state.pages] if state else [],
        "known": dimensions,
        "scale": scale_view(scale),
        "notes": [note.as_json() for note in state.notes] if state else [],
        "fault": state.fault if state else None,
    }


def _place(pixel: Pixel, state: PlanState | None) -> list[float]:
    """Return a point of a plan's files on the sheet as the page shows it."""
    return list(state.places.get(pixel, pixel[:2]) if state else pixel[:2])


def _page(info: PageInfo) -> dict[str, Any]:
    return {
        "number": info.number,
        "kind": info.kind,
        "width": info.width,
        "height": info.height,
        "size_mm": None if info.size_mm is None else list(info.size_mm),
        "layers": list(info.layers),
    }


def scale_view(scale: PlanScale | None) -> dict[str, Any] | None:
    """Return a plan scale: its factors, its page, its doubt, and the map from pixels to millimetres."""
    if scale is None:
        return None
    return {
        "mm_per_px": list(scale.mm_per_px),
        "skew_deg": scale.skew_deg,
        "page_mm": list(scale.page_mm),
        "sigma": scale.sigma,
        "is_true_size": scale.is_true_size,
        "matrix": scale.matrix.tolist(),
        "lens": _lens(scale.lens),
    }


def _lens(lens: Lens | None) -> dict[str, Any] | None:
    """Return the bulge that the page takes out before, and puts in after, the matrix."""
    if lens is None:
        return None
    return {"strength": lens.strength, "centre": list(lens.centre), "reach_px": lens.reach_px}


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
    return {
        "number": number,
        "name": part.name,
        "piece_of": of,
        "from": of,
        "plan": None,
        "pick": [],
        "cutout": [],
        "grain": None,
        "grain_tolerance": part.grain_tolerance_deg,
        "count": part.count,
        "hand": part.hand,
        "board": part.board,
        "weighed_g": part.weighed_g,
        "fault": None,
        "state": "on a board" if is_placed else "traced",
    } | _part_made(part)


def _part_asked(number: int, table: PartTable, on: PlanState | None) -> dict[str, Any]:
    return {
        "number": number,
        "name": table.name,
        "plan": table.plan,
        "from": table.source,
        "pick": [_place(point, on) for point in table.pick],
        "cutout": [_place(point, on) for point in table.cutout],
        "material": table.material,
        "thickness_mm": table.thickness,
        "grain": [_place(point, on) for point in table.grain] if isinstance(table.grain, tuple) else table.grain,
        "grain_tolerance": table.grain_tolerance,
        "count": table.count,
        "hand": table.hand,
        "board": table.board,
        "weighed_g": table.weighed,
        "is_cut": table.cut,
    }


def _state(table: PartTable, *, is_made: bool, is_placed: bool, is_weighed: bool) -> str:
    if table.weighed is not None or is_weighed:
        return "weighed"
    if not is_made:
        return "not traced"
    if table.cut:
        return "cut"
    return "on a board" if is_placed else "traced"


def outline_view(stored: StoredOutline, scale: PlanScale | None) -> dict[str, Any]:
    """Return an outline in millimetres and, where there is a scale, in pixels of its plan."""
    outline = stored.outline
    return {
        "outline": rings_mm(outline),
        "shape": outline.as_json(),
        "outline_px": _rings_px(outline, scale),
        "area_mm2": outline.area_mm2,
        "perimeter_mm": outline.perimeter_mm,
        "size_mm": list(outline.size_mm),
        "centroid_mm": list(outline.centroid),
        "sigma_edge_mm": stored.traced.sigma_edge_mm,
        "sigma_area_mm2": stored.traced.sigma_area_mm2,
        "pen_width_mm": stored.pen_width_mm,
        "is_corrected": any(note.code == "corrected" for note in stored.notes),
        "notes": [note.as_json() for note in stored.notes],
    }


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


def rings_mm(outline: Outline) -> list[list[list[float]]]:
    """Return the exterior and then the cut-outs as points in millimetres."""
    return [[[round(x, 3), round(y, 3)] for x, y in ring.flattened(CHORD_MM).tolist()] for ring in outline.rings]


def _rings_px(outline: Outline, scale: PlanScale | None) -> list[list[list[float]]] | None:
    if scale is None:
        return None
    most_mm = math.inf if scale.lens is None else max(scale.page_mm) / _LENS_STEPS
    rings = [scale.to_px(_spaced(ring.flattened(CHORD_MM), most_mm)) for ring in outline.rings]
    return [[[round(x, 2), round(y, 2)] for x, y in ring.tolist()] for ring in rings]


def _spaced(ring_mm: NDArray[np.float64], most_mm: float) -> NDArray[np.float64]:
    """Return a closed ring with no point farther than `most_mm` from the next: a lens bends the lines between."""
    steps = np.roll(ring_mm, -1, axis=0) - ring_mm
    counts = np.maximum(1, np.ceil(np.hypot(*steps.T) / most_mm)).astype(int)
    return np.vstack(
        [
            start + step * (np.arange(n) / n)[:, None]
            for start, step, n in zip(ring_mm, steps, counts.tolist(), strict=True)
        ]
    )


def regions_view(trace: Trace, scale: PlanScale) -> list[dict[str, Any]]:
    """Return the closed shapes of a plan, in pixels, with their sizes."""
    return [
        {
            "name": part.name,
            "at": [round(value, 1) for value in part.inside_px],
            "outline_px": _rings_px(part.outline, scale),
            "size_mm": [round(value, 2) for value in part.outline.size_mm],
            "area_mm2": round(part.outline.area_mm2, 2),
            "perimeter_mm": round(part.outline.perimeter_mm, 2),
        }
        for part in trace.parts
    ]


def boards_view(boards: Sequence[Board], *, units: str) -> list[dict[str, Any]]:
    """Return the rack, each board with its density and doubt."""
    return [_board(number, board, units) for number, board in enumerate(boards)]


def _board(number: int, board: Board, units: str) -> dict[str, Any]:
    view: dict[str, Any] = {
        "number": number,
        "name": board.name,
        "material": board.material,
        "thickness_mm": board.thickness_mm,
        "measured_thickness_mm": board.measured_thickness_mm,
        "length_mm": board.length_mm,
        "width_mm": board.width_mm,
        "mass_g": board.known_mass_g,
        "cut": board.cut,
        "bow_mm": board.bow_mm,
        "grain_deg": board.grain_deg,
        "notes": board.notes,
        "outline": rings_mm(board.shape),
        "is_offcut": board.outline is not None,
        "blemishes": [
            {"outline": rings_mm(flaw.outline)[0], "is_soft": flaw.is_soft, "text": flaw.text}
            for flaw in board.blemishes
        ],
        "size_text": f"{board.length_mm:.0f} × {board.width_mm:.0f} mm",
        "thickness_text": format_length(board.thickness_mm, units=units),
        "mass_text": None if board.known_mass_g is None else format_mass(board.known_mass_g, units=units),
    }
    try:
        density = board_density(board)
    except SheetwoodError as error:
        return view | {"density_kg_m3": None, "sigma_kg_m3": None, "density_text": None, "fault": str(error)}
    return view | {
        "density_kg_m3": density.value,
        "sigma_kg_m3": density.sigma,
        "density_text": format_density(density.value, units=units),
        "fault": None,
    }


def weights_view(table: WeightTable | None, boards: Sequence[Board]) -> dict[str, Any] | None:
    """Return what every copy weighs from every board, the total, and the total from each chosen board."""
    if table is None:
        return None
    used = sorted({weight.board for weight in table.chosen})
    return table.as_json() | {
        "by_board": [
            {"board": board.name, "mass_g": total.value, "sigma_g": total.sigma}
            for board in boards
            if board.name in used
            for total in (table.total(board.name),)
        ]
    }


def notes_view(notes: Iterable[Note]) -> list[dict[str, Any]]:
    """Return notes, open ones first, each once."""
    seen: dict[tuple[Any, ...], Note] = {}
    for note in notes:
        seen.setdefault((note.code, note.part, note.text), note)
    return [note.as_json() for note in sorted(seen.values(), key=lambda note: note.state == "fixed")]
