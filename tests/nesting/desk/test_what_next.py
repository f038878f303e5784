"""What comes next: one thing at a time, in the order of the work, from no plan to all parts on the scale."""

import os
import tomllib
from dataclasses import replace

import pytest

from nesting.balance.weights import weigh_parts
from nesting.desk.standing import Faults, PlanState, Standing
from nesting.desk.what_next import Stood, patterns_drawn, what_next
from nesting.job.laid import LAYOUT_FILE, Laid
from nesting.job.schema import JobSpec
from nesting.place.layout import BoardLayout, Layout, Placement, Proof, Unplaced
from nesting.wood.board import Board
from nesting.wood.part import Part
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, RACK, make_job
from tests.nesting.desk.test_browser import opened_at, settled
from vectorize.basics.notes import Note
from vectorize.shapes.outline import Outline, Pose

PLATE = Part("plate", Outline.rectangle(0, 0, 60, 30), "balsa", 3.0)
LIGHT = Board("B1", "balsa", 3.0, 300, 100, mass_g=10.0)
THICK = Board("B9", "balsa", 6.0, 300, 100, mass_g=20.0)
NO_FAULTS = Faults({})


def spec_of(more="", job=JOB):
    return JobSpec.model_validate(tomllib.loads(job + more))


SCALE = object()  # only whether there is one is asked


def stands(*, scale=SCALE, parts=(PLATE,), boards=(LIGHT,), notes=(), faults=NO_FAULTS, width=640.0):
    plan = PlanState("sheet 1", width, 440.0, scale, ())
    return Standing("", (plan,), (), parts, boards, notes, faults)


def weighed(parts=(PLATE,), boards=(LIGHT,)):
    return weigh_parts(parts, boards)


def laid(unplaced=()):
    boards = (BoardLayout("B1", (Placement("plate", 1, Pose(0.0, 0.0, 0.0)),), 0.1, 60.0),)
    return Laid(Layout(boards, unplaced, Proof((), 1.0)), "")


DOUBT = Note("doubtful", "part plate may be larger", "open", "plate")
EMPTY = spec_of(job='[job]\nformat = 1\nname = "Plate"\n')
UNPICKED = spec_of(job=JOB.split("[[part]]")[0])
READY = Stood(spec_of(), stands(), laid(), is_current=True, weights=weighed(), drawn="new")


@pytest.mark.parametrize(
    ("stood", "code", "view"),
    [
        (Stood(EMPTY, replace(stands(parts=()), plans=())), "plan", "plan"),
        (Stood(UNPICKED, stands(width=0.0, scale=None, parts=())), "plan-fault", "plan"),
        (Stood(UNPICKED, stands(scale=None, parts=())), "scale", "plan"),
        (Stood(UNPICKED, stands(parts=())), "parts", "plan"),
        (Stood(spec_of(), stands(parts=(), faults=Faults({"plate": "no wood"}))), "part-fault", "parts"),
        (Stood(spec_of(), stands(notes=(DOUBT,))), "doubts", "plan"),
        (Stood(spec_of(), stands(boards=(), faults=Faults({}, rack="bad row"))), "rack-fault", "rack"),
        (Stood(spec_of(), stands(boards=())), "boards", "rack"),
        (Stood(spec_of(), stands(boards=(THICK,)), weights=weighed(boards=(THICK,))), "no-board", "rack"),
        (Stood(spec_of(), stands(), weights=weighed()), "lay-out", "rack"),
        (replace(READY, is_current=False), "lay-out", "rack"),
        (replace(READY, laid=laid((Unplaced("plate", 2, "no room"),))), "no-room", "rack"),
        (replace(READY, drawn="none"), "patterns", "patterns"),
        (replace(READY, drawn="old"), "patterns", "patterns"),
        (READY, "cut", "patterns"),
        (replace(READY, spec=spec_of("cut = true\n"), laid=None, drawn="none"), "weigh", "weight"),
        (replace(READY, spec=spec_of('weighed = "5 g"\n'), laid=None, drawn="none"), "done", "weight"),
    ],
)
def test_first_thing_that_is_not_done_comes_next(stood, code, view):
    found = what_next(stood)
    assert (found.code, found.view) == (code, view)
    assert found.text.endswith(".")
    assert found.text.count(".") == 1


def test_doubts_about_outlines_stand_back_once_the_parts_are_laid_out():
    assert what_next(replace(READY, standing=stands(notes=(DOUBT,)))).code == "cut"


def test_names_are_told_as_long_as_they_are_few():
    many = tuple(replace(PLATE, name=f"riblet {number}") for number in range(20))
    text = what_next(Stood(spec_of(), stands(boards=(THICK,), parts=many), weights=weighed(many, (THICK,)))).text
    assert "riblet 0, riblet 1" in text
    assert "more" in text
    assert len(text) < 100


def test_patterns_of_an_earlier_layout_are_old(tmp_path):
    layout, pattern = tmp_path / LAYOUT_FILE, tmp_path / "board-B1.pdf"
    assert patterns_drawn(tmp_path, None) == patterns_drawn(tmp_path, laid()) == "none"
    layout.write_text("{}")
    pattern.write_text("")
    os.utime(layout, (1000, 1000))
    os.utime(pattern, (1001, 1001))
    assert patterns_drawn(tmp_path, laid()) == "new"
    os.utime(layout, (1002, 1002))
    assert patterns_drawn(tmp_path, laid()) == "old"


@pytest.mark.slow
@pytest.mark.parametrize("size", [(1280, 800), (390, 844)])
def test_every_view_says_it_with_a_way_there(tmp_path, size):
    need_browser()
    folder = make_job(tmp_path / "job", rack=RACK.splitlines()[0] + "\n")
    with served(folder) as (_, address), browser_page(size=size) as page:
        opened_at(page, address, "plan")
        settled(page)
        link = page.locator("[data-key=next-link]")
        assert link.inner_text() == "Add the boards you have."
        box = link.bounding_box()
        assert box["height"] >= 24
        assert box["x"] + box["width"] <= size[0]
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        link.focus()
        page.keyboard.press("Enter")
        page.wait_for_function("location.hash === '#rack'")
        page.wait_for_selector("[data-key=next-text]")  # where it is done there is nowhere to go

        (folder / "rack.csv").write_text(RACK, encoding="utf-8")
        page.wait_for_selector("[data-key=next-text]:text('Lay the parts out on the boards.')")
        for view in ("parts", "weight", "patterns"):
            page.evaluate("view => { location.hash = '#' + view }", view)
            page.wait_for_selector("[data-key=next-link]:text('Lay the parts out on the boards.')")
