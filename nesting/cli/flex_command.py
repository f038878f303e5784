"""`sheetwood flex`: how springy a carved panel is, built one way or another."""

from __future__ import annotations

from typing import Annotated

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

PartArgument = Annotated[str, typer.Argument(metavar="PART", help="A panel that the job carves.")]
OptionsArgument = Annotated[
    list[str] | None,
    typer.Argument(metavar="[OPTION]...", help="Ways to build it, or boards; by default all that the job names."),
]


def flex(
    job: JobArgument,
    part: PartArgument,
    options: OptionsArgument = None,
    as_json: JsonOption = False,
    force: ForceOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Compare ways to build a carved panel by their springiness.

    First bending and first twist, stiffness and mass against the first way, with their doubt: other boards, edges,
    spars, skins and coverings. Ratios only, never a speed.
    """
    with reporting(job, is_verbose=verbose):
        from nesting.cli.flex_shown import show_flex
        from nesting.job.card_files import write_flex
        from nesting.job.flexing import flex_job
        from nesting.job.folder import open_job
        from nesting.job.speech import speech_of
        from nesting.job.stages import Stages

        opened = open_job(job)
        with stages() as progress:
            model = Stages(opened, progress=progress).model
        report = flex_job(opened, model, part, options or ())
        kept = write_flex(opened, report, is_forced=force)
        notes, speech = [*report.notes, *kept], speech_of(opened)
        if as_json:
            give_json(report.as_json() | {"notes": [note.as_json() for note in notes]})
        else:
            show_flex(report, units=speech.units)
        finish(notes, speech)
