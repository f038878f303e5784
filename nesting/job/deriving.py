"""From traced parts to all parts of a job: steps, parts made from parts, carved panels."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from nesting.alter.axis import direction_deg
from nesting.alter.evaluate import Derived, Recipe, evaluate
from nesting.alter.frame import PlanFrame
from nesting.alter.glued_outline import glued_outlines
from nesting.carve.girth import edge_area_mm2, face_areas_mm2
from nesting.carve.panel import CarvedPanel
from nesting.carve.planform import Planform
from nesting.carve.section.section_key import HighPointTable, section_of
from nesting.job.given import Given, section_files
from nesting.job.model_schema import DrillTable
from nesting.job.schema import PartTable
from nesting.job.step_tables import CarveTable
from nesting.job.wood import materials_of, needs_of, wood_of
from nesting.wood.drilling import thin_notes
from nesting.wood.glued_seams import Seam, carved_seam
from nesting.wood.needs import ANY, narrowed
from nesting.wood.part import FREE_GRAIN_DEG, Part, Surfaces
from vectorize.basics.errors import JobError, OutlineError, PartError, RackError
from vectorize.basics.notes import Note
from vectorize.basics.units import parse_angle
from vectorize.basics.wording import MOST_LISTED, clipped, listed
from vectorize.shapes.boolean import united
from vectorize.shapes.outline import Outline

FrameOf = Callable[[PartTable], PlanFrame]
"""The frame of the plan that a part is drawn on; only asked of parts that are drawn."""


@dataclass(frozen=True, slots=True)
class Carving:
    """A panel that is carved: the part's name, its solid, what the job asks of its guides, and its pieces."""

    name: str
    panel: CarvedPanel
    table: CarveTable
    pieces: tuple[Part, ...] = ()


@dataclass(frozen=True, slots=True)
class AllParts:
    """Every part of a job, what was said, the panels among them that are carved, and the joints that steps glue."""

    parts: tuple[Part, ...]
    notes: tuple[Note, ...]
    carvings: tuple[Carving, ...]
    seams: tuple[Seam, ...] = ()


def all_parts(given: Given, traced: Sequence[Part], frame_of: FrameOf) -> AllParts:
    """Return the job's parts after their steps, those made from others, and carved ones as they fly.

    A part that cannot be made or carved becomes an open note; the others are given.

    Raises:
        JobError: A source that is not there, or parts made from each other in a circle.
        RackError: A rack that is there and cannot be used.
    """
    by_name = {table.name: table for table in given.spec.part}
    frames = {name: frame_of(root_of(table, by_name)) for name, table in by_name.items() if _is_altered(table)}
    drawn = {part.name: part for part in traced}
    lost = [table for table in by_name.values() if table.source is None and table.name not in drawn]
    recipes, notes = _recipes(given, by_name, frames, {table.name for table in lost})
    # A hole is drilled without a rack; a step that cannot do without boards says so itself.
    boards = given.rack.at_hand() if any(recipe.steps for recipe in recipes) else ()
    derived = evaluate(drawn, recipes, boards=boards, materials=materials_of(given.spec), of_file=given.section)
    parts, carvings, said = _carved(given, derived, by_name, frames)
    read = _section_notes(given)
    return AllParts(parts, (*notes, *read, *derived.notes, *said), carvings, _seams(derived, parts))


def drilling_notes(given: Given, parts: Sequence[Part]) -> tuple[Note, ...]:
    """Return a warning for each part with too little wood beside a round hole, by the job's own measure of it."""
    return thin_notes(parts, least_mm=(given.spec.drill or DrillTable()).web)


def _section_notes(given: Given) -> list[Note]:
    """Return what was left out of the coordinate files that parts are made by, and added to them."""
    notes = []
    for table in given.spec.part:
        for file in section_files(table):
            try:
                remarks = given.section(file).notes
            except (PartError, JobError):
                continue  # told where the section is used
            notes += [replace(n, text=f"part {table.name}, {file}: {n.text}", part=table.name) for n in remarks]
    return notes


def _seams(derived: Derived, parts: Sequence[Part]) -> tuple[Seam, ...]:
    """Return the glued joints, with what carving leaves of those that run through the thickness."""
    sawn = {part.name: part.finished_share for part in derived.parts}
    shares = {part.name: part.finished_share / sawn[part.name] for part in parts}
    return tuple(carved_seam(seam, shares) for seam in derived.seams)


def _is_altered(table: PartTable) -> bool:
    return bool(table.source or table.step or table.carve)


def root_of(table: PartTable, by_name: Mapping[str, PartTable]) -> PartTable:
    """Return the drawn part that a part goes back to.

    Raises:
        JobError: There is none: the source is missing, or they go round in a circle.
    """
    seen = [table.name]
    while table.source is not None:
        if table.source not in by_name:
            names = listed(sorted(by_name))
            raise JobError(f"part {table.name!r} is made from {table.source!r}, which is not there; parts: {names}.")
        table = by_name[table.source]
        seen.append(table.name)
        if len(set(seen)) < len(seen):
            circle = " from ".join(repr(name) for name in seen)
            raise JobError(f"parts are made from each other in a circle: {clipped(circle, MOST_LISTED)}; break it.")
    return table


def _recipes(
    given: Given, by_name: Mapping[str, PartTable], frames: Mapping[str, PlanFrame], lost: set[str]
) -> tuple[list[Recipe], list[Note]]:
    """Return the recipes of all parts that are altered; those that hang on an outline that was lost are noted."""
    recipes: list[Recipe] = []
    notes: list[Note] = []
    for name, table in by_name.items():
        if not (table.source or table.step):
            continue
        root = root_of(table, by_name).name
        if root in lost:
            if table.source:
                notes.append(Note("not-made", f"part {name} is not made, because {root} is not.", "open", name))
            continue
        recipes.append(_recipe(given, table, frames[name]))
    return recipes, notes


def _recipe(given: Given, table: PartTable, frame: PlanFrame) -> Recipe:
    said = table.model_fields_set
    tolerance = FREE_GRAIN_DEG if table.grain_tolerance == "free" else float(table.grain_tolerance)
    return Recipe(
        name=table.name,
        source=table.source,
        steps=table.step,
        material=None if table.material is None else given.material(table.material),
        thickness_mm=table.thickness,
        grain_deg=_grain(table, frame) if table.source else None,
        grain_tolerance_deg=tolerance if "grain_tolerance" in said else None,
        count=table.count,
        hand=table.hand if "hand" in said else None,
        board=table.board,
        boards=table.boards,
        weighed_g=table.weighed,
        weighed_as=table.weighed_as,
        frame=frame,
    )


def _grain(table: PartTable, frame: PlanFrame) -> float | None:
    if table.grain is None:
        return None
    if isinstance(table.grain, str):
        return parse_angle(table.grain) % 180.0
    return direction_deg(*frame.line(table.grain)) % 180.0


def carved_part(part: Part, panel: CarvedPanel, *, glued: Outline | None = None) -> Part:
    """Return `part` as it flies: with the share of mass left, the centre of mass and the surfaces after carving.

    The part is the panel's blank or a piece of it (a plank, an edge strip), in its place on the plan; `glued` is its
    outline once it is trued and glued, where it is sawn larger.

    Raises:
        PartError: It lies outside the panel.
    """
    solid = panel.solid(glued or part.outline)
    x, y = panel.planform.to_plan(np.array([solid.centroid[:2]]))[0]
    trued = part.finished_share if glued is None else glued.area_mm2 / part.outline.area_mm2
    return replace(
        part,
        finished_share=min(1.0, trued * (1 - solid.removed_share)),
        finished_centroid=(float(x), float(y)),
        carved_blank_mm=panel.blank_thickness_mm,
        carved_surfaces=Surfaces(*face_areas_mm2(panel, part.outline), edge_area_mm2(panel, part.outline)),
    )


def _carved(
    given: Given, derived: Derived, by_name: Mapping[str, PartTable], frames: Mapping[str, PlanFrame]
) -> tuple[tuple[Part, ...], tuple[Carving, ...], tuple[Note, ...]]:
    parts = {part.name: part for part in derived.parts}
    carvings: list[Carving] = []
    notes: list[Note] = []
    for name, table in by_name.items():
        pieces = [parts[piece] for piece in derived.made.get(name, ())]
        if table.carve is None or not pieces:
            continue
        try:
            panel = _panel(given, name, pieces, table.carve, frames[name])
            glued = glued_outlines(pieces)
            carved = {piece.name: carved_part(piece, panel, glued=glued.get(piece.name)) for piece in pieces}
        except (PartError, OutlineError) as error:
            notes.append(Note("not-carved", f"part {name} is not carved: {error}", "open", name))
            continue
        parts |= carved
        carvings.append(Carving(name, panel, table.carve, tuple(carved.values())))
        left = sum(p.outline.area_mm2 * p.finished_share for p in carved.values())
        blank = sum(p.outline.area_mm2 for p in pieces)
        text = f"part {name}: carved to {panel.section.name}, {100 * left / blank:.1f} % of its blank flies."
        notes.append(Note("carved", text, "fixed", name))
    return tuple(parts.values()), tuple(carvings), tuple(notes)


def _panel(given: Given, name: str, pieces: Sequence[Part], table: CarveTable, frame: PlanFrame) -> CarvedPanel:
    whole = united(pieces[0].outline, *(piece.outline for piece in pieces[1:]))
    if len(whole) != 1:
        raise PartError(f"its {len(pieces)} pieces do not lie together as one panel on the plan.")
    planform = _planform(name, whole[0], table, frame)
    blank = pieces[0].thickness_mm
    is_plain = isinstance(table.section, HighPointTable)
    thickness = table.thickness or ((blank, blank) if is_plain else None)
    root_chord = float(planform.chord(np.array([planform.root_station]))[0])
    section = section_of(
        table.section,
        chord_mm=root_chord,
        thickness_mm=None if thickness is None else thickness[0],
        part=name,
        of_file=given.section,
    )
    trailing = table.section.trailing if isinstance(table.section, HighPointTable) else None
    return CarvedPanel(
        planform, blank, section, thickness_mm=thickness, trailing_mm=table.trailing or trailing, seat=table.seat
    )


def _planform(name: str, outline: Outline, table: CarveTable, frame: PlanFrame) -> Planform:
    """Return the outline with its directions: span from root to tip, aft away from the leading edge."""
    (x0, y0), (x1, y1) = frame.line(table.span)
    lx, ly = frame.point(table.leading)
    cross = (x1 - x0) * (ly - y0) - (y1 - y0) * (lx - x0)
    if abs(cross) < 1.0:
        raise JobError(
            f"part {name!r}, carve: the point 'leading' lies on the line 'span'; "
            "give one on the leading edge's side of it."
        )
    span = direction_deg((x0, y0), (x1, y1))
    return Planform(outline, span, span - 90.0 if cross > 0 else span + 90.0, root=(x0, y0))


def as_needed(given: Given, parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts, each tied to the boards that give what the job asks of it, if only some do."""
    needs = {name: need for name, need in needs_of(given.spec).items() if need.rules_boards_out}
    if not needs:
        return tuple(parts)
    try:
        boards = given.rack.needed()
    except RackError:
        return tuple(parts)  # told where the rack is used; without it a part is what it is
    names, wood = [table.name for table in given.spec.part], wood_of(given.spec)
    return tuple(
        narrowed(part, needs.get(owner_of(part.name, names) or part.name, ANY), boards, wood=wood) for part in parts
    )


def owner_of(piece: str, names: Collection[str]) -> str | None:
    """Return the part of the job that a piece belongs to: itself, or the longest name that its own begins with.

    Planks, lengths, strips and sides are named after their part: `wing plank 1` belongs to `wing`.
    """
    fitting = [name for name in names if piece == name or piece.startswith(f"{name} ")]
    return max(fitting, key=len, default=None)
