"""`sheetwood rack`: the boards at hand, offcuts that come back, boards to buy."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nesting.cli.console import JsonOption, VerboseOption, finish, give_json, reporting, say

if TYPE_CHECKING:
    from nesting.job.folder import Job

WordsArgument = Annotated[
    list[str],
    typer.Argument(
        metavar="[cut|want] JOB", help="The job folder; before it `cut` or `want`, or nothing to show the rack."
    ),
]


def rack(words: WordsArgument, as_json: JsonOption = False, verbose: VerboseOption = False) -> None:
    """Show the boards of the job's rack with the density that each scale reading gives.

    `rack cut JOB`: the boards of the layout are cut; put their offcuts back into the rack, with outline and mass.

    `rack want JOB`: the shopping card: boards that are missing, with the weight to look for.
    """
    actions = {"show": _show, "cut": _cut, "want": _want}
    action, folder = (words[0], words[1]) if len(words) == 2 else ("show", words[0])
    if action not in actions or len(words) > 2:
        raise typer.BadParameter(f"{' '.join(words)!r} was given; write JOB, cut JOB or want JOB.")
    with reporting(is_verbose=verbose):
        from nesting.job.folder import open_job

        actions[action](open_job(Path(folder)), as_json)


def _show(job: Job, as_json: bool) -> None:
    from nesting.cli.tables import show_rack
    from nesting.cli.wood_tables import show_readings
    from nesting.job.rack import read_rack
    from nesting.job.results import rack_notes, rack_result
    from nesting.job.wood import accuracy_of, materials_of

    boards, materials, accuracy = read_rack(job), materials_of(job), accuracy_of(job)
    notes = rack_notes(boards, materials=materials, accuracy=accuracy)
    if as_json:
        give_json(rack_result(boards, materials=materials, accuracy=accuracy, notes=notes))
    else:
        show_rack(boards, units=job.spec.job.units, materials=materials, accuracy=accuracy)
        show_readings(boards, materials, accuracy)
    finish(notes)


def _cut(job: Job, as_json: bool) -> None:
    from nesting.cli.wood_tables import show_offcuts
    from nesting.job.racking import cut_rack
    from nesting.job.results import rack_result
    from nesting.job.tracing import make_parts, trace_job

    parts, _ = make_parts(job, trace_job(job, progress=say))
    done = cut_rack(job, parts)
    if as_json:
        names = {board: [piece.name for piece in pieces] for board, pieces in done.offcuts.items()}
        give_json(rack_result(done.boards) | {"offcuts": names})
    else:
        show_offcuts(done.offcuts, units=job.spec.job.units)
    finish(())


def _want(job: Job, as_json: bool) -> None:
    from nesting.cli.wood_tables import show_wanted
    from nesting.job.making import stored_layout
    from nesting.job.rack import read_rack
    from nesting.job.racking import shopping_list
    from nesting.job.tracing import make_parts, trace_job

    parts, notes = make_parts(job, trace_job(job, progress=say))
    boards = read_rack(job)
    wanted = shopping_list(job, parts, boards, stored_layout(job, parts, boards))
    if as_json:
        give_json({"wanted": [line.as_json() for line in wanted], "notes": [note.as_json() for note in notes]})
    else:
        show_wanted(wanted, units=job.spec.job.units)
    finish(notes)
