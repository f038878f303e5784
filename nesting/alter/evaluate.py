"""Make all parts: run each part's steps in order, and the parts in the order in which they depend on each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from graphlib import CycleError, TopologicalSorter

from shapely.errors import GEOSException

from nesting.alter.frame import PlanFrame
from nesting.alter.step import Setting, Step
from nesting.carve.section.section_key import SectionOfFile, no_files
from nesting.wood.board import Board
from nesting.wood.glued_seams import Seam, settled
from nesting.wood.material import MATERIALS, Material
from nesting.wood.part import Hand, Part
from nesting.wood.scale_reading import WeighedAs
from vectorize.basics.errors import JobError, OutlineError, PartError
from vectorize.basics.notes import Note
from vectorize.basics.wording import listed
from vectorize.shapes.outline import check_outline


@dataclass(frozen=True, slots=True)
class Recipe:
    """How a part is made: from which part, with what changed, by which steps in order.

    Without `source` the steps stand on the traced part of the same name. What is None is taken over from
    the source; the count is not (a doubler of a fuselage is one, however many fuselages there are).
    Places are read and stations counted in `frame`, by default from the plan's origin, aft along x.
    """

    name: str
    source: str | None = None
    steps: tuple[Step, ...] = ()
    material: str | None = None
    thickness_mm: float | None = None
    grain_deg: float | None = None
    grain_tolerance_deg: float | None = None
    count: int = 1
    hand: Hand | None = None
    board: str | None = None
    boards: tuple[str, ...] = ()
    weighed_g: float | None = None
    weighed_as: WeighedAs | None = None
    frame: PlanFrame = field(default_factory=PlanFrame)

    @property
    def needs(self) -> tuple[str, ...]:
        """Return the names of all parts that must be made before."""
        source = () if self.source is None else (self.source,)
        return (*source, *(name for step in self.steps for name in step.needs))

    def begun(self, source: Part) -> Part:
        """Return the source under this recipe's name, with what it changes."""
        changes: dict[str, object] = {
            "material": self.material,
            "thickness_mm": self.thickness_mm,
            "grain_deg": self.grain_deg,
            "grain_tolerance_deg": self.grain_tolerance_deg,
            "hand": self.hand,
        }
        given = {key: value for key, value in changes.items() if value is not None}
        is_grain_assumed = source.is_grain_assumed and self.grain_deg is None
        return replace(
            source,
            name=self.name,
            count=self.count,
            board=self.board,
            boards=self.boards,
            weighed_g=self.weighed_g,
            weighed_as=self.weighed_as,
            is_grain_assumed=is_grain_assumed,
            **given,  # type: ignore[arg-type]
        )


@dataclass(frozen=True, slots=True)
class Derived:
    """All parts after their steps, in the order given (a part that became several, in its place), and notes.

    `made` has the names of the pieces that each part has become; `failed` names those that could not be made.
    """

    parts: tuple[Part, ...]
    notes: tuple[Note, ...]
    made: Mapping[str, tuple[str, ...]]
    failed: tuple[str, ...] = ()
    seams: tuple[Seam, ...] = ()


def evaluate(
    parts: Mapping[str, Part],
    recipes: Sequence[Recipe],
    *,
    boards: Sequence[Board] = (),
    materials: Mapping[str, Material] = MATERIALS,
    of_file: SectionOfFile = no_files,
) -> Derived:
    """Return every part of a job: traced ones, altered ones, and those made from others.

    A part whose step cannot be done gets an open note with the reason and is left out, with those
    made from it; the others are made all the same.

    Args:
        parts: The traced parts by name.
        recipes: What is altered or made, in the job's order.
        boards: The rack, for measured thicknesses and board sizes.
        materials: The kinds of wood, by name, that tell which boards are of a part's material.
        of_file: Gives the section of a coordinate file in the job folder.

    Raises:
        PartError: A step that cannot be from its numbers alone.
        JobError: A source that does not exist, a name made twice, or parts that are made from each other in a circle.
    """
    shared = Setting(boards=tuple(boards), materials=materials, of_file=of_file)
    _check_steps(recipes, shared)
    by_name = _checked(parts, recipes)
    made: dict[str, tuple[Part, ...]] = {name: (part,) for name, part in parts.items() if name not in by_name}
    known = {name: part for name, (part,) in made.items()}
    notes: list[Note] = []
    seams: list[Seam] = []
    failed: list[str] = []
    for name in _order(by_name):
        recipe = by_name[name]
        lost = [need for need in recipe.needs if need in failed]
        if lost:
            failed.append(name)
            notes.append(Note("not-made", f"part {name} is not made, because {lost[0]} is not.", "open", name))
            continue
        try:
            source = known[recipe.source] if recipe.source is not None else parts[name]
            begun = recipe.begun(source) if recipe.source is not None else source
            if recipe.steps:
                check_outline(begun.outline)
            setting = replace(shared, frame=recipe.frame, parts=known)
            made[name], whole, told, glued = _made(begun, recipe.steps, setting)
        except (PartError, OutlineError, GEOSException) as error:
            failed.append(name)
            notes.append(Note("not-made", _reason(name, error), "open", name))
            continue
        notes += told
        seams += [_with_source(seam, recipe.source) for seam in glued]
        known |= {part.name: part for part in made[name]}
        known[name] = whole
    order = dict.fromkeys((*parts, *by_name))
    names = {name: tuple(part.name for part in pieces) for name, pieces in made.items()}
    parts_made = _unique([p for n in order for p in made.get(n, ())])
    there = {part.name: part for part in parts_made}
    left = tuple(seam for given in seams if (seam := settled(given, there)) is not None)
    return Derived(parts_made, tuple(notes), names, tuple(failed), left)


def _with_source(seam: Seam, source: str | None) -> Seam:
    """Return the seam; one over a part's whole face joins it to the part that it was made from."""
    return replace(seam, parts=(*seam.parts, source)) if seam.is_whole_face and source is not None else seam


def _reason(name: str, error: Exception) -> str:
    """Return why a part is not made; what stumbles over a shape does not know whose it is."""
    if isinstance(error, PartError):
        return str(error)
    if isinstance(error, OutlineError):
        return f"part {name}: {error}"
    return f"part {name}: its steps meet its outline so that no shape can be computed; move or change one of them."


def _made(part: Part, steps: Sequence[Step], setting: Setting) -> tuple[tuple[Part, ...], Part, list[Note], list[Seam]]:
    """Return the part after its steps with what fell off, the part as it last was whole, notes, and what was glued.

    A step runs on each piece the one before it left. What others are made from is the part before it was
    divided into planks, lengths or sides.
    """
    whole = part
    current: tuple[Part, ...] = (part,)
    extras: list[Part] = []
    notes: list[Note] = []
    seams: list[Seam] = []
    for step in steps:
        changes = [step.applied(piece, setting) for piece in current]
        current = tuple(piece for change in changes for piece in change.parts)
        extras += [extra for change in changes for extra in change.extras]
        notes += [note for change in changes for note in change.notes]
        seams += [seam for change in changes for seam in change.seams]
        whole = current[0] if len(current) == 1 else whole
    return (*current, *extras), whole, notes, seams


def _check_steps(recipes: Sequence[Recipe], shared: Setting) -> None:
    for recipe in recipes:
        setting = replace(shared, frame=recipe.frame)
        try:
            for step in recipe.steps:
                step.check(recipe.name, setting)
        except PartError as error:
            raise PartError(f"part {recipe.name}: {error}") from error


def _checked(parts: Mapping[str, Part], recipes: Sequence[Recipe]) -> dict[str, Recipe]:
    by_name: dict[str, Recipe] = {}
    for recipe in recipes:
        if recipe.name in by_name or (recipe.source is not None and recipe.name in parts):
            raise JobError(f"two parts are named {recipe.name!r}; give each a name of its own.")
        by_name[recipe.name] = recipe
    known = {*parts, *by_name}
    for recipe in recipes:
        if recipe.source is None and recipe.name not in parts:
            raise JobError(f"part {recipe.name!r} has steps but neither a pick nor 'from'; say what it is made from.")
        for need in recipe.needs:
            if need not in known:
                names = listed(sorted(known - {recipe.name}))
                raise JobError(f"part {recipe.name!r} is made from {need!r}, which is not there; parts: {names}.")
    return by_name


def _order(by_name: Mapping[str, Recipe]) -> list[str]:
    graph = {name: [need for need in recipe.needs if need in by_name] for name, recipe in by_name.items()}
    try:
        return list(TopologicalSorter(graph).static_order())
    except CycleError as error:
        circle = " from ".join(repr(name) for name in reversed(error.args[1]))
        raise JobError(f"parts are made from each other in a circle: {circle}; break it.") from error


def _unique(parts: Sequence[Part]) -> tuple[Part, ...]:
    seen: set[str] = set()
    for part in parts:
        if part.name in seen:
            raise JobError(f"two parts are named {part.name!r}; give each a name of its own.")
        seen.add(part.name)
    return tuple(parts)
