"""`job.toml`: strict about keys, kind in its messages, and never saved over somebody's work."""

import pytest
from filelock import FileLock

from nesting.job import journal
from nesting.job.folder import change_job, file_name_for, open_job, read_spec
from vectorize.basics.errors import JobError, WriteError

JOB = """\
[job]
format = 1
name = "Sedge"  # a glider

[[plan]]
name = "sheet 1"
file = "plan.jpg"
[[plan.known]]
from = [412.0, 1880.5]
to = [2774.0, 1871.0]
length = "300 mm"

[[part]]
name = "fin"
pick = [[1200, 900]]
material = "balsa"
thickness = "3/32 in"
"""


@pytest.fixture
def job(tmp_path):
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    return open_job(tmp_path)


def test_a_job_is_read_with_its_units(job):
    assert job.spec.part[0].thickness == pytest.approx(2.38125)
    assert job.spec.plan[0].known[0].length == 300.0
    assert job.spec.plan[0].known[0].start == (412.0, 1880.5)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[job]\nunitz = "mm"', "job, unitz is not a known key; did you mean 'units'"),
        (
            '[[part]]\nname = "fin"\nthicknes = "3 mm"',
            "part 'fin', thicknes is not a known key; did you mean 'thickness'",
        ),
        ('[[part]]\nname = "fin"\nthickness = 10', "part 'fin', thickness is '10', without a unit"),
        ('[[part]]\nname = "fin"\nthickness = "1.234,5 mm"', "two ways"),
        ('[[part]]\nname = "fin"\npick = [[1]]', "part 'fin', pick number 1 is [1]; it must be a point"),
        (
            '[[part]]\nname = "fin"\nhand = "both"',
            "part 'fin', hand is 'both'; it must be 'either', 'left', 'right' or 'pair'",
        ),
        ('[[part]]\nname = "fin"\ngrain = "along"', "part 'fin', grain is 'along', which does not begin with a number"),
        ('[[part]]\nname = "fin"\ncount = 0', "part 'fin', count"),
        ('[[part]]\nname = "fin"\nplan = "two"', "part 'fin' is on plan 'two', which is not there"),
        ('[[part]]\nname = "a"\n[[part]]\nname = "a"', "two entries of [[part]] are named 'a'"),
        ('[[part]]\nthickness = "1 mm"', "part number 1, name is missing"),
        ('[[plan]]\nname = "a"', "plan 'a': give either 'file'"),
        ("[job]\nformat = 2", "job, format"),
        ("x = = 3", "not valid TOML"),
        ("x = [\n", "not valid TOML: Invalid value (at end of document)"),
        ("[job]\nname = 'a'\nname = 'b'", "not valid TOML"),
    ],
)
def test_a_fault_is_told_with_its_place(text, said):
    with pytest.raises(JobError) as caught:
        read_spec(text)
    assert said in str(caught.value)
    assert str(caught.value).startswith("job.toml")
    assert not str(caught.value).endswith("..")
    assert "\n" not in str(caught.value)


def test_a_folder_without_a_job_says_how_to_start_one(tmp_path):
    with pytest.raises(JobError, match="sheetwood new"):
        open_job(tmp_path)


def test_a_change_keeps_comments(job, tmp_path):
    def rename(document):
        document["part"][0]["thickness"] = "3 mm"

    changed = change_job(job, rename)
    text = (tmp_path / "job.toml").read_text(encoding="utf-8")
    assert "# a glider" in text
    assert changed.spec.part[0].thickness == 3.0
    assert change_job(changed, rename).spec == changed.spec


def test_the_loser_of_two_saves_is_told_and_nothing_is_overwritten(job, tmp_path):
    theirs = JOB.replace("fin", "rudder")
    (tmp_path / "job.toml").write_text(theirs, encoding="utf-8")
    with pytest.raises(WriteError, match="changed by someone else"):
        change_job(job, lambda document: None)
    assert (tmp_path / "job.toml").read_text(encoding="utf-8") == theirs


def test_a_held_lock_is_told(job, tmp_path, monkeypatch):
    monkeypatch.setattr(journal, "LOCK_WAIT_S", 0.05)
    with FileLock(str(tmp_path / ".lock")), pytest.raises(WriteError, match="another program is saving"):
        change_job(job, lambda document: None)


def test_a_change_that_breaks_the_job_is_not_saved(job, tmp_path):
    def spoil(document):
        document["part"][0]["thickness"] = "thin"

    with pytest.raises(JobError):
        change_job(job, spoil)
    assert (tmp_path / "job.toml").read_text(encoding="utf-8") == JOB


@pytest.mark.parametrize("name", ["../plan.jpg", "/etc/hostname", "a/../../b"])
def test_a_file_outside_the_job_folder_is_refused(job, name):
    with pytest.raises(JobError, match="outside the job folder"):
        job.path(name)


def test_file_names_are_safe_and_differ():
    assert file_name_for("fin") == "fin"
    assert file_name_for("Höhenleitwerk") == "Höhenleitwerk"
    for name in ("../fin", "a/b", "a b", "a'b", "#", "", "."):
        assert "/" not in file_name_for(name)
        assert not file_name_for(name).startswith(".")
        assert file_name_for(name)
    assert file_name_for("a/b") != file_name_for("a b")
