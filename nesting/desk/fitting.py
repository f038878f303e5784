"""What the desk's workers do with a layout: look for better and better ones, and draw the patterns of one."""

from __future__ import annotations

from pathlib import Path

from nesting.balance.weights import choose_boards
from nesting.desk.scan_work import stages_of
from nesting.desk.worker import Report
from nesting.job.card_files import write_balance
from nesting.job.folder import open_job
from nesting.job.laid import Held, boards_with_held
from nesting.job.pattern_files import write_patterns
from nesting.job.rules import rules_of
from nesting.job.stages import Stages
from nesting.job.wood import wood_of
from nesting.place.layout import Layout
from nesting.place.lies import lies_on
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
    held: Held,
) -> None:
    """Look for better and better layouts, and give each; ends by itself when nothing better comes for long.

    What is `held` stays where it is, and what is done is left out.

    Raises:
        NoSolutionError, NothingFoundError: Nothing can be, or could be, placed.
    """
    from nesting.place.nest_parts import nest_parts, parts_to_lay  # its kernels are slow to load

    job = open_job(folder)
    to_lay = parts_to_lay(parts, held.done)
    choice = choose_boards(to_lay, boards, wood=wood_of(job.spec), lies=lies_on(rules_of(job)))
    offered = boards_with_held(choice.boards, boards, held.pins)
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
            pinned=held.pins,
            left_out=held.done,
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


def draw_patterns(report: Report, folder: Path) -> tuple[tuple[str, ...], tuple[Note, ...]]:
    """Write the patterns of the kept layout to `out/` and return file names and notes.

    Raises:
        JobError: No layout fits the job as it is.
        WriteError: `out/` cannot be written.
    """
    stages = stages_of(open_job(folder), report)
    stages.need_layout()
    report.say("drawing patterns at true size")
    names, notes = write_patterns(stages)
    return names, (*notes, *_bench_card(report, stages))


def _bench_card(report: Report, stages: Stages) -> tuple[Note, ...]:
    """Write the balance picture and the bench card, if the job says where anything sits."""
    report.say("writing the bench card")
    try:
        model, balanced = stages.model, stages.balance
    except JobError:
        return ()  # the weight view says what is missing
    return write_balance(stages.job, model, balanced)
