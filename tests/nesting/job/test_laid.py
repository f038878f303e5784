"""What was pinned or cut stays where it lies, whoever looks for a layout; what cannot stay is told."""

import json
from dataclasses import replace

import pytest

from nesting.job.folder import Job
from nesting.job.laid import LAYOUT_FILE, held_copies, kept_layout, read_laid
from nesting.job.laying import Effort, boards_fit, nest_job, stored_layout
from nesting.job.schema import JobSpec
from nesting.place import nest_parts
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import InputError, WriteError
from vectorize.shapes.outline import Outline

EFFORT = Effort(time_limit_s=None, max_sweeps=3)
RIBS = [Part("rib", Outline.rectangle(0, 0, 60, 20), "balsa", 3.0, count=3)]
BOARDS = [
    Board("light", "balsa", 3.0, 400.0, 100.0, mass_g=12.0),
    Board("heavy", "balsa", 3.0, 400.0, 100.0, mass_g=24.0),
]
CUT = {
    "cut": {"cut": True},
    "weighed": {"weighed": "1.2 g"},
    "weighed with others": {"readings": [{"parts": ["rib", "tank"], "mass": "9 g"}]},
}
FAR = {"x_mm": 300.0, "y_mm": 40.0, "angle_deg": 180.0, "flipped": False}


def job_with(tmp_path, readings=(), **table):
    return Job(tmp_path, JobSpec.model_validate({"part": [{"name": "rib", **table}], "weighed": list(readings)}), "")


def lay(job, *, board="light", pinned=(), **pose):
    """Keep a layout in which the first rib lies far from where a search would lay it."""
    job.out.mkdir(exist_ok=True)
    ribs = [{"part": "rib", "copy": copy, **FAR} for copy in (1, 2, 3)]
    ribs[1] |= {"x_mm": 80.0, "y_mm": 90.0}
    ribs[2] |= {"x_mm": 80.0, "y_mm": 50.0}
    ribs[0] |= pose
    boards = [{"name": board, "placements": ribs, "used_fraction": 0.1, "used_length_mm": 300.0}]
    data = {"boards": boards, "unplaced": [], "proved": True, "notes": [], "made_from": "x", "pinned": list(pinned)}
    (job.out / LAYOUT_FILE).write_text(json.dumps(data), encoding="utf-8")


def place_of(layout, copy):
    return next(
        (board.board, p.pose.x_mm, p.pose.y_mm, p.pose.angle_deg)
        for board in layout.boards
        for p in board.placements
        if p.copy == copy
    )


@pytest.mark.parametrize("table", CUT.values(), ids=CUT)
@pytest.mark.parametrize("lets_go", [False, True])
def test_parts_that_are_cut_never_move(tmp_path, table, lets_go):
    job = job_with(tmp_path, **table)
    lay(job, board="heavy")

    layout = nest_job(job, RIBS, BOARDS, effort=EFFORT, lets_go=lets_go)

    assert place_of(layout, 1) == ("heavy", 300.0, 40.0, 180.0)
    assert layout.proof.is_proved
    assert [note.text for note in layout.notes if note.code == "kept-in-place"] == [
        "rib 1, rib 2, rib 3: already cut, so left in place."
    ]


def test_pins_of_the_desk_are_kept_and_stay_pins(tmp_path):
    job = job_with(tmp_path)
    lay(job, pinned=[["rib", 1]])

    for _ in range(2):
        layout = nest_job(job, RIBS, BOARDS, effort=EFFORT)
        assert place_of(layout, 1) == ("light", 300.0, 40.0, 180.0)
        assert place_of(layout, 2)[1] < 300.0
        assert kept_layout(job).pinned == {("rib", 1)}
        assert [note.text for note in layout.notes if note.code == "kept-in-place"] == [
            "rib 1: pinned at the desk, so left in place."
        ]


def test_pins_of_the_desk_are_let_go_if_asked(tmp_path):
    job = job_with(tmp_path)
    lay(job, pinned=[["rib", 1]])

    layout = nest_job(job, RIBS, BOARDS, effort=EFFORT, lets_go=True)

    assert place_of(layout, 1)[1] < 300.0
    assert kept_layout(job).pinned == frozenset()
    assert not [note for note in layout.notes if note.code == "kept-in-place"]


def test_the_job_file_has_the_last_word_on_where_a_copy_is_pinned(tmp_path):
    pin = {"part": "rib", "copy": 1, "board": "heavy", "x": "10 mm", "y": "10 mm"}
    spec = JobSpec.model_validate({"part": [{"name": "rib"}], "nest": {"pin": [pin]}})
    job = replace(job_with(tmp_path), spec=spec)
    lay(job, pinned=[["rib", 1]])

    held = held_copies(job, kept_layout(job), RIBS, BOARDS)

    assert [(pin.board, pin.placement.pose.x_mm) for pin in held.pins] == [("heavy", 10.0)]
    assert held.copies == frozenset()


def test_a_copy_that_can_no_longer_lie_where_it_is_is_told_before_any_search(tmp_path):
    job = job_with(tmp_path)
    lay(job, pinned=[["rib", 1]], x_mm=430.0)
    with pytest.raises(InputError, match=r"part rib copy 1 on board light: it reaches past the edge.*--unpin"):
        nest_job(job, RIBS, BOARDS, effort=EFFORT)


def test_a_board_that_is_gone_lets_its_copies_go_and_says_so(tmp_path):
    job = job_with(tmp_path)
    lay(job, board="sold", pinned=[["rib", 1]])
    layout = nest_job(job, RIBS, BOARDS, effort=EFFORT)
    assert place_of(layout, 1)[0] == "light"
    assert [note.text for note in layout.notes if note.code == "pin-lost"] == [
        "rib 1 was to stay on board sold, which is not in the rack; it is laid anew."
    ]


def test_pins_of_parts_that_are_not_there_are_passed_over(tmp_path):
    job = job_with(tmp_path)
    lay(job, pinned=[["former", 1], ["rib", 9]])
    assert held_copies(job, kept_layout(job), RIBS, BOARDS).pins == ()


def test_a_layout_that_somebody_changed_during_the_search_is_not_overwritten(tmp_path, monkeypatch):
    job = job_with(tmp_path)
    lay(job)

    def meanwhile(*args, **options):
        lay(job, pinned=[["rib", 1]])
        return search(*args, **options)

    search = nest_parts.nest_parts
    monkeypatch.setattr(nest_parts, "nest_parts", meanwhile)
    with pytest.raises(WriteError, match="changed by someone else"):
        nest_job(job, RIBS, BOARDS, effort=EFFORT)
    assert kept_layout(job).pinned == {("rib", 1)}


@pytest.mark.parametrize(
    "text",
    ["", "3", "[]", "{}", "[" * 100_000, '{"boards": 3, "made_from": "x"}', '{"pinned": [[1]]}', '{"pinned": 3}', "nan"]
    + ['{"boards": [], "unplaced": [], "made_from": "x", "pinned": [["rib", Infinity]]}']
    + [
        '{"boards": [{"name": "B", "used_fraction": 0, "used_length_mm": 0, "placements": [{"part": "rib", "copy": 1, '
        f'"x_mm": {x}, "y_mm": 0, "angle_deg": 0, "flipped": false}}]}}], "unplaced": [], "made_from": "x"}}'
        for x in ("NaN", "Infinity", "1e99", '"a"', "null", "[]")
    ],
    ids=range(16),
)
def test_a_damaged_layout_is_none(text):
    assert read_laid(text) is None


def lay_on_two(job):
    """Keep a layout with the first rib on a board that is gone, the others on one that is there."""
    lay(job)
    path = job.out / LAYOUT_FILE
    data = json.loads(path.read_text(encoding="utf-8"))
    first, *others = data["boards"][0]["placements"]
    kept = data["boards"][0] | {"placements": others}
    path.write_text(json.dumps(data | {"boards": [kept | {"name": "sold", "placements": [first]}, kept]}))


@pytest.mark.parametrize("table", CUT.values(), ids=CUT)
def test_of_a_cut_part_the_copies_stay_whose_board_is_there_and_the_others_are_done(tmp_path, table):
    job = job_with(tmp_path, **table)
    lay_on_two(job)

    for _ in range(2):
        layout = nest_job(job, RIBS, BOARDS, effort=EFFORT)
        assert sorted(p.copy for board in layout.boards for p in board.placements) == [2, 3]
        assert (place_of(layout, 2)[1:3], place_of(layout, 3)[1:3]) == ((80.0, 90.0), (80.0, 50.0))
        assert (layout.unplaced, layout.proof.is_proved) == ((), True)
        assert [(note.code, note.state) for note in layout.notes if "rib" in note.text] == [
            ("kept-in-place", "fixed"),
            ("cut-already", "fixed"),
        ]
    assert stored_layout(job, RIBS, BOARDS) is not None

    uncut = job_with(tmp_path)
    assert stored_layout(uncut, RIBS, BOARDS) is None
    again = nest_job(uncut, RIBS, BOARDS, effort=EFFORT)
    assert sorted(p.copy for board in again.boards for p in board.placements) == [1, 2, 3]


@pytest.mark.parametrize("table", CUT.values(), ids=CUT)
def test_a_board_is_tried_without_what_is_cut_and_without_the_wood_that_went_with_it(tmp_path, table):
    job = job_with(tmp_path, **table)
    lay_on_two(job)  # two ribs lie on the left half of `light`, above y = 30
    spar = Part("spar", Outline.rectangle(0, 0, 380, 24), "balsa", 3.0, count=2)

    fits, notes = boards_fit(job, [*RIBS, spar], BOARDS, ["light", "heavy"], effort=EFFORT)

    assert [(fit.board, fit.copies, fit.placed) for fit in fits] == [("light", 2, 1), ("heavy", 2, 2)]
    assert [(note.code, note.text.split(":")[0]) for note in notes] == [
        ("kept-in-place", "rib 2, rib 3"),
        ("cut-already", "cut already"),
    ]
    assert "rib 1. They lie on no board of the rack" in notes[1].text

    uncut = job_with(tmp_path)
    fits, notes = boards_fit(uncut, [*RIBS, spar], BOARDS, ["light"], effort=EFFORT)
    assert (fits[0].copies, notes) == (5, ())
