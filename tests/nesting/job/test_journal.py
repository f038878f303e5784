"""Several files of a job change together or not at all, whatever ends the program and whoever saves meanwhile."""

import json
import os

import pytest

from nesting.job.folder import open_job
from nesting.job.journal import JOURNAL, replace_files, settle
from tests.nesting.killed import killed_at_every_step
from vectorize.basics.errors import JobError, WriteError

BEFORE = {"job.toml": b"", "corrected/plate.json": b"{1}", "corrected/rib.json": None, "rack/B1.json": b"[]"}
AFTER = {"job.toml": b"# new", "corrected/plate.json": None, "corrected/rib.json": b"{1}", "rack/B1.json": None}


def folder_with(folder, contents):
    for name, data in contents.items():
        if data is not None:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(data)
    return folder


def content(folder):
    """Return the files that are to change, as they are now."""
    return {name: (folder / name).read_bytes() if (folder / name).exists() else None for name in BEFORE}


def left_over(folder):
    """Return the names of everything else in the folder."""
    files = (path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
    return sorted(set(files) - set(BEFORE) - {".lock"})


def half_made(tmp_path, is_wanted):
    """Return a folder in which the change was ended where it `is_wanted`."""

    def prepare(number):
        return folder_with(tmp_path / str(number), BEFORE)

    ended = killed_at_every_step(prepare, lambda folder: replace_files(folder, BEFORE, AFTER))
    return next(folder for folder in ended if (folder / JOURNAL).exists() and is_wanted(content(folder)))


def test_a_change_that_is_killed_at_any_operation_is_whole_or_was_not_made(tmp_path):
    found = []
    for folder in killed_at_every_step(
        lambda number: folder_with(tmp_path / str(number), BEFORE), lambda folder: replace_files(folder, BEFORE, AFTER)
    ):
        is_torn = content(folder) not in (BEFORE, AFTER)
        open_job(folder)
        assert content(folder) in (BEFORE, AFTER)
        assert left_over(folder) == []
        found.append((is_torn, content(folder) == AFTER))

    # Both outcomes and the way between them were seen, so the test has killed where it matters.
    assert any(is_torn for is_torn, _ in found)
    assert {is_new for _, is_new in found} == {False, True}
    assert found[-1] == (False, True)


def test_finishing_may_itself_be_killed_at_any_operation(tmp_path):
    torn = half_made(tmp_path, lambda found: found not in (BEFORE, AFTER))
    state = {path.relative_to(torn): path.read_bytes() for path in torn.rglob("*") if path.is_file()}

    def prepare(number):
        return folder_with(tmp_path / f"again {number}", {str(name): data for name, data in state.items()})

    for folder in killed_at_every_step(prepare, settle):
        settle(folder)
        assert content(folder) == AFTER
        assert left_over(folder) == []


def test_a_half_made_change_is_taken_back_where_finishing_would_overwrite_what_somebody_saved(tmp_path):
    folder = half_made(tmp_path, lambda found: found["corrected/plate.json"] is None and found["job.toml"] == b"")
    (folder / "job.toml").write_bytes(b"# mine\n")

    settle(folder)

    assert content(folder) == BEFORE | {"job.toml": b"# mine\n"}
    assert left_over(folder) == []


def test_what_somebody_saved_over_the_new_content_stays_and_the_rest_is_finished(tmp_path):
    folder = half_made(tmp_path, lambda found: found["job.toml"] == AFTER["job.toml"] and found != AFTER)
    (folder / "job.toml").write_bytes(b"# new, and mine\n")

    settle(folder)

    assert content(folder) == AFTER | {"job.toml": b"# new, and mine\n"}


def test_a_disk_that_refuses_half_way_leaves_everything_as_it_was(tmp_path, monkeypatch):
    folder = folder_with(tmp_path, BEFORE)
    own = os.replace

    def refusing(source, target):
        if os.fspath(target).endswith("rib.json"):
            raise PermissionError(13, "Permission denied")
        own(source, target)

    monkeypatch.setattr(os, "replace", refusing)
    with pytest.raises(WriteError, match=r"cannot write rib\.json in .*: Permission denied"):
        replace_files(folder, BEFORE, AFTER)

    assert content(folder) == BEFORE
    assert left_over(folder) == []


def test_nothing_is_written_where_one_of_the_files_is_another_one(tmp_path):
    folder = folder_with(tmp_path, BEFORE | {"rack/B1.json": b"[1]"})

    with pytest.raises(WriteError, match=r"rack/B1\.json was changed by someone else"):
        replace_files(folder, BEFORE, AFTER)

    assert content(folder) == BEFORE | {"rack/B1.json": b"[1]"}


def test_temporary_files_of_a_dead_writer_are_cleared_and_those_of_a_living_one_stay(tmp_path):
    folder = folder_with(tmp_path, BEFORE)
    (folder / ".writing-dead").write_bytes(b"half")
    fcntl = pytest.importorskip("fcntl")
    with (folder / "corrected" / ".writing-live").open("wb") as writing:
        fcntl.flock(writing, fcntl.LOCK_EX)
        open_job(folder)
        assert left_over(folder) == ["corrected/.writing-live"]
    open_job(folder)
    assert left_over(folder) == []


@pytest.mark.parametrize(
    "entry",
    [
        {"name": "../other.toml", "before": None, "after": None, "old": None, "new": None},
        {"name": "job.toml", "before": None, "after": "x", "old": None, "new": "plan.png"},
        {"name": "job.toml"},
        "job.toml",
    ],
)
def test_a_journal_that_speaks_of_anything_else_moves_nothing(tmp_path, entry):
    folder = folder_with(tmp_path / "job", BEFORE | {"plan.png": b"scan"})
    (tmp_path / "other.toml").write_bytes(b"theirs")
    (folder / JOURNAL).write_text(json.dumps({"format": 1, "files": [entry]}), encoding="utf-8")

    with pytest.raises(JobError, match="not as Sheetwood writes it"):
        open_job(folder)

    assert (tmp_path / "other.toml").read_bytes() == b"theirs"
    assert (folder / "plan.png").read_bytes() == b"scan"
