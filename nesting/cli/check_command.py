"""`sheetwood check`: a part as cut, on a scan, against its outline."""

from __future__ import annotations

from pathlib import Path
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
    say,
    stages,
)

PartArgument = Annotated[str, typer.Argument(metavar="PART", help="The part that lies on the scan.")]
ScanArgument = Annotated[Path, typer.Argument(metavar="SCAN", help="Its scan: PNG, JPEG, TIFF or PDF.")]
KnownOption = Annotated[
    list[str] | None,
    typer.Option(
        "--known", metavar="X1,Y1,X2,Y2,LENGTH", help="Two pixels of the scan and their true distance; may be repeated."
    ),
]
DpiOption = Annotated[
    float | None, typer.Option("--dpi", help="How fine it was scanned; what the file states unless given.")
]
AtOption = Annotated[
    str | None, typer.Option("--at", metavar="X,Y", help="A pixel on the part, where several things lie on the scan.")
]
ToleranceOption = Annotated[
    str | None,
    typer.Option("--tolerance", metavar="LENGTH", help="What is off by more is told; '0.22 mm' unless given."),
]
LargestOption = Annotated[
    float | None, typer.Option(min=1, help="The largest picture to read, in million pixels; 500 unless given.")
]


def check(
    job: JobArgument,
    part: PartArgument,
    scan: ScanArgument,
    page: Annotated[int, typer.Option(help="The page of a PDF or TIFF, from 1.")] = 1,
    known: KnownOption = None,
    dpi: DpiOption = None,
    at: AtOption = None,
    copy: Annotated[int, typer.Option(help="Which copy of the part it is, for its board; from 1.")] = 1,
    tolerance: ToleranceOption = None,
    largest_megapixels: LargestOption = None,
    as_json: JsonOption = False,
    force: ForceOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Compare a part as cut, on the scanner, with its outline.

    Tells where to sand, its area, and what it should weigh. The part is laid on its outline by turning and shifting
    alone, also turned over. A map of the deviations at true size is written to out/. Ends with 4 where something is
    off by more than the tolerance.
    """
    with reporting(job, is_verbose=verbose):
        from nesting.cli.check_shown import show_check
        from nesting.job.bare import parse_pixel
        from nesting.job.checking import CheckScan, check_part, write_check
        from nesting.job.folder import open_job
        from nesting.job.speech import speech_of
        from nesting.job.stages import Stages
        from nesting.wood.ascut.as_cut import TOLERANCE_MM
        from vectorize.basics.units import parse_length

        tolerance_mm = TOLERANCE_MM if tolerance is None else parse_length(tolerance, what="--tolerance")
        at_px = None if at is None else parse_pixel(at, what="--at")
        wanted = CheckScan(scan, page, tuple(known or ()), dpi, at_px, largest_megapixels)
        opened = open_job(job)
        with stages() as progress:
            made = Stages(opened, progress=progress)
            progress(f"comparing {part} with {scan.name}")
            checked = check_part(made, part, wanted, copy=copy, tolerance_mm=tolerance_mm)
        kept = write_check(opened, checked, is_forced=force)
        speech = speech_of(opened)
        if as_json:
            told = checked.as_json()
            give_json(told | {"notes": told["notes"] + [note.as_json() for note in kept]})
        else:
            show_check(checked, speech=speech)
            say(f"The map of deviations lies in {opened.out}, as check-….pdf at true size and as SVG.")
        finish((*checked.notes, *kept), speech)
