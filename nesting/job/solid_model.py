"""The model put together: every piece of wood as a solid body, at its place as far as the job tells it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from nesting.alter.doubler import Doubler
from nesting.alter.glued_outline import glued_outlines
from nesting.alter.resize import Foreshortened
from nesting.balance.stance import Stance, stance_of
from nesting.balance.station import Seat
from nesting.balance.weights import Weight
from nesting.carve.panel_mesh import EXACT, TO_LOOK_AT, Steps, panel_mesh
from nesting.job.body import Body
from nesting.job.built_parts import faces_of_doubler
from nesting.job.deriving import Carving, owner_of
from nesting.job.files import write_results
from nesting.job.folder import Job
from nesting.job.model_values import Model, pieces_of
from nesting.job.schema import JobSpec, PartTable
from nesting.job.set_apart import laid_beside, off_each_other
from nesting.patterns.write_glb import TO_GLTF, Solid, glb_bytes
from nesting.wood.board import Board
from nesting.wood.part import Part
from nesting.wood.tone import wood_tone
from vectorize.basics.notes import Note
from vectorize.shapes.mesh import Mesh, extruded
from vectorize.shapes.outline import FINE_MM, Outline

MODEL_FILE = "model.glb"
SEEN_MM = 0.05
"""How far chords may stand off a curve that is only looked at."""
_USUAL_KG_M3 = 130.0
"""The tone of wood that no board is chosen for."""


@dataclass(frozen=True, slots=True)
class SolidModel:
    """All bodies, those beside the model last, and what could only be assumed or is not known."""

    name: str
    bodies: tuple[Body, ...]
    notes: tuple[Note, ...]

    def glb(self) -> bytes:
        """Return the model as a binary glTF file."""
        said = {"model": self.name, "notes": [note.text for note in self.notes]}
        return glb_bytes([_solid(body) for body in self.bodies], title=self.name, extras=said)

    def as_json(self) -> dict[str, Any]:
        """Return the documented `model` output."""
        return {
            "bodies": [_told(body) | {"box_mm": _box(body.mesh)} for body in self.bodies],
            "mass_g": sum(body.mass_g or 0.0 for body in self.bodies),
            "notes": [note.as_json() for note in self.notes],
        }


def put_together(spec: JobSpec, model: Model, *, is_exact: bool = True) -> SolidModel:
    """Return the model of a job in three dimensions; without `is_exact` coarser, for looking at it."""
    shapes = _Shapes(spec, model, EXACT if is_exact else TO_LOOK_AT, FINE_MM if is_exact else SEEN_MM)
    placed: list[Body] = []
    lost: list[Body] = []
    for part in model.parts:
        seat = _seat_of(spec, model.seats, part)
        for copy in range(1, part.copies + 1):
            body = _body(spec, model, shapes, part, copy, seat)
            (lost if body.is_beside else placed).append(body)
    apart, moved = off_each_other(placed)
    notes = [
        *(_face_note(name, other) for name, other in moved),
        *(_beside_note(name, model) for name in _owners(spec, lost)),
    ]
    return SolidModel(spec.job.name, (*apart, *laid_beside(lost, apart)), tuple(notes))


def write_model(job: Job, together: SolidModel, *, is_forced: bool = False) -> tuple[Note, ...]:
    """Write `out/model.glb`; return a note if somebody edited it and it was kept.

    Raises:
        WriteError: `out/` cannot be written.
    """
    return write_results(job.out, {MODEL_FILE: together.glb()}, is_forced=is_forced).notes


class _Shapes:
    """The bodies of parts as they lie on their plans."""

    def __init__(self, spec: JobSpec, model: Model, steps: Steps, chord_mm: float) -> None:
        self.steps, self.chord_mm = steps, chord_mm
        self.carvings: dict[str, Carving] = {piece.name: one for one in model.carvings for piece in one.pieces}
        pieces = pieces_of(spec, model.parts).values()
        by_name = {part.name: part for part in model.parts}
        self.glued: dict[str, Outline] = {}
        for names in pieces:
            self.glued |= glued_outlines([by_name[name] for name in names if name in by_name])

    def of(self, part: Part, thickness_mm: float) -> Mesh:
        outline = self.glued.get(part.name, part.outline)
        carving = self.carvings.get(part.name)
        if carving is not None:
            return panel_mesh(carving.panel, outline, steps=self.steps)
        return extruded(outline, thickness_mm, tolerance_mm=self.chord_mm)


def _body(spec: JobSpec, model: Model, shapes: _Shapes, part: Part, copy: int, seat: Seat | None) -> Body:
    chosen, board = _chosen(model, part, copy)
    thickness = _thickness_mm(model, part, copy)
    stance = _stance(spec, model, part, copy, seat, thickness)
    flat = Stance(np.eye(3), np.zeros(3), is_flat=True) if stance is None else stance
    return Body(
        part=part,
        copy=copy,
        mesh=flat.placed(shapes.of(part, thickness)),
        grain=flat.direction(part.grain_deg),
        stance=flat,
        thickness_mm=thickness,
        board=None if chosen is None else chosen.board,
        mass_g=None if chosen is None else chosen.current.value,
        density_kg_m3=None if chosen is None or board is None else _density(part, chosen, board),
        is_beside=stance is None,
    )


def _chosen(model: Model, part: Part, copy: int) -> tuple[Weight | None, Board | None]:
    """Return what a copy weighs and its board, None where no board can make it."""
    chosen = next((w for w in model.weights.chosen if (w.part, w.copy) == (part.name, copy)), None)
    return chosen, None if chosen is None else next((b for b in model.woods if b.name == chosen.board), None)


def _thickness_mm(model: Model, part: Part, copy: int) -> float:
    """Return the thickness that a copy has: that of its board, or of the blank that it is carved from."""
    _, board = _chosen(model, part, copy)
    return part.carved_blank_mm or (part.thickness_mm if board is None else board.true_thickness_mm)


def _density(part: Part, chosen: Weight, board: Board) -> float:
    """Return what the wood of a piece weighs at its place on the board, in kg/m3."""
    return chosen.mass_g / (part.outline.area_mm2 * chosen.finished_share * board.true_thickness_mm) * 1e6


def _seat_of(spec: JobSpec, seats: Mapping[str, Seat], part: Part) -> Seat | None:
    """Return a part's own seat, or for a doubler without one that of the part it is glued to."""
    if part.name in seats:
        return seats[part.name]
    table = _table_of(spec, part)
    return seats.get(str(table.source)) if table is not None and _doubles(table) else None


def _table_of(spec: JobSpec, part: Part) -> PartTable | None:
    tables = {table.name: table for table in spec.part}
    return tables.get(owner_of(part.name, tables) or "")


def _doubles(table: PartTable) -> bool:
    return table.source is not None and any(isinstance(step, Doubler) for step in table.step)


def _stance(spec: JobSpec, model: Model, part: Part, copy: int, seat: Seat | None, thickness: float) -> Stance | None:
    if seat is None or model.datum is None:
        return None
    table = _table_of(spec, part)
    dihedral = 0.0 if table is None else _dihedral_deg(spec, table)
    stance = stance_of(part, copy, seat, model.datum, thickness_mm=thickness, dihedral_deg=dihedral)
    if stance is None or table is None or not _doubles(table) or stance.is_flat:
        return stance
    faces = faces_of_doubler(spec, table.name, part)
    # The left face is at the side of a negative lateral arm.
    way = -faces[(copy - 1) % len(faces)]
    sources = pieces_of(spec, model.parts).get(str(table.source), ())
    under = max((_thickness_mm(model, one, 1) for one in model.parts if one.name in sources), default=0.0)
    return stance.moved(np.array([0.0, way * (under + thickness) / 2, 0.0]))


def _dihedral_deg(spec: JobSpec, table: PartTable) -> float:
    """Return how far a panel is turned up, as the step says that brings it to its true length; 0 without one."""
    tables = {one.name: one for one in spec.part}
    while True:
        found = [step.dihedral_deg for step in table.step if isinstance(step, Foreshortened)]
        if found or table.source is None:
            return found[-1] if found else 0.0
        table = tables[table.source]


def _owners(spec: JobSpec, bodies: Sequence[Body]) -> list[str]:
    names = {table.name for table in spec.part}
    return list(dict.fromkeys(owner_of(body.part.name, names) or body.part.name for body in bodies))


def _face_note(name: str, other: str) -> Note:
    inside = "its own other copies" if name == other else other
    text = (
        f"part {name} would stand inside {inside}, so it is shown on a face; "
        "which face it is glued to, the job does not say."
    )
    return Note("shown-on-face", text, "fixed", name)


def _beside_note(name: str, model: Model) -> Note:
    seat = model.seats.get(name)
    if model.datum is None:
        why = "there is no datum on the side view; give [balance] datum, and seats to the parts"
    elif seat is not None:
        why = "only its station is known; seat it by a point of the side view to see it in place"
    else:
        why = "the job does not say where it sits; seat it by a point of it on the side view, or as it is drawn"
    return Note("shown-beside", f"part {name} lies beside the model: {why}.", "open", name)


def _box(mesh: Mesh) -> list[list[float]]:
    low, high = mesh.points.min(axis=0), mesh.points.max(axis=0)
    return [np.round(low, 3).tolist(), np.round(high, 3).tolist()]


def _told(body: Body) -> dict[str, Any]:
    """Return what is said of a body, units in the names."""
    return {
        "part": body.part.name,
        "copy": body.copy,
        "board": body.board,
        "material": body.part.material,
        "thickness_mm": round(body.thickness_mm, 4),
        "volume_mm3": round(body.mesh.volume_mm3, 3),
        "mass_g": None if body.mass_g is None else round(body.mass_g, 4),
        "density_kg_m3": None if body.density_kg_m3 is None else round(body.density_kg_m3, 3),
        "place": "beside the model" if body.is_beside else "in the model",
    }


def _solid(body: Body) -> Solid:
    grain = np.round(TO_GLTF @ body.grain, 6).tolist()
    colour = wood_tone(body.part.material, body.density_kg_m3 or _USUAL_KG_M3)
    return Solid(body.name, body.mesh, colour, {**_told(body), "grain": grain})
