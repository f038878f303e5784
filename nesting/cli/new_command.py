"""`sheetwood new`: start a job."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from nesting.cli.console import VerboseOption, WordsOption, finish, reporting, say, stages
from vectorize.basics.errors import CallError


def new(
    folder: Annotated[Path, typer.Argument(help="The folder to make.")],
    plan: Annotated[Path | None, typer.Option(help="The scan or drawing to copy into it.")] = None,
    draft: Annotated[
        bool, typer.Option("--draft", help="Fill in what is lettered on the scan: scale, parts, wood, counts.")
    ] = False,
    rack: Annotated[Path | None, typer.Option(help="With --draft: the rack table to copy into it.")] = None,
    page: Annotated[int, typer.Option(min=1, help="With --draft: the page of the plan's file, from 1.")] = 1,
    words: WordsOption = None,
    verbose: VerboseOption = False,
) -> None:
    """Start a job: a folder with job.toml, rack.csv and the plan.

    Both files say in comments what goes into them. With --draft, job.toml is filled in from what the plan says, and
    read.png shows what was read where.
    """
    with reporting(is_verbose=verbose):
        if draft:
            _draft(folder, plan, rack, page=page, words=words or [])
            return
        if rack is not None or page != 1 or words:
            raise CallError("--rack, --page and --words go with --draft; add it, or leave them out.")
        from nesting.job.new_job import new_job

        path = new_job(folder, plan=plan)
        say(f"Made {path}. Next: put known dimensions into it, then `sheetwood trace {folder}`.")


def _draft(folder: Path, plan: Path | None, rack: Path | None, *, page: int, words: list[Path]) -> None:
    from nesting.job.drafting import draft_new_job

    if plan is None:
        raise CallError("--draft reads a plan; give it with --plan.")
    with stages() as progress:
        made = draft_new_job(folder, plan=plan, rack=rack, page=page, words=words, watch=progress)
    parts = f"{made.parts} part{'' if made.parts == 1 else 's'}"
    say(f"Made {made.path} with {parts}. Look at read.png beside it, tick what is open, then `sheetwood run {folder}`.")
    finish(made.notes)
