"""Which boards of the rack can make a part: same material, near enough in nominal thickness."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from nesting.wood.board import Board
from nesting.wood.material import MATERIALS, Material, is_same_material
from nesting.wood.part import Part
from vectorize.basics.errors import PartError
from vectorize.basics.units import format_length
from vectorize.basics.wording import listed

MATCH_MM = 0.15
"""A board matches a part when their nominal thicknesses differ by no more (common practice, no source)."""
SUBSTITUTE_SHARE = 0.08
"""Beyond that a board is offered as a substitute up to this share: 3 mm for 1/8 in is 5.5 % off."""

ROUNDING_MM = 1e-9
"""Sizes that are equal on paper may differ by this much in the last bits."""


def matching_boards(
    part: Part, boards: Iterable[Board], *, materials: Mapping[str, Material] = MATERIALS
) -> tuple[tuple[Board, ...], tuple[Board, ...]]:
    """Return (boards of the part's material and thickness, boards near enough in thickness to offer)."""
    same = [board for board in boards if is_same_material(board.material, part.material, materials)]
    match = tuple(board for board in same if abs(board.thickness_mm - part.thickness_mm) <= MATCH_MM + ROUNDING_MM)
    near = tuple(
        board
        for board in same
        if board not in match
        and abs(board.thickness_mm - part.thickness_mm) <= SUBSTITUTE_SHARE * part.thickness_mm + ROUNDING_MM
    )
    return match, near


def strips_of(parts: Iterable[Part]) -> tuple[Board, ...]:
    """Return the strips that parts are cut from, each once."""
    return tuple({part.strip.name: part.strip for part in parts if part.strip is not None}.values())


def candidate_boards(
    part: Part, boards: Sequence[Board], *, materials: Mapping[str, Material] = MATERIALS
) -> dict[str, tuple[Board, bool]]:
    """Return (board, whether it is a substitute) by name, matches first; of a part from strip the strip alone.

    Raises:
        PartError: No board will do, with what the rack has; or the part is tied to one that will not.
    """
    if part.strip is not None:
        return {part.strip.name: (part.strip, False)}
    match, near = matching_boards(part, boards, materials=materials)
    found = {board.name: (board, False) for board in match} | {board.name: (board, True) for board in near}
    if part.board is not None and part.board not in found:
        raise PartError(_tied_wrongly(part, boards))
    if not found:
        raise PartError(_nothing_matches(part, boards, materials))
    return found


def _tied_wrongly(part: Part, boards: Sequence[Board]) -> str:
    for board in boards:
        if board.name == part.board:
            return (
                f"part {part.name} is tied to board {board.name}, which is {board.material} of "
                f"{format_length(board.thickness_mm)}; the part is {part.material} of "
                f"{format_length(part.thickness_mm)}. Tie it to another board or change the part."
            )
    names = listed(board.name for board in boards)
    return f"part {part.name} is tied to board {part.board!r}, which the rack does not hold; it holds {names}."


def _nothing_matches(part: Part, boards: Sequence[Board], materials: Mapping[str, Material]) -> str:
    wanted = f"part {part.name} is {part.material} of {format_length(part.thickness_mm)}"
    same = {b.thickness_mm for b in boards if is_same_material(b.material, part.material, materials)}
    if same:
        has = listed(format_length(thickness) for thickness in sorted(same))
        return f"{wanted}; the rack has that material only in {has}. Add a board or change the part's thickness."
    kinds = listed(sorted({board.material for board in boards})) if boards else "no boards"
    return f"{wanted}; the rack has no such material, it has {kinds}. Add a board or change the part's material."
