"""Notes for people: short, each with its place, open ones always told and counted in the exit code."""

import io

import pytest
import typer
from rich.console import Console

from nesting.cli.console import finish, say, show_table, stages
from vectorize.basics.notes import Note


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


def test_what_was_told_before_is_told_again_only_where_it_belongs(capsys):
    skew = Note("skew", "the sheet lies 1.7 degrees clockwise; this is undone.")
    finish([skew.retold()])
    assert capsys.readouterr().err == ""
    finish([skew.retold()], tells_all=True)
    assert "1.7 degrees" in capsys.readouterr().err
    finish([skew.retold(), skew])  # of two parts of one sheet, one was traced just now
    assert "1.7 degrees" in capsys.readouterr().err


def test_what_is_open_about_a_plan_is_told_by_every_command(capsys):
    with pytest.raises(typer.Exit):
        finish([Note("seam", "it does not fit.", "open").retold()])
    assert "it does not fit" in capsys.readouterr().err


def test_a_terminal_is_shown_each_stage_and_how_much_is_done():
    terminal = Console(file=io.StringIO(), force_terminal=True, width=100)
    with stages(terminal) as progress:
        progress("tracing plan.png")
        progress("thinning the lines", 0.5)
    shown = terminal.file.getvalue()
    assert "tracing plan.png" in shown
    assert "thinning the lines" in shown


def test_without_a_terminal_each_piece_of_work_is_one_line(capsys):
    with stages(Console(stderr=True, force_terminal=False)) as progress:
        progress("tracing plan.png")
        progress("thinning the lines", 0.5)
        progress("nesting")
    assert capsys.readouterr().err == "tracing plan.png\nnesting\n"


def test_nothing_that_a_file_holds_moves_the_cursor(capsys):
    say("part \x1b[2Jfin\nsecond line")
    finish([Note("gap", "part 'a\x07b' is open.", part="a\x07b")])
    show_table("Parts\x1b[1m", ("name",), [("\x1b[31mfin\u202e",)])
    out, err = capsys.readouterr()
    assert err == "part \\x1b[2Jfin\nsecond line\nnote: part 'a\\x07b' is open.\n"
    assert "\\x1b[31mfin\\u202e" in out
    assert not {"\x1b", "\x07", "\u202e"} & set(out)
