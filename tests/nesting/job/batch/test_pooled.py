"""Jobs cut from one pool: each kit is told where it lies, has its own sheets, and what is left of boards comes back."""

import csv
import shutil

import pytest

from nesting.job.batch.job_list import list_orders
from nesting.job.batch.kits import cut_order
from nesting.job.batch.pool_report import kit_rows, pool_html, pool_json, sheet_rows, whole_after
from nesting.job.batch.pooled import add_to_jobs, book_pool, kits_of, nest_pool, write_pool
from nesting.job.batch.run_batch import run_batch
from nesting.job.batch.wish import Wish
from nesting.job.laying import Effort
from nesting.place.layout import BoardLayout, Layout, Placement, Proof
from nesting.wood.rack import parse_rack
from tests.benchmarks.tiny_jobs import RACK, make_tiny_job, write_text
from vectorize.basics.errors import CallError, JobError, RackError
from vectorize.shapes.outline import Pose

EFFORT = Effort(time_limit_s=None, max_sweeps=4)
# Three boards of 120 × 60 mm: a plate of 40 × 20 mm and two fins of 16 × 20 mm of each job need a third of one.
POOL = (
    RACK.splitlines()[0] + "\nX1,balsa,3 mm,3.0 mm,120 mm,60 mm,3.1 g,,,\nX2,balsa,3 mm,3.0 mm,120 mm,60 mm,4.6 g,,,\n"
)


@pytest.fixture(scope="module")
def traced(tmp_path_factory):
    """Two jobs that are traced, beside one table of boards."""
    shelf = tmp_path_factory.mktemp("traced")
    make_tiny_job(shelf / "mite", "svg", is_rich=False)
    run_batch(list_orders(shelf), Wish(until="trace"))
    shutil.copytree(shelf / "mite", shelf / "gnat")
    write_text(shelf / "pool.csv", POOL)
    return shelf


@pytest.fixture
def shelf(tmp_path, traced):
    return shutil.copytree(traced, tmp_path / "shelf")


def jobs_of(shelf):
    return run_batch(list_orders(shelf), Wish(until="trace"))


def pooled_of(shelf, jobs=None):
    return nest_pool(shelf / "pool.csv", kits_of(jobs or jobs_of(shelf)), effort=EFFORT)


def edit(job, old, new):
    file = job / "job.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    write_text(file, text.replace(old, new, 1))


def test_kits_share_boards_and_each_is_told_where_it_lies(shelf):
    jobs = jobs_of(shelf)
    pooled = pooled_of(shelf, jobs)
    assert [kit.name for kit in pooled.pool.kits] == ["gnat", "mite"]
    assert (pooled.layout.proof.is_proved, pooled.unplaced, len(pooled.sheets)) == (True, (), 1)
    assert pooled.sheets[0].kits == ("gnat", "mite")
    assert {whole_after(pooled, kit) for kit in pooled.pool.kits} == {1}
    add_to_jobs(pooled, jobs)
    for job in jobs:
        assert (job.state, job.figures["boards"], job.figures["unplaced"]) == ("done", 1, 0)
        # The light board of 3.1 g is 120 × 60 mm; 40 × 20 less a 6 mm hole and two of 16 × 20 mm are cut from it.
        assert job.figures["mass_g"] == pytest.approx(3.1 * (800 - 28.27 + 2 * 320) / 7200, rel=0.02)


def test_sheets_lie_with_the_pool_and_with_each_job_and_are_written_once(shelf):
    pooled = pooled_of(shelf)
    assert write_pool(pooled) == ()
    out = shelf / "pool-pool"
    assert {"board-X1.pdf", "board-X1.svg", "cutting-list.csv", "layout.json"} <= {path.name for path in out.iterdir()}
    svg = (out / "board-X1.svg").read_text(encoding="utf-8")
    assert ("gnat: plate" in svg, "mite: plate" in svg) == (True, True)
    own = (shelf / "gnat" / "out" / "pool-board-X1.svg").read_text(encoding="utf-8")
    assert ("plate" in own, "mite" in own) == (True, False)
    with (shelf / "gnat" / "out" / "pool-cutting-list.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert sorted((row["kit"], row["part"], row["copy"]) for row in rows) == [
        ("gnat", "fin", "1"), ("gnat", "fin", "2"), ("gnat", "plate", "1"),
    ]  # fmt: skip
    before = {path: path.stat().st_mtime_ns for path in shelf.rglob("*") if path.is_file()}
    assert write_pool(pooled_of(shelf)) == ()
    assert {path: path.stat().st_mtime_ns for path in shelf.rglob("*") if path.is_file()} == before


def test_a_sheet_that_somebody_edited_is_kept_and_told(shelf):
    write_pool(pooled_of(shelf))
    mine = shelf / "gnat" / "out" / "pool-board-X1.svg"
    write_text(mine, "mine")
    (note,) = write_pool(pooled_of(shelf))
    assert (note.code, note.part, mine.read_text(encoding="utf-8")) == ("kept-edited-file", "gnat", "mine")


def test_the_strictest_rules_of_all_jobs_hold(shelf):
    edit(shelf / "gnat", 'tool = "saw"', 'tool = "saw"\nclearance = "4 mm"')
    edit(shelf / "mite", 'tool = "saw"', 'tool = "saw"\nkerf = "1 mm"\nends = "9 mm"')
    pooled = pooled_of(shelf)
    assert pooled.layout.proof.is_proved
    assert pooled.layout.proof.least_gap_mm >= 5.0 - 1e-3
    right = max(board.used_length_mm for board in pooled.layout.boards)
    assert right <= 120.0 - 9.0 + 1e-6


def test_one_sheet_is_cut_with_one_tool(shelf):
    edit(shelf / "gnat", 'tool = "saw"', 'tool = "laser"')
    with pytest.raises(CallError, match="gnat with the laser, mite with the saw; pool them apart"):
        pooled_of(shelf)


def test_one_name_is_one_wood(shelf):
    for job, density in (("gnat", 120), ("mite", 130)):
        text = (shelf / job / "job.toml").read_text(encoding="utf-8")
        table = f'\n[[material]]\nname = "balsa"\ndensity = "{density} kg/m3"\n'
        (shelf / job / "job.toml").write_text(text + table, encoding="utf-8")
    with pytest.raises(CallError, match="gnat and mite say different things of the material balsa"):
        pooled_of(shelf)


def test_what_is_tied_elsewhere_or_has_no_room_is_told_with_what_to_buy(shelf):
    edit(shelf / "gnat", 'name = "plate"', 'name = "plate"\nboard = "B2"')
    edit(shelf / "mite", "count = 2", "count = 60")
    jobs = jobs_of(shelf)
    pooled = pooled_of(shelf, jobs)
    assert pooled.layout.proof.is_proved
    add_to_jobs(pooled, jobs)
    gnat, mite = jobs
    assert [note.part for note in gnat.open_notes] == ["plate"]
    assert "tied to B2, which the pool has not" in gnat.open_notes[0].text
    assert "no room was left" in mite.open_notes[0].text
    assert [line.material for line in pooled.wanted] == ["balsa"]
    assert [(note.code, note.state) for note in pooled.notes] == [("pool-unplaced", "open")]
    assert len(pool_json(pooled)["unplaced"]) == len(pooled.unplaced) > 1


def test_what_is_cut_already_is_not_cut_again(shelf):
    edit(shelf / "gnat", 'name = "plate"', 'name = "plate"\ncut = true')
    (gnat, _) = pooled_of(shelf).pool.kits
    assert [part.name for part in gnat.parts] == ["fin"]


def test_booking_takes_the_cut_boards_and_gives_their_offcuts_back(shelf):
    with pytest.raises(JobError, match="without --book first"):
        book_pool(shelf / "pool.csv", kits_of(jobs_of(shelf)))
    pooled_of(shelf)
    cut = book_pool(shelf / "pool.csv", kits_of(jobs_of(shelf)))
    (piece,) = cut.offcuts["X1"]
    left = parse_rack((shelf / "pool.csv").read_text(encoding="utf-8"))
    assert [board.name for board in left] == [piece.name, "X2"]
    assert piece.mass_g < 3.1
    assert (shelf / "pool.csv.bak").read_text(encoding="utf-8") == POOL
    with pytest.raises(JobError, match="fits the jobs and boards as they are"):
        book_pool(shelf / "pool.csv", kits_of(jobs_of(shelf)))


def test_a_pool_that_is_not_there_is_told(shelf):
    with pytest.raises(RackError, match=r"other\.csv is not in"):
        nest_pool(shelf / "other.csv", kits_of(jobs_of(shelf)), effort=EFFORT)


def test_a_job_whose_parts_cannot_be_made_fails_alone(shelf):
    jobs = jobs_of(shelf)
    write_text(shelf / "gnat" / "job.toml", "[job")
    kits = kits_of(jobs)
    assert [kit.name for kit in kits] == ["mite"]
    assert {job.order.shown: job.state for job in jobs} == {"gnat": "failed", "mite": "done"}


def test_the_page_shows_each_sheet_and_a_name_in_it_is_no_markup(shelf):
    (shelf / "gnat").rename(shelf / "gnat & co")
    pooled = pooled_of(shelf)
    page = pool_html(pooled)
    assert page.count('<svg class="sheet"') == len(pooled.sheets)
    assert "gnat &amp; co: plate" in page
    assert "gnat & co" not in page
    assert [row[1] for row in sheet_rows(pooled)] == ["X1"]
    assert [row[:3] for row in kit_rows(pooled)] == [("gnat & co", "1", "1"), ("mite", "1", "1")]


def test_sheets_are_cut_so_that_kits_are_whole_one_after_the_other():
    on = {"B1": "ac", "B2": "b", "B3": "a", "B4": "bc"}
    boards = tuple(
        BoardLayout(name, tuple(Placement(kit, n, Pose()) for n, kit in enumerate(kits, 1)), 0.5, 100.0)
        for name, kits in on.items()
    )
    layout = Layout(boards, (), Proof((), 1.0))
    # Kit a lies on two boards, then c on one more, then b on the last.
    assert cut_order(layout, {"a": "a", "b": "b", "c": "c"}) == ("B1", "B3", "B4", "B2")
