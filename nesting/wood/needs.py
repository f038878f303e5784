"""What a part asks of its board besides material and thickness, and what a board offers."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from nesting.wood.beam import THICKNESS_POWER, Loading
from nesting.wood.board import Board, Cut
from nesting.wood.density import USUAL, Wood, board_density
from nesting.wood.match import candidate_boards, matching_boards, strips_of
from nesting.wood.part import Part
from nesting.wood.stiffness import board_modulus, part_stiffness, untrue_tests
from vectorize.basics.errors import InputError, PartError
from vectorize.basics.notes import Note
from vectorize.basics.units import format_density
from vectorize.basics.wording import listed
from vectorize.shapes.outline import Pose

Use = Literal["any", "bends", "flat"]
"""`bends`: the sheet is wrapped or curled; `flat`: it must stay flat and stiff, as ribs and tail surfaces."""

CUT_FOR_USE: Mapping[Use, tuple[Cut, ...]] = {
    "any": ("tangential", "mixed", "quarter", "unknown"),
    "bends": ("tangential", "unknown"),
    "flat": ("quarter", "mixed", "unknown"),
}
"""Grain cuts that suit a use: common practice, no source; a warning follows from it, never a ban."""


@dataclass(frozen=True, slots=True)
class Substitute:
    """Another material and thickness that a part may be cut from."""

    material: str
    thickness_mm: float


@dataclass(frozen=True, slots=True)
class Need:
    """What a part asks of its board.

    Attributes:
        loading: How the finished part is bent.
        use: Whether the sheet must bend or stay flat, for the advice on its cut.
        flat_mm: Greatest bow the part may inherit, or None.
        density_kg_m3: Least and greatest density of the board.
        least_modulus_mpa: The part must be at least as stiff as its nominal thickness of this E.
        substitutes: What it may be cut from instead.
        cuts: Grain cuts that suit it; by default those of its use.

    Raises:
        PartError: A range or limit that cannot be met by anything.
    """

    loading: Loading = "flatwise"
    use: Use = "any"
    flat_mm: float | None = None
    density_kg_m3: tuple[float, float] | None = None
    least_modulus_mpa: float | None = None
    substitutes: tuple[Substitute, ...] = ()
    cuts: tuple[Cut, ...] = ()

    def __post_init__(self) -> None:
        if self.density_kg_m3 is not None and not 0 < self.density_kg_m3[0] <= self.density_kg_m3[1]:
            low, high = self.density_kg_m3
            raise PartError(f"a density range from {low:g} to {high:g} kg/m3 is empty; write the smaller first.")
        for what, value in {"flat": self.flat_mm, "least modulus": self.least_modulus_mpa}.items():
            if value is not None and not (math.isfinite(value) and value > 0):
                raise PartError(f"{what} is {value:g}; it must be above zero.")

    @property
    def rules_boards_out(self) -> bool:
        """Return whether any board may fail it."""
        return not (self.flat_mm is None and self.density_kg_m3 is None and self.least_modulus_mpa is None)


ANY = Need()


def inherited_bow_mm(part: Part, board: Board) -> float:
    """Return the bow that a part takes over from its board: bow x (l/L)^2, l its length along the grain."""
    along = part.outline.placed(Pose(angle_deg=-part.grain_deg)).size_mm[0]
    return float(board.bow_mm * (along / board.length_mm) ** 2)


def offered_boards(part: Part, need: Need, boards: Sequence[Board], *, wood: Wood = USUAL) -> dict[str, Board]:
    """Return, by name, the boards that a part may be cut from: matches, and those of its substitutes.

    A board that is only near in thickness counts when the part is tied to it.

    Raises:
        PartError: There is none, or the part is tied to one that will not do.
    """
    found: dict[str, Board] = {}
    for substitute in need.substitutes:
        as_if = _as_if(part, substitute)
        found |= {board.name: board for board in matching_boards(as_if, boards, materials=wood.materials)[0]}
    if part.board in found:
        return {part.board: found[part.board]}
    try:
        own = candidate_boards(part, boards, materials=wood.materials)
    except PartError:
        if found and part.board is None:
            return found
        raise
    if part.board is not None:
        return {part.board: own[part.board][0]}
    matches = {name: board for name, (board, is_near) in own.items() if not is_near} | found
    if not matches:
        near = listed(f"{name} ({board.thickness_mm:g} mm)" for name, (board, _) in own.items())
        raise PartError(f"part {part.name}: no board of its thickness; near are {near}. Tie the part to one of them.")
    return matches


def _as_if(part: Part, substitute: Substitute) -> Part:
    return Part(part.name, part.outline, substitute.material, substitute.thickness_mm)


def why_not(part: Part, need: Need, board: Board, *, wood: Wood = USUAL) -> str | None:
    """Return in words everything in which a board does not meet a part's need, or None when it does."""
    objections: list[str] = []
    if need.flat_mm is not None and (bow := inherited_bow_mm(part, board)) > need.flat_mm:
        objections.append(f"would be bowed by {bow:.1f} mm, more than {need.flat_mm:g} mm")
    if need.density_kg_m3 is not None:
        low, high = need.density_kg_m3
        density = board_density(board, wood=wood).value
        if not low <= density <= high:
            objections.append(f"is {format_density(density)}, outside {low:.0f} to {high:.0f} kg/m3")
    if need.least_modulus_mpa is not None:
        least = need.least_modulus_mpa * part.thickness_mm ** THICKNESS_POWER[need.loading]
        share = part_stiffness(board, board_modulus(board, wood=wood).value, need.loading).value / least
        if share < 1:
            objections.append(f"has {share:.0%} of the stiffness asked for")
    return " and ".join(objections) or None


def narrowed(part: Part, need: Need, boards: Sequence[Board], *, wood: Wood = USUAL) -> Part:
    """Return the part tied to the boards that meet its need; as it is where all do, or none, or its wood is settled."""
    if part.board is not None or part.strip is not None:
        return part
    match, _ = matching_boards(part, boards, materials=wood.materials)
    same = [board for board in match if not part.boards or board.name in part.boards]
    meeting = tuple(board.name for board in same if _meets(part, need, board, wood))
    return part if len(meeting) in (0, len(same)) else replace(part, boards=meeting)


def _meets(part: Part, need: Need, board: Board, wood: Wood) -> bool:
    try:
        return why_not(part, need, board, wood=wood) is None
    except InputError:
        return False  # a board that cannot be weighed; told where boards are ranked


def cut_advice(part: Part, need: Need, board: Board) -> Note | None:
    """Return a warning when the board's grain cut does not suit the part's use, never a ban."""
    if board.cut == "unknown" or board.cut in (need.cuts or CUT_FOR_USE[need.use]):
        return None
    wanted = {
        "bends": "tangential-cut wood curls",
        "flat": "quarter-cut wood stays flat and is stiffer across",
        "any": f"{' or '.join(need.cuts)} is asked for",
    }[need.use if not need.cuts else "any"]
    text = f"part {part.name}: board {board.name} is cut {board.cut}; {wanted} (common practice)."
    return Note("grain-cut", text, "fixed", part.name)


def need_notes(
    parts: Sequence[Part],
    boards: Sequence[Board],
    chosen: Iterable[tuple[str, str]],
    needs: Mapping[str, Need],
    *,
    wood: Wood = USUAL,
) -> tuple[Note, ...]:
    """Return an open note for each part whose chosen board is not what it asks for, and advice on grain cuts.

    `chosen` gives part and board of each piece; each pair is looked at once.
    """
    part_of = {part.name: part for part in parts}
    board_of = {board.name: board for board in (*boards, *strips_of(parts))}
    notes: list[Note] = []
    for name, board_name in dict.fromkeys(chosen):
        part, board, need = part_of[name], board_of[board_name], needs.get(name, ANY)
        why = why_not(part, need, board, wood=wood)
        if why is not None:
            text = f"part {name}: board {board_name} {why}; choose another, or let `sheetwood assign` do it."
            notes.append(Note("need-not-met", text, "open", name))
        advice = cut_advice(part, need, board)
        if advice is not None:
            notes.append(advice)
        if need.least_modulus_mpa is not None:
            notes += untrue_tests([board], wood=wood)
    return tuple(dict.fromkeys(notes))
