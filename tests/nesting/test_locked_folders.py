"""Folders in which a builder may not write, or not even read: exit 6 or 3 with one sentence, and nothing is lost."""

import os
import shutil
import sys
import tempfile
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.benchmarks.commands import builders_files, desk_on, make_template, run_command
from tests.benchmarks.kill import AT_THE_DESK, on_plan
from tests.benchmarks.spoilt import message_faults
from tests.nesting.desk.seeing import as_seen
from tests.nesting.desk.test_workshop import EDITS

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform == "win32", reason="folder permissions work otherwise there"),
]
NOBODY = 65534
WRITES = [
    ("trace afresh", "outlines"),
    ("trace a plan", "."),
    ("rack want", "out"),
    ("rack cut", "rack"),
    ("rack cut", "."),
    ("rack photo", "rack"),
    ("rack photo", "."),
    ("compare", "out"),
    ("assign", "out"),
    ("assign and keep", "."),
    ("nest", "out"),
    ("pattern", "out"),
    ("bring in SVG", "corrected"),
    ("bring in DXF", "."),
    ("run", "out"),
    ("new", "."),
]
"""A command, and the folder of the job that it wants to write to."""
MADE = [("nest", "out"), ("rack cut", "rack"), ("rack photo", "rack"), ("bring in SVG", "corrected")]
"""A command, and the folder that it makes where it is not there."""
NEEDS_ALL = ("trace", "weigh", "rack cut", "assign and keep", "nest", "pattern of a part", "bring in SVG")
"""Commands that look into most folders."""


@contextmanager
def common_user():
    """Be somebody who may not do everything: root is allowed to write anywhere."""
    if os.geteuid() != 0:
        yield
        return
    os.setegid(NOBODY)
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)
        os.setegid(0)


@pytest.fixture(scope="module")
def bench():
    """Return a folder that everybody may look into, with two jobs that were worked on."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        make_template(folder / "template", "svg")
        make_template(folder / "plain", "png", is_rich=False)
        yield folder


@pytest.fixture
def job(bench):
    """Return a copy of a job that holds everything, and belongs to a common user."""
    with _copied(bench, "template") as folder:
        yield folder


@pytest.fixture
def plain(bench):
    """Return a copy of a job that holds little, and belongs to a common user."""
    with _copied(bench, "plain") as folder:
        yield folder


@contextmanager
def _copied(bench, name):
    """Lend a copy that belongs to a common user; its folders are unlocked in the end."""
    folder = bench / "job"
    shutil.copytree(bench / name, folder, symlinks=True)
    if os.geteuid() == 0:
        for path in (folder, *folder.rglob("*")):
            os.chown(path, NOBODY, NOBODY, follow_symlinks=False)
    yield folder
    for path in (folder, *(p for p in folder.rglob("*") if p.is_dir() and not p.is_symlink())):
        path.chmod(0o755)
    shutil.rmtree(folder)


def _locked(job, name, mode=0o555):
    inside = [path for path in job.rglob("*") if path.is_dir() and not path.is_symlink()]
    for path in [job, *inside] if name == "." else [job / name]:
        path.chmod(mode)


def _run(bench, job, command):
    """Run a command as a common user; before, what it loads is loaded, which only root may be allowed to."""
    loading = bench / f"loading for {command}"
    if not loading.exists():
        shutil.copytree(bench / "template", loading, symlinks=True)
        run_command(command, loading)
    with common_user():
        return run_command(command, job)


def _sentence(done, job):
    assert done.exception is None, done.exception
    said = done.stderr.strip().splitlines()[-1]
    assert message_faults(said, str(job)) == [], said
    return said


@pytest.mark.parametrize(("command", "folder"), WRITES)
def test_a_folder_that_may_not_be_written_to_is_told_and_the_job_stays_as_it_was(bench, job, command, folder):
    if command == "nest":  # a layout that still holds is not written again
        (job / "out" / "layout.json").unlink()
    before = builders_files(job)
    _locked(job, folder)
    done = _run(bench, job, command)
    assert done.exit_code == 6, done.stderr
    assert "Permission denied" in _sentence(done, job)
    assert builders_files(job) == before


def test_a_known_dimension_that_cannot_be_added_is_told_and_the_job_stays_as_it_was(bench, plain):
    before = builders_files(plain)
    _locked(plain, ".")
    done = _run(bench, plain, "add a known")
    assert done.exit_code == 6, done.stderr
    assert "Permission denied" in _sentence(done, plain)
    assert builders_files(plain) == before


@pytest.mark.parametrize(("command", "folder"), MADE)
def test_a_folder_that_cannot_be_made_is_told(bench, job, command, folder):
    if (command, folder) == ("rack cut", "rack"):
        assert run_command("nest", job).exit_code in (0, 4)
    if command != "rack cut":
        shutil.rmtree(job / folder)
    before = builders_files(job)
    _locked(job, ".")
    done = _run(bench, job, command)
    assert done.exit_code == 6, done.stderr
    assert "Permission denied" in _sentence(done, job)
    assert builders_files(job) == before


@pytest.mark.parametrize("folder", ["out", "rack", "corrected", "outlines", ".desk"])
@pytest.mark.parametrize("command", NEEDS_ALL)
def test_a_folder_that_may_not_be_looked_into_is_told_wherever_it_is_needed(bench, job, command, folder):
    _locked(job, folder, 0o000)
    done = _run(bench, job, command)
    assert done.exception is None, done.exception
    assert done.exit_code in (0, 3, 4, 6)
    if done.exit_code in (3, 6):
        _sentence(done, job)


@pytest.mark.parametrize("folder", [".", ".desk"])
def test_an_edit_at_the_desk_that_cannot_be_kept_is_refused_in_one_sentence(bench, plain, folder):
    with desk_on(plain) as desk:
        state = desk.get("state").json()
        plan = state["plans"][0]["name"]
        named = [on_plan(edit, plan) for edit in (*EDITS, *AT_THE_DESK)]
        wanted = [as_seen(state, edit, plain) for edit in named]
        desk.post("edit", json=wanted[0])  # what an edit loads is loaded, and there is something to undo
        before = builders_files(plain)
        _locked(plain, folder)
        with common_user():
            answers = [desk.post("edit", json=edit) for edit in wanted[1:]]
            answers.append(desk.post("undo"))
            after = desk.get("state")
    assert after.status_code == 200
    assert builders_files(plain) == before
    said = [(answer.status_code, answer.json()["error"]["text"]) for answer in answers]
    assert [faults for _, text in said if (faults := message_faults(f"sheetwood: {text}", str(plain)))] == []
    refused = [text for status, text in said if status == 409 and "Permission denied" in text]
    # The rest asks for what this job has not.
    assert len(refused) > 0.9 * len(said), [one for one in said if one[1] not in refused]
