"""Many jobs in one go: what is done is written where the job lies, kept, and done again where something changed."""

import json
import shutil

import pytest

from nesting.job.batch import run_batch as batch
from nesting.job.batch.job_list import list_orders
from nesting.job.batch.records import RECORD
from nesting.job.batch.run_batch import batch_notes, by_need, run_batch
from nesting.job.batch.stage_task import Load, run_stage
from nesting.job.batch.wish import Wish
from nesting.job.folder import open_job
from nesting.job.laid import kept_layout
from nesting.job.stages import Stages
from tests.benchmarks.tiny_jobs import draw_tiny_plan, make_tiny_job, write_text

WISH = Wish(sweeps=2, time_s=None)
KEPT = {"trace": "kept", "weigh": "kept", "nest": "kept", "pattern": "kept"}


def run(shelf, wish=WISH, **options):
    return {job.order.shown: job for job in run_batch(list_orders(shelf), wish, **options)}


def states(job):
    return {name: stage.state for name, stage in job.stages.items()}


@pytest.fixture(scope="module")
def done_shelf(tmp_path_factory):
    """A shelf with one job that a batch has done."""
    shelf = tmp_path_factory.mktemp("done")
    make_tiny_job(shelf / "mite", "svg", is_rich=False)
    run(shelf)
    return shelf


@pytest.fixture
def shelf(tmp_path, done_shelf):
    return shutil.copytree(done_shelf, tmp_path / "shelf")


def test_a_batch_gives_what_the_stages_give_one_by_one(shelf, tmp_path):
    folder = make_tiny_job(tmp_path / "alone", "svg", is_rich=False)
    stages = Stages(open_job(folder))
    ours, theirs = (Stages(open_job(one)) for one in (shelf / "mite", folder))
    assert [o.outline for o in ours.trace.outlines] == [o.outline for o in stages.trace.outlines]
    assert ours.layout is not None
    assert ours.layout.proof.is_proved
    load = Load("alone", "alone", {})
    assert run_stage("nest", load, WISH).fault.startswith("alone holds no job.toml")  # the folder as it is called here
    assert {w.part: w.mass_g for w in theirs.weights.chosen} == {w.part: w.mass_g for w in ours.weights.chosen}


def test_a_job_that_is_done_is_kept_with_its_figures(shelf):
    written = {path: path.read_bytes() for path in shelf.rglob("*") if path.is_file()}
    (job,) = run(shelf).values()
    assert states(job) == KEPT
    assert job.seconds == 0.0
    assert job.total_seconds > 0.0
    assert job.figures["parts"] == 2
    assert 0.0 < job.figures["mass_g"] < 5.0
    assert 0.0 < job.figures["waste_share"] < 1.0
    assert {path: path.read_bytes() for path in shelf.rglob("*") if path.is_file()} == written


def test_only_what_follows_from_a_change_is_done_again(shelf):
    write_text(
        shelf / "mite" / "rack.csv",
        (shelf / "mite" / "rack.csv").read_text(encoding="utf-8") + "B9,balsa,3 mm,3 mm,90 mm,60 mm,2 g,,,\n",
    )
    assert states(run(shelf)["mite"]) == KEPT | {"weigh": "done", "nest": "done", "pattern": "done"}
    assert states(run(shelf)["mite"]) == KEPT


def test_another_effort_searches_again_and_draws_again_only_what_lies_elsewhere(shelf):
    again = states(run(shelf, Wish(sweeps=3, time_s=None))["mite"])
    assert (again["trace"], again["weigh"], again["nest"]) == ("kept", "kept", "done")


def test_results_that_are_gone_are_made_again(shelf):
    next((shelf / "mite" / "out").glob("part-*.pdf")).unlink()
    assert states(run(shelf)["mite"]) == KEPT | {"pattern": "done"}
    shutil.rmtree(shelf / "mite" / "out")
    assert states(run(shelf)["mite"]) == dict.fromkeys(KEPT, "done")


def test_a_damaged_record_is_no_loss(shelf):
    for text in ("{ not json", "[]", '{"format": 9}', '{"format": 1, "stages": {"nest": 3}}', "[" * 5000):
        write_text(shelf / "mite" / RECORD, text)
        assert run(shelf, Wish(until="trace"))["mite"].state == "done"
        assert json.loads((shelf / "mite" / RECORD).read_text(encoding="utf-8"))["stages"]["trace"]["key"]


def test_a_result_that_somebody_edited_is_kept_and_told(shelf):
    edited = next((shelf / "mite" / "out").glob("part-*.svg"))
    write_text(edited, "mine")
    write_text(
        shelf / "mite" / "job.toml",
        (shelf / "mite" / "job.toml").read_text(encoding="utf-8") + '[pattern]\npaper = "A3"\n',
    )
    job = run(shelf)["mite"]
    assert (job.state, edited.read_text(encoding="utf-8")) == ("open", "mine")
    assert [note.code for note in job.open_notes] == ["kept-edited-file"]
    assert run(shelf, Wish(sweeps=2, time_s=None, is_forced=True))["mite"].state == "done"
    assert edited.read_text(encoding="utf-8") != "mine"


@pytest.mark.parametrize(
    ("file", "data", "told"),
    [
        ("job.toml", b"[job]\nformat = 1\nnam = 'x'\n", "did you mean 'name'"),
        ("job.toml", b"[" * 100_000, "job.toml"),
        ("job.toml", b"\xff\xfe", "not UTF-8"),
        ("plan.svg", b"\x00\x01\x02", "plan.svg"),
        ("rack.csv", b"name\n,,,\n", "rack.csv"),
    ],
)
def test_a_job_that_is_spoilt_fails_alone(shelf, file, data, told):
    shutil.copytree(shelf / "mite", shelf / "a-spoilt-one")
    (shelf / "a-spoilt-one" / file).write_bytes(data)
    jobs = run(shelf)
    assert (jobs["a-spoilt-one"].state, jobs["mite"].state) == ("failed", "done")
    assert told in " ".join(note.text for note in jobs["a-spoilt-one"].open_notes)
    assert "/tmp" not in " ".join(note.text for note in jobs["a-spoilt-one"].open_notes).replace(str(shelf), "")
    assert [job.order.shown for job in by_need(jobs.values())] == ["a-spoilt-one", "mite"]
    assert "a-spoilt-one" in batch_notes(jobs.values())[0].text


def test_a_fault_of_the_program_in_one_job_does_not_end_the_others(shelf, monkeypatch):
    shutil.copytree(shelf / "mite", shelf / "other")
    real = batch.job_files

    def faulty(job):
        if job.folder.name == "mite":
            raise ZeroDivisionError("by nothing")
        return real(job)

    monkeypatch.setattr(batch, "job_files", faulty)
    jobs = run(shelf)
    assert (jobs["mite"].state, jobs["other"].state) == ("failed", "done")
    assert "a fault of the program (ZeroDivisionError: by nothing" in jobs["mite"].open_notes[0].text


def test_what_a_batch_did_before_it_was_stopped_is_there_and_the_next_goes_on(shelf):
    for name in ("a", "b"):
        make_tiny_job(shelf / name, "svg", is_rich=False)

    def stop(standing, job):
        if standing.stages == 1:
            raise KeyboardInterrupt

    wish = Wish(until="weigh")
    with pytest.raises(KeyboardInterrupt):
        run(shelf, wish, report=stop)
    jobs = run(shelf, wish)
    assert {name: job.state for name, job in jobs.items()} == dict.fromkeys(("a", "b", "mite"), "done")
    assert states(jobs["a"])["trace"] == "kept"
    assert states(jobs["b"])["trace"] == "done"


def test_a_file_that_leads_out_of_the_job_never_travels(shelf, tmp_path):
    write_text(tmp_path / "secret.json", "{}")
    (shelf / "mite" / "corrected").mkdir(exist_ok=True)
    (shelf / "mite" / "corrected" / "plate.json").symlink_to(tmp_path / "secret.json")
    assert "outside the job folder" in run(shelf)["mite"].open_notes[0].text


def test_a_plan_without_a_job_is_drafted_beside_it_and_its_doubts_stand_until_it_is_saved(tmp_path):
    draw_tiny_plan(tmp_path / "wren.png")
    wish = Wish(until="draft", rack=("rack.csv", b"name,material,thickness,length,width\nB1,balsa,3 mm,1 m,100 mm\n"))
    job = run(tmp_path, wish)["wren"]
    assert (job.state, states(job)) == ("open", {"draft": "done"})
    assert (tmp_path / "wren" / "wren.png").read_bytes() == (tmp_path / "wren.png").read_bytes()
    assert "B1,balsa" in (tmp_path / "wren" / "rack.csv").read_text(encoding="utf-8")
    assert open_job(tmp_path / "wren").spec.job.name == "wren"
    again = run(tmp_path, wish)["wren"]
    assert (states(again), again.open_notes) == ({"draft": "kept"}, job.open_notes)
    text = (tmp_path / "wren" / "job.toml").read_text(encoding="utf-8")
    write_text(tmp_path / "wren" / "job.toml", text + "# looked at\n")
    assert run(tmp_path, Wish(until="trace"))["wren"].stages.keys() == {"trace"}


def test_the_layout_of_a_job_is_the_same_wherever_it_is_searched(shelf, tmp_path):
    folder = make_tiny_job(tmp_path / "two" / "mite", "svg", is_rich=False)
    run(tmp_path / "two")
    assert kept_layout(open_job(folder)).layout.boards == kept_layout(open_job(shelf / "mite")).layout.boards


def test_a_job_without_boards_is_not_said_to_weigh_nothing(shelf):
    job = shelf / "mite" / "job.toml"
    write_text(job, job.read_text(encoding="utf-8").replace('[rack]\nfile = "rack.csv"\n', ""))
    (shelf / "mite" / "rack.csv").unlink()
    (told,) = run(shelf, Wish(until="weigh")).values()
    assert told.figures["parts"] == 2
    assert "mass_g" not in told.figures
