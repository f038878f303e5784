"""Parts on boards: the whole way from outlines to a proved layout."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from nesting.board import Board
from nesting.part import Part
from nesting.place.bank import Ints, Scene, copy_scene
from nesting.place.chance import seeded
from nesting.place.layout import BoardLayout, Layout, Placement, Unplaced
from nesting.place.pieces import make_pieces
from nesting.place.problem import KNIFE_LIMIT_MM, NestRules, Pin, check_names, suits
from nesting.place.proof import prove_layout
from nesting.place.settle import settle_all
from nesting.place.yard import Yard, build_yard, usable_area
from vectorize.errors import NoSolutionError, NothingFoundError
from vectorize.notes import Note

_LEFT_OUT = "no room was left on the boards"


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search has come: boards used, length used on the last of them, seconds and sweeps spent."""

    boards: int
    length_mm: float
    seconds: float
    sweeps: int


def nest_parts(
    parts: Sequence[Part],
    boards: Sequence[Board],
    *,
    rules: NestRules,
    time_limit_s: float | None = 10.0,
    max_sweeps: int | None = None,
    seed: int = 0,
    start: Layout | None = None,
    pinned: Sequence[Pin] = (),
    executor: Executor | None = None,
    on_progress: Callable[[Progress], None] | None = None,
) -> Layout:
    """Return all parts laid out on `boards`, which are used in the order given, with the proof."""
    check_names(parts, boards, rules)
    if parts and not boards:
        raise NoSolutionError(f"{len(parts)} parts are to be placed but there is no board; add one to the rack.")
    layouts: list[BoardLayout] = []
    unplaced: list[Unplaced] = []
    for group_parts, group_boards in groups(parts, boards):
        found, left = _nest_group(group_parts, group_boards, rules, seed, max_sweeps)
        layouts += found
        unplaced += left
    if parts and not layouts:
        reason = unplaced[0].reason
        raise NothingFoundError(reason) if _LEFT_OUT in reason else NoSolutionError(reason)
    proof = prove_layout(layouts, parts, boards, rules, unplaced=unplaced)
    return Layout(tuple(layouts), tuple(unplaced), proof, tuple(_notes(parts, rules)))


def groups(parts: Sequence[Part], boards: Sequence[Board]) -> list[tuple[list[Part], list[Board]]]:
    """Return the parts and boards that have to do with each other: one group per material and thickness."""
    found: list[tuple[list[Part], list[Board]]] = []
    for part in parts:
        own = [board for board in boards if suits(part, board)]
        joined = [group for group in found if any(board in group[1] for board in own)]
        members = [p for group in joined for p in group[0]] + [part]
        wood = [board for board in boards if board in own or any(board in group[1] for group in joined)]
        found = [group for group in found if group not in joined] + [(members, wood)]
    return found


def _nest_group(
    parts: list[Part], boards: list[Board], rules: NestRules, seed: int, max_sweeps: int | None
) -> tuple[list[BoardLayout], list[Unplaced]]:
    kinds, pieces = make_pieces(parts, rules)
    part_of = {part.name: part for part in parts}
    if not boards:
        reason = "no board of its material and thickness is in the rack."
        return [], [Unplaced(n, c, f"part {n}: {reason}") for piece in pieces for n, c in piece.copies]
    yard = build_yard(kinds, pieces, boards, rules, parts=part_of)
    has_choice = np.diff(yard.choice.off)[yard.choice.kind] > 0
    scene, missing = first_layout(yard, np.flatnonzero(has_choice), seed)
    unplaced = [
        Unplaced(name, copy, _why_not(part_of[name], boards, rules, bool(has_choice[k])))
        for k in [*np.flatnonzero(~has_choice), *missing]
        for name, copy in pieces[k].copies
    ]
    return [
        layout for b in range(len(boards)) if (layout := board_layout(yard, scene, b, part_of, rules)) is not None
    ], unplaced


def first_layout(yard: Yard, movable: Ints, seed: int) -> tuple[Scene, list[int]]:
    """Return the parts settled largest first, and those that found no place."""
    scene = copy_scene(yard.scene)
    order = movable[np.argsort(-yard.choice.area[movable], kind="stable")].astype(np.int64)
    left = np.empty(len(order), np.int64)
    boards = np.arange(len(yard.boards))
    missing = settle_all(yard.bank, yard.choice, scene, order, boards, 100, seeded(seed, 0), left)
    for k in left[:missing]:
        scene.board[k] = -1
    return scene, left[:missing].tolist()


def board_layout(
    yard: Yard, scene: Scene, number: int, part_of: dict[str, Part], rules: NestRules
) -> BoardLayout | None:
    """Return what lies on a board, or None if nothing does."""
    placements = yard.placements(scene, number)
    if not placements:
        return None
    board = yard.boards[number]
    area = sum(part_of[p.part].outline.area_mm2 for p in placements)
    return BoardLayout(
        board.name, tuple(placements), area / board.shape.area_mm2, _used_length(board, placements, part_of)
    )


def _used_length(board: Board, placements: Sequence[Placement], part_of: dict[str, Part]) -> float:
    right = max(part_of[p.part].outline.placed(p.pose).bounds[2] for p in placements)
    return right - board.shape.bounds[0]


def _why_not(part: Part, boards: Sequence[Board], rules: NestRules, does_fit_alone: bool) -> str:
    if does_fit_alone:
        return f"part {part.name}: {_LEFT_OUT}; add a board or give more time."
    length, width = part.outline.size_mm
    rooms = [(board.name, usable_area(board, rules)) for board in boards]
    name, room = max(rooms, key=lambda pair: pair[1].area)
    if room.is_empty:
        return f"part {part.name}: the margins leave nothing of board {name}; make ends and edges smaller."
    x0, y0, x1, y1 = room.bounds
    return (
        f"part {part.name} is {length:.1f} × {width:.1f} mm; the largest board, {name}, has room for "
        f"{x1 - x0:.1f} × {y1 - y0:.1f} mm along and across. Edge-glue planks for width, "
        "scarf two pieces for length, or add a larger board."
    )


def _notes(parts: Sequence[Part], rules: NestRules) -> list[Note]:
    notes = []
    if rules.tool == "knife":
        notes += [
            Note(
                "thick-for-knife",
                f"part {part.name} is {part.thickness_mm:g} mm thick; a knife is for balsa up to {KNIFE_LIMIT_MM} mm.",
                part=part.name,
            )
            for part in parts
            if part.thickness_mm > KNIFE_LIMIT_MM or part.material != "balsa"
        ]
    return notes
