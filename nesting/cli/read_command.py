"""`sheetwood read`: what a scanned plan says of itself and of its parts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nesting.cli.console import JsonOption, VerboseOption, WordsOption, finish, give_json, reporting, show_table, stages

if TYPE_CHECKING:
    from nesting.job.draft import Draft, Value
    from nesting.job.drafting import ReadSheet


def read(
    plan: Annotated[Path, typer.Argument(metavar="PLAN", help="A scan or photo of a plan.")],
    page: Annotated[int, typer.Option(min=1, help="The page, from 1.")] = 1,
    largest_megapixels: Annotated[
        float | None, typer.Option(min=1, help="The largest picture to read, in million pixels; 500 unless given.")
    ] = None,
    words: WordsOption = None,
    as_json: JsonOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Read lettering, dimensions, scale and labelled parts off a scan.

    Nothing is written. A scale is proposed where at least three dimensions agree.
    """
    with reporting(is_verbose=verbose):
        from nesting.job.draft import load_vocabulary
        from nesting.job.drafting import read_scan

        vocabulary = load_vocabulary(*(words or ()))
        with stages() as progress:
            read = read_scan(plan, vocabulary, page=page, largest_megapixels=largest_megapixels, watch=progress)
        reading, draft = read.reading, read.draft
        notes = (*reading.notes, *draft.notes)
        if as_json:
            said = [note.as_json() for note in notes]
            give_json({**reading.as_json(), "parts": draft.as_json(reading.texts), "notes": said})
        else:
            _show(read)
            _show_parts(draft)
        finish(notes)


def _show(read: ReadSheet) -> None:
    from vectorize.basics.units import format_length

    reading = read.reading

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


def _show_parts(draft: Draft) -> None:
    from vectorize.basics.units import format_length

    def cell(value: Value[Any] | None, write: Callable[[Any], str] = str) -> str:
        return "" if value is None else f"{write(value.value)} ({value.sure:.0%})"

    rows = [
        (
            cell(part.name),
            f"{part.inside[0]:.0f}, {part.inside[1]:.0f}",
            cell(part.material),
            cell(part.thickness_mm, format_length),
            cell(part.count),
            cell(part.hand),
        )
        for part in draft.parts
    ]
    show_table("Parts", ("name", "inside", "material", "thickness", "count", "hand"), rows)
