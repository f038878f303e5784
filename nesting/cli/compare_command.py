"""`sheetwood compare`: one part from two or more boards."""

from __future__ import annotations

from typing import Annotated, Literal

import typer

from nesting.cli.console import (
    ForceOption,
    JobArgument,
    JsonOption,
    VerboseOption,
    finish,
    give_json,
    reporting,
    stages,
)

PartArgument = Annotated[str, typer.Argument(metavar="PART", help="The part to choose a board for.")]
BoardsArgument = Annotated[
    list[str] | None,
    typer.Argument(metavar="[BOARD]...", help="Two or more boards; by default all that could make it."),
]
PriorityOption = Annotated[
    Literal["light", "stiff", "balanced"],
    typer.Option(help="What the advice weighs most: flying weight, stiffness, or least ballast."),
]


def compare(
    job: JobArgument,
    part: PartArgument,
    boards: BoardsArgument = None,
    priority: PriorityOption = "light",
    as_json: JsonOption = False,
    force: ForceOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Compare boards for a part: weight, stiffness and balance.

    What each board costs in weight, buys in stiffness, and does to balance and flying weight.
    """
    with reporting(job, is_verbose=verbose):
        from nesting.cli.wood_tables import show_comparison
        from nesting.job.card_files import write_comparison
        from nesting.job.comparing import compare_job, side_view_of
        from nesting.job.folder import open_job
        from nesting.job.speech import speech_of
        from nesting.job.stages import Stages

        opened = open_job(job)
        with stages() as progress:
            model = Stages(opened, progress=progress).model
        comparison = compare_job(opened, model, part, boards or (), priority=priority)
        view = side_view_of(opened, model, part)
        kept = write_comparison(opened, comparison, model.plan, side_view=view, is_forced=force)
        notes = [*comparison.notes, *kept]
        speech = speech_of(opened)
        if as_json:
            give_json(comparison.as_json() | {"notes": [note.as_json() for note in notes]})
        else:
            show_comparison(comparison, speech=speech)
        finish(notes, speech)
