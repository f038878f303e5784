"""A job in inches: what the desk answers, refuses, reports of its work and advises is said in inches and ounces."""

import re

import pytest

from tests.nesting.desk.conftest import finished, open_desk
from tests.nesting.desk.jobs import JOB, RACK, make_job
from tests.nesting.desk.test_findings import BALANCE

METRIC = re.compile(r"\d\s*(?:mm|g|kg/m³)(?!\w)")
INCHES = JOB.replace('name = "Plate"', 'name = "Plate"\nunits = "in"')
THREE_PLATES = INCHES.replace("grain =", "count = 3\ngrain =") + BALANCE


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    opened = open_desk(make_job(tmp_path_factory.mktemp("inches") / "job", job=THREE_PLATES))
    opened.workshop.follow()
    assert finished(opened.workshop, "follow")["state"] == "done"
    yield opened
    opened.workshop.close()


def _said_by_search(desk):
    """Return every text of a search for layouts, as pages hear it, and how it ended; stopped after its first round."""
    said, tell = [], desk.workshop.hub.tell

    def listen(name, content):
        if name == "task" and content["kind"] == "nest":
            said.append(content["text"])
            if content["state"] == "running" and content["text"].startswith("round "):
                desk.workshop.tasks.stop("nest")
        tell(name, content)

    desk.workshop.hub.tell = listen
    try:
        assert desk.post("task/nest").status_code == 202
        return said, finished(desk.workshop, "nest")
    finally:
        desk.workshop.hub.tell = tell


def test_what_is_refused_is_refused_in_inches(desk):
    answer = desk.edit(kind="add-blemish", board="B1", corner=[10, 10], opposite=[10.4, 10.4])

    assert answer.status_code == 422
    assert answer.json()["error"]["text"] == "a blemish must be at least 0.04 in each way; drag over it."


def test_a_search_tells_of_the_length_that_it_uses_in_inches(desk):
    said, task = _said_by_search(desk)

    assert task["state"] == "stopped"
    found = next(text for text in said if text.startswith("round "))
    # Three plates of 30 mm across a board of 100 mm: 60 mm behind the 6 mm that stay free at its end are 2.6 in.
    assert re.fullmatch(r"round 2: 1 boards, 2\.6\d? in of length used; looking for better", found), found
    assert not [text for text in said if METRIC.search(text)]


def test_advice_on_boards_and_what_binds_is_in_ounces_and_inches(desk):
    for kind, wish in (("compare", {"part": "plate"}), ("assign", {"objective": "light", "time": "20 s", "best": 1})):
        assert desk.post(f"task/{kind}", wish).status_code == 202
        assert finished(desk.workshop, kind)["state"] == "done"
    found = desk.get("findings").json()

    assert re.search(r"\d oz", found["compare"]["advice"]), found["compare"]["advice"]
    texts = [found["compare"]["advice"], *(one["text"] for one in found["assign"]["bindings"])]
    texts += [note["text"] for kind in ("compare", "assign") for note in found[kind]["notes"]]
    assert not [text for text in texts if METRIC.search(text)]


def test_work_that_fails_and_parts_without_room_are_told_in_inches(tmp_path):
    opened = open_desk(make_job(tmp_path / "job", job=INCHES, rack=RACK.replace("100 mm", "25 mm")))
    opened.workshop.follow()
    finished(opened.workshop, "follow")
    try:
        said, task = _said_by_search(opened)
        state = opened.state()
    finally:
        opened.workshop.close()

    texts = [*said, *(note["text"] for note in state["notes"]), *(line["for"] for line in state["shopping"]["wanted"])]
    texts += [left["reason"] for left in (state["layout"] or {"unplaced": []})["unplaced"]]
    assert [text for text in texts if re.search(r"\d in\b", text)], (task, texts)
    assert not [text for text in texts if METRIC.search(text)]


def test_a_job_that_cannot_be_used_says_why_in_its_own_units(tmp_path):
    opened = open_desk(make_job(tmp_path / "job", job=INCHES + '[nest]\nends = "-5 mm"\n'))
    try:
        fault, answer = opened.state()["fault"], opened.get("plans/0/picture")
    finally:
        opened.workshop.close()

    assert answer.json()["error"]["text"] == fault
    assert "nest, ends is -0.20 in;" in fault
