"""The list of commands. Nothing heavy is imported until a command runs."""

from __future__ import annotations

import contextlib
import sys
from typing import Annotated

import typer

import nesting
from nesting.cli import (
    assign_command,
    balance_command,
    batch_command,
    check_command,
    compare_command,
    demo_command,
    desk_command,
    flex_command,
    model_command,
    nest_command,
    new_command,
    pattern_command,
    rack_command,
    read_command,
    run_command,
    scale_command,
    tap_command,
    trace_command,
    weigh_command,
)

app = typer.Typer(
    name="sheetwood",
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"]},
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="From a paper plan and a rack of wood to weighed, nested, sawable parts. "
    "Each command works on a job folder that holds job.toml, the scans and rack.csv.",
    epilog="Exit codes: 0 done, 2 wrong call, 3 bad input, 4 done in part, 5 no solution, 6 cannot write.",
)


def _show_version(is_wanted: bool) -> None:
    if is_wanted:
        typer.echo(f"sheetwood {nesting.__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version and exit.")
    ] = False,
) -> None:
    """Options that stand before any command."""


app.command("demo")(demo_command.demo)
app.command("new")(new_command.new)
app.command("read")(read_command.read)
app.command("trace")(trace_command.trace)
app.command("scale")(scale_command.scale)
app.add_typer(rack_command.rack, name="rack")
app.command("tap")(tap_command.tap)
app.command("weigh")(weigh_command.weigh)
app.command("compare")(compare_command.compare)
app.command("flex")(flex_command.flex)
app.command("balance")(balance_command.balance)
app.command("model")(model_command.model)
app.command("assign")(assign_command.assign)
app.command("nest")(nest_command.nest)
app.command("pattern")(pattern_command.pattern)
app.command("check")(check_command.check)
app.command("run")(run_command.run)
app.command("batch")(batch_command.batch)
app.command("desk")(desk_command.desk)


def main() -> None:
    """Run the command line; the process exits with the codes of the design."""
    for stream in (sys.stdout, sys.stderr):
        # A console that cannot show ½ or Ø must not stop a run, nor make one name out of two.
        with contextlib.suppress(AttributeError, ValueError):
            stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
    app()
