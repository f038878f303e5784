"""Spoilt jobs end in a sentence and lose nothing; a few hundred cases of `tests.benchmarks.mutate` with a seed kept."""

from random import Random

import pytest
from typer.main import get_command

from nesting.cli.app import app
from tests.benchmarks.commands import BASES, COMMANDS, EDITED_RESULT, builders_files
from tests.benchmarks.mutate import CASES
from tests.benchmarks.mutations import mutated
from tests.benchmarks.outcome import crash
from tests.benchmarks.spoilt import message_faults, prepare_case, run_case
from tests.benchmarks.supervisor import Supervisor
from tests.benchmarks.tiny_jobs import make_tiny_job
from vectorize.basics.errors import OutlineError
from vectorize.shapes.outline import Outline

SEED = 20_000
COUNT = 200


@pytest.fixture(scope="module")
def supervisor(scratch):
    supervisor = Supervisor(CASES, scratch / "worker")
    yield supervisor
    supervisor.close()


@pytest.mark.parametrize("tenth", range(10))
def test_no_spoilt_job_ends_in_a_fault(supervisor, tenth):
    faults = {}
    for number in range(tenth, COUNT, 10):
        outcome = supervisor.outcome(SEED, number)
        if outcome.failures:
            said = [failure.text[-1500:] for failure in outcome.failures]
            faults[number] = (outcome.command, outcome.done_to, said)
    assert faults == {}


def test_every_command_is_among_those_that_are_run():
    names = set(get_command(app).commands)
    # The desk is opened without a browser, and the demo is a job like others once it is copied.
    assert names - {"desk", "demo"} == {words[0] for words in COMMANDS.values()}


def test_the_same_seed_spoils_in_the_same_way(templates, tmp_path):
    for number in range(12):
        first = prepare_case(templates, tmp_path / "first", 5, number)
        second = prepare_case(templates, tmp_path / "second", 5, number)
        assert first.outcome == second.outcome
        assert builders_files(first.folder) == builders_files(second.folder)


def test_rules_change_most_files_that_they_are_given(tmp_path):
    folder = make_tiny_job(tmp_path / "job", "svg")
    for name in ("job.toml", "rack.csv", "plan.svg", "rack/B1.json", "leftover.png"):
        data = (folder / name).read_bytes()
        made = [mutated(Random(seed), data, name.rsplit(".", 1)[1])[1] for seed in range(100)]
        assert sum(one != data for one in made) > 80
        assert len(set(made)) > 60


def test_what_is_lost_changed_or_half_written_is_seen(templates, tmp_path, monkeypatch):
    def careless(name, folder):
        (folder / "notes.txt").unlink()
        (folder / EDITED_RESULT).write_text("mine no more", encoding="utf-8")
        (folder / "out" / ".writing-x").write_bytes(b"half")
        return type("Done", (), {"exit_code": 7, "exception": None, "stderr": "", "stdout": ""})

    monkeypatch.setattr("tests.benchmarks.spoilt.run_command", careless)
    monkeypatch.setattr("tests.benchmarks.spoilt._chosen_command", lambda chance, spoilt: "trace")
    outcome = run_case(dict.fromkeys(BASES, templates["svg"]), tmp_path / "case", 1, 1)
    kinds = {failure.name for failure in outcome.failures}
    assert kinds >= {"lost-trace-notes-gone", "lost-trace-out-part-plate-changed", "half-left-behind", "exit-trace-7"}


@pytest.mark.parametrize(
    "said",
    [
        "",
        "Traceback (most recent call last):",
        "sheetwood: job.toml: 'NoneType' object is not subscriptable.",
        "sheetwood: job.toml: function-before[_read_pixel(), tuple] is wrong.",
        "sheetwood: a name of \x1b[31mred is none.",
        "sheetwood: " + "long " * 100,
    ],
)
def test_a_message_that_is_no_sentence_is_seen(said):
    assert message_faults(said, "/job")
    assert not message_faults("sheetwood: job.toml: [nest] kerf is -1 mm; it must be zero or more.", "/job")


def test_the_innermost_line_of_ours_names_a_crash():
    with pytest.raises(OutlineError) as caught:
        Outline.from_json(None)
    assert crash(caught.value).where == "OutlineError-vectorize/shapes/outline.py-from_json"
