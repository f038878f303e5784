"""A kept layout is used as long as everything that it depends on is the same, and no longer."""

import json
from dataclasses import replace

import pytest

from nesting.job.folder import Job
from nesting.job.laid import LAYOUT_FILE, kept_layout
from nesting.job.laying import Effort, copies_by_hand, inputs_hash, nest_job, stored_layout, weigh_job
from nesting.job.rules import rules_of
from nesting.job.schema import JobSpec
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline

ONE_SWEEP = Effort(time_limit_s=None, max_sweeps=1)


@pytest.fixture
def job(tmp_path):
    return Job(tmp_path, JobSpec(), "")


@pytest.fixture
def parts():
    return [Part("strip", Outline.rectangle(0, 0, 120, 20), "balsa", 3.0)]


@pytest.fixture
def boards():
    return [Board("B1", "balsa", 3.0, 1000.0, 100.0, mass_g=40.0)]


def test_what_a_sawn_part_weighs_leaves_its_layout_valid(job, parts, boards):
    nest_job(job, parts, boards, effort=ONE_SWEEP)
    written = (job.out / LAYOUT_FILE).read_bytes()
    weighed = [replace(part, weighed_g=1.1) for part in parts]

    assert stored_layout(job, weighed, boards) is not None
    nest_job(job, weighed, boards, effort=ONE_SWEEP)

    assert (job.out / LAYOUT_FILE).read_bytes() == written


def test_the_same_asked_again_is_not_looked_for_again_and_another_effort_is(job, parts, boards):
    nest_job(job, parts, boards, effort=ONE_SWEEP)
    said = []
    again = nest_job(job, parts, boards, effort=ONE_SWEEP, progress=lambda text, share=None: said.append(text))
    assert (said, again.proof.is_proved) == (["the layout that was made before still holds"], True)

    said.clear()
    nest_job(job, parts, boards, effort=replace(ONE_SWEEP, seed=1), progress=lambda text, share=None: said.append(text))
    assert "the layout that was made before still holds" not in said


HELD = "the layout that was made before still holds"
FINS = [Part("fin", Outline.from_points([(0, 0), (70, 0), (25, 40)]), "balsa", 3.0, count=5, hand="left")]


def _said(job, parts, boards, effort):
    said = []
    nest_job(job, parts, boards, effort=effort, progress=lambda text, share=None: said.append(text))
    return said


def test_less_time_than_was_searched_asks_for_nothing_new_and_more_goes_on_from_there(job, boards):
    first = nest_job(job, FINS, boards, effort=Effort(0.2))
    assert first.is_cut_short
    assert _said(job, FINS, boards, Effort(0.1)) == [HELD]

    assert HELD not in _said(job, FINS, boards, Effort(0.3))
    found = kept_layout(job)
    assert found.searched.seconds == pytest.approx(0.3)
    assert [board.used_length_mm for board in found.layout.boards] <= [b.used_length_mm for b in first.boards]


def test_a_layout_that_cannot_be_better_holds_for_any_time(job, parts, boards):
    assert not nest_job(job, parts, boards, effort=Effort(0.1)).is_cut_short
    assert _said(job, parts, boards, Effort(60.0)) == [HELD]


def test_a_search_that_was_stopped_goes_on(job, boards):
    stopped = Effort(20.0).told(
        "it", replace(nest_job(job, FINS, boards, effort=Effort(0.1)), is_interrupted=True), 5.0
    )
    assert Effort(20.0).after(stopped, 1) == Effort(15.0)
    assert Effort(4.0).after(stopped, 1) is None
    # Four searches of five seconds have seen what one of twenty has.
    assert Effort(20.0).after(replace(stopped, seconds=20.0), 4) == Effort(15.0)


def test_sweeps_are_made_whole_or_not_at_all(job, boards):
    layout = nest_job(job, FINS, boards, effort=ONE_SWEEP)
    assert _said(job, FINS, boards, ONE_SWEEP) == [HELD]
    assert HELD not in _said(job, FINS, boards, replace(ONE_SWEEP, max_sweeps=2))
    assert HELD not in _said(job, FINS, boards, ONE_SWEEP)
    assert kept_layout(job).layout.boards == layout.boards
    stopped = ONE_SWEEP.told("it", replace(layout, is_interrupted=True), 1.0)
    assert ONE_SWEEP.after(stopped, 1) == ONE_SWEEP


@pytest.mark.parametrize(
    "spec",
    [
        {"nest": {"tool": "laser"}},
        {"nest": {"clearance": "3 mm"}},
        {"material": [{"name": "balsa", "density": "120 kg/m3"}]},
        {"accuracy": {"width": "2 mm"}},
        {"nest": {"pin": [{"part": "strip", "board": "B1", "x": "100 mm", "y": "10 mm"}]}},
    ],
)
def test_whatever_of_the_job_a_search_goes_by_has_it_made_anew(job, parts, boards, spec):
    nest_job(job, parts, boards, effort=ONE_SWEEP)
    assert HELD in _said(job, parts, boards, ONE_SWEEP)
    changed = replace(job, spec=JobSpec.model_validate(spec))
    assert HELD not in _said(changed, parts, boards, ONE_SWEEP)


def test_another_program_looks_anew(job, parts, boards, monkeypatch):
    nest_job(job, parts, boards, effort=ONE_SWEEP)
    monkeypatch.setattr("nesting.__version__", "9.9.9")
    assert HELD not in _said(job, parts, boards, ONE_SWEEP)


def test_another_size_of_part_or_board_makes_a_layout_stale(job, parts, boards):
    made = inputs_hash(job, parts, boards)

    assert inputs_hash(job, [replace(parts[0], count=2)], boards) != made
    assert inputs_hash(job, parts, [replace(boards[0], width_mm=90.0)]) != made


def test_a_layout_that_no_longer_keeps_its_gaps_is_made_anew(job, parts, boards):
    twice = [replace(parts[0], count=2)]
    nest_job(job, twice, boards, effort=ONE_SWEEP)
    path = job.out / LAYOUT_FILE
    data = json.loads(path.read_text(encoding="utf-8"))
    first, second = data["boards"][0]["placements"]
    second |= {key: first[key] for key in ("x_mm", "y_mm", "angle_deg", "flipped")}
    path.write_text(json.dumps(data), encoding="utf-8")

    assert stored_layout(job, twice, boards) is None
    assert nest_job(job, twice, boards, effort=ONE_SWEEP).proof.is_proved


def test_a_copy_that_somebody_put_on_a_heavier_board_is_not_said_to_lack_room(job, parts, boards):
    heavy = Board("B2", "balsa", 3.0, 1000.0, 100.0, mass_g=60.0)
    layout = nest_job(job, [replace(parts[0], count=2)], [heavy], effort=ONE_SWEEP)
    path = job.out / LAYOUT_FILE
    kept = json.loads(path.read_text(encoding="utf-8")) | {"pinned": [["strip", 2]]}
    path.write_text(json.dumps(kept), encoding="utf-8")

    two, rack = [replace(parts[0], count=2)], [*boards, heavy]
    table = weigh_job(two, rack, layout=layout, rules=rules_of(job), by_hand=copies_by_hand(job))

    reasons = {weight.copy: weight.reason for weight in table.chosen}
    assert reasons == {1: "no room found on B1", 2: "put there by hand"}


def test_pins_of_the_job_file_are_by_hand_also_before_there_is_a_layout(job):
    pin = {"part": "strip", "copy": 3, "board": "B1", "x": "10 mm", "y": "10 mm"}

    assert copies_by_hand(replace(job, spec=JobSpec.model_validate({"nest": {"pin": [pin]}}))) == {("strip", 3)}
