"""The desk is killed at every operation on a file: each edit, undo and redo is made whole or not at all."""

import json
import shutil

import pytest

from nesting.desk.history import read_history
from nesting.desk.layouts import LAYOUT_NAME
from nesting.desk.requests import read_edit
from nesting.desk.workshop import Workshop
from nesting.job import files
from tests.nesting.desk.jobs import files_of, make_job
from tests.nesting.desk.seeing import as_seen, called
from tests.nesting.desk.test_workshop import EDITS
from tests.nesting.killed import killed_at_every_step
from vectorize.basics.errors import WriteError
from vectorize.shapes.outline import Outline

RECTANGLE = Outline.rectangle(10.0, 10.0, 70.0, 40.0).as_json()
SIDE = json.dumps({"outline": Outline.rectangle(0, 0, 250, 90).as_json(), "blemishes": []})
LAID = json.dumps(
    {
        "boards": [{"name": "B1", "placements": [], "used_fraction": 0.1, "used_length_mm": 60.0}],
        "unplaced": [], "proved": True, "notes": [], "made_from": "x", "pinned": [],
    }
)  # fmt: skip
OF_SEVERAL_FILES = [
    {"kind": "set", "at": ["part", "plate", "name"], "value": "rib"},
    {"kind": "set", "at": ["part", "plate"], "value": None},
    {"kind": "cut-part", "part": "plate", "name": "tip", "outline": RECTANGLE, "ends": [0, 2]},
    {"kind": "set-board", "board": "B1", "field": "name", "value": "B3"},
    {"kind": "drop-board", "board": "B1"},
]


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """Return a job of which every kind of file is there."""
    folder = make_job(tmp_path_factory.mktemp("bench") / "job")
    for name, text in {
        "corrected/plate.json": json.dumps({"name": "plate", "outline": RECTANGLE}),
        "rack/B1.json": SIDE,
        LAYOUT_NAME: LAID,
    }.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def copies(source, tmp_path):
    """Return what makes the n-th copy of a job."""
    return lambda number: shutil.copytree(source, tmp_path / str(number))


def changed(source, tmp_path, *changes):
    """Return a copy of a job on which some changes were made at the desk."""
    desk = Workshop(copies(source, tmp_path)("changed"))
    for change in changes:
        change(desk)
    return desk.folder


def check_killed(prepare, work, *, old, new):
    """Kill `work` at every operation; each time the next desk finds the one state or the other, and can go on."""
    seen = set()
    for folder in killed_at_every_step(prepare, lambda folder: work(Workshop(folder))):
        desk = Workshop(folder)
        is_new = files_of(folder) == new
        assert is_new or files_of(folder) == old
        assert not list(folder.rglob(".writing-*"))
        seen.add(is_new)
        if not is_new:
            work(desk)
            assert files_of(folder) == new
        yield desk
        shutil.rmtree(folder)
    assert seen == {True, False}


@pytest.mark.parametrize("edit", OF_SEVERAL_FILES, ids=called)
def test_an_edit_of_several_files_is_made_whole_or_not_at_all_and_can_be_taken_back(bench, tmp_path, edit):
    check_edit(bench, tmp_path, edit)


@pytest.mark.slow
@pytest.mark.parametrize("edit", EDITS, ids=called)
def test_every_kind_of_edit_is_made_whole_or_not_at_all_and_can_be_taken_back(bench, tmp_path, edit):
    check_edit(bench, tmp_path, edit)


def check_edit(bench, tmp_path, edit):
    wanted = read_edit(as_seen(Workshop(bench).state(), edit))
    old, new = files_of(bench), files_of(changed(bench, tmp_path, lambda desk: desk.edit(wanted)))

    for desk in check_killed(copies(bench, tmp_path), lambda desk: desk.edit(wanted), old=old, new=new):
        assert len(read_history(desk.folder).steps) == 1
        desk.undo()
        assert files_of(desk.folder) == old


def test_undo_and_redo_are_made_whole_or_not_at_all(bench, tmp_path):
    made = changed(bench, tmp_path / "made", lambda desk: desk.edit(read_edit(OF_SEVERAL_FILES[0])))
    undone = changed(made, tmp_path / "undone", Workshop.undo)
    old, new = files_of(bench), files_of(made)

    for desk in check_killed(copies(made, tmp_path), Workshop.undo, old=new, new=old):
        assert desk.redo()
        assert files_of(desk.folder) == new
    for desk in check_killed(copies(undone, tmp_path), Workshop.redo, old=old, new=new):
        assert desk.undo()
        assert files_of(desk.folder) == old


def test_a_full_disk_at_any_write_of_a_rename_keeps_the_correction(bench, tmp_path, monkeypatch):
    own = files._fill
    for number in range(20):
        folder = copies(bench, tmp_path)(number)
        left = iter([True] * number)

        def filling(file, data, left=left):
            if not next(left, False):
                raise OSError(28, "No space left on device")
            own(file, data)

        desk = Workshop(folder)
        with monkeypatch.context() as patch:
            patch.setattr(files, "_fill", filling)
            said = refusal(desk, read_edit(OF_SEVERAL_FILES[0]))
        if said is None:
            break
        assert "No space left" in said
        assert files_of(folder) == files_of(bench)
    assert 3 < number < 19


def refusal(desk, edit):
    try:
        desk.edit(edit)
    except WriteError as error:
        return str(error)
    return None
