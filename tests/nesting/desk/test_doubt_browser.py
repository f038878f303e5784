"""A doubtful part at the desk: its readings lie side by side, and one click takes one; the job keeps it."""

import pytest
from PIL import Image

from nesting.job.folder import open_job
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import make_job
from tests.nesting.desk.test_browser import Sheet, saved, settled
from tests.vectorize.inked_lines import Sheet as Drawn

pytestmark = pytest.mark.slow


def doubted_job(folder):
    """Write a job with a plate that a line runs right across, one part or two; `sure = 1.0` has every doubt told."""
    drawn = Drawn(dpi=200).shape([(15, 15), (85, 15), (85, 45), (15, 45)]).line([(50, 15), (50, 45)], pen_mm=0.5)
    known = "".join(
        f'[[plan.known]]\nfrom = {list(one.start)}\nto = {list(one.end)}\nlength = "{one.length_mm} mm"\n'
        for one in drawn.known()
    )
    plan = f'[[plan]]\nname = "sheet 1"\nfile = "plan.png"\nsure = 1.0\n{known}'
    part = f'[[part]]\nname = "plate"\npick = [{list(drawn.pick(30, 30))}]\nmaterial = "balsa"\nthickness = "3 mm"\n'
    make_job(folder, job=plan + part)
    Image.fromarray(drawn.grey(seed=3)).save(folder / "plan.png")
    return folder


@pytest.fixture
def doubted(tmp_path):
    need_browser()
    folder = doubted_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        Sheet(page)
        yield page, folder, settled(page)["parts"][0]


def test_readings_lie_side_by_side_at_the_open_note_and_one_click_takes_one(doubted):
    page, folder, part = doubted
    other = part["alternatives"][0]
    note = page.locator(".notes li", has=page.locator(".doubts"))
    assert note.count() == 1
    assert note.locator(".doubt").count() == 1 + len(part["alternatives"])
    assert other["why"] in note.inner_text()
    with saved(page):
        page.click("[data-key=doubt-plate-0]")
    (table,) = open_job(folder).spec.part
    assert [list(at) for at in table.pick[1:]] == other["pick"]
    assert [list(at) for at in table.cutout] == other["cutout"]
    taken = settled(page)["parts"][0]
    box = [max(at[k] for at in other["outline"][0]) - min(at[k] for at in other["outline"][0]) for k in (0, 1)]
    assert taken["size_mm"] == pytest.approx(box, abs=0.2)


def test_a_part_that_is_right_as_traced_is_kept_so_and_can_be_taken_back(doubted):
    page, folder, part = doubted
    with saved(page):
        page.click("[data-key=doubt-plate-keep]")
    kept = settled(page)["parts"][0]
    assert kept["size_mm"] == pytest.approx(part["size_mm"], abs=1e-3)
    assert kept["is_corrected"]
    assert page.locator(".doubts").count() == 0
    page.click("[data-key=undo]")
    page.locator(".doubts").wait_for()
    settled(page)
    assert list((folder / "corrected").glob("*")) == []
