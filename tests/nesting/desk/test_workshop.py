"""Edits keep what the builder wrote, can be undone one by one and after a restart, and never overwrite others."""

import json
import shutil
import threading
import time

import pytest

from nesting.desk.parts_view import parts_view
from nesting.desk.standing import Faults, Standing
from nesting.desk.workshop import Workshop
from nesting.job.folder import open_job
from nesting.job.schema import JobSpec
from nesting.wood.part import Part
from tests.nesting.desk.conftest import ORIGIN, finished, open_desk
from tests.nesting.desk.jobs import JOB, KNOWN_MM, PLATE_MM, PX_PER_MM, make_job
from tests.nesting.desk.seeing import called
from vectorize.shapes.outline import Outline

RECTANGLE = Outline.rectangle(10.0, 10.0, 70.0, 40.0).as_json()
EDITS = [
    {"kind": "set", "at": ["job", "units"], "value": "in"},
    {
        "kind": "set",
        "at": ["plan", "sheet 1", "known", None],
        "value": {"from": [100, 90], "to": [100, 210], "length": "1 3/16 in"},
    },
    {"kind": "set", "at": ["plan", "sheet 1", "known", 0], "value": None},
    {"kind": "set", "at": ["plan", "sheet 1", "edge"], "value": "inside"},
    {"kind": "set", "at": ["plan", "sheet 1", "page"], "value": 1},
    {"kind": "set", "at": ["plan", "sheet 1", "layers"], "value": ["outline"]},
    {
        "kind": "set",
        "at": ["plan", "sheet 1", "sheet"],
        "value": "A6",
        "also": [{"at": ["plan", "sheet 1", "corners"], "value": [[600, 10], [20, 12], [610, 420], [15, 430]]}],
    },
    {"kind": "set", "at": ["plan", "sheet 1", "bridge", None], "value": {"from": [120.25, 90], "to": [140, 90]}},
    {"kind": "cut-part", "part": "plate", "name": "plate 2", "outline": RECTANGLE, "ends": [0, 2]},
    {
        "kind": "set",
        "at": ["part", None],
        "value": {"name": "block", "plan": "sheet 1", "pick": [[440, 150]], "material": "balsa", "thickness": "3 mm"},
    },
    {"kind": "set", "at": ["part", "plate"], "value": None},
    {"kind": "set", "at": ["part", "plate", "weighed"], "value": "1 1/4 oz"},
    {"kind": "set", "at": ["part", "plate", "grain"], "value": [[100, 100], [200, 100]]},
    {"kind": "set", "at": ["part", "plate", "name"], "value": "former 2"},
    {
        "kind": "set",
        "at": ["part", None],
        "value": {"name": "doubler", "from": "plate", "material": "birch ply", "thickness": "1/32 in"},
    },
    {"kind": "set", "at": ["part", "plate", "cut"], "value": True},
    {
        "kind": "set",
        "at": ["part", "plate", "step", None],
        "value": {"make": "hole", "at": [[200.123, 150]], "diameter": "1/8 in"},
    },
    {
        "kind": "set",
        "at": ["part", "plate", "carve"],
        "value": {"section": "NACA 2412", "span": [[100, 150], [340, 150]], "leading": [200, 90]},
    },
    {"kind": "set", "at": ["part", "plate", "cutout", None], "value": [300, 120]},
    {"kind": "set", "at": ["part", "plate", "pick", 0], "value": None},
    {"kind": "set", "at": ["nest", "tool"], "value": "knife"},
    {"kind": "set", "at": ["accuracy", "thickness"], "value": "0.001 in"},
    {"kind": "set", "at": ["plan", "sheet 1", "flatten"], "value": ["lens"]},
    {"kind": "set", "at": ["plan", "sheet 1", "gap"], "value": "3 mm"},
    {"kind": "set", "at": ["part", "plate", "line"], "value": "dashed"},
    {"kind": "set", "at": ["part", "plate", "mirror"], "value": [[100, 90], [100, 210]]},
    {"kind": "set", "at": ["pattern", "paper"], "value": "Letter"},
    {
        "kind": "set",
        "at": ["weighed", None],
        "value": {"parts": ["plate"], "mass": "2.4 g", "stage": "glued", "balance": "40 mm"},
    },
    {"kind": "set", "at": ["pattern", "style"], "value": "card"},
    {"kind": "set", "at": ["pattern", "margin"], "value": "12 mm"},
    {"kind": "set", "at": ["pattern", "overlap"], "value": "1/2 in"},
    {"kind": "set", "at": ["pattern", "mirror"], "value": True},
    {"kind": "set", "at": ["pattern", "overlay"], "value": False},
    {"kind": "set", "at": ["pattern", "formats"], "value": ["pdf", "dxf"]},
    {"kind": "measured-bars", "across": "99.2 mm", "up": "100 mm"},
    {"kind": "set", "at": ["part", "plate", "loaded"], "value": "edgewise"},
    {"kind": "set", "at": ["part", "plate", "use"], "value": "bends"},
    {"kind": "set", "at": ["part", "plate", "flat"], "value": "1/16 in"},
    {"kind": "set", "at": ["part", "plate", "density"], "value": ["90 kg/m3", "12 lb/ft3"]},
    {"kind": "set", "at": ["part", "plate", "least_stiffness"], "value": "2 GPa"},
    {"kind": "set", "at": ["part", "plate", "cuts"], "value": ["quarter", "mixed"]},
    {"kind": "set", "at": ["part", "plate", "boards"], "value": ["B1", "B2"]},
    {
        "kind": "set",
        "at": ["part", "plate", "substitutes"],
        "value": [{"material": "birch ply", "thickness": "1/8 in"}],
    },
    {
        "kind": "set",
        "at": ["part", "plate", "mark", None],
        "value": {"kind": "fold", "at": [[150, 90], [150, 210]], "text": "hinge"},
    },
    {
        "kind": "set",
        "at": ["pattern", "blade", None],
        "value": {"width": "1.2 mm", "thickness": "0.4 mm", "kerf": "0.5 mm", "teeth": 18},
    },
    {"kind": "set", "at": ["pattern", "without"], "value": ["grain", "cutting"]},
    {"kind": "set", "at": ["pattern", "pages"], "value": 12},
    {
        "kind": "set",
        "at": ["finish", None],
        "value": {"parts": ["plate"], "both": ["tissue", "dope", "dope"], "sanding": "0.1 mm"},
    },
    {
        "kind": "set",
        "at": ["joint", None],
        "value": {"name": "seam", "parts": ["plate"], "glue": "epoxy", "length": "4 in", "width": "3 mm"},
    },
    {"kind": "set", "at": ["balance", "range"], "value": ["110 mm", "122 mm"]},
    {"kind": "set", "at": ["balance", "seat", None], "value": {"part": "plate", "station": "120 mm"}},
    {
        "kind": "set",
        "at": ["balance", "item", None],
        "value": {"name": "engine", "mass": "18 g", "station": "1 3/8 in"},
    },
    {"kind": "set", "at": ["balance", "ballast", None], "value": {"name": "tail", "station": "10 mm"}},
    {"kind": "set", "at": ["balance", "ballast", None], "value": {"name": "nose", "at": [120, 100], "depth": "10 mm"}},
    {"kind": "set", "at": ["balance", "datum"], "value": [100.5, 150.25]},
    {"kind": "set", "at": ["balance", "aft"], "value": "left"},
    {"kind": "set", "at": ["balance", "lateral"], "value": ["-1 mm", "1 mm"]},
    {"kind": "set", "at": ["balance", "chord"], "value": {"length": "90 mm", "leading_edge": "100 mm"}},
    {
        "kind": "set",
        "at": ["balance", "chord"],
        "value": {
            "sections": [
                {"span": "0 mm", "chord": "4 in", "leading_edge": "9 mm"},
                {"span": "1 in", "chord": "9 mm", "leading_edge": "0 mm"},
            ]
        },
    },
    {"kind": "set", "at": ["balance", "in_place", None], "value": "plate"},
    {
        "kind": "set",
        "at": ["balance", "seat", None],
        "value": {"part": "plate", "anchor": [100, 90], "at": [200, 90], "angle": "30 deg", "from_above": True},
    },
    {
        "kind": "set",
        "at": ["balance", "alternative", None],
        "value": {"name": "forward", "item": "engine", "station": "20 mm"},
    },
    {"kind": "set", "at": ["nest", "cutouts"], "value": False},
    {"kind": "set", "at": ["nest", "side_by_side"], "value": [["plate", "block"]]},
    {"kind": "set", "at": ["nest", "soft_patches"], "value": ["plate"]},
    {"kind": "set-board", "board": "B1", "field": "mass", "value": "11.5 g"},
    {"kind": "set-board", "board": "B2", "field": "name", "value": "dark one"},
    {"kind": "add-boards", "table": "name\tmaterial\tthickness (in)\tlength (in)\twidth (in)\nB3\tbalsa\t1/8\t36\t3"},
    {"kind": "drop-board", "board": "B2"},
    {"kind": "add-blemish", "board": "B1", "corner": [10, 10], "opposite": [40, 30]},
]


def _content(folder):
    """Return every file that a builder would miss, by name."""
    files = (path for path in folder.rglob("*") if path.is_file())
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in files
        if not {".desk", "outlines", ".lock"} & set(path.relative_to(folder).parts)
    }


@pytest.mark.parametrize("edit", EDITS, ids=called)
def test_every_edit_is_undone_and_made_again_exactly_also_by_another_server(desk, edit):
    before = _content(desk.folder)
    assert desk.post("edit", edit).status_code == 200
    after = _content(desk.folder)
    assert after != before
    if "job.toml" in after:
        assert b"# Bench notes survive." in after["job.toml"]

    again = open_desk(desk.folder)
    assert again.post("undo").status_code == 200
    assert _content(desk.folder) == before
    assert again.post("redo").status_code == 200
    assert _content(desk.folder) == after
    again.workshop.close()


MARK = {"kind": "set", "at": ["part", "plate", "mark", None], "value": {"kind": "datum", "at": [[150, 90]]}}
BLADE = {
    "kind": "set",
    "at": ["pattern", "blade", None],
    "value": {"width": "1.2 mm", "thickness": "0.4 mm", "kerf": "0.5 mm", "teeth": 18},
}
FINISH = {"kind": "set", "at": ["finish", None], "value": {"parts": ["plate"], "both": ["tissue", "dope"]}}
JOINT = {
    "kind": "set",
    "at": ["joint", None],
    "value": {"name": "seam", "parts": ["plate"], "glue": "epoxy", "length": "40 mm", "width": "3 mm"},
}
WOOD = {"kind": "set", "at": ["part", "plate", "substitutes"], "value": [{"material": "ply", "thickness": "2 mm"}]}

ON_WHAT_IS_THERE = [
    (MARK, MARK | {"at": ["part", "plate", "mark", 0], "value": {"kind": "fold", "at": [[150, 90], [150, 210]]}}),
    (MARK, {"kind": "set", "at": ["part", "plate", "mark", 0], "value": None}),
    (BLADE, BLADE | {"at": ["pattern", "blade", 0], "value": BLADE["value"] | {"kerf": "0.02 in"}}),
    (BLADE, {"kind": "set", "at": ["pattern", "blade", 0], "value": None}),
    (WOOD, WOOD | {"value": []}),
    (FINISH, FINISH | {"at": ["finish", 0], "value": {"parts": ["plate"], "both": [], "top": ["film"]}}),
    (FINISH, {"kind": "set", "at": ["finish", 0], "value": None}),
    (JOINT, JOINT | {"at": ["joint", 0], "value": JOINT["value"] | {"glue": "white glue"}}),
    (JOINT, {"kind": "set", "at": ["joint", 0], "value": None}),
    (
        {"kind": "set", "at": ["part", "plate", "density"], "value": ["90 kg/m3", "150 kg/m3"]},
        {"kind": "set", "at": ["part", "plate", "density"], "value": None},
    ),
    (
        {"kind": "set", "at": ["weighed", None], "value": {"parts": ["plate"], "mass": "2.4 g", "stage": "cut"}},
        {"kind": "set", "at": ["weighed", 0], "value": None},
    ),
    (
        {"kind": "add-blemish", "board": "B1", "corner": [10, 10], "opposite": [40, 30]},
        {"kind": "drop-blemish", "board": "B1", "number": 0},
    ),
    (
        {"kind": "set", "at": ["plan", "sheet 1", "bridge", None], "value": {"from": [120.25, 90], "to": [140, 90]}},
        {"kind": "set", "at": ["plan", "sheet 1", "bridge", 0], "value": None},
    ),
    (
        {
            "kind": "set",
            "at": ["balance", "item", None],
            "value": {"name": "engine", "mass": "18 g", "station": "30 mm"},
        },
        {"kind": "set", "at": ["balance", "item", "engine"], "value": None},
    ),
    (
        {"kind": "set", "at": ["job", "name"], "value": "Tray"},
        {"kind": "set-outline", "part": "plate", "outline": RECTANGLE},
    ),
    (
        {"kind": "set-outline", "part": "plate", "outline": RECTANGLE},
        {"kind": "set-outline", "part": "plate", "outline": None},
    ),
]


@pytest.mark.parametrize(("first", "edit"), ON_WHAT_IS_THERE, ids=called)
def test_what_takes_away_something_is_undone_and_made_again_exactly(desk, first, edit):
    assert desk.post("edit", first).status_code == 200
    before = _content(desk.folder)
    assert desk.post("edit", edit).status_code == 200
    after = _content(desk.folder)
    assert after != before
    assert desk.post("undo").status_code == 200
    assert _content(desk.folder) == before
    assert desk.post("redo").status_code == 200
    assert _content(desk.folder) == after


def test_many_steps_are_undone_in_turn(desk):
    states = [_content(desk.folder)]
    for value in ("one", "two", "three"):
        desk.edit(kind="set", at=["job", "name"], value=value)
        states.append(_content(desk.folder))

    for expected in reversed(states[:-1]):
        assert desk.post("undo").status_code == 200
        assert _content(desk.folder) == expected
    assert desk.post("undo").status_code == 400


def test_a_new_edit_forgets_what_was_undone(desk):
    desk.edit(kind="set", at=["job", "name"], value="one")
    desk.post("undo")
    desk.edit(kind="set", at=["job", "name"], value="two")

    assert desk.state()["redo"] is None
    assert desk.post("redo").status_code == 400


def test_what_an_editor_changed_since_is_never_overwritten_by_undo(desk):
    desk.edit(kind="set", at=["job", "name"], value="one")
    path = desk.folder / "job.toml"
    path.write_text(path.read_text(encoding="utf-8") + "# by hand\n", encoding="utf-8")
    written = path.read_bytes()

    answer = desk.post("undo")

    assert answer.status_code == 409
    assert "changed by someone else" in answer.json()["error"]["text"]
    assert path.read_bytes() == written


def test_an_edit_that_would_make_the_job_unusable_is_refused(desk):
    before = _content(desk.folder)

    for edit in (
        {"kind": "set", "at": ["part", "plate", "thickness"], "value": "three"},
        {"kind": "set", "at": ["nest", "tool"], "value": "axe"},
        {"kind": "set", "at": ["nest", "kerf"], "value": "-1 mm"},
        {"kind": "set", "at": ["accuracy", "thickness"], "value": "-5 mm"},
        {"kind": "set", "at": ["plan", "sheet 1", "gap"], "value": "-3 mm"},
        {"kind": "set-board", "board": "B1", "field": "mass", "value": "10 kg"},
        {"kind": "set-board", "board": "B1", "field": "name", "value": "B2"},
        {"kind": "set", "at": ["part", None], "value": {"name": "plate", "plan": "sheet 1", "pick": [[1, 1]]}},
        {"kind": "add-boards", "table": "colour,weight\nred,1"},
    ):
        assert desk.post("edit", edit).status_code == 422

    assert _content(desk.folder) == before
    assert desk.state()["undo"] is None


def test_a_second_printer_correction_adds_to_the_first(desk):
    desk.edit(kind="measured-bars", across="98 mm", up="100 mm")
    desk.edit(kind="measured-bars", across="101 mm", up="100 mm")

    # The second print was drawn for 98 mm and measured 101: uncorrected it would measure 98 x 101 / 100.
    assert desk.state()["pattern"]["printer"] == pytest.approx([98.98, 100.0])


def test_the_bars_of_four_inches_correct_as_those_of_100_mm_do(desk):
    desk.edit(kind="measured-bars", bar="4 in", across="3.92 in", up="4 in")

    assert desk.state()["pattern"]["printer"] == pytest.approx([98.0, 100.0])


ENGINE = {"name": "engine", "mass": "18 g", "station": "35 mm"}


def test_equipment_is_changed_key_by_key_and_a_second_of_its_name_is_refused(desk):
    assert desk.edit(kind="set", at=["balance", "item", None], value=ENGINE).status_code == 200
    again = desk.edit(kind="set", at=["balance", "item", None], value=ENGINE)
    assert again.status_code == 422
    assert "named 'engine'; keep one" in again.json()["error"]["text"]
    desk.edit(kind="set", at=["balance", "item", "engine", "mass"], value="22 g")

    items = open_job(desk.folder).spec.balance.item
    assert [(item.name, item.mass, item.station) for item in items] == [("engine", 22.0, 35.0)]

    desk.edit(kind="set", at=["balance", "item", "engine"], value=None)
    assert open_job(desk.folder).spec.balance.item == ()


def test_what_only_makes_sense_together_is_changed_together_or_not_at_all(desk):
    desk.edit(kind="set", at=["balance", "item", None], value=ENGINE)
    item = lambda: open_job(desk.folder).spec.balance.item[0]  # noqa: E731
    at = {"kind": "set", "at": ["balance", "item", "engine", "at"], "value": [120, 150]}
    station = {"at": ["balance", "item", "engine", "station"], "value": None}

    assert desk.post("edit", at).status_code == 422
    assert item().at is None
    assert desk.post("edit", at | {"also": [station | {"value": "35"}]}).status_code == 422
    assert item().at is None
    assert desk.post("edit", at | {"also": [station]}).status_code == 200
    assert (item().mass, item().station, item().at) == (18.0, None, (120.0, 150.0))
    assert desk.post("undo").status_code == 200
    assert (item().station, item().at) == (35.0, None)


def test_what_names_a_part_is_not_changed_beside_something_else(desk):
    edit = {"kind": "set", "at": ["job", "name"], "value": "Tray"}
    for also in ({"at": ["part", "plate", "name"], "value": "rib"}, {"at": ["part", "plate"], "value": None}):
        answer = desk.post("edit", edit | {"also": [also]})
        assert (answer.status_code, "by itself" in answer.json()["error"]["text"]) == (400, True)
    whole = desk.edit(kind="set", at=["part", "plate"], value={"name": "rib", "pick": [[1, 1]]})
    assert (whole.status_code, "key by key" in whole.json()["error"]["text"]) == (400, True)


def test_a_part_has_its_place_in_one_way_only(desk):
    seats = lambda: open_job(desk.folder).spec.balance  # noqa: E731
    seat = {"part": "plate", "station": "120 mm", "lateral": "5 mm"}
    not_in_place = {"at": ["balance", "in_place", "plate"], "value": None}

    desk.edit(kind="set", at=["balance", "in_place", None], value="plate")
    desk.edit(kind="set", at=["balance", "seat", None], value=seat, also=[not_in_place])
    assert (seats().in_place, seats().seat[0].station) == ((), 120.0)
    assert "in_place" not in (desk.folder / "job.toml").read_text(encoding="utf-8")

    desk.edit(kind="set", at=["balance", "seat", "plate"], value={"part": "plate", "anchor": [1, 2], "at": [3, 4]})
    (found,) = seats().seat
    assert (found.station, found.anchor, found.at, found.lateral) == (None, (1.0, 2.0), (3.0, 4.0), 0.0)

    no_seat = {"at": ["balance", "seat", "plate"], "value": None}
    desk.edit(kind="set", at=["balance", "in_place", None], value="plate", also=[no_seat])
    assert (seats().in_place, seats().seat) == (("plate",), ())


def test_alternatives_of_one_name_are_kept_together_and_dropped_one_by_one(desk):
    for item in ("engine", "tank"):
        row = {"name": "all forward", "item": item, "station": "20 mm"}
        desk.edit(kind="set", at=["balance", "alternative", None], value=row)

    assert [one.item for one in open_job(desk.folder).spec.balance.alternative] == ["engine", "tank"]
    desk.edit(kind="set", at=["balance", "alternative", 0], value=None)
    assert [one.item for one in open_job(desk.folder).spec.balance.alternative] == ["tank"]


def test_pasted_inches_arrive_as_inches_under_millimetre_headings(desk):
    desk.edit(kind="add-boards", table="name\tmaterial\tthickness (in)\tlength (in)\twidth (in)\nB3\tbalsa\t1/8\t36\t3")

    row = (desk.folder / "rack.csv").read_text(encoding="utf-8").splitlines()[-1]

    assert row == "B3,balsa,1/8 in,,36 in,3 in"


def test_rows_pasted_without_headings_are_taken_in_the_shown_order(desk):
    desk.edit(kind="add-boards", table="B3\tbalsa\t3 mm\t3.1 mm\t300 mm\t75 mm\t8.2 g")

    assert (desk.folder / "rack.csv").read_text(encoding="utf-8").splitlines()[-1].startswith("B3,balsa,3 mm,3.1 mm")


def test_a_renamed_part_takes_its_correction_along(desk):
    (desk.folder / "corrected").mkdir()
    (desk.folder / "corrected" / "plate.json").write_text("{}", encoding="utf-8")

    desk.edit(kind="set", at=["part", "plate", "name"], value="rib")

    assert [path.name for path in (desk.folder / "corrected").iterdir()] == ["rib.json"]
    desk.post("undo")
    assert [path.name for path in (desk.folder / "corrected").iterdir()] == ["plate.json"]


def test_a_damaged_history_costs_only_the_way_back(desk):
    desk.edit(kind="set", at=["job", "name"], value="one")
    (desk.folder / ".desk" / "history.json").write_text("{", encoding="utf-8")

    assert desk.state()["undo"] is None
    assert desk.edit(kind="set", at=["job", "name"], value="two").status_code == 200


def test_the_job_is_followed_to_its_sizes_and_weights(followed):
    part = followed.state()["parts"][0]
    weights = followed.state()["weights"]["weights"]

    # The pen line is 3 px; both known length and outline are taken at its centre.
    tolerance_mm = 0.5 / PX_PER_MM
    assert part["state"] == "traced"
    assert part["size_mm"] == pytest.approx(PLATE_MM, abs=tolerance_mm)
    assert followed.state()["plans"][0]["known"][0]["length_mm"] == KNOWN_MM
    # mass of the board x share of its area, 60 x 30 of 300 x 100 mm
    share = PLATE_MM[0] * PLATE_MM[1] / (300 * 100)
    masses = {row["board"]: row["mass_g"] for row in weights}
    assert masses["B1"] == pytest.approx(10.0 * share, rel=0.02)
    assert masses["B2"] == pytest.approx(16.0 * share, rel=0.02)


def test_whether_the_job_is_followed_is_always_told(tmp_path):
    (tmp_path / "job").mkdir()
    desk = open_desk(tmp_path / "job")
    assert (desk.state()["is_empty"], desk.state()["is_followed"]) == (True, False)

    make_job(desk.folder)
    assert (desk.state()["fault"], desk.state()["is_followed"]) == (None, False)
    desk.workshop.follow()
    finished(desk.workshop, "follow")
    assert desk.state()["is_followed"]

    desk.edit(kind="set-board", board="B1", field="mass", value="11 g")
    assert not desk.state()["is_followed"]

    (desk.folder / "job.toml").write_text("[job", encoding="utf-8")
    assert desk.state()["fault"]
    assert not desk.state()["is_followed"]
    desk.workshop.close()


def test_an_earlier_state_is_there_at_once_as_it_was_and_nothing_of_it_is_made_again(desk, monkeypatch):
    def followed_now():
        desk.workshop.follow()
        finished(desk.workshop, "follow")
        return _of_the_job(desk.state())

    first = followed_now()
    desk.edit(kind="set", at=["part", "plate", "count"], value=3)
    second = followed_now()
    desk.edit(kind="set-board", board="B1", field="mass", value="11 g")
    third = followed_now()
    assert [one["is_followed"] for one in (first, second, third)] == [True] * 3
    assert first["weights"] != second["weights"] != third["weights"]

    with monkeypatch.context() as patch:
        patch.setattr(desk.workshop.trace_worker, "run", None)
        patch.setattr(desk.workshop, "weights", None)
        for turn, then in (("undo", second), ("undo", first), ("redo", second), ("redo", third)):
            assert desk.post(turn).status_code == 200
            assert _of_the_job(desk.state()) == then
        desk.edit(kind="set-board", board="B1", field="mass", value="10.0 g")
        assert _of_the_job(desk.state()) == second
    # What anybody changes besides is no earlier state.
    rack = desk.folder / "rack.csv"
    rack.write_text(rack.read_text(encoding="utf-8").replace("16.0 g", "15.0 g"), encoding="utf-8")
    assert not desk.state()["is_followed"]
    assert followed_now()["weights"] != second["weights"]


def test_coming_back_while_a_change_is_followed_stands(desk):
    desk.workshop.follow()
    finished(desk.workshop, "follow")
    first = _of_the_job(desk.state())
    desk.edit(kind="set", at=["part", "plate", "count"], value=3)
    begun, go_on = threading.Event(), threading.Event()
    run = desk.workshop.trace_worker.run

    def late(*labour, **heard):
        found = run(*labour, **heard)
        begun.set()
        go_on.wait(60)
        return found

    desk.workshop.trace_worker.run = late
    desk.workshop.follow()
    assert begun.wait(60)
    desk.post("undo")
    go_on.set()
    finished(desk.workshop, "follow")

    assert _of_the_job(desk.state()) == first


def _of_the_job(state):
    """Return what a state tells of the job itself, and not of the way there."""
    return {key: state[key] for key in state if key not in ("revision", "tasks", "undo", "redo")}


def test_the_page_and_the_command_line_have_the_same_numbers(followed):
    from nesting.balance.weights import weigh_parts
    from nesting.job.rack_files import read_rack
    from nesting.job.stages import Stages

    job = open_job(followed.folder)
    parts = Stages(job).parts
    by_command = weigh_parts(parts, read_rack(job)).as_json()

    shown = followed.state()["weights"]

    assert shown["weights"] == by_command["weights"]
    assert shown["total_g"] == by_command["total_g"]


def test_a_part_made_from_another_is_shown_as_it_is_cut(tmp_path):
    desk = open_desk(make_job(tmp_path / "job", job=JOB + '\n[[part]]\nname = "spare"\nfrom = "plate"\ncount = 2\n'))
    desk.workshop.follow()
    finished(desk.workshop, "follow")

    plate, spare = desk.state()["parts"]

    assert spare["from"] == "plate"
    assert (spare["state"], spare["fault"]) == ("traced", None)
    assert spare["outline"] == plate["outline"]
    assert spare["copies"] == 2
    desk.workshop.close()


def test_pieces_that_steps_make_of_a_part_are_shown_beside_it():
    parts = {
        name: Part(name, Outline.rectangle(0, 0, 50, 20), "balsa", 3.0) for name in ("wing plank 1", "wing plank 2")
    }
    spec = JobSpec.model_validate({"part": [{"name": "wing", "pick": [[1, 1]]}, {"name": "fin", "pick": [[2, 2]]}]})
    standing = Standing("", (), (), tuple(parts.values()), (), (), Faults({}))

    wing, fin, *pieces = parts_view(spec, standing, placed=frozenset({"wing plank 2"}))

    assert wing["pieces"] == ["wing plank 1", "wing plank 2"]
    assert (wing["state"], fin["state"]) == ("on a board", "not traced")
    assert [(piece["name"], piece["piece_of"]) for piece in pieces] == [(name, "wing") for name in parts]


def test_a_part_without_a_thickness_leaves_the_others_as_they_are(tmp_path):
    more = '\n[[part]]\nname = "block"\npick = [[440, 150]]\nmaterial = "balsa"\n'
    desk = open_desk(make_job(tmp_path / "job", job=JOB + more))
    desk.workshop.follow()
    finished(desk.workshop, "follow")

    plate, block = desk.state()["parts"]

    assert "no thickness" in block["fault"]
    assert plate["fault"] is None
    assert {row["part"] for row in desk.state()["weights"]["weights"]} == {"plate"}
    desk.workshop.close()


def test_balance_follows_from_stations_and_masses(tmp_path):
    desk = open_desk(make_job(tmp_path / "job"))
    desk.edit(kind="set", at=["balance", "seat", None], value={"part": "plate", "station": "100 mm"})
    desk.edit(kind="set", at=["balance", "item", None], value={"name": "engine", "mass": "2 g", "station": "20 mm"})
    desk.edit(kind="set", at=["balance", "range"], value=["40 mm", "60 mm"])
    desk.workshop.follow()
    finished(desk.workshop, "follow")

    balance = desk.state()["balance"]
    plate_g = desk.state()["weights"]["total_g"]

    # moments about the datum, by hand
    expected_mm = (plate_g * 100 + 2 * 20) / (plate_g + 2)
    assert balance["fault"] is None
    assert balance["report"]["loadings"][0]["balance_mm"] == pytest.approx(expected_mm, rel=1e-3)
    desk.workshop.close()


def test_a_part_is_held_where_it_was_put_and_the_rest_fitted_around_it(tmp_path):
    folder = make_job(tmp_path / "job")
    desk = open_desk(folder)
    desk.edit(kind="set", at=["part", "plate", "count"], value=3)
    desk.workshop.follow()
    finished(desk.workshop, "follow")
    x0, y0 = (min(point[axis] for point in desk.state()["parts"][0]["outline"][0]) for axis in (0, 1))
    hold = {"kind": "place", "part": "plate", "copy_number": 2, "board": "B1", "x_mm": 40 - x0, "y_mm": 35 - y0}

    assert desk.post("task/nest", {"hold": hold | {"angle_deg": 0, "flipped": False}}).status_code == 202
    while not (folder / "out" / "layout.json").exists() and desk.workshop.tasks.is_running("nest"):
        time.sleep(0.05)
    desk.post("task/nest/stop")
    finished(desk.workshop, "nest")

    laid = desk.state()["layout"]
    assert laid["proved"]
    (held,) = [p for board in laid["boards"] for p in board["placements"] if p["pinned"]]
    assert (held["copy"], held["x_mm"], held["y_mm"]) == (2, pytest.approx(40 - x0), pytest.approx(35 - y0))
    assert sum(len(board["placements"]) for board in laid["boards"]) == 3
    desk.workshop.close()


def test_a_part_placed_by_hand_is_kept_and_one_that_overlaps_is_not(followed):
    lay = {"kind": "place", "part": "plate", "copy_number": 1, "angle_deg": 0, "flipped": False}
    x0, y0 = (min(point[axis] for point in followed.state()["parts"][0]["outline"][0]) for axis in (0, 1))

    assert followed.post("edit", lay | {"board": "B2", "x_mm": 20 - x0, "y_mm": 10 - y0}).status_code == 200
    laid = followed.state()["layout"]
    assert laid["proved"]
    assert laid["boards"][0]["name"] == "B2"
    assert laid["boards"][0]["placements"][0]["pinned"]

    refused = followed.post("edit", lay | {"board": "B2", "x_mm": 280 - x0, "y_mm": 10 - y0})
    assert refused.status_code == 422
    assert "past the edge" in refused.json()["error"]["text"]
    assert followed.state()["layout"] == laid

    turned = followed.post("edit", lay | {"board": "B2", "x_mm": 100, "y_mm": 50, "angle_deg": 45})
    assert "grain" in turned.json()["error"]["text"] or "edge" in turned.json()["error"]["text"]

    # To let it go and to lay it are two steps, taken back and made again one by one.
    let_go = {"kind": "pin", "part": "plate", "copy_number": 1, "is_pinned": False}
    assert followed.post("edit", let_go).status_code == 200
    free = followed.state()["layout"]
    assert not free["boards"][0]["placements"][0]["pinned"]
    for direction, then in (("undo", laid), ("undo", None), ("redo", laid), ("redo", free)):
        assert followed.post(direction).status_code == 200
        assert followed.state()["layout"] == then
    for _ in range(2):
        assert followed.post("undo").status_code == 200
    assert not (followed.folder / "out" / "layout.json").exists()


def test_a_corrected_outline_must_be_a_simple_shape(desk):
    bow_tie = {"exterior": {"start": [0, 0], "pieces": [[10, 10], [10, 0], [0, 12], [0, 0]]}, "cutouts": []}
    square = {"exterior": {"start": [0, 0], "pieces": [[60, 0], [60, 30], [0, 30], [0, 0]]}, "cutouts": []}

    assert desk.edit(kind="set-outline", part="plate", outline=bow_tie).status_code == 422
    assert not (desk.folder / "corrected").exists()
    assert desk.edit(kind="set-outline", part="plate", outline=square).status_code == 200
    assert json.loads((desk.folder / "corrected" / "plate.json").read_text(encoding="utf-8"))["name"] == "plate"


def test_a_scan_dropped_on_an_empty_folder_starts_a_job(tmp_path):
    source = make_job(tmp_path / "source")
    (tmp_path / "job").mkdir()
    desk = open_desk(tmp_path / "job")
    assert desk.state()["is_empty"]
    scan = (source / "plan.png").read_bytes()
    answer = desk.client.post("/api/1/plans?name=My%20plan%20(1).PNG", content=scan, headers=ORIGIN)
    assert answer.status_code == 200
    spec = open_job(desk.folder).spec
    assert (desk.folder / spec.plan[0].file).read_bytes() == scan

    desk.client.post("/api/1/plans?name=other.png", content=scan, headers=ORIGIN)
    assert [plan.name for plan in open_job(desk.folder).spec.plan] == ["sheet 1", "sheet 2"]
    desk.workshop.close()


def test_an_upload_of_a_taken_name_is_kept_beside_it(desk):
    other = shutil.copy(desk.folder / "plan.png", desk.folder.parent / "x.png")
    with open(other, "ab") as file:  # noqa: PTH123 - the same picture with other bytes
        file.write(b"\0")
    before = (desk.folder / "plan.png").read_bytes()

    content = (desk.folder.parent / "x.png").read_bytes()
    assert desk.client.post("/api/1/plans?name=plan.png", content=content, headers=ORIGIN).status_code == 200

    assert (desk.folder / "plan.png").read_bytes() == before
    assert open_job(desk.folder).spec.plan[1].file == "plan-2.png"


def test_the_demo_is_laid_out_only_where_no_job_is(tmp_path, desk):
    assert desk.post("demo").status_code == 400
    (tmp_path / "empty").mkdir()
    empty = open_desk(tmp_path / "empty")

    assert empty.post("demo").status_code == 200
    assert open_job(tmp_path / "empty").spec.job.name == "Sedge"
    empty.workshop.close()


def test_a_change_by_another_program_is_noticed(tmp_path):
    folder = make_job(tmp_path / "job")
    workshop = Workshop(folder)
    before = workshop.asked()

    path = folder / "rack.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("16.0 g", "15.0 g "), encoding="utf-8")

    assert workshop.asked() != before
    workshop.close()


def test_results_that_the_desk_writes_itself_do_not_make_it_follow_again(tmp_path):
    folder = make_job(tmp_path / "job", is_traced=False)
    workshop = Workshop(folder)
    before, whole = workshop.asked(), workshop.revision()

    (folder / "outlines").mkdir()
    (folder / "outlines" / "plate.json").write_text("{}", encoding="utf-8")

    assert workshop.asked() == before
    assert workshop.revision() != whole
    workshop.close()


def test_a_task_that_is_stopped_before_its_process_has_begun_ends_too(desk):
    """As when it still loads what it needs: the process is not there yet, or rests from the last task."""
    worker = desk.workshop.region_worker
    for _ in range(2):
        begun, go_on = threading.Event(), threading.Event()

        def work(say, begun=begun, go_on=go_on):
            begun.set()
            go_on.wait(60)
            worker.run(say_and_wait, 3.0, on_say=say)

        desk.workshop.tasks.start("regions", "waiting", work, stop=worker.stop)
        begun.wait(60)
        assert desk.workshop.tasks.stop("regions")
        go_on.set()
        assert finished(desk.workshop, "regions")["state"] == "stopped"
        assert worker.run(say_and_wait, 0.0) == "done"


def say_and_wait(report, seconds):
    report.say("at work")
    time.sleep(seconds)
    report.say("at work")
    return "done"


def test_stopping_a_task_ends_it_and_the_next_one_runs(desk):
    desk.workshop.follow()
    desk.workshop.tasks.stop("follow")
    assert finished(desk.workshop, "follow")["state"] in ("stopped", "done")

    desk.workshop.follow()

    assert finished(desk.workshop, "follow")["state"] == "done"


def test_a_state_that_was_begun_before_the_job_was_followed_is_not_called_followed(desk, monkeypatch):
    desk.workshop.follow()
    finished(desk.workshop, "follow")
    assert desk.edit(kind="set", at=["part", "plate", "count"], value=3).status_code == 200
    weigh = desk.workshop.weights

    def late(*job, **laid):
        found = weigh(*job, **laid)
        desk.workshop.follow()
        finished(desk.workshop, "follow")
        return found

    monkeypatch.setattr(desk.workshop, "weights", late)
    (part,), is_followed = (begun := desk.state())["parts"], begun["is_followed"]
    assert (part["copies"], is_followed) in ((1, False), (3, True))
