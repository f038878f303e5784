"""`sheetwood new`: start a job."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from nesting.cli.console import VerboseOption, reporting, say


def new(
    folder: Annotated[Path, typer.Argument(help="The folder to make.")],
    plan: Annotated[Path | None, typer.Option(help="The scan or drawing to copy into it.")] = None,
    verbose: VerboseOption = False,
) -> None:
    """Start a job: a folder with job.toml, rack.csv and the plan.

    Both files say in comments what goes into them.
    """
    with reporting(is_verbose=verbose):
        from nesting.job.new_job import new_job

        path = new_job(folder, plan=plan)
        say(f"Made {path}. Next: put known dimensions into it, then `sheetwood trace {folder}`.")
