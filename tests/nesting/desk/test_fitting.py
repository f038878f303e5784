"""The search at the desk keeps to what the job and the builder pinned, and gives only what is better."""

import pytest

from nesting.desk import fitting
from nesting.job.folder import open_job
from nesting.job.laid import Laid, held_copies
from nesting.place.layout import BoardLayout, Layout, Placement, Proof
from nesting.wood.board import Board
from nesting.wood.part import Part
from tests.nesting.desk.jobs import JOB, Quiet, make_job
from vectorize.shapes.outline import Outline, Pose

PIN = '\n[[nest.pin]]\npart = "plate"\ncopy = 1\nboard = "B1"\nx = "100 mm"\ny = "40 mm"\nangle = "0 deg"\n'


def test_pins_of_the_job_and_of_the_page_are_both_kept_and_every_gift_is_better(tmp_path, monkeypatch):
    monkeypatch.setattr(fitting, "MOST_ROUNDS", 2)
    monkeypatch.setattr(fitting, "ROUND_S", 0.5)
    folder = make_job(tmp_path / "job", job=JOB + PIN)
    parts = (Part("plate", Outline.rectangle(0, 0, 60, 30), "balsa", 3.0, is_grain_assumed=False, count=3),)
    boards = (Board("B1", "balsa", 3.0, 300.0, 100.0, mass_g=10.0),)
    by_hand = (Placement("plate", 2, Pose(200.0, 10.0)), Placement("plate", 1, Pose(9.0, 9.0)))
    layout = Layout((BoardLayout("B1", by_hand, 0.0, 0.0),), (), Proof((), 0.0))
    laid = Laid(layout, "", frozenset({("plate", 1), ("plate", 2)}))
    held = held_copies(open_job(folder), laid, parts, boards)
    report = Quiet()

    fitting.search(report, folder, parts, boards, None, held)

    costs = [fitting.layout_cost(layout) for layout in report.given]
    assert costs == sorted(costs, reverse=True)
    assert len(set(costs)) == len(costs) > 0
    placed = {p.copy: p.pose for p in report.given[-1].boards[0].placements}
    assert (placed[1].x_mm, placed[1].y_mm) == pytest.approx((100.0, 40.0))
    assert (placed[2].x_mm, placed[2].y_mm) == pytest.approx((200.0, 10.0))
    assert report.given[-1].proof.is_proved


def test_a_search_leaves_out_what_is_cut_and_lies_on_no_board_any_more(tmp_path, monkeypatch):
    monkeypatch.setattr(fitting, "MOST_ROUNDS", 2)
    monkeypatch.setattr(fitting, "ROUND_S", 0.5)
    folder = make_job(tmp_path / "job", job=JOB.replace('name = "plate"\n', 'name = "plate"\ncut = true\n'))
    parts = (
        Part("plate", Outline.rectangle(0, 0, 60, 30), "balsa", 3.0, board="B0", count=2),
        Part("former", Outline.rectangle(0, 0, 20, 20), "balsa", 3.0),
    )
    boards = (Board("B1", "balsa", 3.0, 300.0, 100.0, mass_g=10.0),)
    sawn = BoardLayout("B0", (Placement("plate", 1, Pose()), Placement("plate", 2, Pose(70.0))), 0.0, 0.0)
    laid = Laid(Layout((sawn,), (), Proof((), 0.0)), "", frozenset({("plate", 1), ("plate", 2)}))
    held = held_copies(open_job(folder), laid, parts, boards)
    report = Quiet()

    fitting.search(report, folder, parts, boards, None, held)

    found = report.given[-1]
    assert [(p.part, p.copy) for board in found.boards for p in board.placements] == [("former", 1)]
    assert (found.unplaced, found.proof.is_proved) == ((), True)
