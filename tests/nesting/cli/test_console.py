"""Notes for people: short, each with its place, open ones always told and counted in the exit code."""

import pytest
import typer

from nesting.cli.console import finish
from vectorize.notes import Note


def test_notes_of_one_kind_and_part_are_gathered(capsys):
    finish([Note("crossed", f"a line crosses at ({x}, 5).", part="fin", at=(x, 5)) for x in (1, 2, 3)])
    assert capsys.readouterr().err == "note: fin: a line crosses at (1, 5). And 2 more like it; --json lists all.\n"


def test_every_open_note_is_told_with_its_place_and_makes_the_exit_code_4(capsys):
    with pytest.raises(typer.Exit) as stop:
        finish([Note("gap", "it is open here.", "open", "fin", at) for at in ((1.2, 5.0), (7.0, 8.0))])
    assert stop.value.exit_code == 4
    assert capsys.readouterr().err.splitlines() == [
        "open: fin: it is open here. (at pixel 1, 5)",
        "open: fin: it is open here. (at pixel 7, 8)",
    ]
