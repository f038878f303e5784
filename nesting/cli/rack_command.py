"""`sheetwood rack`: the boards at hand, offcuts that come back, boards to buy."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from typer.core import TyperGroup

from nesting.cli.console import JobArgument, JsonOption, VerboseOption, finish, give_json, reporting, say, stages
from vectorize.basics.wording import shown

if TYPE_CHECKING:
    from nesting.job.folder import Job
    from nesting.job.racking import Leftover
    from nesting.wood.board import Board
    from vectorize.basics.notes import Note

BoardOption = Annotated[str, typer.Option("--board", help="Name of the leftover board.")]
MaterialOption = Annotated[str, typer.Option("--material", help="Its wood, such as balsa.")]
ThicknessOption = Annotated[str, typer.Option("--thickness", help="Its thickness, such as '3 mm'.")]
MassOption = Annotated[str | None, typer.Option("--mass", help="What it weighs, such as '12.5 g'.")]
SheetOption = Annotated[
    str | None,
    typer.Option("--sheet", help="Size of the sheet that it lies on, such as A3 or '420 x 297 mm'."),
]
KnownOption = Annotated[
    list[str] | None,
    typer.Option("--known", metavar="X1,Y1,X2,Y2,LENGTH", help="Two pixels and their true distance; may be repeated."),
]
GrainOption = Annotated[
    str | None,
    typer.Option("--grain", metavar="X1,Y1,X2,Y2", help="Two pixels along the grain; else its long side."),
]
LargestOption = Annotated[
    float | None, typer.Option(min=1, help="The largest picture to read, in million pixels; 500 unless given.")
]
PictureArgument = Annotated[Path, typer.Argument(metavar="PICTURE", help="The photo of the leftover board.")]


class _ShowUnlessNamed(TyperGroup):
    """A group whose command is `show` where none is named: `rack JOB`."""

    # What typer takes the context from differs with its version: click, or a copy of it.
    def parse_args(self, ctx: typer.Context, args: list[str]) -> list[str]:  # type: ignore[override]
        """Put the named command first, or `show`; a call for help stays one for the group."""
        if args and args[0] not in (*self.commands, *ctx.help_option_names):
            # Options may stand before the command, as they may before the job.
            named = next((word for word in args if word in self.commands), None) if args[0][:1] == "-" else None
            if named is not None:
                args.remove(named)
            args = [named or "show", *args]
        return super().parse_args(ctx, args)


rack = typer.Typer(
    cls=_ShowUnlessNamed,
    no_args_is_help=True,
    rich_markup_mode=None,
    subcommand_metavar="[show|cut|want|photo] JOB",
    help="Show the boards at hand; put offcuts back; list boards to buy.",
    epilog="`sheetwood rack JOB` is the same as `sheetwood rack show JOB`.",
)


@rack.command("show")
def show(job: JobArgument, as_json: JsonOption = False, verbose: VerboseOption = False) -> None:
    """Show every board with the density that its scale reading gives."""
    with reporting(job, is_verbose=verbose):
        from nesting.job.folder import open_job

        _show(open_job(job), as_json)


@rack.command("cut")
def cut(job: JobArgument, as_json: JsonOption = False, verbose: VerboseOption = False) -> None:
    """Put the offcuts of the layout's boards back into the rack.

    The boards of the layout are cut: what is left of each comes back with outline and mass.
    """
    with reporting(job, is_verbose=verbose):
        from nesting.job.folder import open_job

        _cut(open_job(job), as_json)


@rack.command("want")
def want(job: JobArgument, as_json: JsonOption = False, verbose: VerboseOption = False) -> None:
    """Write the shopping card: missing boards, and all that the job takes.

    It says what each missing board should weigh. The stock list has boards, strip cut to length, wire,
    covering, paint and glue, with waste, and with the cost where prices are known.
    """
    with reporting(job, is_verbose=verbose):
        from nesting.job.folder import open_job

        _want(open_job(job), as_json)


@rack.command("photo")
def photo(
    job: JobArgument,
    picture: PictureArgument,
    board: BoardOption,
    material: MaterialOption,
    thickness: ThicknessOption,
    mass: MassOption = None,
    sheet: SheetOption = None,
    known: KnownOption = None,
    grain: GrainOption = None,
    largest_megapixels: LargestOption = None,
    as_json: JsonOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Add a leftover board by its photo on a sheet of known size."""
    with reporting(job, is_verbose=verbose):
        from nesting.job.folder import open_job
        from nesting.job.racking import add_photographed

        given = {"--board": board, "--material": material, "--thickness": thickness}
        if missing := [option for option, value in given.items() if not value.strip()]:
            raise typer.BadParameter(f"rack photo needs {', '.join(missing)}.")
        leftover = _leftover(board, material, thickness, mass, grain)
        opened = open_job(job)
        say(f"reading {picture.name}")
        board_added, notes = add_photographed(
            opened, picture, leftover, sheet=sheet, known=known or (), largest_megapixels=largest_megapixels
        )
        _photographed(opened, board_added, notes, as_json)


def _show(job: Job, as_json: bool) -> None:
    from nesting.cli.tables import show_rack
    from nesting.cli.wood_tables import show_readings
    from nesting.job.rack_files import read_rack
    from nesting.job.results import rack_notes, rack_result
    from nesting.job.speech import speech_of
    from nesting.job.wood import wood_of

    boards, wood = read_rack(job), wood_of(job.spec)
    notes = rack_notes(boards, wood=wood)
    if as_json:
        give_json(rack_result(boards, wood=wood, notes=notes))
    else:
        show_rack(boards, units=job.spec.job.units, wood=wood)
        show_readings(boards, wood)
    finish(notes, speech_of(job))


def _cut(job: Job, as_json: bool) -> None:
    from nesting.cli.wood_tables import show_offcuts
    from nesting.job.racking import cut_rack
    from nesting.job.results import rack_result
    from nesting.job.speech import speech_of
    from nesting.job.stages import Stages
    from nesting.job.wood import wood_of

    with stages() as progress:
        made = Stages(job, progress=progress)
        layout = made.need_layout()
    done = cut_rack(job, made.parts, layout)
    if as_json:
        names = {board: [piece.name for piece in pieces] for board, pieces in done.offcuts.items()}
        rack = rack_result(done.boards, wood=wood_of(job.spec))
        give_json(rack | {"offcuts": names})
    else:
        show_offcuts(done.offcuts, units=job.spec.job.units)
    finish((), speech_of(job))


def _want(job: Job, as_json: bool) -> None:
    from nesting.cli.stock_shown import show_stock
    from nesting.cli.wood_tables import show_wanted
    from nesting.job.card_files import write_shopping_card
    from nesting.job.racking import shopping_list
    from nesting.job.rules import rules_of
    from nesting.job.speech import speech_of
    from nesting.job.stages import Stages
    from nesting.job.stocking import Takes, stock_list

    with stages() as progress:
        made = Stages(job, progress=progress)
        wanted = shopping_list(job, made.parts, made.boards, made.layout)
        kerf_mm, of = rules_of(job).kerf_mm, made.made
        takes = Takes(job.spec, kerf_mm, of.parts, of.seams, made.boards, made.layout, wanted, made.weights)
        stock, said = stock_list(takes)
    notes = (*made.made.notes, *said, *write_shopping_card(job, wanted, stock))
    if as_json:
        lines = [line.as_json() for line in wanted]
        give_json({"wanted": lines, "stock": stock.as_json(), "notes": [note.as_json() for note in notes]})
    else:
        show_wanted(wanted, speech=speech_of(job))
        show_stock(stock, speech=speech_of(job))
        say(f"The card to take along is {job.out / 'shopping-card.pdf'}.")
    finish(notes, speech_of(job))


def _leftover(board: str, material: str, thickness: str, mass: str | None, grain: str | None) -> Leftover:
    from nesting.job.racking import Leftover
    from vectorize.basics.errors import CallError
    from vectorize.basics.units import parse_length, parse_mass

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


def _photographed(job: Job, board: Board, notes: Sequence[Note], as_json: bool) -> None:
    from nesting.cli.tables import show_rack
    from nesting.job.rack_files import read_rack
    from nesting.job.results import rack_result
    from nesting.job.speech import speech_of
    from nesting.job.wood import wood_of

    boards, wood = read_rack(job), wood_of(job.spec)
    if as_json:
        outline = {"name": board.name, "area_mm2": board.shape.area_mm2, "outline": board.shape.as_json()}
        give_json(rack_result(boards, wood=wood, notes=notes) | {"added": outline})
    else:
        show_rack(boards, units=job.spec.job.units, wood=wood)
    finish(notes, speech_of(job))
