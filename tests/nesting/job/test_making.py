"""A kept layout is used as long as everything that it depends on is the same, and no longer."""

import json
from dataclasses import replace

import pytest

from nesting.board import Board
from nesting.job.folder import Job
from nesting.job.making import LAYOUT_FILE, Effort, inputs_hash, nest_job, settled_layout
from nesting.job.schema import JobSpec
from nesting.part import Part
from vectorize.outline import Outline

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

    settled_layout(job, weighed, boards, effort=ONE_SWEEP)

    assert (job.out / LAYOUT_FILE).read_bytes() == written


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

    layout = settled_layout(job, twice, boards, effort=ONE_SWEEP)

    assert layout.proof.is_proved
