"""What the desk's workers do with a layout: look for better and better ones, and draw the patterns of one."""

from __future__ import annotations

from pathlib import Path

from nesting.balance.weights import choose_boards
from nesting.desk.scan_work import remembered_plans
from nesting.desk.worker import Report
from nesting.job.balancing import balance_model
from nesting.job.card_files import write_balance
from nesting.job.folder import Job, open_job
from nesting.job.laid import boards_with_held
from nesting.job.making import nested_weights
from nesting.job.model_values import read_model
from nesting.job.pattern_files import write_patterns
from nesting.job.plans import OpenPlan
from nesting.job.rules import rules_of
from nesting.job.tracing import trace_job
from nesting.job.wood import accuracy_of, materials_of
from nesting.place.layout import Layout
from nesting.place.layout_rules import Pin
from nesting.place.lies import lies_on
from nesting.place.nest_parts import nest_parts
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import JobError
from vectorize.basics.notes import Note

ROUND_S = 4.0
"""One round of the search: short, so that a better layout shows soon and stopping is quick."""
MOST_ROUNDS = 150
_QUIET_ROUNDS = 12
"""So many rounds in a row without a better layout end the search by themselves."""


def search(
    report: Report,
    folder: Path,
    parts: tuple[Part, ...],
    boards: tuple[Board, ...],
    start: Layout | None,
    pinned: tuple[Pin, ...],
) -> None:
    """Look for better and better layouts, and give each; ends by itself when nothing better comes for long.

    The `pinned` copies stay where they are.

    Raises:
        NoSolutionError, NothingFoundError: Nothing can be, or could be, placed.
    """
    job = open_job(folder)
    choice = choose_boards(parts, boards, materials=materials_of(job), lies=lies_on(rules_of(job)))
    offered = boards_with_held(choice.boards, boards, pinned)
    best: Layout | None = None
    quiet = 0
    for number in range(MOST_ROUNDS):
        report.say(_search_text(best, number), None)
        layout = nest_parts(
            parts,
            offered,
            rules=rules_of(job),
            time_limit_s=ROUND_S,
            seed=job.spec.nest.seed + number,
            start=best or start,
            pinned=pinned,
        )
        if layout.proof.is_proved and (best is None or layout_cost(layout) < layout_cost(best)):
            best, quiet = layout, 0
            report.give(layout)
        else:
            quiet += 1
        if quiet >= _QUIET_ROUNDS:
            return


def _search_text(best: Layout | None, number: int) -> str:
    if best is None:
        return "laying the parts out"
    used = sum(board.used_length_mm for board in best.boards)
    return f"round {number + 1}: {len(best.boards)} boards, {used:.0f} mm of length used; looking for better"


def layout_cost(layout: Layout) -> tuple[int, int, float]:
    """Return what makes one layout worse than another: copies left out, boards begun, length used."""
    return len(layout.unplaced), len(layout.boards), sum(board.used_length_mm for board in layout.boards)


def draw_patterns(
    report: Report, folder: Path, parts: tuple[Part, ...], boards: tuple[Board, ...], layout: Layout
) -> tuple[tuple[str, ...], tuple[Note, ...]]:
    """Write the patterns of a layout to `out/` and return file names and notes.

    Raises:
        WriteError: `out/` cannot be written.
    """
    job = open_job(folder)
    plans = remembered_plans(job)
    trace = trace_job(job, progress=report.say, plans=plans)
    report.say("drawing patterns at true size")
    weights = nested_weights(
        parts, boards, layout, lies=lies_on(rules_of(job)), materials=materials_of(job), accuracy=accuracy_of(job)
    )
    names, notes = write_patterns(job, parts, boards, layout, weights, trace=trace, plans=plans)
    return names, (*notes, *_bench_card(report, job, plans))


def _bench_card(report: Report, job: Job, plans: dict[str, OpenPlan]) -> tuple[Note, ...]:
    """Write the balance picture and the bench card, if the job says where anything sits."""
    report.say("writing the bench card")
    try:
        model = read_model(job, progress=report.say, plans=plans)
        balanced = balance_model(model)
    except JobError:
        return ()  # the weight view says what is missing
    return write_balance(job, model, balanced.table, balanced.report)
