"""A leftover board comes into the rack by its picture."""

import json

import pytest
from PIL import Image

from nesting.job import racking
from nesting.job.folder import open_job
from nesting.job.rack_files import read_rack
from nesting.job.racking import Leftover, add_leftover, cut_rack
from nesting.place.layout import BoardLayout, Layout, Proof
from nesting.wood.board import Board
from tests.nesting.desk.jobs import make_job
from tests.vectorize.trace.test_leftover import AREA_SHARE, BOARD, SHEET_MM, photo
from vectorize.basics.errors import RackError, WriteError
from vectorize.shapes.outline import Outline


def test_a_photographed_leftover_becomes_a_board_with_its_outline(tmp_path):
    job = open_job(make_job(tmp_path / "job"))
    _, notes = add_leftover(job, photo(), Leftover("L1", "balsa", 3.0, mass_g=6.5), sheet_mm=SHEET_MM)
    assert "grain-assumed" in {note.code for note in notes}
    boards = {board.name: board for board in read_rack(open_job(job.folder))}
    assert list(boards) == ["B1", "B2", "L1"]
    kept = boards["L1"]
    assert kept.outline is not None
    assert kept.outline.area_mm2 == pytest.approx(BOARD.area_mm2, rel=AREA_SHARE)
    assert kept.outline.bounds[:2] == pytest.approx((0, 0), abs=1e-6)
    assert kept.length_mm > 2 * kept.width_mm  # its long side along x, as the grain
    assert kept.mass_g == 6.5
    assert (job.folder / "rack.csv.bak").exists()
    with pytest.raises(RackError, match="'l1' already"):
        add_leftover(job, photo(), Leftover("l1", "balsa", 3.0), sheet_mm=SHEET_MM)


def test_the_command_adds_it_and_says_what_it_took_for_granted(tmp_path, capsys):
    from nesting.cli.app import app

    folder = make_job(tmp_path / "job")
    Image.fromarray(photo().grey).save(tmp_path / "left.png")
    words = ["rack", "photo", str(folder), str(tmp_path / "left.png"), "--board", "L1", "--material", "balsa"]
    app([*words, "--thickness", "3 mm", "--sheet", "A4", "--grain", "400,700,1500,690"], standalone_mode=False)
    assert "L1" in capsys.readouterr().out
    assert [board.name for board in read_rack(open_job(folder))] == ["B1", "B2", "L1"]


def cut_whole(job, monkeypatch, *, left):
    """Cut board B1 so that `left` is what remains of it."""
    layout = Layout((BoardLayout("B1", (), 0.1, 60.0),), (), Proof((), 2.0))
    monkeypatch.setattr(racking, "offcuts", lambda *_, **__: left)
    return cut_rack(job, (), layout)


@pytest.fixture
def offcut(tmp_path):
    """Return a job whose board B1 has an outline of its own, and that file."""
    job = open_job(make_job(tmp_path / "job"))
    beside = job.folder / "rack" / "B1.json"
    beside.parent.mkdir()
    beside.write_text(json.dumps({"outline": Outline.rectangle(0, 0, 180, 90).as_json()}), encoding="utf-8")
    return job, beside


def test_what_lay_beside_a_board_that_was_cut_is_put_by(offcut, monkeypatch):
    job, beside = offcut
    was = beside.read_bytes()

    cut_whole(job, monkeypatch, left=())

    assert not beside.exists()
    assert beside.with_name("B1.json.bak").read_bytes() == was


def test_a_piece_takes_over_neither_name_nor_outline_of_a_board_that_was_cut(offcut, monkeypatch):
    job, _ = offcut

    cut_whole(job, monkeypatch, left=(Board("B1", "balsa", 3.0, 90.0, 40.0, mass_g=1.0),))

    outlines = {board.name: board.outline for board in read_rack(job)}
    assert (outlines["B1-2"], "B1" in outlines) == (None, False)


def cut_without_offcuts(job, monkeypatch):
    cut_whole(job, monkeypatch, left=())


def add_a_leftover(job, _):
    add_leftover(job, photo(), Leftover("L1", "balsa", 3.0), sheet_mm=SHEET_MM)


@pytest.mark.parametrize(("work", "act"), [("rack_after", cut_without_offcuts), ("leftover_board", add_a_leftover)])
def test_a_rack_that_somebody_saved_meanwhile_is_not_overwritten(tmp_path, monkeypatch, work, act):
    job = open_job(make_job(tmp_path / "job"))
    path = job.folder / "rack.csv"
    own = getattr(racking, work)

    def meanwhile(*values, **options):
        path.write_text(
            path.read_text(encoding="utf-8") + "B9,balsa,3 mm,,300 mm,100 mm,9 g,,,mine\n", encoding="utf-8"
        )
        return own(*values, **options)

    monkeypatch.setattr(racking, work, meanwhile)
    with pytest.raises(WriteError, match=r"rack\.csv was changed by someone else"):
        act(job, monkeypatch)

    assert "mine" in path.read_text(encoding="utf-8")
    assert not (job.folder / "rack.csv.bak").exists()
