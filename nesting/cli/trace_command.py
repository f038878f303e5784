"""`sheetwood trace`: outlines of the parts of a job, or the candidate regions of a bare plan."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from nesting.cli.console import ForceOption, JsonOption, VerboseOption, finish, give_json, reporting, say, stages

JobOrPlan = Annotated[Path, typer.Argument(metavar="JOB_OR_PLAN", help="A job folder, or a plan file on its own.")]
KnownOption = Annotated[
    list[str] | None,
    typer.Option(
        "--known",
        metavar="X1,Y1,X2,Y2,LENGTH",
        help="For a bare plan: two points in pixels and their true distance, such as 412,1880,2774,1871,'300 mm'. "
        "May be repeated.",
    ),
]
LargestOption = Annotated[
    float | None,
    typer.Option(min=1, help="For a bare plan: the largest picture to read, in million pixels; 500 unless given."),
]


def trace(
    job_or_plan: JobOrPlan,
    known: KnownOption = None,
    as_drawn: Annotated[bool, typer.Option("--as-drawn", help="For a bare plan: accept the size it states.")] = False,
    unit: Annotated[
        str | None, typer.Option(metavar="UNIT", help="For a bare DXF or SVG: its unit, mm, cm, m, in or ft.")
    ] = None,
    page: Annotated[int | None, typer.Option(help="For a bare plan: the page, from 1; the first unless given.")] = None,
    largest_megapixels: LargestOption = None,
    fresh: Annotated[bool, typer.Option("--fresh", help="Trace again even where nothing changed.")] = False,
    as_json: JsonOption = False,
    force: ForceOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Trace the parts of a job, or list the regions of a bare plan.

    Where a job names no parts, every candidate region is listed, with a numbered picture.
    """
    with reporting(job_or_plan, is_verbose=verbose):
        from nesting.cli.tables import show_outlines
        from nesting.job.bare import bare_job
        from nesting.job.results import trace_result
        from nesting.job.speech import speech_of
        from nesting.job.stages import Stages
        from nesting.job.tracing import likeness_notes, likenesses_of, write_previews, write_readings

        job = bare_job(
            job_or_plan,
            known=known or (),
            is_as_drawn=as_drawn,
            unit=unit,
            page=page,
            largest_megapixels=largest_megapixels,
        )
        with stages() as progress:
            made = Stages(job, progress=progress, is_fresh=fresh)
            traced = made.trace
        likenesses = likenesses_of(traced)
        notes = [*traced.notes, *likeness_notes(likenesses)]
        drawn = write_readings(job, traced, made.plans, is_forced=force)
        notes += drawn.notes
        if not job.spec.part:
            notes += write_previews(job, is_forced=force)
        if as_json:
            give_json(trace_result(traced, notes, likenesses))
        else:
            show_outlines(traced, units=job.spec.job.units)
            if not job.spec.part:
                say(f"Numbered pictures of these regions are in {job.out}; copy a pick into a [[part]] of job.toml.")
            for path in drawn.paths:
                say(f"What the doubtful parts may be lies side by side in {path}.")
        finish(notes, speech_of(job), tells_all=True)
