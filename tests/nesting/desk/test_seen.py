"""An edit of an entry means the one that the page showed: found where it moved to, refused once it changed."""

import pytest

from nesting.job.folder import open_job
from tests.nesting.desk.jobs import JOB
from tests.nesting.desk.seeing import as_seen

MORE = """
[[part.mark]]
kind = "datum"
at = [[150, 90]]
[[part.mark]]
kind = "balance"
at = [[160, 90]]
[[part.step]]
make = "hole"
at = [[200, 150]]
diameter = "6 mm"
[[part.step]]
make = "grow"
by = "0.5 mm"

[[finish]]
parts = ["plate"]
both = ["tissue"]
[[finish]]
parts = ["plate"]
top = ["dope"]

[[joint]]
name = "first"
parts = ["plate"]
glue = "epoxy"
length = "10 mm"
width = "3 mm"
[[joint]]
name = "second"
parts = ["plate"]
glue = "epoxy"
length = "20 mm"
width = "3 mm"

[[weighed]]
parts = ["plate"]
mass = "2 g"
[[weighed]]
parts = ["plate"]
mass = "3 g"

[pattern]
[[pattern.blade]]
width = "1.2 mm"
thickness = "0.4 mm"
kerf = "0.5 mm"
teeth = 18
[[pattern.blade]]
width = "1.5 mm"
thickness = "0.4 mm"
kerf = "0.5 mm"
teeth = 18
"""
OF_PLAN = """
[[plan.known]]
from = [100.0, 90.0]
to = [100.0, 210.0]
length = "30 mm"
[[plan.bridge]]
from = [110.0, 90.0]
to = [112.0, 90.0]
[[plan.bridge]]
from = [120.0, 90.0]
to = [122.0, 90.0]
"""
FULL = JOB.replace("\n[[part]]", f"{OF_PLAN}\n[[part]]").replace("[[200, 150]]", "[[200, 150], [210, 160]]") + MORE

# Each: the edit of the second entry, that entry in the file, and something of its own to tell it by.
JOINT = {"name": "x", "parts": ["plate"], "glue": "epoxy", "length": "1 mm", "width": "1 mm"}
BLADE = {"width": "9 mm", "thickness": "1 mm", "kerf": "1 mm", "teeth": 9}
FOLD = {"kind": "fold", "at": [[1, 1], [2, 2]]}
EDITS = {
    "drop known": (["plan", "sheet 1", "known"], None, '"30 mm"', '"31 mm"'),
    "drop bridge": (["plan", "sheet 1", "bridge"], None, "122.0", "123.0"),
    "drop pick": (["part", "plate", "pick"], None, "[210, 160]", "[211, 160]"),
    "drop mark": (["part", "plate", "mark"], None, "[[160, 90]]", "[[161, 90]]"),
    "put mark": (["part", "plate", "mark"], FOLD, "[[160, 90]]", "[[161, 90]]"),
    "drop step": (["part", "plate", "step"], None, '"0.5 mm"', '"0.6 mm"'),
    "put step": (["part", "plate", "step"], {"make": "planks"}, 'by = "0.5 mm"', 'by = "0.6 mm"'),
    "move step": (["part", "plate", "step"], None, 'by = "0.5 mm"', 'by = "0.6 mm"'),
    "drop finish": (["finish"], None, '"dope"', '"film"'),
    "put finish": (["finish"], {"parts": ["plate"], "edges": ["paint"]}, '"dope"', '"film"'),
    "drop joint": (["joint"], None, '"second"', '"other"'),
    "put joint": (["joint"], JOINT, '"second"', '"other"'),
    "drop reading": (["weighed"], None, '"3 g"', '"4 g"'),
    "drop blade": (["pattern", "blade"], None, '"1.5 mm"', '"1.6 mm"'),
    "put blade": (["pattern", "blade"], BLADE, '"1.5 mm"', '"1.6 mm"'),
}


@pytest.fixture
def full(desk):
    (desk.folder / "job.toml").write_text(FULL, encoding="utf-8")
    return desk


def seen_second(desk, kind):
    """Return an edit of the second entry as the page makes it now."""
    at, value, *_ = EDITS[kind]
    edit = {"kind": "move", "to": 0} if kind == "move step" else {"kind": "set", "value": value}
    return as_seen(desk.state(), edit | {"at": [*at, 1]})


def save(desk, text):
    (desk.folder / "job.toml").write_text(text, encoding="utf-8")


@pytest.mark.parametrize("kind", EDITS)
def test_an_entry_that_somebody_changed_meanwhile_is_not_touched(full, kind):
    edit, theirs = seen_second(full, kind), FULL.replace(*EDITS[kind][2:])
    assert theirs != FULL
    save(full, theirs)

    answer = full.post("edit", edit)

    assert answer.status_code == 409
    assert "changed or taken away since the page showed it; nothing was done" in answer.json()["error"]["text"]
    assert (full.folder / "job.toml").read_text(encoding="utf-8") == theirs


def test_the_joint_that_was_seen_goes_also_when_another_one_went_before_it(full):
    first, second = (
        as_seen(full.state(), {"kind": "set", "at": ["joint", number], "value": None}) for number in (0, 1)
    )

    assert full.post("edit", first).status_code == 200
    assert full.post("edit", first).status_code == 409
    assert [joint.name for joint in open_job(full.folder).spec.joint] == ["second"]
    assert full.post("edit", second).status_code == 200
    assert open_job(full.folder).spec.joint == ()


def test_a_step_is_moved_only_in_the_order_that_was_seen(full):
    edit = seen_second(full, "move step")
    save(full, FULL.replace('"6 mm"', '"7 mm"'))

    assert full.post("edit", edit).status_code == 409
    assert [step.make for step in open_job(full.folder).spec.part[0].step] == ["hole", "grow"]


def test_a_plan_is_named_and_not_counted(full):
    save(full, FULL.replace("[[plan]]", '[[plan]]\nname = "sheet 0"\nfile = "plan.png"\n\n[[plan]]', 1))

    assert full.edit(kind="set", at=["plan", "sheet 1", "edge"], value="inside").status_code == 200
    assert [plan.edge for plan in open_job(full.folder).spec.plan] == ["centre", "inside"]
    answer = full.edit(kind="set", at=["plan", "sheet 7", "edge"], value="inside")
    assert "there is no plan 'sheet 7'" in answer.json()["error"]["text"]


def test_a_printer_is_corrected_once_by_one_print(full):
    edit = as_seen(full.state(), {"kind": "measured-bars", "across": "98 mm", "up": "100 mm"})

    assert full.post("edit", edit).status_code == 200
    assert full.post("edit", edit).status_code == 409
    assert full.state()["pattern"]["printer"] == pytest.approx([98.0, 100.0])


def test_a_substitute_that_somebody_changed_is_not_taken_away(full):
    wood = {"material": "birch ply", "thickness": "1 mm"}
    assert full.edit(kind="set", at=["part", "plate", "substitutes", None], value=wood).status_code == 200
    drop = as_seen(full.state(), {"kind": "set", "at": ["part", "plate", "substitutes", 0], "value": None})
    thicker = {"kind": "set", "at": ["part", "plate", "substitutes", 0], "value": wood | {"thickness": "2 mm"}}

    assert full.post("edit", thicker).status_code == 200
    assert full.post("edit", drop).status_code == 409
    assert len(open_job(full.folder).spec.part[0].substitutes) == 1


def test_a_blemish_that_somebody_changed_meanwhile_is_not_touched(desk):
    for x in (10, 60):
        desk.edit(kind="add-blemish", board="B1", corner=[x, 10], opposite=[x + 30, 30])
    edit = as_seen(desk.state(), {"kind": "drop-blemish", "board": "B1", "number": 0}, desk.folder)

    assert desk.post("edit", edit).status_code == 200
    assert desk.post("edit", edit).status_code == 409


def test_a_number_without_what_was_seen_is_a_wrong_call(full):
    edit = {"kind": "set", "at": ["part", "plate", "mark", 0], "value": {}}
    answer = full.client.post("/api/1/edit", json=edit, headers={"origin": "http://127.0.0.1:4321"})

    assert answer.status_code == 400
    assert "'seen'" in answer.json()["error"]["text"]
