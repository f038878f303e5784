"""What all commands share: options, results on stdout, messages on stderr, errors as exit codes."""

from __future__ import annotations

import json
import sys
import traceback
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from vectorize.basics.errors import MissingLibraryError, SheetwoodError, disk_refusal
from vectorize.basics.notes import Note, each_once
from vectorize.basics.spoken import METRIC, Speech
from vectorize.basics.watch import Watcher
from vectorize.basics.wording import printable, told

if TYPE_CHECKING:
    from rich.console import Console

DONE_IN_PART = 4

JobArgument = Annotated[Path, typer.Argument(metavar="JOB", help="The job folder (it holds job.toml).")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the result as JSON on standard output.")]
ForceOption = Annotated[bool, typer.Option("--force", help="Replace result files even if somebody edited them.")]
WordsOption = Annotated[
    list[Path] | None, typer.Option("--words", help="A table of more words, in TOML; may be given several times.")
]
VerboseOption = Annotated[bool, typer.Option("--verbose", help="Show where in the program an error arose.")]

_SYSTEM_PACKAGES = {
    "libGL.so.1": "libgl1",
    "libgthread-2.0.so.0": "libglib2.0-0",
    "libglib-2.0.so.0": "libglib2.0-0",
}


@contextmanager
def reporting(folder: Path | None = None, *, is_verbose: bool = False) -> Iterator[None]:
    """Turn an error into one sentence on stderr, in the units of the job in `folder`, and its exit code."""
    try:
        yield
    except SheetwoodError as error:
        _fail(error, folder, is_verbose=is_verbose)
    except ImportError as error:
        missing = _missing_system_library(error)
        if missing is None:
            raise
        _fail(missing, folder, is_verbose=is_verbose)
    except BrokenPipeError:
        raise
    except OSError as error:
        _fail(disk_refusal(error), folder, is_verbose=is_verbose)
    except KeyboardInterrupt:
        say("stopped; nothing was half written.")
        raise typer.Exit(130) from None


def _fail(error: SheetwoodError, folder: Path | None, *, is_verbose: bool) -> None:
    if is_verbose:
        traceback.print_exception(error)
    say(told(f"sheetwood: {_speech(folder).said(str(error))}"))
    raise typer.Exit(error.exit_code)


def _speech(folder: Path | None) -> Speech:
    """Return how the job speaks; a library that is missing must not stop its own message."""
    if folder is None:
        return METRIC
    try:
        from nesting.job.speech import speech_in
    except ImportError:
        return METRIC
    return speech_in(folder)


def _missing_system_library(error: ImportError) -> MissingLibraryError | None:
    """Return the sentence for a library of the system that a wheel looks for and does not find."""
    text = str(error)
    if ".so" not in text:
        return None
    library = text.split(":")[0].strip()
    package = _SYSTEM_PACKAGES.get(library, "the one your system's search finds for it")
    return MissingLibraryError(
        f"the system library {library} is missing; install its package ({package} on Debian and Ubuntu: "
        f"`apt-get install {package}`) and repeat."
    )


def say(text: str) -> None:
    """Print a message for the person, on stderr; whatever a file brought into it is nothing that a terminal obeys."""
    print("\n".join(map(printable, text.splitlines())), file=sys.stderr)


@contextmanager
def stages(console: Console | None = None) -> Iterator[Watcher]:
    """Show what is being done: on a terminal with a bar on stderr, elsewhere a line for each piece of work."""
    if console is None and not sys.stderr.isatty():
        yield _line_by_line
        return
    from rich.console import Console

    console = console or Console(stderr=True, highlight=False, markup=False)
    if not console.is_terminal:
        yield _line_by_line
        return
    from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    columns = (SpinnerColumn(), TextColumn("{task.description}", markup=False), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task("", total=None, visible=False)

        def show(stage: str, share: float | None = None, /) -> None:
            if share is None:
                bar.console.print(stage)
                bar.reset(task, total=None, description=stage, visible=True)
            else:
                bar.update(task, total=1.0, completed=share, description=stage)

        yield show


def _line_by_line(stage: str, share: float | None = None, /) -> None:
    if share is None:
        say(stage)


def give_json(result: dict[str, Any]) -> None:
    """Print a result for programs, on stdout: in ASCII, so that no console or pipe can alter a name."""
    print(json.dumps(result, indent=1))


def show_table(title: str, heads: Sequence[str], rows: Iterable[Sequence[str]], *, right: Sequence[int] = ()) -> None:
    """Print a table for people on stdout; columns numbered in `right` are set flush right."""
    from rich.console import Console
    from rich.table import Table

    table = Table(title=printable(title), title_justify="left", title_style="bold", header_style="bold")
    for number, head in enumerate(heads):
        table.add_column(head, justify="right" if number in right else "left", overflow="fold")
    for row in rows:
        table.add_row(*map(printable, row))
    console = Console(highlight=False, markup=False, width=None if sys.stdout.isatty() else 110)
    console.print(table)


def finish(notes: Iterable[Note], speech: Speech = METRIC, *, tells_all: bool = False) -> None:
    """Print notes on stderr, those that need no action gathered by part and kind; exit with 4 when one is open.

    What was told before is left out, unless the command is the one for it (`tells_all`): how plans were read and parts
    traced is told when it is done, and what parts are made with where they are weighed and laid out.
    """
    notes = tuple(note for note in each_once(notes) if tells_all or not note.is_retold)
    kinds = Counter((note.code, note.part) for note in notes if note.state == "fixed")
    for note in notes:
        more = kinds.pop((note.code, note.part), 0) if note.state == "fixed" else 1
        if more:
            say(speech.said(_told(note, more - 1)))
    if any(note.state == "open" for note in notes):
        raise typer.Exit(DONE_IN_PART)


def _told(note: Note, more: int) -> str:
    part = "" if note.part is None or note.part in note.text else f"{note.part}: "
    place = "" if note.at is None else f"({', '.join(f'{value:.0f}' for value in note.at)})"
    at = f" (at pixel {place[1:]}" if place and place not in note.text else ""
    rest = f" And {more} more like it; --json lists all." if more else ""
    return f"{'open' if note.state == 'open' else 'note'}: {part}{note.text}{at}{rest}"
