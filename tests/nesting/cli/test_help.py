"""Help says everything in one line per command, in a window of 80 columns."""

import re

import pytest

COMMANDS = [
    "assign",
    "balance",
    "batch",
    "check",
    "compare",
    "demo",
    "desk",
    "flex",
    "nest",
    "new",
    "pattern",
    "rack",
    "run",
    "scale",
    "tap",
    "trace",
]
RACK_COMMANDS = ["cut", "photo", "show", "want"]


@pytest.fixture(autouse=True)
def narrow(monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("TERMINAL_WIDTH", "80")


@pytest.mark.parametrize(("words", "commands"), [((), COMMANDS), (("rack",), RACK_COMMANDS)])
def test_no_summary_of_a_command_is_cut_off(sheetwood, words, commands):
    shown = sheetwood(*words, "--help").out
    lines = shown.split("Commands:\n")[1].split("\n\n")[0].splitlines()
    assert {line.split()[0] for line in lines} >= set(commands)
    assert [line for line in lines if not line.endswith(".") or line.endswith("...")] == []
    assert max(map(len, shown.splitlines())) <= 80


@pytest.mark.parametrize("words", [(), ("nest",), ("rack",), *(("rack", word) for word in RACK_COMMANDS)])
def test_short_and_long_call_for_help_say_the_same(sheetwood, words):
    short, long = sheetwood(*words, "-h"), sheetwood(*words, "--help")
    assert short.code == 0
    assert short.out == long.out


@pytest.mark.parametrize(("word", "option"), [("cut", None), ("want", None), ("photo", "--sheet"), ("show", None)])
def test_what_is_done_with_a_rack_has_a_help_of_its_own(sheetwood, word, option):
    shown = sheetwood("rack", word, "--help").out
    assert f"rack {word}" in shown.splitlines()[0]
    assert ("--sheet" in shown) == (option == "--sheet")


def test_help_names_the_files_of_a_job_as_they_are_called(sheetwood):
    shown = " ".join(sheetwood("--help").out.split())
    assert "holds job.toml, the scans and rack.csv." in shown


def test_completion_can_be_installed(sheetwood):
    assert re.search(r"--install-completion\b", sheetwood("--help").out)


@pytest.mark.parametrize("words", [("rack", "JOB"), ("rack", "show", "JOB"), ("rack", "--json", "JOB")])
def test_a_rack_is_shown_where_no_command_is_named(sheetwood, small_job, words):
    done = sheetwood(*(small_job.folder if word == "JOB" else word for word in words))
    assert done.code == 0
    assert "light" in done.out


@pytest.mark.parametrize("words", [("rack", "want", "JOB", "--json"), ("rack", "--json", "want", "JOB")])
def test_options_may_stand_before_what_is_done_with_a_rack(sheetwood, small_job, words):
    done = sheetwood(*(small_job.folder if word == "JOB" else word for word in words))
    assert done.json["wanted"] == []


@pytest.mark.parametrize("words", [("rack",), ("rack", "cut"), ("rack", "photo", "JOB"), ("rack", "buy", "JOB")])
def test_a_call_that_lacks_something_is_a_wrong_call(sheetwood, small_job, words):
    assert sheetwood(*(small_job.folder if word == "JOB" else word for word in words)).code == 2
