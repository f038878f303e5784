"""What lies beside a board of the rack stays with it: renamed, dropped, and never taken over by another of its name."""

import json

import pytest

from nesting.job.rack_files import read_rack
from tests.nesting.desk.jobs import files_of
from tests.nesting.desk.seeing import called
from vectorize.shapes.outline import Outline

SHORTER = Outline.rectangle(0, 0, 180, 90)
SOFT = {"outline": Outline.rectangle(10, 10, 40, 30).as_json(), "is_soft": True, "text": "soft"}
SIDE = json.dumps({"outline": SHORTER.as_json(), "blemishes": [SOFT]})


@pytest.fixture
def offcut(desk):
    """Return a desk whose board B1 is an offcut with a soft patch."""
    (desk.folder / "rack").mkdir()
    (desk.folder / "rack" / "B1.json").write_text(SIDE, encoding="utf-8")
    return desk


def board_of(desk, name):
    (board,) = [board for board in read_rack(desk.workshop.job()) if board.name == name]
    return board


def undone(desk, before):
    assert desk.post("undo").status_code == 200
    return files_of(desk.folder) == before


def test_a_renamed_offcut_keeps_its_outline_and_blemishes(offcut):
    before = files_of(offcut.folder)

    assert offcut.edit(kind="set-board", board="B1", field="name", value="tip stock").status_code == 200

    board = board_of(offcut, "tip stock")
    assert board.shape.area_mm2 == pytest.approx(SHORTER.area_mm2)
    assert [flaw.text for flaw in board.blemishes] == ["soft"]
    assert not (offcut.folder / "rack" / "B1.json").exists()
    assert undone(offcut, before)


def test_a_dropped_offcut_takes_its_outline_with_it_until_undone(offcut):
    before = files_of(offcut.folder)

    offcut.edit(kind="drop-board", board="B1")
    assert not (offcut.folder / "rack" / "B1.json").exists()
    offcut.edit(kind="add-boards", table="B1\tbalsa\t3 mm\t3 mm\t300 mm\t100 mm\t10 g")
    board = board_of(offcut, "B1")
    assert (board.outline, board.blemishes) == (None, ())

    assert offcut.post("undo").status_code == 200
    assert undone(offcut, before)


@pytest.mark.parametrize(
    "edit",
    [
        {"kind": "add-boards", "table": "B7\tbalsa\t3 mm\t3 mm\t300 mm\t100 mm\t10 g"},
        {"kind": "set-board", "board": "B2", "field": "name", "value": "B7"},
    ],
    ids=called,
)
def test_a_board_never_takes_over_what_another_of_its_name_left_behind(offcut, edit):
    (offcut.folder / "rack" / "B7.json").write_text(SIDE, encoding="utf-8")
    before = files_of(offcut.folder)

    assert offcut.post("edit", edit).status_code == 200

    board = board_of(offcut, "B7")
    assert (board.outline, board.blemishes) == (None, ())
    assert undone(offcut, before)


def test_a_new_mass_leaves_what_lies_beside_the_board_alone(offcut):
    offcut.edit(kind="set-board", board="B1", field="mass", value="11 g")

    assert (offcut.folder / "rack" / "B1.json").read_text(encoding="utf-8") == SIDE
    assert board_of(offcut, "B1").blemishes
