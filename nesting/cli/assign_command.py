"""`sheetwood assign`: which part from which board."""

from __future__ import annotations

from typing import Annotated, Literal

import typer

from nesting.cli.console import JobArgument, JsonOption, VerboseOption, finish, give_json, reporting, stages

ObjectiveOption = Annotated[
    Literal["light", "stiff"] | None,
    typer.Option(help="Least flying weight with ballast, or stiffest; by default as [assign] says, else light."),
]
LimitOption = Annotated[str | None, typer.Option("--limit", help="Greatest flying weight, such as 420g or 15oz.")]
BestOption = Annotated[int, typer.Option(min=1, max=10, help="How many assignments that differ to show.")]
TimeOption = Annotated[str, typer.Option("--time", help="How long to search, such as 30s or 2min.")]
KeepOption = Annotated[bool, typer.Option("--keep", help="Write the best one into job.toml as board = … of each part.")]


def assign(
    job: JobArgument,
    objective: ObjectiveOption = None,
    limit: LimitOption = None,
    best: BestOption = 3,
    time: TimeOption = "30s",
    keep: KeepOption = False,
    as_json: JsonOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Choose the board for every part, checked by nesting.

    The lightest model with its ballast or the stiffest, in balance.
    """
    with reporting(job, is_verbose=verbose):
        from nesting.cli.wood_tables import show_assignments
        from nesting.job.assigning import assign_job, keep_assignment, write_assignment
        from nesting.job.folder import open_job
        from nesting.job.speech import speech_of
        from nesting.job.stages import Stages
        from vectorize.basics.units import DURATION, parse, parse_mass

        opened = open_job(job)
        with stages() as progress:
            model = Stages(opened, progress=progress).model
            progress("choosing a board for every part")
            report = assign_job(
                opened,
                model,
                objective=objective,
                weight_limit_g=None if limit is None else parse_mass(limit, what="--limit"),
                best=best,
                time_limit_s=parse(time, DURATION, what="--time"),
                seed=opened.spec.nest.seed,
            )
        write_assignment(opened, report)
        kept = keep_assignment(opened, model, report.best[0]) if keep else ()
        speech = speech_of(opened)
        if as_json:
            give_json(report.as_json())
        else:
            show_assignments(report, speech=speech)
        finish((*model.notes, *report.notes, *kept), speech)
