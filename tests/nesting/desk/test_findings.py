"""What the desk works out before wood is chosen is what the commands say, and is taken with one step of undo."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from nesting.job.folder import open_job
from tests.nesting.desk.conftest import finished, open_desk
from tests.nesting.desk.jobs import JOB, make_job

BALANCE = """
[balance]
datum = [100.0, 150.0]
in_place = ["plate"]
range = ["20 mm", "25 mm"]
[[balance.item]]
name = "ballast box"
mass = "1 g"
station = "10 mm"
[[balance.ballast]]
name = "nose"
station = "0 mm"
"""


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """Return a desk whose parts are traced, with three plates to be cut; the tests add findings and take steps back."""
    job = JOB.replace('thickness = "3 mm"', 'thickness = "3 mm"\ncount = 3') + BALANCE
    opened = open_desk(make_job(tmp_path_factory.mktemp("findings") / "job", job=job))
    opened.workshop.follow()
    assert finished(opened.workshop, "follow")["state"] == "done"
    yield opened
    opened.workshop.close()


def _found(desk, kind, **wish):
    answer = desk.post(f"task/{kind}", wish)
    assert answer.status_code == 202, answer.text
    task = finished(desk.workshop, kind)
    assert task["state"] == "done", task
    return desk.get("findings").json()[kind]


def _by_command(*words):
    done = subprocess.run(
        [sys.executable, "-m", "nesting", *map(str, words), "--json"],
        capture_output=True, text=True, check=False, cwd=Path(__file__).parents[3], encoding="utf-8",
    )  # fmt: skip
    return json.loads(done.stdout)


def test_boards_are_compared_as_by_command_with_a_picture(desk):
    found = _found(desk, "compare", part="plate", priority="stiff")

    by_command = _by_command("compare", desk.folder, "plate", "--priority", "stiff")
    assert found["boards"] == by_command["boards"]
    assert (found["advice"], found["caution"]) == (by_command["advice"], by_command["caution"])
    assert desk.get(f"files/{found['file']}").headers["content-type"] == "image/svg+xml"
    assert found["now"] == ["B1"]
    assert found["is_current"]
    assert {"compare-plate.svg", "compare-plate.png"} <= {path.name for path in (desk.folder / "out").iterdir()}


def test_a_proposal_says_what_moves_and_is_taken_and_taken_back_in_one_step(desk):
    found = _found(desk, "assign", objective="stiff", time="5 min", best=1)

    best = found["best"][0]
    assert best["ties"] == {"plate": "B2"}
    (move,) = best["moves"]
    # Three plates of 60 x 30 mm; B2 weighs 16 g and B1 10 g on 300 x 100 mm.
    assert (move["from"], move["to"]) == (["B1"], ["B2"])
    assert move["change_g"] == pytest.approx(3 * 60 * 30 / 30000 * (16 - 10), rel=0.02)
    assert found["gap"] == 0.0
    assert found["now"]["range_mm"] == [20.0, 25.0]

    before = (desk.folder / "job.toml").read_bytes()
    assert desk.edit(kind="tie-parts", ties=best["ties"]).status_code == 200
    tied = (desk.folder / "job.toml").read_bytes()
    assert open_job(desk.folder).spec.part[0].board == "B2"
    assert desk.post("undo").status_code == 200
    assert (desk.folder / "job.toml").read_bytes() == before
    assert desk.post("redo").status_code == 200
    assert (desk.folder / "job.toml").read_bytes() == tied
    assert not desk.get("findings").json()["assign"]["is_current"]
    assert desk.post("undo").status_code == 200
    assert (desk.folder / "job.toml").read_bytes() == before
    assert desk.get("findings").json()["assign"] is not None
    desk.post("findings/assign/forget")
    assert desk.get("findings").json()["assign"] is None


def test_the_same_parts_lie_on_the_light_and_on_the_heavy_board(desk):
    found = _found(desk, "trial", boards=["B1", "B2"])

    light, heavy = found["boards"]
    assert found["parts"] == ["plate"]
    assert (light["fits"], heavy["fits"]) == (True, True)
    assert len(light["placements"]) == len(heavy["placements"]) == 3
    assert heavy["mass_g"] / light["mass_g"] == pytest.approx(1.6, rel=1e-6)
    assert light["proved"]
    # By the published trend E grows in proportion to density, and both boards are 3 mm thick.
    assert light["stiffness"]["flatwise"]["value"] == pytest.approx(1.0)
    assert heavy["stiffness"]["flatwise"]["value"] == pytest.approx(1.6, rel=1e-6)
    assert heavy["stiffness"]["edgewise"]["value"] == pytest.approx(1.6, rel=1e-6)
    assert not heavy["bent"]
    assert "never an approval to fly" in found["caution"]


def test_what_is_cut_is_laid_out_on_no_board(tmp_path):
    job = JOB.replace('name = "plate"\n', 'name = "plate"\ncut = true\n')
    opened = open_desk(make_job(tmp_path / "job", job=job))
    opened.workshop.follow()
    assert finished(opened.workshop, "follow")["state"] == "done"

    assert "no part that is still to be cut" in _failure(opened, "trial", boards=["B1", "B2"])
    assert "cut or weighed already" in _failure(opened, "assign")
    opened.workshop.close()


def test_what_cannot_be_worked_out_is_said(desk):
    assert "fin" in _failure(desk, "compare", part="fin")
    assert "B9" in _failure(desk, "compare", part="plate", boards=["B1", "B9"])
    assert "reload" in _failure(desk, "trial", boards=["B1", "B9"])
    assert "time" in _failure(desk, "assign", time="2 h")
    for kind, wish in (
        ("compare", {}),
        ("trial", {"boards": ["B1"]}),
        ("assign", {"best": 0}),
        ("compare", {"part": 3}),
    ):
        assert desk.post(f"task/{kind}", wish).status_code == 400


def _failure(desk, kind, **wish):
    assert desk.post(f"task/{kind}", wish).status_code == 202
    task = finished(desk.workshop, kind)
    assert task["state"] == "failed"
    return task["text"]


def test_the_ledger_follows_the_scale_and_the_side_view_the_drawing(desk):
    balance = desk.state()["balance"]

    # The plate stands in place from 0 to 60 mm aft of the datum, which is the middle of its fore edge.
    (plate,) = balance["report"]["side_view"]
    along = [x for x, _ in plate["rings"][0]]
    up = [y for _, y in plate["rings"][0]]
    assert (min(along), max(along)) == pytest.approx((0.0, 60.0), abs=0.2)
    assert (min(up), max(up)) == pytest.approx((-15.0, 15.0), abs=0.2)
    assert balance["datum"] == [100.0, 150.0]
    assert balance["items"][0]["mass_g"] == 1.0
