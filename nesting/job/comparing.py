"""One part of a job from two or more of its boards: fit, balance and flying weight from each."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from nesting.balance.ledger import Ledger
from nesting.charts.built_chart import SideView
from nesting.choice.compare import Comparison, Priority, compare_boards
from nesting.job.built_parts import built_part
from nesting.job.folder import Job
from nesting.job.laid import still_to_cut
from nesting.job.model_values import Model
from nesting.job.rules import rules_of
from nesting.wood.board import Board
from nesting.wood.flex.built_up import BuiltStiffness
from nesting.wood.match import matching_boards
from nesting.wood.needs import ANY, offered_boards
from nesting.wood.part import Hand, Part
from vectorize.basics.errors import CallError, NoSolutionError, NothingFoundError, PartError
from vectorize.basics.wording import listed, shown

FIT_SWEEPS = 200
"""Effort of the try whether a part fits beside what is on a board already."""


def compare_job(
    job: Job, model: Model, part_name: str, board_names: Sequence[str] = (), *, priority: Priority = "light"
) -> Comparison:
    """Return the boards side by side for a part: the named ones, or all that could make it.

    Raises:
        JobError: No such part.
        CallError: No such board, or fewer than two to compare.
    """
    part = model.part(part_name)
    boards = _boards(model, part, board_names)
    return compare_boards(
        part,
        boards,
        need=model.needs.get(part.name, ANY),
        priority=priority,
        fits=_fits(job, model, part, boards),
        ledgers=_ledgers(model, part, boards),
        built=_built(job, model, part, boards),
        plan=model.plan,
        wood=model.wood,
    )


def _boards(model: Model, part: Part, names: Sequence[str]) -> list[Board]:
    known = {board.name: board for board in model.boards}
    for name in names:
        if name not in known:
            raise CallError(f"there is no board {shown(name)}; boards: {listed(known)}.")
    if names:
        found = [known[name] for name in dict.fromkeys(names)]
    else:
        free = replace(part, board=None, boards=(), strip=None)
        try:
            found = list(offered_boards(free, model.needs.get(part.name, ANY), model.boards, wood=model.wood).values())
        except PartError:
            found = []
        found += [b for b in matching_boards(free, model.boards, materials=model.wood.materials)[1] if b not in found]
    if len(found) < 2:
        raise CallError(
            f"a comparison needs two boards; for {part.name} there is {len(found)}. "
            f"Name the boards, such as `sheetwood compare JOB {part.name!r} B1 B2`."
        )
    return found


def _as_if(part: Part, board: Board) -> Part:
    return replace(
        part,
        material=board.material,
        thickness_mm=board.thickness_mm,
        board=board.name,
        boards=(),
        weighed_g=None,
        strip=None,
    )


def _fits(job: Job, model: Model, part: Part, boards: Sequence[Board]) -> dict[str, bool]:
    """Return for each board whether all copies fit on it beside what the stored layout has on it, or is cut out."""
    to_cut = still_to_cut(job, model.parts, model.boards)
    sawn = {board.name: board for board in to_cut.boards}
    names = {other.name for other in to_cut.parts}
    return {board.name: _fits_on(job, model, part, sawn[board.name], names) for board in boards}


def _fits_on(job: Job, model: Model, part: Part, board: Board, to_cut: Collection[str]) -> bool:
    from nesting.place.nest_parts import nest_parts  # its kernels are slow to load

    others = [replace(p, count=n, hand=h) for p, n, h in _already_on(model, part, board) if p.name in to_cut]
    try:
        layout = nest_parts(
            [*others, _as_if(part, board)], [board], rules=rules_of(job), time_limit_s=None, max_sweeps=FIT_SWEEPS
        )
    except (NoSolutionError, NothingFoundError):
        return False
    return not layout.unplaced and layout.proof.is_proved


def _already_on(model: Model, part: Part, board: Board) -> list[tuple[Part, int, Hand]]:
    """Return the other parts that the layout has on a board, with how many and the hand to nest them by."""
    laid = [b for b in model.layout.boards if b.board == board.name] if model.layout else []
    names = [placed.part for b in laid for placed in b.placements if placed.part != part.name]
    by_name = {p.name: p for p in model.parts}
    found: list[tuple[Part, int, Hand]] = []
    for name in dict.fromkeys(names):
        other, pieces = by_name[name], names.count(name)
        is_whole_pair = other.hand == "pair" and pieces % 2 == 0
        hand: Hand = "pair" if is_whole_pair else "either" if other.hand == "pair" else other.hand
        found.append((other, pieces // 2 if is_whole_pair else pieces, hand))
    return found


def side_view_of(job: Job, model: Model, part_name: str) -> SideView | None:
    """Return the outlines to draw a part's stiffness under; None where nothing is glued onto it."""
    whole = built_part(job.spec, model, part_name)
    return None if whole is None else SideView(whole.rings)


def _built(job: Job, model: Model, part: Part, boards: Sequence[Board]) -> dict[str, BuiltStiffness] | None:
    """Return how stiff the part is with all that is glued onto it, from each board; None for a part alone."""
    whole = built_part(job.spec, model, part.name)
    if whole is None:
        return None
    return {board.name: whole.stiffness(model, {part.name: board}) for board in boards}


def _ledgers(model: Model, part: Part, boards: Sequence[Board]) -> dict[str, Ledger] | None:
    """Return the model's ledger with the part from each board; None where its place is not known.

    The part's own scale readings are left out: they belong to the board that it was cut from.
    """
    if part.name not in model.seats:
        return None
    chosen = {(w.part, w.copy): w.board for w in model.weights.chosen}
    readings = tuple(
        reading for reading in model.readings if part.name not in reading.parts and "model" not in reading.parts
    )
    ledgers = {}
    for board in boards:
        parts = tuple(_as_if(p, board) if p.name == part.name else p for p in model.parts)
        from_board = replace(model, parts=parts, readings=readings)
        picked = chosen | {(part.name, copy): board.name for copy in range(1, part.copies + 1)}
        ledgers[board.name], _ = from_board.ledger(from_board.weighed_from(picked))
    return ledgers
