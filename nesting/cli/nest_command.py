"""`sheetwood nest`: where all parts fit on the boards."""

from __future__ import annotations

from contextlib import nullcontext
from typing import TYPE_CHECKING, Annotated

import typer

from nesting.cli.console import (
    JobArgument,
    JsonOption,
    VerboseOption,
    finish,
    give_json,
    reporting,
    show_table,
    stages,
)
from nesting.cli.run_command import SecondsOption, SeedOption, SweepsOption, UnpinOption, effort_of

if TYPE_CHECKING:
    from nesting.place.other_boards import BoardFit

ClusterOption = Annotated[
    str | None, typer.Option("--cluster", metavar="ADDRESS", help="Search on a dask cluster; 'local': on all cores.")
]
OnOption = Annotated[
    list[str] | None,
    typer.Option(
        "--on", metavar="BOARD", help="Compare how what is still to be cut fits on this board alone; may be repeated."
    ),
]


def nest(
    job: JobArgument,
    time: SecondsOption = "20s",
    seed: SeedOption = None,
    sweeps: SweepsOption = None,
    on: OnOption = None,
    unpin: UnpinOption = False,
    cluster: ClusterOption = None,
    as_json: JsonOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Nest all parts on the boards, along the grain, and prove it."""
    with reporting(job, is_verbose=verbose):
        from nesting.cli.tables import show_layout
        from nesting.job.folder import open_job
        from nesting.job.laying import boards_fit, nest_job, unplaced_notes
        from nesting.job.results import nest_result
        from nesting.job.speech import speech_of
        from nesting.job.stages import Stages
        from nesting.place.cluster import cluster_executor

        opened = open_job(job)
        with stages() as progress:
            made = Stages(opened, progress=progress)
            parts = made.parts
        effort = effort_of(opened, time, seed, sweeps)
        if on:
            fits, notes = boards_fit(opened, parts, made.boards, on, effort=effort)
            if as_json:
                give_json({"fits": [_fit_json(fit) for fit in fits], "notes": [note.as_json() for note in notes]})
            else:
                _show_fits(fits, opened.spec.job.units)
            finish(notes, speech_of(opened))
            return
        with nullcontext() if cluster is None else cluster_executor(cluster) as executor, stages() as progress:
            progress("nesting")
            layout = nest_job(
                opened, parts, made.boards, effort=effort, executor=executor, lets_go=unpin, progress=progress
            )
        notes = (*made.notes, *layout.notes, *unplaced_notes(layout))
        if as_json:
            give_json(nest_result(layout, notes))
        else:
            show_layout(layout, units=opened.spec.job.units)
        finish(notes, speech_of(opened))


def _show_fits(fits: list[BoardFit], units: str) -> None:
    from vectorize.basics.units import figure, sides, unit_of

    rows = [
        (
            fit.board,
            "all" if fit.fits else f"{fit.placed} of {fit.copies}",
            figure(fit.used_length_mm, "length", units=units, decimals=0),
            f"{100 * fit.used_fraction:.0f} %",
            sides(fit.offcut_mm, units=units, decimals=0),
        )
        for fit in fits
    ]
    unit = unit_of("length", units)
    heads = ("board", "parts that fit", f"length used {unit}", "area used", f"left {unit}")
    show_table("Each board alone", heads, rows)


def _fit_json(fit: BoardFit) -> dict[str, object]:
    return {
        "board": fit.board,
        "copies": fit.copies,
        "placed": fit.placed,
        "fits": fit.fits,
        "used_length_mm": round(fit.used_length_mm, 3),
        "used_fraction": round(fit.used_fraction, 5),
        "offcut_mm": list(fit.offcut_mm),
    }
