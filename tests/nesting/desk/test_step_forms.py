"""What a part is made by at the desk: its steps and carving in words, in forms, and changed without losing comments."""

import json
from pathlib import Path

import pytest
import tomlkit

from nesting.desk.job_edits import edit_job
from nesting.desk.on_files import places_of, with_places
from nesting.desk.requests import read_edit
from nesting.desk.seen import seen_view
from nesting.desk.step_forms import carve_fields, forms_view, step_fields, step_models
from nesting.desk.step_words import STEP_WORDS, carve_in_words, step_in_words
from nesting.job.folder import open_job, read_spec
from tests.nesting.desk.conftest import finished
from tests.nesting.desk.jobs import JOB
from tests.nesting.desk.seeing import as_seen, called
from vectorize.basics.spec_table import fields_in

TEASEL = Path(__file__).parents[3] / "nesting" / "job" / "demo" / "teasel" / "job.toml"
STEPS = """
[[part.step]]
make = "hole"        # for the pushrod
at = [[200, 150]]    # by eye
diameter = "6 mm"

[[part.step]]
make = "grow"        # sanded to the line
by = "0.5 mm"
"""
SPLICED = JOB + STEPS


def edited(text, **edit):
    """Return the job's text after an edit, and its title."""
    document = tomlkit.parse(text)
    title = edit_job(document, read_edit(as_seen({"seen": seen_view(document.unwrap())}, edit)))
    after = tomlkit.dumps(document)
    read_spec(after)
    return after, title


def test_every_step_of_the_job_file_has_a_form_with_every_key():
    forms = {form["make"]: form for form in forms_view()["steps"]}
    assert set(forms) == set(step_models()) == set(STEP_WORDS)
    for make, model in step_models().items():
        keys = {field.alias or name for name, field in fields_in(model).items()} - {"make"}
        assert {field["key"] for field in forms[make]["fields"]} == keys == set(STEP_WORDS[make].fields)
    pitch = next(field for field in forms["bolts"]["fields"] if field["key"] == "pitch")
    assert (pitch["kind"], pitch["is_needed"]) == ("two lengths", True)
    sides = next(field for field in forms["splice"]["fields"] if field["key"] == "sides")
    assert (sides["kind"], sides["choices"], sides["default"]) == ("choice", [1, 2], "2")
    assert {field.key: field.default for field in carve_fields()}["seat"] == "auto"


def test_steps_and_carving_are_said_as_a_builder_would_with_the_numbers_as_written():
    parts = {part["name"]: part for part in tomlkit.parse(TEASEL.read_text(encoding="utf-8")).unwrap()["part"]}
    assert [step_in_words(step) for step in parts["doubler"]["step"]] == [
        "Doubler: between stations 0 mm and 168 mm, set in 0.5 mm from the edge"
    ]
    assert step_in_words(parts["fuselage"]["step"][3]) == (
        "Slot for a tab: at station 424 mm, height 3 mm, for tailplane, 70 mm long"
    )
    assert "from one point on the plan to another" in carve_in_words(parts["wing left"]["carve"])
    assert "its high point at 30 % of the chord" in carve_in_words(parts["wing left"]["carve"])
    assert step_in_words({"make": "splice", "sides": 1, "at": [3.2, 4, 2]}) == (
        "Butt joint under plates: at a point on the plan, plates on sides: 1"
    )


def test_a_step_is_changed_in_its_place_and_what_stays_keeps_its_comment():
    step = {"make": "hole", "at": [[200, 150]], "diameter": "1/4 in"}
    after, title = edited(SPLICED, kind="set", at=["part", "plate", "step", 0], value=step)
    assert after == SPLICED.replace('"6 mm"', '"1/4 in"')
    assert title == "change a step of plate: holes"


def test_a_step_is_added_moved_and_taken_away_and_the_last_one_leaves_nothing_behind():
    added, _ = edited(JOB, kind="set", at=["part", "plate", "step", None], value={"make": "grow", "by": "0.5 mm"})
    assert [step.make for step in read_spec(added).part[0].step] == ["grow"]
    assert edited(added, kind="set", at=["part", "plate", "step", 0], value=None)[0].strip() == JOB.strip()
    moved, title = edited(SPLICED, kind="move", at=["part", "plate", "step", 1], to=0)
    assert [step.make for step in read_spec(moved).part[0].step] == ["grow", "hole"]
    assert "# for the pushrod" in moved
    assert "# sanded to the line" in moved
    assert title == "move a step of plate: allowance for sanding"


def test_steps_written_in_one_line_are_edited_too():
    text = JOB + 'step = [{ make = "planks" }]\n'
    after, _ = edited(text, kind="set", at=["part", "plate", "step", None], value={"make": "grow", "by": "1 mm"})
    after, _ = edited(after, kind="move", at=["part", "plate", "step", 1], to=0)
    assert [step.make for step in read_spec(after).part[0].step] == ["grow", "planks"]


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        (
            {
                "kind": "set",
                "at": ["part", "plate", "step", None],
                "value": {"make": "hole", "at": [[9, 9]], "diameter": "three mm"},
            },
            "diameter",
        ),
        ({"kind": "set", "at": ["part", "plate", "step", None], "value": {"make": "hole", "at": [[9, 9]]}}, "diameter"),
        (
            {
                "kind": "set",
                "at": ["part", "plate", "step", None],
                "value": {"make": "hole", "at": "here", "diameter": "3 mm"},
            },
            "at",
        ),
        (
            {"kind": "set", "at": ["part", "plate", "step", None], "value": {"make": "hole", "diametre": "3 mm"}},
            "did you mean 'diameter'",
        ),
        ({"kind": "set", "at": ["part", "plate", "step", None], "value": {"make": "weld"}}, "weld"),
        (
            {"kind": "set", "at": ["part", "plate", "step", None], "value": {"make": "rescale", "factor": "big"}},
            "factor",
        ),
        ({"kind": "set", "at": ["part", "plate", "step", None], "value": {}}, "make"),
        ({"kind": "set", "at": ["part", "plate", "step", 4], "value": {"make": "planks"}}, "changed or taken away"),
        ({"kind": "set", "at": ["part", "plate", "step", None], "value": {"make": [[[[[[[1]]]]]]]}}, "nested too deep"),
        (
            {
                "kind": "set",
                "at": ["part", "plate", "step", None],
                "value": {"make": "laminate", "layers": ["1 mm"] * 900},
            },
            "at most 500",
        ),
        ({"kind": "set", "at": ["part", "plate", "step", 0], "value": None}, "changed or taken away"),
        ({"kind": "move", "at": ["part", "plate", "step", 0], "to": 1}, "changed or taken away"),
        ({"kind": "set", "at": ["part", "plate", "carve"], "value": {"section": "NACA 2412"}}, "span"),
        ({"kind": "set", "at": ["part", "plate", "from"], "value": None}, "say from which"),
    ],
)
def test_what_the_schema_refuses_is_one_sentence_and_changes_nothing(desk, edit, said):
    before = (desk.folder / "job.toml").read_bytes()
    answer = desk.post("edit", edit)
    assert answer.status_code == (409 if said == "changed or taken away" else 422)
    text = answer.json()["error"]["text"]
    assert said in text
    assert "\n" not in text.strip()
    assert (desk.folder / "job.toml").read_bytes() == before


def test_a_part_is_made_from_another_one_stepped_and_followed(desk):
    edits = [
        {
            "kind": "set",
            "at": ["part", None],
            "value": {"name": "doubler", "from": "plate", "material": "balsa", "thickness": "3 mm"},
        },
        {
            "kind": "set",
            "at": ["part", "doubler", "step", None],
            "value": {"make": "hole", "at": [[200, 150]], "diameter": "6 mm"},
        },
    ]
    for edit in edits:
        assert desk.post("edit", edit).status_code == 200
    desk.workshop.follow()
    assert finished(desk.workshop, "follow")["state"] == "done"
    plate, doubler = desk.state()["parts"]
    assert (plate["steps"], doubler["from"]) == ([], "plate")
    assert doubler["steps"][0]["text"] == "Holes: at a point on the plan, 6 mm across"
    assert doubler["steps"][0]["table"] == edits[1]["value"]
    assert plate["area_mm2"] - doubler["area_mm2"] == pytest.approx(9 * 3.14159265, rel=1e-4)
    assert desk.get("forms").json() == forms_view()


def test_a_part_marked_as_cut_stands_so_and_stays_pinned_where_it_lies(desk):
    layout = {
        "boards": [
            {
                "name": "B1",
                "placements": [
                    {"part": name, "copy": 1, "x_mm": 8.0 + x, "y_mm": 8.0, "angle_deg": 0.0, "flipped": False}
                    for x, name in ((0, "plate"), (80, "plate plank 1"), (160, "other"))
                ],
                "used_fraction": 0.1,
                "used_length_mm": 70.0,
            }
        ],
        "unplaced": [],
        "proved": True,
        "notes": [],
        "made_from": "",
        "pinned": [],
    }
    path = desk.folder / "out" / "layout.json"
    path.parent.mkdir(exist_ok=True)
    path.write_text(json.dumps(layout), encoding="utf-8")
    assert desk.edit(kind="set", at=["part", "plate", "cut"], value=True).status_code == 200
    assert open_job(desk.folder).spec.part[0].cut
    assert desk.state()["parts"][0]["is_cut"]
    assert json.loads(path.read_text(encoding="utf-8"))["pinned"] == [["plate", 1], ["plate plank 1", 1]]
    assert desk.post("undo").json()["title"] == "mark plate as cut"
    assert json.loads(path.read_text(encoding="utf-8"))["pinned"] == []


def test_places_of_steps_and_balance_are_found_by_the_plan_that_they_lie_on():
    spec = read_spec(
        '[[plan]]\nname = "side"\nfile = "a.png"\n[[plan]]\nname = "top"\nfile = "b.png"\n'
        '[[part]]\nname = "wing"\nplan = "top"\n[[part]]\nname = "rib"\nfrom = "wing"\n'
    )

    def located(**edit):
        places = places_of(read_edit({"kind": "set"} | edit), spec)
        return {spot: (found.plan, tuple(found.place)) for spot, found in places.items()}

    step = {"make": "bolts", "at": [[1, 2], {"station": "3 mm"}, [4, 5, 1]], "pitch": ["6 mm", "7 mm"]}
    assert located(at=["part", "rib", "step", None], value=step) == {(0, "at", 0): (1, (1, 2))}
    carve = {"section": "NACA 2412", "span": [[1, 2], [3, 4]], "leading": [5, 6], "flats": [2, 2]}
    assert located(at=["part", "wing", "carve"], value=carve) == {
        (0, "leading"): (1, (5, 6)), (0, "span", 0): (1, (1, 2)), (0, "span", 1): (1, (3, 4)),
    }  # fmt: skip
    mark = {"kind": "fold", "at": [[1, 2], [3, 4]]}
    marking = {"at": ["part", "rib", "mark", None], "value": mark}
    assert located(**marking) == {(0, "at", 0): (1, (1, 2)), (0, "at", 1): (1, (3, 4))}
    moved = with_places(read_edit({"kind": "set"} | marking), {(0, "at", 1): (5.5, 6.25, 2.0)})
    assert moved.value == {"kind": "fold", "at": [[1, 2], [5.5, 6.25, 2]]}
    assert located(at=["part", "wing", "density"], value=["90 kg/m3", "1 kg/m3"]) == {}
    assert located(at=["part", "wing", "pick", None], value=[1, 2]) == {(0,): (1, (1, 2))}
    assert located(at=["part", "wing", "grain"], value=[[1, 2], [3, 4]]).keys() == {(0, 0), (0, 1)}
    seat = {"part": "wing", "anchor": [1, 2], "at": [3, 4]}
    seated = {(0, "anchor"): (1, (1, 2)), (0, "at"): (0, (3, 4))}
    assert located(at=["balance", "seat", None], value=seat) == seated
    assert located(at=["balance", "seat", "wing"], value=seat) == seated
    assert located(at=["balance", "datum"], value=[1, 2]) == {(0,): (0, (1, 2))}
    assert located(at=["balance", "aft"], value=[1, 2]) == {(0,): (0, (1, 2))}
    assert located(at=["balance", "lateral"], value=["1 mm", "2 mm"]) == {}
    tank = {"at": ["balance", "item", "tank", "at"], "value": [8, 9]}
    assert located(at=["job", "name"], value="x", also=[tank]) == {(1,): (0, (8, 9))}
    edit = with_places(
        read_edit({"kind": "set", "at": ["job", "name"], "value": "x", "also": [tank]}), {(1,): (1, 2, 3.0)}
    )
    assert (edit.value, edit.also[0].value) == ("x", [1, 2, 3])

    bolts = {"kind": "set", "at": ["part", "rib", "step", None], "value": step}
    edit = with_places(read_edit(bolts), {(0, "at", 0): (7.5, 8.25, 2.0)})
    assert edit.value["at"] == [[7.5, 8.25, 2], {"station": "3 mm"}, [4, 5, 1]]
    assert step_fields("pair") == ()


@pytest.mark.parametrize(
    "edit",
    [
        {"kind": "move", "at": ["part", "rib", "step", 0], "to": 1},
        {"kind": "set", "at": ["part", "rib", "step", 0], "value": None},
        {
            "kind": "set",
            "at": ["part", "rib", "step", 1],
            "value": {"make": "grow", "by": "1/64 in", "along": [[100, 150]]},
        },
        {"kind": "set", "at": ["part", "rib", "carve"], "value": None},
        {"kind": "set", "at": ["part", "rib", "from"], "value": "plate"},
        {"kind": "set", "at": ["part", "rib"], "value": None},
        {"kind": "set", "at": ["part", "rib", "cut"], "value": None},
    ],
    ids=called,
)
def test_changes_of_what_is_there_are_taken_back_and_made_again_exactly(desk, edit):
    carve = '[part.carve]\nsection = "NACA 2412"\nspan = [[100, 150], [340, 150]]\nleading = [200, 90]\n'
    other = '\n[[part]]\nname = "rib"\nfrom = "block"\ncut = true\n' + STEPS.replace("\n\n", "\n") + carve
    block = JOB[JOB.index("[[part]]") :].replace('"plate"', '"block"')
    path = desk.folder / "job.toml"
    path.write_text(f"{JOB}\n{block}{other}", encoding="utf-8")
    before = path.read_text(encoding="utf-8")
    assert desk.post("edit", edit).status_code == 200
    after = path.read_text(encoding="utf-8")
    assert after != before
    assert desk.post("undo").status_code == 200
    assert path.read_text(encoding="utf-8") == before
    assert desk.post("redo").status_code == 200
    assert path.read_text(encoding="utf-8") == after


def test_parts_that_were_weighed_together_stand_as_weighed(desk):
    with (desk.folder / "job.toml").open("a", encoding="utf-8") as job:
        job.write('\n[[weighed]]\nparts = ["plate"]\nmass = "2.1 g"\n')
    assert desk.state()["parts"][0]["state"] == "weighed"
