"""The desk and the command line make the same of one job: areas, weights, balance, and files to the last byte."""

import shutil

import pytest

from nesting.job.balancing import balance_model
from nesting.job.folder import open_job
from nesting.job.laying import Effort
from nesting.job.making import pattern_job, run_job
from nesting.job.pattern_files import PatternWish
from nesting.job.stages import Stages
from tests.nesting.desk.conftest import finished, open_desk
from tests.nesting.desk.jobs import JOB, make_job
from vectorize.basics.watch import unwatched

BALANCED = (
    JOB
    + """count = 2

[pattern]
formats = ["pdf", "svg", "dxf"]

[balance]
range = ["40 mm", "60 mm"]

[[balance.seat]]
part = "plate"
station = "100 mm"

[[balance.item]]
name = "engine"
mass = "2 g"
station = "20 mm"
"""
)
pytestmark = pytest.mark.slow

EFFORT = Effort(time_limit_s=None, max_sweeps=2, seed=3)


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    """Return (the job run by the functions of the command line, a desk on the same job with that layout)."""
    root = tmp_path_factory.mktemp("same")
    job = open_job(make_job(root / "command", job=BALANCED))
    run = run_job(job, effort=EFFORT, is_forced=False, progress=unwatched)
    desk = open_desk(make_job(root / "desk", job=BALANCED))
    (desk.folder / "out").mkdir()
    shutil.copy(job.out / "layout.json", desk.folder / "out")
    desk.workshop.follow()
    assert finished(desk.workshop, "follow")["state"] == "done"
    yield run, job, desk
    desk.workshop.close()


def _patterns(folder):
    """Return the content of the pattern files of a job, by name."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.suffix in (".pdf", ".svg", ".dxf")}


def _drawn_at(desk):
    """Draw the patterns at the desk and return every file as the page downloads it."""
    assert desk.post("task/patterns").status_code == 202
    assert finished(desk.workshop, "patterns")["state"] == "done"
    names = [file["name"] for file in desk.state()["files"]]
    return {name: desk.get(f"files/{name}").content for name in names if not name.endswith(".png")}


def test_areas_weights_and_balance_are_the_same_numbers(both):
    run, job, desk = both
    model = Stages(job).model
    balanced = balance_model(model).as_json()

    shown = desk.state()

    assert [part["area_mm2"] for part in shown["parts"]] == [outline.outline.area_mm2 for outline in run.trace.outlines]
    by_command, by_desk = run.weights.as_json(), shown["weights"]
    mass = lambda table: {(row["part"], row["copy"], row["board"]): row["mass_g"] for row in table["weights"]}  # noqa: E731
    assert mass(by_desk) == mass(by_command) != {}
    assert by_desk["total_g"] == by_command["total_g"]
    report = shown["balance"]["report"]
    assert {key: report[key] for key in balanced} == balanced
    assert report["loadings"][0]["balance_mm"] > 20.0  # between the engine and the plates


def test_patterns_of_one_layout_are_the_same_to_the_last_byte(both):
    _, job, desk = both
    expected = _patterns(job.out)
    assert {name.rsplit(".", 1)[1] for name in expected} == {"pdf", "svg", "dxf"}

    drawn = _drawn_at(desk)

    assert set(expected) <= set(drawn)
    assert [name for name in expected if drawn[name] != expected[name]] == []


def test_the_command_line_draws_what_was_laid_by_hand_at_the_desk(both):
    _, job, desk = both
    laid = desk.state()["layout"]["boards"][0]
    before = _patterns(job.out)
    one = laid["placements"][0]
    place = {key: one[key] for key in ("x_mm", "y_mm", "angle_deg", "flipped")} | {"x_mm": one["x_mm"] + 150.0}
    moved = desk.edit(kind="place", part="plate", copy_number=one["copy"], board=laid["name"], **place)
    assert moved.status_code == 200
    drawn = _drawn_at(desk)
    shutil.copy(desk.folder / "out" / "layout.json", job.out)

    pattern_job(job, wish=PatternWish(), effort=EFFORT, is_forced=True, progress=unwatched)

    after = _patterns(job.out)
    assert after != before
    assert [name for name in after if drawn[name] != after[name]] == []
