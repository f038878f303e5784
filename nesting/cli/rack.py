"""`sheetwood rack`: the boards at hand, offcuts that come back, boards to buy."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nesting.cli.console import JsonOption, VerboseOption, finish, give_json, reporting, say, stages
from vectorize.wording import shown

if TYPE_CHECKING:
    from nesting.job.folder import Job
    from nesting.job.racking import Leftover
    from vectorize.scan import Page

WordsArgument = Annotated[
    list[str],
    typer.Argument(
        metavar="[cut|want|photo] JOB [PICTURE]",
        help="The job folder; before it `cut`, `want` or `photo`, or nothing to show the rack.",
    ),
]


BoardOption = Annotated[str, typer.Option("--board", help="With photo: the name of the leftover board.")]
MaterialOption = Annotated[str, typer.Option("--material", help="With photo: its wood, such as balsa.")]
ThicknessOption = Annotated[str, typer.Option("--thickness", help="With photo: its thickness, such as '3 mm'.")]
MassOption = Annotated[str | None, typer.Option("--mass", help="With photo: what it weighs, such as '12.5 g'.")]
SheetOption = Annotated[
    str | None,
    typer.Option("--sheet", help="With photo: size of the sheet that it lies on, such as A3 or '420 x 297 mm'."),
]
KnownOption = Annotated[
    list[str] | None,
    typer.Option(
        "--known", metavar="X1,Y1,X2,Y2,LENGTH", help="With photo: two pixels and their true distance; may be repeated."
    ),
]
GrainOption = Annotated[
    str | None,
    typer.Option("--grain", metavar="X1,Y1,X2,Y2", help="With photo: two pixels along the grain; else its long side."),
]
LargestOption = Annotated[
    float | None,
    typer.Option(min=1, help="With photo: the largest picture to read, in million pixels; 500 unless given."),
]


def rack(
    words: WordsArgument,
    board: BoardOption = "",
    material: MaterialOption = "",
    thickness: ThicknessOption = "",
    mass: MassOption = None,
    sheet: SheetOption = None,
    known: KnownOption = None,
    grain: GrainOption = None,
    largest_megapixels: LargestOption = None,
    as_json: JsonOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Show the boards of the job's rack with the density that each scale reading gives.

    `rack cut JOB`: the boards of the layout are cut; put their offcuts back into the rack, with outline and mass.

    `rack want JOB`: the shopping card: boards that are missing, with the weight to look for.

    `rack photo JOB PICTURE`: a leftover board, photographed on a sheet of known size, becomes a board of the rack.
    """
    if words[0] == "photo" and len(words) == 3:
        with reporting(is_verbose=verbose):
            from nesting.job.folder import open_job
            from vectorize.scan import read_page
            from vectorize.scan.page import LARGEST_MEGAPIXELS

            given = {"--board": board, "--material": material, "--thickness": thickness}
            if missing := [option for option, value in given.items() if not value.strip()]:
                raise typer.BadParameter(f"rack photo needs {', '.join(missing)}.")
            leftover = _leftover(board, material, thickness, mass, grain)
            job, picture = open_job(Path(words[1])), Path(words[2])
            say(f"reading {picture.name}")
            page = read_page(picture, largest_megapixels=largest_megapixels or LARGEST_MEGAPIXELS)
            _photo(job, page, leftover, sheet, known or [], as_json)
        return
    actions = {"show": _show, "cut": _cut, "want": _want}
    action, folder = (words[0], words[1]) if len(words) == 2 else ("show", words[0])
    if action not in actions or len(words) > 2:
        raise typer.BadParameter(
            f"{shown(' '.join(words))} was given; write JOB, cut JOB, want JOB or photo JOB PICTURE."
        )
    with reporting(is_verbose=verbose):
        from nesting.job.folder import open_job

        actions[action](open_job(Path(folder)), as_json)


def _show(job: Job, as_json: bool) -> None:
    from nesting.cli.tables import show_rack
    from nesting.cli.wood_tables import show_readings
    from nesting.job.rack import read_rack
    from nesting.job.results import rack_notes, rack_result
    from nesting.job.wood import accuracy_of, materials_of

    boards, materials, accuracy = read_rack(job), materials_of(job), accuracy_of(job)
    notes = rack_notes(boards, materials=materials, accuracy=accuracy)
    if as_json:
        give_json(rack_result(boards, materials=materials, accuracy=accuracy, notes=notes))
    else:
        show_rack(boards, units=job.spec.job.units, materials=materials, accuracy=accuracy)
        show_readings(boards, materials, accuracy)
    finish(notes)


def _cut(job: Job, as_json: bool) -> None:
    from nesting.cli.wood_tables import show_offcuts
    from nesting.job.racking import cut_rack
    from nesting.job.results import rack_result
    from nesting.job.tracing import make_parts, trace_job
    from nesting.job.wood import accuracy_of, materials_of

    with stages() as progress:
        parts, _ = make_parts(job, trace_job(job, progress=progress))
    done = cut_rack(job, parts)
    if as_json:
        names = {board: [piece.name for piece in pieces] for board, pieces in done.offcuts.items()}
        rack = rack_result(done.boards, materials=materials_of(job), accuracy=accuracy_of(job))
        give_json(rack | {"offcuts": names})
    else:
        show_offcuts(done.offcuts, units=job.spec.job.units)
    finish(())


def _want(job: Job, as_json: bool) -> None:
    from nesting.cli.wood_tables import show_wanted
    from nesting.job.making import stored_layout
    from nesting.job.pictures import write_shopping_card
    from nesting.job.rack import read_rack
    from nesting.job.racking import shopping_list
    from nesting.job.tracing import make_parts, trace_job

    with stages() as progress:
        parts, notes = make_parts(job, trace_job(job, progress=progress))
    boards = read_rack(job)
    wanted = shopping_list(job, parts, boards, stored_layout(job, parts, boards))
    notes = (*notes, *write_shopping_card(job, wanted))
    if as_json:
        give_json({"wanted": [line.as_json() for line in wanted], "notes": [note.as_json() for note in notes]})
    else:
        show_wanted(wanted, units=job.spec.job.units)
        say(f"The card to take along is {job.out / 'shopping-card.pdf'}.")
    finish(notes)


def _leftover(board: str, material: str, thickness: str, mass: str | None, grain: str | None) -> Leftover:
    from nesting.job.racking import Leftover
    from vectorize.errors import CallError
    from vectorize.units import parse_length, parse_mass

    along = None
    if grain is not None:
        try:
            x0, y0, x1, y1 = (float(number) for number in grain.split(","))
        except ValueError as error:
            raise CallError(f"--grain is {shown(grain)}; write two pixels along the grain as X1,Y1,X2,Y2.") from error
        along = ((x0, y0), (x1, y1))
    return Leftover(
        board.strip(),
        material.strip(),
        parse_length(thickness, what="--thickness"),
        None if mass is None else parse_mass(mass, what="--mass"),
        along,
    )


def _photo(job: Job, page: Page, leftover: Leftover, sheet: str | None, known: list[str], as_json: bool) -> None:
    from nesting.cli.tables import show_rack
    from nesting.job.bare import parse_known
    from nesting.job.rack import read_rack
    from nesting.job.racking import add_leftover
    from nesting.job.results import rack_result
    from nesting.job.wood import accuracy_of, materials_of
    from vectorize.errors import CallError
    from vectorize.flatten import parse_sheet
    from vectorize.scale import KnownDimension

    if sheet is None and not known:
        raise CallError("nothing says how large the board is; give --sheet, the sheet that it lies on, or --known.")
    tables = [parse_known(text) for text in known]
    dimensions = [KnownDimension((t.start[0], t.start[1]), (t.end[0], t.end[1]), t.length) for t in tables]
    board, notes = add_leftover(
        job, page, leftover, sheet_mm=None if sheet is None else parse_sheet(sheet), known=dimensions
    )
    boards, materials, accuracy = read_rack(job), materials_of(job), accuracy_of(job)
    if as_json:
        outline = {"name": board.name, "area_mm2": board.shape.area_mm2, "outline": board.shape.as_json()}
        give_json(rack_result(boards, materials=materials, accuracy=accuracy, notes=notes) | {"added": outline})
    else:
        show_rack(boards, units=job.spec.job.units, materials=materials, accuracy=accuracy)
    finish(notes)
