"""`sheetwood pattern`: true-size patterns as PDF, SVG, DXF and PNG."""

from __future__ import annotations

from pathlib import Path
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
from nesting.cli.run_command import SecondsOption, SeedOption, effort_of

ToolName = Literal["saw", "knife", "laser", "router"]
StyleName = Literal["stick-on", "card"]


def pattern(
    job: JobArgument,
    part: Annotated[str | None, typer.Option(help="Only this part.")] = None,
    as_format: Annotated[
        list[str] | None, typer.Option("--as", metavar="pdf|svg|dxf|png", help="Only this format; may be repeated.")
    ] = None,
    paper: Annotated[str | None, typer.Option(help="Paper, such as A4 or Letter; the job's own by default.")] = None,
    mirror: Annotated[
        bool | None, typer.Option("--mirror/--no-mirror", help="Mirrored, to be ironed on; the job's own by default.")
    ] = None,
    tool: Annotated[
        ToolName | None, typer.Option(help="What follows the lines; files for laser and router allow for its width.")
    ] = None,
    style: Annotated[
        StyleName | None, typer.Option(help="Paper to stick on, or card to trace round; the job's own by default.")
    ] = None,
    printer: Annotated[
        tuple[str, str] | None,
        typer.Option(metavar="ACROSS UP", help="What the two 100 mm bars measured, such as '99.2 mm' '100.4 mm'."),
    ] = None,
    bring_in: Annotated[
        Path | None,
        typer.Option(help="An SVG or DXF pattern of --part that was edited: it becomes the part's outline."),
    ] = None,
    unit: Annotated[
        str | None,
        typer.Option(help="One unit of the --bring-in drawing, such as '1 mm' or '1 in', where it says none."),
    ] = None,
    time: SecondsOption = "10s",
    seed: SeedOption = None,
    as_json: JsonOption = False,
    force: ForceOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Write true-size patterns of every board and part to out/."""
    with reporting(job, is_verbose=verbose):
        from nesting.job.folder import open_job
        from nesting.job.making import pattern_job
        from nesting.job.pattern_files import EditedPattern, PatternWish
        from nesting.job.results import notes_result
        from nesting.job.speech import speech_of
        from vectorize.basics.units import parse_length

        bars = printer and (
            parse_length(printer[0], what="--printer across"),
            parse_length(printer[1], what="--printer up"),
        )
        unit_mm = None if unit is None else parse_length(unit, what="--unit")
        edited = None if bring_in is None else EditedPattern(bring_in, unit_mm)
        wish = PatternWish(part, tuple(as_format or ()), paper, mirror, tool, style, bars, edited)
        opened = open_job(job)
        effort = effort_of(opened, time, seed)
        with stages() as progress:
            files, notes = pattern_job(opened, wish=wish, effort=effort, is_forced=force, progress=progress)
        if as_json:
            give_json({"files": list(files), "notes": notes_result(notes)})
        else:
            for name in files:
                print(opened.out / name)
        finish(notes, speech_of(opened))
