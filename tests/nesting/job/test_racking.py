"""A leftover board comes into the rack by its picture."""

import pytest
from PIL import Image

from nesting.job.folder import open_job
from nesting.job.rack import read_rack
from nesting.job.racking import Leftover, add_leftover
from tests.nesting.desk.jobs import make_job
from tests.vectorize.test_leftover import AREA_SHARE, BOARD, SHEET_MM, photo
from vectorize.errors import RackError


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
