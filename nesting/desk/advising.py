"""What a worker works out before wood is chosen: boards side by side, the best board for every part, two layouts.

It calls the same public functions as the command line, and writes the same files.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nesting.balance.weights import weigh_parts
from nesting.choice.assign.assignment import Assignment, AssignReport
from nesting.desk.scan_work import stages_of
from nesting.desk.shown_units import with_unit
from nesting.desk.wishes import AssignWish, CompareWish, FlexWish, TrialWish
from nesting.desk.worker import Report
from nesting.job.assigning import assign_job, ties_of, write_assignment
from nesting.job.card_files import write_comparison, write_flex
from nesting.job.comparing import compare_job, side_view_of
from nesting.job.flexing import flex_job
from nesting.job.folder import Job, file_name_for, open_job
from nesting.job.laid import still_to_cut
from nesting.job.model_values import Model
from nesting.job.results import nest_result
from nesting.job.rules import rules_of
from nesting.job.wood import materials_of, wood_of
from nesting.wood.beam import Loading
from nesting.wood.board import Board
from nesting.wood.match import matching_boards
from nesting.wood.part import Part
from nesting.wood.stiffness import CAUTION, board_modulus, part_stiffness, untrue_tests
from vectorize.basics.errors import CallError, PartError, RackError
from vectorize.basics.units import DURATION, MASS, parse, parse_mass

if TYPE_CHECKING:
    from nesting.place.other_boards import BoardFit

LONGEST_SEARCH_S = 600.0
TRIAL_SWEEPS = 400
"""Effort of a layout that is only looked at: a few seconds; the same every time."""


def _opened(report: Report, folder: Path) -> tuple[Job, Model]:
    job = open_job(folder)
    return job, stages_of(job, report).model


def compare(report: Report, folder: Path, wish: CompareWish) -> dict[str, Any]:
    """Return boards side by side for a part, as `sheetwood compare` gives them, with the name of its picture.

    Raises:
        SheetwoodError: As `compare_job`.
    """
    job, model = _opened(report, folder)
    report.say(f"comparing boards for {wish.part}")
    comparison = compare_job(job, model, wish.part, wish.boards, priority=wish.priority)
    view = side_view_of(job, model, wish.part)
    kept = write_comparison(job, comparison, model.plan, side_view=view)
    weighed = {weight.board for weight in model.weights.chosen if weight.part == wish.part}
    return comparison.as_json() | {
        "notes": [note.as_json() for note in (*comparison.notes, *kept)],
        "wish": wish.model_dump(),
        "now": sorted(weighed),
        "file": f"compare-{file_name_for(wish.part)}.svg",
        "built_file": None if view is None else f"stiffness-{file_name_for(comparison.part)}.svg",
    }


def flex(report: Report, folder: Path, wish: FlexWish) -> dict[str, Any]:
    """Return ways to build a carved panel side by side, as `sheetwood flex` gives them.

    Raises:
        SheetwoodError: As `flex_job`.
    """
    job, model = _opened(report, folder)
    report.say(f"working out how springy {wish.part} is")
    found = flex_job(job, model, wish.part, wish.options)
    kept = write_flex(job, found)
    return found.as_json() | {"notes": [note.as_json() for note in (*found.notes, *kept)], "wish": wish.model_dump()}


def assign(report: Report, folder: Path, wish: AssignWish) -> dict[str, Any]:
    """Return the best boards for all parts, as `sheetwood assign` gives them, and what each would move.

    Raises:
        SheetwoodError: As `assign_job`, or a time or a limit that cannot be read.
    """
    job, model = _opened(report, folder)
    units = job.spec.job.units
    seconds = parse(with_unit(wish.time, DURATION, units), DURATION, what="the time")
    if not 0 < seconds <= LONGEST_SEARCH_S:
        raise CallError(f"the time is {seconds:g} s; it must be above zero and at most {LONGEST_SEARCH_S:g} s.")
    report.say(f"looking for the best board of every part, up to {seconds:.0f} s")
    found = assign_job(
        job,
        model,
        objective=wish.objective,
        weight_limit_g=None if wish.limit is None else _mass(wish.limit, units),
        best=wish.best,
        time_limit_s=seconds,
        seed=job.spec.nest.seed,
    )
    write_assignment(job, found)
    return _assign_view(job, model, found) | {"wish": wish.model_dump()}


def _mass(text: str, units: str) -> float:
    return parse_mass(with_unit(text, MASS, units, what="the greatest weight"))


def _assign_view(job: Job, model: Model, found: AssignReport) -> dict[str, Any]:
    view = found.as_json()
    for shown, assignment in zip(view["best"], found.best, strict=True):
        ties, shared = ties_of(job, assignment)
        shown |= {"ties": ties, "shared": list(shared), "moves": _moves(model, assignment)}
    table = model.weights
    ledger, _ = model.ledger(table)
    has_mass = bool(ledger.entries)
    return view | {
        "now": {
            "mass_g": ledger.mass().value if has_mass else table.total().value,
            "balance_mm": ledger.balance().value if has_mass else None,
            "range_mm": None if model.plan.limits is None else [model.plan.limits.low_mm, model.plan.limits.high_mm],
        }
    }


def _moves(model: Model, assignment: Assignment) -> list[dict[str, Any]]:
    """Return every part that would come from other boards than now, with the grams that it gains or loses."""
    now = model.weights.chosen
    moves = []
    for part in dict.fromkeys(given.part for given in assignment.given):
        wanted = sorted(set(assignment.board_of(part)))
        mine = [weight for weight in now if weight.part == part]
        held = sorted({weight.board for weight in mine})
        if wanted != held:
            mass_g = sum(given.mass_g for given in assignment.given if given.part == part)
            change_g = mass_g - sum(weight.mass_g for weight in mine) if mine else None
            moves.append({"part": part, "from": held, "to": wanted, "mass_g": mass_g, "change_g": change_g})
    return moves


def trial(
    report: Report, folder: Path, parts: tuple[Part, ...], boards: tuple[Board, ...], wish: TrialWish
) -> dict[str, Any]:
    """Return the same parts laid out on each of some boards alone: what they weigh from it, how stiff it is.

    Stiffness is against the first board, for parts of the same outline; what is cut already is left out.

    Raises:
        CallError: No such board, or no part of its material and thickness.
    """
    from nesting.place.other_boards import fit_each_board  # its kernels are slow to load

    job = open_job(folder)
    to_cut = still_to_cut(job, parts, boards)
    known = {board.name: board for board in to_cut.boards}
    asked = [known[name] for name in wish.boards if name in known]
    if len(asked) != len(wish.boards):
        raise CallError("one of these boards is not in the rack any more; reload the page.")
    report.say(f"laying the same parts out on {' and on '.join(wish.boards)}")
    mine = [part for part in to_cut.parts if _suits_all(job, part, asked)]
    if not mine:
        raise CallError(f"no part that is still to be cut can come from {' or from '.join(wish.boards)}.")
    fits = fit_each_board(
        mine, asked, rules=rules_of(job), time_limit_s=None, max_sweeps=TRIAL_SWEEPS, seed=job.spec.nest.seed
    )
    rows = [
        _trial_row(job, mine, board, fit) | _stiffness_row(job, board, asked[0])
        for board, fit in zip(asked, fits, strict=True)
    ]
    names = [part.name for part in mine]
    return {
        "wish": wish.model_dump(),
        "parts": names,
        "boards": rows,
        "notes": [note.as_json() for note in (*untrue_tests(asked, wood=wood_of(job.spec)), *to_cut.notes)],
        "caution": CAUTION,
    }


def _stiffness_row(job: Job, board: Board, first: Board) -> dict[str, Any]:
    """Return how stiff a board is against the first one, lying flat and standing on edge, and how that is known."""
    wood = wood_of(job.spec)
    modulus, base = (board_modulus(one, wood=wood) for one in (board, first))

    def ratio(loading: Loading) -> dict[str, float]:
        mine = part_stiffness(board, modulus.value, loading, accuracy=wood.accuracy)
        found = mine / part_stiffness(first, base.value, loading, accuracy=wood.accuracy)
        return {"value": found.value, "sigma": found.sigma}

    return {"stiffness": {"flatwise": ratio("flatwise"), "edgewise": ratio("edgewise")}, "bent": modulus.is_measured}


def _suits_all(job: Job, part: Part, boards: list[Board]) -> bool:
    try:
        names = {board.name for board in matching_boards(part, boards, materials=materials_of(job.spec))[0]}
    except (PartError, RackError):
        return False
    return all(board.name in names for board in boards)


def _trial_row(job: Job, parts: list[Part], board: Board, fit: BoardFit) -> dict[str, Any]:
    untied = [replace(part, board=None, weighed_g=None) for part in parts]
    table = weigh_parts(untied, [board], wood=wood_of(job.spec))
    total = table.total()
    laid = None if fit.layout is None else nest_result(fit.layout, ())
    return {
        "board": board.name,
        "copies": fit.copies,
        "placed": fit.placed,
        "fits": fit.fits,
        "used_length_mm": fit.used_length_mm,
        "used_fraction": fit.used_fraction,
        "offcut_mm": list(fit.offcut_mm),
        "mass_g": total.value,
        "sigma_g": total.sigma,
        "placements": laid["boards"][0]["placements"] if laid and laid["boards"] else [],
        "proved": laid is not None and laid["proved"],
    }
