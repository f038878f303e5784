"""`sheetwood run`: a job from scan to patterns, every stage in turn."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nesting.cli.console import (
    ForceOption,
    JobArgument,
    JsonOption,
    VerboseOption,
    finish,
    give_json,
    reporting,
    say,
    stages,
)

if TYPE_CHECKING:
    from nesting.job.folder import Job
    from nesting.job.laying import Effort

SecondsOption = Annotated[str, typer.Option("--time", help="How long to look for better layouts, such as 20s or 2min.")]
SeedOption = Annotated[int | None, typer.Option(help="Seed of the search; the job's own by default.")]
SweepsOption = Annotated[
    int | None, typer.Option(help="Stop after so many sweeps; with a seed the result is then the same every time.")
]

UnpinOption = Annotated[
    bool, typer.Option("--unpin", help="Let go of what was pinned at the desk; parts that are cut stay in place.")
]


def effort_of(job: Job, time: str, seed: int | None, sweeps: int | None = None) -> Effort:
    """Return the search effort asked for on the command line; a sweep limit replaces the time limit."""
    from nesting.job.laying import Effort
    from vectorize.basics.units import DURATION, parse

    seconds = None if sweeps is not None else parse(time, DURATION, what="--time")
    return Effort(seconds, sweeps, job.spec.nest.seed if seed is None else seed)


def run(
    job: JobArgument,
    time: SecondsOption = "10s",
    seed: SeedOption = None,
    unpin: UnpinOption = False,
    as_json: JsonOption = False,
    force: ForceOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Trace, weigh, nest and write patterns."""
    with reporting(job, is_verbose=verbose):
        report_run(job, time=time, seed=seed, as_json=as_json, is_forced=force, lets_go=unpin)


def report_run(
    folder: Path, *, time: str, seed: int | None, as_json: bool, is_forced: bool, lets_go: bool = False
) -> None:
    """Run the job in `folder` and show what came out."""
    from nesting.cli.tables import show_layout, show_outlines, show_weights
    from nesting.job.folder import open_job
    from nesting.job.making import run_job
    from nesting.job.results import nest_result, trace_result, weigh_result
    from nesting.job.speech import speech_of

    job = open_job(folder)
    with stages() as progress:
        effort = effort_of(job, time, seed)
        done = run_job(job, effort=effort, is_forced=is_forced, progress=progress, lets_go=lets_go)
    speech = speech_of(job)
    if as_json:
        give_json(
            {
                "trace": trace_result(done.trace, ()),
                "weigh": weigh_result(done.weights, ()),
                "nest": nest_result(done.layout, ()),
                "files": list(done.files),
                "notes": [note.as_json() for note in done.notes],
            }
        )
    else:
        show_outlines(done.trace, units=speech.units)
        show_weights(done.weights, done.parts, done.boards, speech=speech)
        show_layout(done.layout, units=speech.units)
        say(f"{len(done.files)} files are in {job.out}. Print patterns at 100 %, then measure the bars on each page.")
    finish(done.notes, speech, tells_all=True)
