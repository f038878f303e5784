"""Starting a job, and a job made up from a bare plan."""

import pytest

from nesting.job.bare import bare_job, parse_known
from nesting.job.folder import open_job
from nesting.job.new_job import RACK_HEADER, new_job
from vectorize.basics.errors import CallError, ScanError, UnitError


def test_a_new_job_can_be_opened_and_holds_the_plan(tmp_path):
    scan = tmp_path / "Höhenleitwerk Ø3 '#.png"
    scan.write_bytes(b"picture")
    new_job(tmp_path / "my job", plan=scan)
    job = open_job(tmp_path / "my job")
    assert job.spec.job.name == "my job"
    assert job.path(job.spec.plan[0].file).read_bytes() == b"picture"
    assert (tmp_path / "my job" / "rack.csv").read_text(encoding="utf-8") == RACK_HEADER


def test_a_second_job_in_the_same_folder_is_refused(tmp_path):
    new_job(tmp_path / "job")
    with pytest.raises(CallError, match="holds a job already"):
        new_job(tmp_path / "job")


def test_a_missing_plan_is_told_before_anything_is_made(tmp_path):
    with pytest.raises(ScanError, match="is not there"):
        new_job(tmp_path / "job", plan=tmp_path / "no.png")
    assert not (tmp_path / "job").exists()


def test_a_known_dimension_is_read_with_a_decimal_comma_in_its_length():
    known = parse_known("412,1880.5,2774,1871,30,5 cm")
    assert (known.start, known.end, known.length) == ((412.0, 1880.5), (2774.0, 1871.0), 305.0)


@pytest.mark.parametrize("text", ["", "1,2,3", "1,2,3,4", "a,b,c,d,30 mm"])
def test_a_known_dimension_of_another_form_is_refused(text):
    with pytest.raises(CallError, match="X1,Y1,X2,Y2,LENGTH"):
        parse_known(text)


def test_a_known_dimension_without_unit_is_refused():
    with pytest.raises(UnitError, match="without a unit"):
        parse_known("1,2,3,4,300")


def test_a_bare_plan_becomes_a_job_with_results_beside_it(tmp_path):
    plan = tmp_path / "my plan.png"
    plan.write_bytes(b"")
    job = bare_job(plan, known=["0,0,100,0,10 mm"])
    assert job.path("my plan.png") == plan
    assert job.out.parent == tmp_path
    assert job.spec.plan[0].known[0].length == 10.0
    assert bare_job(plan, largest_megapixels=600.0).spec.plan[0].largest_megapixels == 600.0


@pytest.mark.parametrize(
    "given", [{"known": ["0,0,100,0,10 mm"]}, {"is_as_drawn": True}, {"page": 1}, {"largest_megapixels": 600.0}]
)
def test_what_is_of_a_bare_plan_does_not_go_with_a_job_folder(tmp_path, given):
    new_job(tmp_path / "job")
    with pytest.raises(CallError, match=r"stand in job\.toml"):
        bare_job(tmp_path / "job", **given)
