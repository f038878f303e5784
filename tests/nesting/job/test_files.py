"""Whole files or none; never over somebody's edit."""

import json
import os

import pytest

from nesting.job import files
from nesting.job.files import MANIFEST, read_manifest, write_results, write_whole
from vectorize.basics.errors import WriteError


def test_results_are_written_with_their_hashes(tmp_path):
    done = write_results(tmp_path / "out", {"a.svg": b"one", "b.dxf": b"two"})
    assert [path.name for path in done.paths] == ["a.svg", "b.dxf"]
    assert done.notes == ()
    assert read_manifest(tmp_path / "out")["a.svg"] == files.digest(b"one")


def test_our_own_file_is_replaced(tmp_path):
    write_results(tmp_path, {"a.svg": b"one"})
    write_results(tmp_path, {"a.svg": b"two"})
    assert (tmp_path / "a.svg").read_bytes() == b"two"


def test_a_file_that_somebody_edited_is_kept_and_told(tmp_path):
    write_results(tmp_path, {"a.svg": b"one", "b.svg": b"one"})
    (tmp_path / "a.svg").write_bytes(b"mine")
    done = write_results(tmp_path, {"a.svg": b"two", "b.svg": b"two"})
    assert (tmp_path / "a.svg").read_bytes() == b"mine"
    assert (tmp_path / "b.svg").read_bytes() == b"two"
    assert [(note.code, note.state) for note in done.notes] == [("kept-edited-file", "open")]
    assert "a.svg" in done.notes[0].text


def test_a_file_that_was_there_before_us_is_kept(tmp_path):
    (tmp_path / "a.svg").write_bytes(b"mine")
    assert len(write_results(tmp_path, {"a.svg": b"two"}).notes) == 1
    assert (tmp_path / "a.svg").read_bytes() == b"mine"


def test_force_replaces_an_edited_file(tmp_path):
    write_results(tmp_path, {"a.svg": b"one"})
    (tmp_path / "a.svg").write_bytes(b"mine")
    assert write_results(tmp_path, {"a.svg": b"two"}, is_forced=True).notes == ()
    assert (tmp_path / "a.svg").read_bytes() == b"two"


def test_a_damaged_manifest_makes_every_file_somebody_elses(tmp_path):
    write_results(tmp_path, {"a.svg": b"one"})
    (tmp_path / MANIFEST).write_text("{ not json", encoding="utf-8")
    assert write_results(tmp_path, {"a.svg": b"two"}).paths == ()
    assert (tmp_path / "a.svg").read_bytes() == b"one"


def test_a_fault_while_writing_leaves_the_old_file_and_no_scrap(tmp_path, monkeypatch):
    target = tmp_path / "a.pdf"
    write_whole(target, b"old")

    def full(descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(WriteError, match="No space left on device") as caught:
        write_whole(target, b"new")
    assert caught.value.exit_code == 6
    assert str(tmp_path) in str(caught.value)
    assert target.read_bytes() == b"old"
    assert [path.name for path in tmp_path.iterdir()] == ["a.pdf"]


def test_files_written_before_a_fault_are_in_the_manifest(tmp_path):
    (tmp_path / "out" / "b").mkdir(parents=True)  # a folder where a file should go
    (tmp_path / "out" / "b" / "x").write_bytes(b"")
    with pytest.raises((WriteError, IsADirectoryError)):
        write_results(tmp_path / "out", {"a.svg": b"one", "b": b"two"}, is_forced=True)
    assert list(json.loads((tmp_path / "out" / MANIFEST).read_text(encoding="utf-8"))) == ["a.svg"]


class Killed(BaseException):
    """The end of the process: nothing that it would have done afterwards is done."""


def killed_at(monkeypatch, count):
    """Let the process end before its file operation number `count`, from 0; every later one fails too."""
    left = iter(range(count))

    def dying(name):
        real = getattr(os, name)

        def operation(*args, **options):
            if next(left, None) is None:
                raise Killed
            return real(*args, **options)

        return operation

    for name in ("mkdir", "open", "fsync", "chmod", "replace", "rename", "unlink"):
        monkeypatch.setattr(os, name, dying(name))


OLD, NEW = ({"a.svg": word, "b.svg": word, "c.svg": word} for word in (b"old", b"new"))


@pytest.mark.parametrize("is_first", [True, False])
def test_a_run_that_was_killed_anywhere_is_made_up_for_by_the_next(tmp_path, is_first):
    for count in range(1000):
        folder = tmp_path / str(count) / "out"
        if not is_first:
            write_results(folder, OLD)
        with pytest.MonkeyPatch.context() as patch:
            killed_at(patch, count)
            try:
                write_results(folder, NEW)
            except Killed:
                died = True
            else:
                died = False
        for name in NEW:
            path = folder / name
            assert (path.read_bytes() in (b"old", b"new")) if path.exists() else is_first
        latest = dict.fromkeys(NEW, b"newest")
        assert write_results(folder, latest).notes == ()
        assert {name: (folder / name).read_bytes() for name in NEW} == latest
        assert read_manifest(folder) == {name: files.digest(b"newest") for name in NEW}
        if not died:
            assert count > 3 * len(NEW)
            return
    raise AssertionError("it never came to an end")


def test_what_somebody_edits_after_a_killed_run_is_kept(tmp_path):
    write_results(tmp_path, OLD)
    with pytest.MonkeyPatch.context() as patch:
        killed_at(patch, 8)
        with pytest.raises(Killed):
            write_results(tmp_path, NEW)
    (tmp_path / "b.svg").write_bytes(b"mine")
    assert [note.text.split()[0] for note in write_results(tmp_path, NEW).notes] == ["b.svg"]
    assert (tmp_path / "b.svg").read_bytes() == b"mine"


def test_what_is_no_file_where_a_result_should_go_is_kept(tmp_path):
    (tmp_path / "a.svg").mkdir()
    os.mkfifo(tmp_path / "b.svg")
    (tmp_path / "c.svg").symlink_to(tmp_path / "nowhere")
    assert len(write_results(tmp_path, NEW).notes) == len(NEW)
    assert (tmp_path / "c.svg").is_symlink()


def test_a_folder_that_is_a_file_is_one_clear_sentence(tmp_path):
    (tmp_path / "out").write_bytes(b"")
    with pytest.raises(WriteError, match=r"cannot write manifest\.json in .*out"):
        write_results(tmp_path / "out", {"a.svg": b"one"})


def test_a_new_file_may_be_read_by_others_and_an_old_one_keeps_its_mode(tmp_path):
    write_whole(tmp_path / "new", b"")
    assert (tmp_path / "new").stat().st_mode & 0o400
    (tmp_path / "old").write_bytes(b"")
    (tmp_path / "old").chmod(0o640)
    write_whole(tmp_path / "old", b"x")
    assert (tmp_path / "old").stat().st_mode & 0o777 == 0o640


def test_what_a_dead_writer_left_among_results_is_cleared_by_the_next(tmp_path):
    (tmp_path / ".writing-dead").write_bytes(b"half")
    write_results(tmp_path, {"a.svg": b"one"})
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.svg", MANIFEST]


def test_a_file_that_is_just_being_begun_is_not_cleared_away_under_its_writer(tmp_path, monkeypatch):
    begin = files.tempfile.mkstemp
    left = ["once"]

    def begun(**how):
        found = begin(**how)
        if left:
            # As another program does that opens the job at this very moment.
            left.pop()
            files.clear_abandoned(tmp_path)
        return found

    monkeypatch.setattr(files.tempfile, "mkstemp", begun)
    write_whole(tmp_path / "plate.json", b"traced")
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("plate.json", b"traced")]


def test_what_is_found_abandoned_is_held_until_it_is_cleared(tmp_path):
    (tmp_path / f"{files.TEMPORARY}a").write_bytes(b"half")
    for path in files.abandoned(tmp_path):
        with path.open("rb") as file:
            assert not files._hold(file.fileno())
    files.clear_abandoned(tmp_path)
    assert list(tmp_path.iterdir()) == []
