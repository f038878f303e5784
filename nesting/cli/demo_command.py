"""`sheetwood demo`: the built-in job, copied and run."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from nesting.cli.console import ForceOption, JsonOption, VerboseOption, reporting, say
from nesting.cli.run_command import SecondsOption, report_run


def demo(
    folder: Annotated[Path, typer.Argument(help="The folder to copy the demo into.")] = Path("sheetwood-demo"),
    name: Annotated[
        str,
        typer.Option(
            help="Which demo: sedge (a glider), teasel (a control-line trainer) or burnet (bearers, and a cut part)."
        ),
    ] = "sedge",
    time: SecondsOption = "10s",
    seed: Annotated[int | None, typer.Option(help="Seed of the search.")] = None,
    as_json: JsonOption = False,
    force: ForceOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Copy a built-in demo job and run it from scan to patterns."""
    with reporting(folder, is_verbose=verbose):
        from nesting.job.new_job import copy_demo

        copy_demo(folder, name=name)
        say(f"The demo job is in {folder}: a scanned plan, a rack of boards and job.toml.")
        report_run(folder, time=time, seed=seed, as_json=as_json, is_forced=force)
