"""`sheetwood desk`: the local page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from nesting.cli.console import VerboseOption, reporting, say


def desk(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="The job folder; an empty or new one starts a job.")],
    port: Annotated[int, typer.Option(min=0, max=65535, help="Port on this machine; any free one by default.")] = 0,
    browser: Annotated[bool, typer.Option(help="Open the page in the browser.")] = True,
    verbose: VerboseOption = False,
) -> None:
    """Open a job as a page in the browser, on this machine only."""
    with reporting(is_verbose=verbose):
        from nesting.desk.serve import serve

        serve(job, port=port, opens_browser=browser, say=say)
