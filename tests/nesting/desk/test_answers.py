"""What the desk answers is what its types say, so that the page's scripts are checked against the truth."""

import copy

import pytest

from nesting.desk import answers
from tests.nesting.desk.conftest import finished, open_desk
from tests.nesting.desk.jobs import JOB, make_job
from tests.nesting.desk.page_types import misfits

# A job with an entry of every kind that the page shows.
RICH = (
    JOB
    + """
mark = [{ kind = "fold", at = [[150, 150], [250, 150]] }]
substitutes = [{ material = "birch ply", thickness = "3 mm" }]
density = ["80 kg/m3", "200 kg/m3"]
[[part.step]]
make = "hole"
diameter = "4 mm"
at = [[200, 150]]
[[part]]
name = "skin"
from = "plate"
step = [{ make = "planks", width = "12 mm" }]
[[part]]
name = "square"
plan = "sheet 1"
pick = [[440, 150]]
cutout = []
material = "balsa"
thickness = "3 mm"
weighed = "2.1 g"
[[plan.bridge]]
from = [10, 10]
to = [12, 10]
[[material]]
name = "birch ply"
[[finish]]
parts = ["plate"]
both = ["tissue", "dope"]
[[joint]]
name = "seam"
parts = ["plate", "square"]
glue = "epoxy"
length = "40 mm"
width = "3 mm"
[[weighed]]
parts = ["square"]
mass = "2.2 g"
stage = "glued"
[[pattern.blade]]
width = "1.2 mm"
thickness = "0.4 mm"
kerf = "0.5 mm"
teeth = 12
[balance]
plan = "sheet 1"
datum = [100, 300]
range = ["20 mm", "40 mm"]
chord = { length = "60 mm", leading_edge = "0 mm" }
in_place = ["plate", "square"]
seat = [{ part = "skin", station = "30 mm" }]
item = [{ name = "hook", mass = "3 g", station = "10 mm" }]
ballast = [{ name = "nose", station = "0 mm", most = "40 g" }]
alternative = [{ name = "hook aft", item = "hook", station = "30 mm" }]
"""
)


def fits(answer, model):
    assert misfits(answer, model) == []


@pytest.fixture(scope="module")
def rich(tmp_path_factory):
    opened = open_desk(make_job(tmp_path_factory.mktemp("rich") / "job", job=RICH))
    opened.workshop.follow()
    assert finished(opened.workshop, "follow")["state"] == "done"
    yield opened
    opened.workshop.close()


@pytest.mark.slow
def test_state_of_a_job_with_everything_is_as_typed(rich):
    state = rich.state()
    assert [part["name"] for part in state["parts"]][:3] == ["plate", "skin", "square"]
    assert any(part["piece_of"] == "skin" for part in state["parts"])
    assert state["balance"]["report"]["entries"], state["balance"]["fault"]
    assert state["weights"]["weights"]
    fits(state, answers.State)


@pytest.mark.slow
def test_findings_and_layout_are_as_typed(rich):
    for kind, wish in (
        ("nest", {}),
        ("compare", {"part": "plate"}),
        ("assign", {"time": "5 s", "best": 2}),
        ("trial", {"boards": ["B1", "B2"]}),
    ):
        assert rich.post(f"task/{kind}", wish).status_code == 202
        done = finished(rich.workshop, kind)
        assert done["state"] == "done", done["text"]
        fits(done, answers.TaskNews)
    found = rich.get("findings").json()
    assert all(found[kind] for kind in ("compare", "assign", "trial"))
    fits(found, answers.FindingsAnswer)
    state = rich.state()
    assert state["layout"]["boards"]
    fits(state, answers.State)


@pytest.mark.slow
def test_answers_about_the_plan_are_as_typed(rich):
    fits(rich.get("plans/0/picture").json(), answers.PictureAnswer)
    fits(rich.get("plans/0/snap?x=101&y=120").json(), answers.SnapAnswer)
    rich.get("plans/0/regions")
    finished(rich.workshop, "regions")
    regions = rich.get("plans/0/regions").json()
    assert regions["regions"]
    fits(regions, answers.RegionsAnswer)


def test_answers_before_there_is_a_job_or_anything_in_it_are_as_typed(tmp_path, desk):
    empty = open_desk(tmp_path)
    try:
        fits(empty.state(), answers.StateOfNoJob)
    finally:
        empty.workshop.close()
    fits(desk.state(), answers.State)
    fits(desk.get("findings").json(), answers.FindingsAnswer)
    fits(desk.get("forms").json(), answers.FormsAnswer)
    fits(desk.edit(kind="set", at=["job", "name"], value="Plates").json(), answers.EditAnswer)
    fits(desk.post("undo").json(), answers.TurnAnswer)


def test_an_answer_that_is_not_as_typed_is_told(desk):
    state = desk.state()
    for spoil, told in (
        (lambda s: s["parts"][0].pop("hand"), "hand is missing"),
        (lambda s: s["parts"][0].update(colour="red"), "colour is not described"),
        (lambda s: s["parts"][0].update(count="one"), "is no int"),
        (lambda s: s["plans"][0]["known"][0].update(to=[1.0]), "1 values for 2"),
        (lambda s: s["job"].update(units="cm"), "is none of"),
    ):
        spoilt = copy.deepcopy(state)
        spoil(spoilt)
        assert any(told in fault for fault in misfits(spoilt, answers.State)), told
