"""A kept layout is used as long as everything that it depends on is the same, and no longer."""

import json
from dataclasses import replace

import pytest

from nesting.job.folder import Job
from nesting.job.laid import LAYOUT_FILE
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
