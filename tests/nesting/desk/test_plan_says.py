"""What a plan says, at the desk: read in the background, offered with its evidence, and taken as any edit is."""

import io
import time
import tomllib

import pytest
from PIL import Image

from nesting.desk import answers
from nesting.job.drafting import draft_new_job
from tests.nesting.desk.conftest import ORIGIN, finished, open_desk
from tests.nesting.desk.drawn import PLAN
from tests.nesting.desk.jobs import make_job
from tests.nesting.desk.lettered import picture, save_scan
from tests.nesting.desk.page_types import misfits
from tests.vectorize.marks.lettering.lettered_pages import DPI

SEAM = (420, 980)
"""Columns between which both scans of a joined sheet show the same."""


def uploaded(desk, name, data):
    answer = desk.client.post(f"/api/1/plans?name={name}", content=data, headers=ORIGIN)
    assert answer.status_code == 200, answer.text


def reading(desk, number=0):
    answer = desk.get(f"plans/{number}/reading")
    assert answer.status_code == 200, answer.text
    return answer.json()


def written(path):
    return tomllib.loads(path.read_text(encoding="utf-8"))


def taken(says, plan="sheet 1"):
    """Return the edit that takes lengths and parts, as the page makes it."""
    known = [
        {"at": ["plan", plan, "known", None], "value": {key: one[key] for key in ("from", "to", "length")}}
        for one in says["lengths"]
    ]
    parts = [{"at": ["part", None], "value": part["table"]} for part in says["parts"]]
    first, *also = [*known, *parts]
    return {"kind": "set", **first, "also": also}


@pytest.fixture(scope="module")
def scan(tmp_path_factory):
    return save_scan(tmp_path_factory.mktemp("scan") / "plan.png")


@pytest.fixture(scope="module")
def read(tmp_path_factory, scan):
    """Return a desk on which a scan was dropped, read; tests that share it leave it as it was."""
    desk = open_desk(tmp_path_factory.mktemp("empty"))
    uploaded(desk, "plan.png", scan.read_bytes())
    assert finished(desk.workshop, "read")["state"] == "done"
    yield desk
    desk.workshop.close()


@pytest.fixture
def empty(tmp_path):
    desk = open_desk(tmp_path)
    yield desk
    desk.workshop.close()


def test_a_scan_that_is_dropped_is_read_and_what_it_says_is_shown_with_its_evidence(read):
    answer = reading(read)
    assert misfits(answer, answers.ReadingAnswer) == []
    says = answer["says"]
    assert sorted(one["length_mm"] for one in says["lengths"]) == [40, 40, 80, 110]
    assert all(abs(one["off_mm"]) < 0.5 for one in says["lengths"])
    assert {part["name"]["value"] for part in says["parts"]} == {"FIN", "R3", "GUSSET"}
    for text in {text for part in says["parts"] for text in part["texts"]}:
        crop = read.get(f"plans/0/reading/{text}.png")
        with Image.open(io.BytesIO(crop.content)) as picture:
            assert picture.width > picture.height / 2
    assert read.get("plans/0/reading/9999.png").status_code == 404


def test_nothing_is_in_the_job_before_it_is_taken(read):
    job = written(read.folder / "job.toml")
    assert "part" not in job
    assert "known" not in job["plan"][0]


def test_what_is_taken_is_what_the_command_writes_and_one_undo_gives_it_back(read, scan, tmp_path):
    drafted = written(draft_new_job(tmp_path / "drafted", plan=scan).path)
    before = (read.folder / "job.toml").read_bytes()
    assert read.post("edit", taken(reading(read)["says"])).status_code == 200
    job = written(read.folder / "job.toml")
    assert job["part"] == drafted["part"]
    assert job["plan"][0]["known"] == drafted["plan"][0]["known"]
    assert read.state()["undo"] == "add 4 known dimensions and 3 parts"
    assert read.post("undo").status_code == 200
    assert (read.folder / "job.toml").read_bytes() == before


def test_a_doubtful_value_is_offered_and_not_taken_for_granted(read):
    (gusset,) = [part for part in reading(read)["says"]["parts"] if part["name"]["value"] == "GUSSET"]
    assert gusset["thickness"]["value"] == "2.7 mm"
    assert not gusset["thickness"]["is_accepted"]
    assert "thickness" not in gusset["table"]


def test_what_is_left_out_comes_back_with_undo(read):
    key = reading(read)["key"]
    assert read.edit(kind="leave-out", key=key, items=["1"], called="R3").status_code == 200
    assert reading(read)["left_out"] == ["1"]
    assert read.state()["undo"] == "leave out R3"
    assert read.post("undo").status_code == 200
    assert reading(read)["left_out"] == []
    assert read.post("redo").status_code == 200
    assert read.edit(kind="leave-out", key=key, items=["1"], called="R3", is_left=False).status_code == 200
    assert reading(read)["left_out"] == []
    while read.state()["undo"]:
        assert read.post("undo").status_code == 200


def test_a_kept_list_of_what_is_left_out_that_is_damaged_leaves_nothing_out(read):
    file = read.folder / ".desk" / "left-out.json"
    for text in ("[", "[1]", '{"a": 3}'):
        file.write_text(text, encoding="utf-8")
        assert reading(read)["left_out"] == []
    file.unlink()


def test_a_reading_outlives_the_desk(read):
    again = open_desk(read.folder)
    assert reading(again)["says"] == reading(read)["says"]
    again.workshop.close()


def test_a_sheet_on_which_nothing_is_lettered_says_nothing(empty, tmp_path_factory):
    blank = save_scan(tmp_path_factory.mktemp("blank") / "plan.png", faint=True)
    uploaded(empty, "plan.png", blank.read_bytes())
    assert finished(empty.workshop, "read")["state"] == "done"
    answer = reading(empty)
    assert misfits(answer, answers.ReadingAnswer) == []
    assert (answer["says"]["lengths"], answer["says"]["parts"]) == ([], [])


def test_a_drawing_is_not_read_and_says_why_where_that_is_asked_for(empty):
    uploaded(empty, "plan.svg", PLAN.encode())
    assert empty.workshop.tasks.newest("read") is None
    assert empty.post("task/read", {"plan": 0}).status_code == 202
    assert finished(empty.workshop, "read")["state"] == "failed"
    answer = reading(empty)
    assert (answer["state"], answer["says"]) == ("failed", None)
    assert "is a drawing" in answer["text"]


def test_reading_can_be_stopped_and_begun_again(empty, scan):
    uploaded(empty, "plan.png", scan.read_bytes())
    assert reading(empty)["state"] == "running"
    while not empty.workshop.tasks.newest("read").text:
        time.sleep(0.05)
    assert empty.post("task/read/stop").json() == {"stopped": True}
    assert finished(empty.workshop, "read")["state"] == "stopped"
    assert reading(empty)["state"] == "stopped"
    assert empty.post("task/read", {"plan": 0}).status_code == 202
    assert finished(empty.workshop, "read")["state"] == "done"
    assert reading(empty)["says"]["parts"]


def test_a_second_sheet_waits_for_the_first(empty, scan):
    uploaded(empty, "plan.png", scan.read_bytes())
    uploaded(empty, "other.png", scan.read_bytes())
    assert [reading(empty, number)["state"] for number in (0, 1)] == ["running", "running"]
    assert finished(empty.workshop, "read")["state"] == "done"
    assert [reading(empty, number)["state"] for number in (0, 1)] == ["done", "done"]


def test_a_job_that_is_there_is_not_read_before_it_is_asked_for(desk):
    assert reading(desk)["state"] == "none"
    assert desk.workshop.tasks.newest("read") is None


@pytest.mark.parametrize(("wish", "status"), [({}, 400), ({"plan": -1}, 400), ({"plan": "0"}, 400), ({"plan": 7}, 422)])
def test_a_plan_that_is_not_there_is_refused(desk, wish, status):
    assert desk.post("task/read", wish).status_code == status


def test_parts_that_are_added_beside_others_forget_corrections_of_older_ones(tmp_path):
    desk = open_desk(make_job(tmp_path / "job"))
    corrected = desk.folder / "corrected" / "two.json"
    corrected.parent.mkdir()
    corrected.write_text("{}", encoding="utf-8")
    tables = [{"name": name, "plan": "sheet 1", "pick": [[440, 150]]} for name in ("one", "two")]
    first, second = ({"at": ["part", None], "value": table} for table in tables)
    assert desk.edit(kind="set", **first, also=[second]).status_code == 200
    assert not corrected.exists()
    assert desk.post("undo").status_code == 200
    assert corrected.exists()
    desk.workshop.close()


def test_what_is_taken_off_a_joined_sheet_is_kept_as_pixels_of_its_scans(empty):
    sheet = picture()
    sheet.crop((0, 0, SEAM[1], sheet.height)).save(empty.folder / "left.png", dpi=(DPI, DPI))
    sheet.crop((SEAM[0], 0, sheet.width, sheet.height)).save(empty.folder / "right.png", dpi=(DPI, DPI))
    job = '[[plan]]\nname = "sheet 1"\nfiles = ["left.png", "right.png"]\n'
    (empty.folder / "job.toml").write_text(job, encoding="utf-8")
    assert empty.post("task/read", {"plan": 0}).status_code == 202
    assert finished(empty.workshop, "read")["state"] == "done"
    says = reading(empty)["says"]
    assert {part["name"]["value"] for part in says["parts"]} == {"FIN", "R3", "GUSSET"}
    assert empty.post("edit", taken(says)).status_code == 200
    (plan,) = written(empty.folder / "job.toml")["plan"]
    picks = {part["name"]: part["pick"][0] for part in written(empty.folder / "job.toml")["part"]}
    assert picks["FIN"][2] == 1
    assert picks["GUSSET"][2] == 2
    on_sheet = next(part["at"] for part in says["parts"] if part["name"]["value"] == "GUSSET")
    assert picks["GUSSET"][0] == pytest.approx(on_sheet[0] - SEAM[0], abs=0.5)
    assert {len(end) for known in plan["known"] for end in (known["from"], known["to"])} == {3}
