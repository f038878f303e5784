"""Renaming and dropping at the desk reach everything that speaks of the thing, in one step that undo takes back."""

import json

import pytest

from nesting.desk.layouts import LAYOUT_NAME
from nesting.job.folder import open_job
from tests.nesting.desk.conftest import open_desk
from tests.nesting.desk.jobs import JOB, files_of, make_job
from tests.nesting.desk.seeing import called

MORE = """
[[part]]
name = "block"
plan = "sheet 1"
pick = [[440, 150]]
material = "balsa"
thickness = "3 mm"
board = "B2"

[[part]]
name = "doubler"
from = "plate"

[[part.step]]
make = "slot"
at = [200, 150]
for = "block"
length = "10 mm"

[[finish]]
parts = ["plate", "block"]
both = ["tissue"]

[[joint]]
name = "seam"
parts = ["plate", "block"]
glue = "epoxy"
length = "40 mm"
width = "3 mm"

[balance]
[[balance.seat]]
part = "plate"
station = "100 mm"
[[balance.item]]
name = "engine"
mass = "10 g"
station = "10 mm"
[[balance.alternative]]
name = "forward"
item = "engine"
station = "5 mm"
"""


def placed(part):
    return {"part": part, "copy": 1, "x_mm": 0.0, "y_mm": 0.0, "angle_deg": 0.0, "flipped": False}


LAID = {
    "boards": [
        {"name": "B1", "placements": [placed("plate"), placed("plate plank 1")], "used_fraction": 0.1,
         "used_length_mm": 60.0},
        {"name": "B2", "placements": [placed("block")], "used_fraction": 0.1, "used_length_mm": 30.0},
    ],
    "unplaced": [], "proved": True, "notes": [], "made_from": "x", "pinned": [["plate", 1], ["block", 1]],
}  # fmt: skip


@pytest.fixture
def full(tmp_path):
    folder = make_job(tmp_path / "job", job=JOB + MORE)
    for name, content in {LAYOUT_NAME: LAID, "corrected/plate.json": {}, "corrected/rib.json": {}}.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(json.dumps(content), encoding="utf-8")
    desk = open_desk(folder)
    yield desk
    desk.workshop.close()


def layout(desk):
    """Return (board → parts on it, what is pinned)."""
    data = json.loads((desk.folder / LAYOUT_NAME).read_text(encoding="utf-8"))
    lying = {board["name"]: [one["part"] for one in board["placements"]] for board in data["boards"]}
    return lying, data["pinned"]


def corrected(desk):
    return sorted(path.name for path in (desk.folder / "corrected").iterdir())


def test_a_part_goes_with_all_that_speaks_of_it_and_undo_brings_all_back(full):
    before = files_of(full.folder)

    told = full.edit(kind="set", at=["part", "plate"], value=None).json()["told"]

    spec = open_job(full.folder).spec
    assert [part.name for part in spec.part] == ["block"]
    assert [one.parts for one in spec.finish] == [("block",)]
    assert (spec.joint, spec.balance.seat) == ((), ())
    assert layout(full) == ({"B1": [], "B2": ["block"]}, [["block", 1]])
    assert corrected(full) == ["rib.json"]
    for said in ("plate is gone", "the joint seam", "the place of plate", "part doubler", "Undo brings all of it back"):
        assert said in told
    assert full.post("undo").status_code == 200
    assert files_of(full.folder) == before


def test_a_step_that_needs_a_part_goes_with_it_and_the_part_stays(full):
    full.edit(kind="set", at=["part", "block"], value=None)

    plate, doubler = open_job(full.folder).spec.part
    assert (plate.name, doubler.name, doubler.step) == ("plate", "doubler", ())


def test_a_renamed_part_is_renamed_in_the_layout_and_takes_over_no_other_correction(full):
    before = files_of(full.folder)

    assert full.edit(kind="set", at=["part", "plate", "name"], value="rib").json()["told"] is None

    spec = open_job(full.folder).spec
    assert (spec.part[2].source, spec.finish[0].parts, spec.balance.seat[0].part) == ("rib", ("rib", "block"), "rib")
    assert layout(full) == ({"B1": ["rib", "rib plank 1"], "B2": ["block"]}, [["block", 1], ["rib", 1]])
    assert corrected(full) == ["rib.json"]
    full.post("undo")
    assert files_of(full.folder) == before
    full.edit(kind="set", at=["part", "block", "name"], value="rib")
    assert corrected(full) == ["plate.json"]


@pytest.mark.parametrize(
    "edit",
    [
        {"kind": "set", "at": ["part", None], "value": {"name": "rib", "plan": "sheet 1", "pick": [[440, 150]]}},
        {"kind": "set", "at": ["part", None], "value": {"name": "rib", "from": "plate"}},
    ],
    ids=called,
)
def test_a_new_part_takes_over_no_correction_of_an_older_one(full, edit):
    before = files_of(full.folder)

    assert full.post("edit", edit).status_code == 200

    assert corrected(full) == ["plate.json"]
    full.post("undo")
    assert files_of(full.folder) == before


def test_a_board_is_renamed_and_dropped_in_the_job_and_in_the_layout(full):
    before = files_of(full.folder)

    full.edit(kind="set-board", board="B2", field="name", value="dark one")
    assert open_job(full.folder).spec.part[1].board == "dark one"
    assert list(layout(full)[0]) == ["B1", "dark one"]

    told = full.edit(kind="drop-board", board="dark one").json()["told"]
    assert "the board of block" in told
    assert open_job(full.folder).spec.part[1].board is None
    assert layout(full) == ({"B1": ["plate", "plate plank 1"]}, [["plate", 1]])
    for _ in range(2):
        full.post("undo")
    assert files_of(full.folder) == before


def test_equipment_goes_with_the_alternatives_that_move_it(full):
    told = full.edit(kind="set", at=["balance", "item", "engine"], value=None).json()["told"]

    assert "the alternative forward" in told
    assert open_job(full.folder).spec.balance.alternative == ()


def test_a_renamed_plan_keeps_its_parts(full):
    assert full.edit(kind="set", at=["plan", "sheet 1", "name"], value="fuselage").status_code == 200

    assert {part.plan for part in open_job(full.folder).spec.part if part.source is None} == {"fuselage"}
