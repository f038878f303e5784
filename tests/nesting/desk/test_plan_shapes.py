"""The closed shapes of a plan are kept under the plan as it was read, and wait for a search on another one."""

import threading

import pytest

from nesting.desk import scan_work
from nesting.job.folder import open_job
from tests.nesting.desk.conftest import finished
from tests.nesting.desk.jobs import JOB, Quiet

pytestmark = pytest.mark.slow


def test_shapes_belong_to_the_plan_as_the_search_read_it(desk):
    folder = desk.workshop.folder
    before = open_job(folder)
    (folder / "job.toml").write_text(JOB.replace('length = "100 mm"', 'length = "50 mm"'), encoding="utf-8")
    key, shapes = scan_work.find_regions(Quiet(), folder, 0)
    job = open_job(folder)
    assert key == scan_work.regions_key(job, job.spec.plan[0])
    assert key != scan_work.regions_key(before, before.spec.plan[0])
    assert min(shape["size_mm"][0] for shape in shapes) == pytest.approx(15.0, abs=0.1)


def test_shapes_wait_for_the_search_on_another_plan(desk):
    release = threading.Event()
    desk.workshop.tasks.start("regions", "another plan", lambda say: release.wait(60), stop=release.set)
    assert desk.get("plans/0/regions").json() == {"regions": None, "is_searched": False}
    release.set()
    finished(desk.workshop, "regions")
    assert desk.get("plans/0/regions").json() == {"regions": None, "is_searched": True}
    finished(desk.workshop, "regions")
    answer = desk.get("plans/0/regions").json()
    assert (len(answer["regions"]), answer["is_searched"]) == (2, False)
