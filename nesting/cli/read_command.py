"""`sheetwood read`: what a scanned plan says of itself."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nesting.cli.console import JsonOption, VerboseOption, finish, give_json, reporting, show_table, stages

if TYPE_CHECKING:
    from vectorize.marks.read_plan import PlanReading


def read(
    plan: Annotated[Path, typer.Argument(metavar="PLAN", help="A scan or photo of a plan.")],
    page: Annotated[int, typer.Option(min=1, help="The page, from 1.")] = 1,
    largest_megapixels: Annotated[
        float | None, typer.Option(min=1, help="The largest picture to read, in million pixels; 500 unless given.")
    ] = None,
    as_json: JsonOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Read lettering, dimensions and scale off a scan.

    Nothing is written. A scale is proposed where at least three dimensions agree.
    """
    with reporting(is_verbose=verbose):
        from vectorize.marks.read_plan import read_plan
        from vectorize.page import LARGEST_MEGAPIXELS, read_page

        opened = read_page(plan, page=page, largest_megapixels=largest_megapixels or LARGEST_MEGAPIXELS)
        with stages() as progress:
            reading = read_plan(opened, watch=progress)
        if as_json:
            give_json(reading.as_json())
        else:
            _show(reading)
        finish(reading.notes)


def _show(reading: PlanReading) -> None:
    from vectorize.basics.units import format_length

    rows = [
        (text.text, f"{text.box_px[0][0]:.0f}, {text.box_px[0][1]:.0f}", f"{text.sure:.0%}") for text in reading.texts
    ]
    show_table("Lettering", ("text", "at", "sure"), rows, right=(2,))
    dimensions = [
        (
            reading.texts[one.text].text,
            format_length(one.length_mm),
            f"{one.start[0]:.1f}, {one.start[1]:.1f}",
            f"{one.end[0]:.1f}, {one.end[1]:.1f}",
            "yes" if one.agrees else "no",
        )
        for one in reading.dimensions
    ]
    show_table("Dimensions", ("text", "length", "from", "to", "agrees"), dimensions)
    if reading.scale is not None:
        x, y = reading.scale.px_per_mm
        scale = (f"{x:.4f}", f"{y:.4f}", f"{reading.scale.sigma_share:.2%}", str(reading.scale.used))
        show_table("Scale", ("px per mm, x", "y", "sigma", "dimensions"), [scale], right=(0, 1, 2, 3))
