"""`sheetwood batch`: what it prints, and the code that it ends with."""

import json

import pytest

from tests.nesting.cli.conftest import JOB


@pytest.fixture
def shelf(small_job):
    """A folder with a traced job that has everything, in this process up to the weights."""
    return small_job.folder.parent


def test_a_shelf_is_told_as_json(sheetwood, shelf):
    done = sheetwood("batch", shelf, "--until", "weigh", "--workers", 0, "--json")
    assert done.code == 0
    (job,) = done.json["jobs"]
    assert {"folder", "state", "stages", "seconds", "notes"} <= job.keys()
    assert (job["folder"], job["state"]) == (str(shelf / "job"), "done")
    assert {name: stage["state"] for name, stage in job["stages"].items()} == {"trace": "done", "weigh": "done"}
    assert job["seconds"] > 0.0
    assert done.json["notes"] == []
    assert "1 of 1: job: done" in done.err
    again = sheetwood("batch", shelf, "--until", "weigh", "--workers", 0, "--json").json["jobs"][0]
    assert (again["seconds"], {stage["state"] for stage in again["stages"].values()}) == (0.0, {"kept"})


def test_a_job_that_fails_is_named_with_its_reason_and_makes_the_code_4(sheetwood, shelf):
    (shelf / "bad").mkdir()
    (shelf / "bad" / "job.toml").write_text(JOB.replace("pick", "pcik"), encoding="utf-8")
    done = sheetwood("batch", shelf, "--until", "trace", "--workers", 0)
    assert done.code == 4
    assert done.out.index("bad") < done.out.index("│ job ")
    assert "pcik is not a known key" in " ".join(done.err.split())
    assert "1 job failed: bad" in done.err
    code, out, _ = (getattr(sheetwood("batch", shelf, "--until", "trace", "--workers", 0, "--json"), name)
                    for name in ("code", "out", "err"))  # fmt: skip
    assert (code, [note["code"] for note in json.loads(out)["notes"]]) == (4, ["jobs-failed"])


def test_what_is_open_is_told_and_is_no_failure(sheetwood, shelf, small_job):
    small_job.edit('grain = "0 deg"\nhand', 'fill = [[40, 40]]\ngrain = "0 deg"\nhand')
    done = sheetwood("batch", shelf, "--until", "trace", "--workers", 0, "--json")
    assert (done.code, done.json["jobs"][0]["state"]) == (0, "open")


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("--until", "glue"), 2, "choose from draft, trace"),
        (("--retries", "-1"), 2, "retries"),
        (("--cluster", "tcp://127.0.0.1:1", "--workers", "2"), 2, "leave them out"),
        (("--memory", "lots"), 3, "--memory"),
        (("--limit", "5"), 3, "without a unit"),
        (("--rack", "nowhere.csv"), 3, "nowhere.csv cannot be read"),
        (("--book",), 2, "--pool"),
        (("--pool", "rack.csv", "--until", "weigh"), 2, "--until is nest or pattern, not weigh"),
        (("--cluster", "nonsense://x"), 3, "no cluster answers at 'nonsense://x'"),
    ],
)
def test_a_wrong_call_is_told_before_anything_is_done(sheetwood, shelf, words, code, told):
    done = sheetwood("batch", shelf, *words)
    assert done.code == code
    assert told in " ".join(done.err.split())
    assert not (shelf / "job" / "out").exists()


def test_a_shelf_that_holds_nothing_is_told(sheetwood, tmp_path):
    done = sheetwood("batch", tmp_path / "nowhere")
    assert (done.code, "is not there" in done.err) == (3, True)


def test_a_shelf_is_cut_from_one_pool_and_booked(sheetwood, shelf, small_job):
    pool = shelf / "stock.csv"
    pool.write_text((small_job.folder / "rack.csv").read_text(encoding="utf-8"), encoding="utf-8")
    words = ("batch", shelf, "--pool", pool, "--sweeps", 2, "--workers", 0)
    done = sheetwood(*words, "--json")
    assert done.code == 0
    (kit,) = done.json["pool"]["kits"]
    assert (kit["kit"], kit["whole_after"], done.json["pool"]["unplaced"]) == ("job", 1, [])
    again = sheetwood(*words, "--report", shelf / "report.html")
    assert "the layout that was made before still holds" in again.err
    assert "Sheets, in the order to cut them" in again.out
    assert "in the order to cut them" in (shelf / "report.html").read_text(encoding="utf-8")
    small_job.edit('hand = "pair"', 'hand = "pair"\ncount = 90')
    left = sheetwood(*words, "--until", "nest")
    assert (left.code, "find no place on the pool" in left.err) == (4, True)
    assert "To buy" in left.out
    booked = sheetwood(*words, "--book")
    assert (booked.code, "(cut = true)" in booked.err) == (0, True)
    assert pool.read_text(encoding="utf-8") != pool.with_name("stock.csv.bak").read_text(encoding="utf-8")
