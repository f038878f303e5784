"""Whole files or none; never over somebody's edit."""

import json
import os

import pytest

from nesting.job import files
from nesting.job.files import MANIFEST, read_manifest, write_results, write_whole
from vectorize.errors import WriteError


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


def test_a_folder_that_is_a_file_is_one_clear_sentence(tmp_path):
    (tmp_path / "out").write_bytes(b"")
    with pytest.raises(WriteError, match=r"cannot write a\.svg in .*out"):
        write_results(tmp_path / "out", {"a.svg": b"one"})


def test_a_new_file_may_be_read_by_others_and_an_old_one_keeps_its_mode(tmp_path):
    write_whole(tmp_path / "new", b"")
    assert (tmp_path / "new").stat().st_mode & 0o400
    (tmp_path / "old").write_bytes(b"")
    (tmp_path / "old").chmod(0o640)
    write_whole(tmp_path / "old", b"x")
    assert (tmp_path / "old").stat().st_mode & 0o777 == 0o640
