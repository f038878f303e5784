"""The layout of a job at the desk: proved anew, changed by hand, held where the builder pinned it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from nesting.desk import requests as ask
from nesting.job.laid import LAYOUT_FILE, Laid, laid_text, read_laid
from nesting.job.results import nest_result
from nesting.place.layout import BoardLayout, Layout, Placement, Proof
from nesting.place.proof import copy_label
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import InputError, JobError
from vectorize.shapes.outline import Pose

LAYOUT_NAME = f"out/{LAYOUT_FILE}"


def called_anew(
    text: str | None, *, part: Callable[[str], str | None] = str, board: Callable[[str], str | None] = str
) -> str | None:
    """Return the text of a layout in which parts and boards have other names, or None are gone with their pins."""
    laid = read_laid(text)
    if laid is None:
        return text
    boards = [
        replace(one, board=name, placements=tuple(_placed_anew(one.placements, part)))
        for one in laid.layout.boards
        if (name := board(one.board)) is not None
    ]
    unplaced = [replace(one, part=name) for one in laid.layout.unplaced if (name := part(one.part)) is not None]
    lying = {(placement.part, placement.copy) for one in boards for placement in one.placements}
    pinned = {(name, copy) for old, copy in laid.pinned if (name := part(old)) is not None}
    layout = replace(laid.layout, boards=tuple(boards), unplaced=tuple(unplaced))
    changed = replace(laid, layout=layout, pinned=frozenset(pinned & lying))
    return text if changed == laid else laid_text(changed)


def _placed_anew(placements: Sequence[Placement], part: Callable[[str], str | None]) -> Iterator[Placement]:
    for one in placements:
        if (name := part(one.part)) is not None:
            yield replace(one, part=name)


def with_copy_at(
    laid: Laid | None, edit: ask.PlaceCopy, parts: Sequence[Part], boards: Sequence[Board], *, made_from: str
) -> Laid:
    """Return the layout with one copy moved to where the builder put it, and pinned; not yet proved.

    Raises:
        JobError: No such part, copy or board.
    """
    part, board = _found(edit.part, edit.copy_number, edit.board, parts, boards)
    pose = Pose(edit.x_mm, edit.y_mm, edit.angle_deg % 360.0, edit.flipped)
    placement = Placement(part.name, edit.copy_number, pose)
    key = (part.name, edit.copy_number)
    kept = {
        old.board: [p for p in old.placements if (p.part, p.copy) != key]
        for old in (laid.layout.boards if laid else ())
    }
    kept.setdefault(board.name, []).append(placement)
    part_of = {one.name: one for one in parts}
    layouts = tuple(_measured(one, tuple(kept[one.name]), part_of) for one in boards if kept.get(one.name))
    unplaced = tuple(u for u in (laid.layout.unplaced if laid else ()) if (u.part, u.copy) != key)
    layout = Layout(layouts, unplaced, Proof(("not yet proved",), 0.0))
    return Laid(layout, made_from, (laid.pinned if laid else frozenset()) | {key})


def with_pin(laid: Laid | None, edit: ask.PinCopy) -> Laid:
    """Return the layout with a copy pinned or let go.

    Raises:
        JobError: The copy lies on no board.
    """
    key = (edit.part, edit.copy_number)
    lies = laid is not None and any((p.part, p.copy) == key for b in laid.layout.boards for p in b.placements)
    if laid is None or not lies:
        raise JobError(f"{edit.part} {edit.copy_number} lies on no board, so it cannot be pinned.")
    pinned = laid.pinned | {key} if edit.is_pinned else laid.pinned - {key}
    return replace(laid, pinned=pinned)


def _found(name: str, copy: int, board_name: str, parts: Sequence[Part], boards: Sequence[Board]) -> tuple[Part, Board]:
    part = next((part for part in parts if part.name == name), None)
    board = next((board for board in boards if board.name == board_name), None)
    if part is None or not 1 <= copy <= part.copies:
        raise JobError(f"there is no copy {copy} of a part {name!r}; reload the page.")
    if board is None:
        raise JobError(f"there is no board {board_name!r}; reload the page.")
    return part, board


def _measured(board: Board, placements: tuple[Placement, ...], part_of: dict[str, Part]) -> BoardLayout:
    known = [p for p in placements if p.part in part_of]
    area = sum(part_of[p.part].outline.area_mm2 for p in known)
    right = max((part_of[p.part].outline.placed(p.pose).bounds[2] for p in known), default=0.0)
    return BoardLayout(board.name, placements, area / board.shape.area_mm2, right - board.shape.bounds[0])


def refuse_faults(laid: Laid) -> Laid:
    """Return `laid` if it is proved.

    Raises:
        InputError: It is not; the first faults are told.
    """
    faults = laid.layout.proof.faults
    if faults:
        more = f" And {len(faults) - 2} more." if len(faults) > 2 else ""
        raise InputError(" ".join(faults[:2]) + more)
    return laid


def _is_at_fault(placement: Placement, faults: Sequence[str]) -> bool:
    """Return whether one of the faults of a layout is that of a copy, as it lies."""
    named = re.compile(rf"{re.escape(copy_label(placement))}(?!\d)")
    return any(named.search(fault) for fault in faults)


def layout_view(laid: Laid | None, *, is_current: bool) -> dict[str, Any] | None:
    """Return the layout as the page shows it."""
    if laid is None:
        return None
    result = nest_result(laid.layout, laid.layout.notes)
    for board, shown in zip(laid.layout.boards, result["boards"], strict=True):
        for lies, placement in zip(board.placements, shown["placements"], strict=True):
            placement["pinned"] = (placement["part"], placement["copy"]) in laid.pinned
            placement["holds"] = not _is_at_fault(lies, laid.layout.proof.faults)
    return result | {"faults": list(laid.layout.proof.faults), "is_current": is_current}
