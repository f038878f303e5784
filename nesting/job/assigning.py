"""Which part of a job from which of its boards."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, MutableMapping
from dataclasses import replace
from typing import Any

from tomlkit import TOMLDocument

from nesting.balance.ledger import Ledger
from nesting.choice.assign import Assignment, AssignReport, assign_boards, make_problem, nesting_lay
from nesting.choice.assign.pairs import Couple, couples_of, matching
from nesting.choice.assign.programme import Objective
from nesting.job.deriving import owner_of
from nesting.job.files import write_results
from nesting.job.folder import Job, change_job
from nesting.job.laid import still_to_cut
from nesting.job.model_values import Model
from nesting.job.places import known_parts
from nesting.job.rules import rules_of
from nesting.wood.board import Board
from nesting.wood.match import MATCH_MM, SUBSTITUTE_SHARE
from nesting.wood.part import Part
from vectorize.basics.errors import JobError
from vectorize.basics.notes import Note
from vectorize.basics.wording import listed, shown

ASSIGN_FILE = "assign.json"


def assign_job(
    job: Job,
    model: Model,
    *,
    objective: Objective | None = None,
    weight_limit_g: float | None = None,
    best: int = 3,
    time_limit_s: float = 30.0,
    seed: int = 0,
) -> AssignReport:
    """Return the best assignments for the parts that are still to be cut; the others stay as they are.

    Raises:
        JobError: Every part is cut or weighed already.
        NoSolutionError, NothingFoundError: None exists, with what to relax; none was found in time.
    """
    to_cut = still_to_cut(job, model.parts, model.boards)
    if not to_cut.parts:
        raise JobError("every part is cut or weighed already; there is nothing left to assign.")
    spec, rules, couples = job.spec.assign, rules_of(job), _couples(job, model)
    problem = make_problem(
        [_matched(part, couples, model) for part in to_cut.parts],
        to_cut.boards,
        needs=model.needs,
        seats=model.seats,
        datum=model.datum,
        fixed=_fixed(model, {part.name for part in to_cut.parts}),
        plan=model.plan,
        build=model.build,
        wood=model.wood,
        lies=model.lies,
        couples=[couple for couple in couples if {couple.left, couple.right} <= {p.name for p in to_cut.parts}],
    )
    report = assign_boards(
        problem,
        lay=nesting_lay(rules, seed=seed),
        rules=rules,
        objective=objective or spec.objective,
        weight_limit_g=spec.weight_limit if weight_limit_g is None else weight_limit_g,
        best=best,
        time_limit_s=time_limit_s,
    )
    return replace(report, notes=(*report.notes, *to_cut.notes))


def _couples(job: Job, model: Model) -> tuple[Couple, ...]:
    """Return the pairs of the job as couples of parts, or of pieces that answer each other."""
    names = {table.name for table in job.spec.part}
    found: list[Couple] = []
    for table in job.spec.pair:
        left, right = known_parts(table.parts, names, "[[pair]]")
        owners = [(part.name, owner_of(part.name, names)) for part in model.parts]
        pieces = {name: tuple(piece for piece, owner in owners if owner == name) for name in (left, right)}
        found += couples_of(left, right, pieces, within=table.within, tip_arm_mm=_tip_arm_mm(job, model, left, right))
    return tuple(found)


def _tip_arm_mm(job: Job, model: Model, *names: str) -> float | None:
    """Return how far out the tips are: of carved panels, or of the wing that gives the mean chord."""
    tips = [carving.panel.planform.span[1] for carving in model.carvings if carving.name in names]
    chord = job.spec.balance.chord
    tips += [section.span for section in chord.sections] if chord is not None and not tips else []
    return max(tips, default=None)


def _matched(part: Part, couples: Iterable[Couple], model: Model) -> Part:
    """Return a part whose other half is cut already, tied to the boards that match that half's."""
    boards = {board.name: board for board in model.boards}
    for couple in couples:
        if part.name not in (couple.left, couple.right):
            continue
        other = couple.right if part.name == couple.left else couple.left
        cut_from = {w.board for w in model.weights.chosen if w.part == other and other in model.done}
        for name in sorted(cut_from & set(boards)):
            matches = matching(couple, boards[name], model.boards, wood=model.wood)
            kept = tuple(board for board in part.boards or tuple(boards) if board in matches)
            part = replace(part, boards=kept or matches)
    return part


def _fixed(model: Model, open_parts: set[str]) -> Ledger:
    """Return everything with mass that the assignment does not touch: equipment, glue, pieces that are cut."""
    whole, _ = model.ledger(model.weights)
    return Ledger(tuple(entry for entry in whole.entries if entry.also or entry.part not in open_parts))


def write_assignment(job: Job, report: AssignReport) -> None:
    """Write the report to `out/assign.json`.

    Raises:
        WriteError: `out/` cannot be written.
    """
    data = json.dumps(report.as_json(), indent=1, ensure_ascii=False).encode()
    write_results(job.out, {ASSIGN_FILE: data}, is_forced=True)


def keep_assignment(job: Job, model: Model, assignment: Assignment) -> tuple[Note, ...]:
    """Write `board = …` of an assignment into `job.toml`; return a note for each part shared by several boards.

    A part that comes from a substitute gets its material and thickness as well. What steps made of a part is tied
    with it, if all of it comes from one board.

    Raises:
        WriteError: The job was changed by somebody else since it was read.
    """
    boards = _boards_of(job, assignment)
    ties, shared = ties_of(job, assignment)

    def change(document: TOMLDocument) -> None:
        tie_parts(document, ties, model.parts, model.boards)

    change_job(job, change)
    return tuple(_shared(part, boards[part]) for part in shared)


def ties_of(job: Job, assignment: Assignment) -> tuple[dict[str, str], tuple[str, ...]]:
    """Return the board of every part that comes from one board, and the parts that several boards share.

    Pieces that steps made of a part count as that part: it is what the job can tie.
    """
    boards = _boards_of(job, assignment)
    shared = tuple(part for part, of in boards.items() if len(of) > 1)
    return {part: of[0] for part, of in boards.items() if part not in shared}, shared


def _boards_of(job: Job, assignment: Assignment) -> dict[str, tuple[str, ...]]:
    """Return the boards of every part of the job, each once."""
    names = {table.name for table in job.spec.part}
    boards: dict[str, tuple[str, ...]] = {}
    for given in assignment.given:
        part = owner_of(given.part, names) or given.part
        boards[part] = tuple(dict.fromkeys((*boards.get(part, ()), given.board)))
    return boards


def tie_parts(
    document: TOMLDocument, ties: Mapping[str, str | None], parts: Iterable[Part], boards: Iterable[Board]
) -> tuple[str, ...]:
    """Write `board = …` of each part into a job's document, or take it out for None; return the parts changed.

    A part that comes from a substitute gets its material and thickness as well. What has no table, such as a piece
    that steps make of a part, is not among them.

    Raises:
        JobError: No board of that name.
    """
    part_of, board_of = {part.name: part for part in parts}, {board.name: board for board in boards}
    tied = []
    names = {str(table.get("name")) for table in document.get("part", ())}
    for table in document.get("part", ()):
        name = table.get("name")
        if name not in ties:
            continue
        tied.append(str(name))
        wanted = ties[name]
        if wanted is None:
            table.pop("board", None)
            continue
        if wanted not in board_of:
            raise JobError(f"there is no board {shown(wanted)}; boards: {listed(board_of)}.")
        table["board"] = wanted
        made = next((part_of[piece] for piece in part_of if owner_of(piece, names) == name), None)
        if made is not None:
            _take_substitute(table, made, board_of[wanted])
    return tuple(tied)


def _take_substitute(table: MutableMapping[str, Any], part: Part, board: Board) -> None:
    is_near = abs(part.thickness_mm - board.thickness_mm) <= max(MATCH_MM, SUBSTITUTE_SHARE * part.thickness_mm)
    if part.material != board.material or not is_near:
        table["material"] = board.material
        table["thickness"] = f"{board.thickness_mm:g} mm"


def _shared(part: str, boards: Iterable[str]) -> Note:
    return Note(
        "several-boards", f"part {part} comes from {' and '.join(boards)}; it is left free in job.toml.", "fixed", part
    )
