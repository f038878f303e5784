"""A kill at any file operation leaves the old job or the new one; a few hundred deaths of `tests.benchmarks.kill`."""

from typing import get_args

import pytest

from nesting.desk.requests import AnyEdit
from nesting.job.files import write_whole
from tests.benchmarks.commands import COMMANDS
from tests.benchmarks.dying import Death, living
from tests.benchmarks.kill import (
    WRITES_NOTHING,
    Act,
    acts,
    faults_of_death,
    faults_of_true_kill,
    kinds_of_edits,
    whole_course,
)

EVERY = 12
"""Each so many operations in the suite; `python -m tests.benchmarks.kill` takes all."""
GROUPS = 8
ACTS = list(acts())


@pytest.mark.parametrize("group", range(GROUPS))
def test_a_death_leaves_the_old_job_or_the_new_one(templates, scratch, group):
    faults = []
    for number, act in list(enumerate(ACTS))[group::GROUPS]:
        template = templates[act.base]
        course = whole_course(act, template, scratch)
        assert bool(course.operations) != (act.name in WRITES_NOTHING), act.name
        for at in range(number % EVERY, len(course.operations), EVERY):
            faults += faults_of_death(act, course, at, template, scratch)
    assert faults == []


@pytest.mark.parametrize(("name", "at"), [("rack cut", 12), ("drop-board", 3), ("undo", 4)])
def test_a_process_that_is_killed_leaves_the_same(templates, scratch, name, at):
    act = next(act for act in ACTS if name in act.name)
    course = whole_course(act, templates[act.base], scratch)
    assert faults_of_true_kill(act, course, at, templates[act.base], scratch) == []


def test_every_command_and_every_kind_of_edit_is_killed():
    assert set(COMMANDS) < {act.name for act in ACTS}
    union, _ = get_args(AnyEdit)
    assert kinds_of_edits() == {get_args(edit.model_fields["kind"].annotation)[0] for edit in get_args(union)}


def test_a_dying_write_leaves_half_of_it_and_what_cleans_up_is_dead_too(tmp_path):
    with living(tmp_path) as life:
        write_whole(tmp_path / "a.txt", b"0123456789")
    words = [operation.split()[0] for operation in life.operations]
    assert words == ["open", "opened", "write", "fsync", "replace"]

    (tmp_path / "a.txt").unlink()
    with pytest.raises(Death), living(tmp_path, dies_at=2):
        write_whole(tmp_path / "a.txt", b"0123456789")
    assert [path.read_bytes() for path in tmp_path.iterdir()] == [b"01234"]


@pytest.mark.parametrize(
    "careless",
    [
        lambda folder: (folder / "rack.csv").write_text("name,material\n" * 50, encoding="utf-8"),
        lambda folder: [write_whole(folder / name, b"new\n") for name in ("notes.txt", "section.dat")],
        lambda folder: [(folder / "job.toml").rename(folder / "j"), (folder / "j").rename(folder / "job.toml")],
    ],
    ids=["written in place", "one file and then the other", "gone for a while"],
)
def test_a_careless_act_is_found_out(templates, scratch, careless):
    act = Act("careless", careless)
    course = whole_course(act, templates["plain"], scratch)
    deaths = range(len(course.operations))
    assert [fault for at in deaths for fault in faults_of_death(act, course, at, templates["plain"], scratch)]
