"""The parts view in a real browser: how a part is made, its grain turned, marked as cut, taken back and made again."""

import pytest

from nesting.job.folder import open_job
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import make_job
from tests.nesting.desk.test_browser import opened_at, saved, settled, undo_all

pytestmark = pytest.mark.slow


def test_a_part_is_given_steps_turned_and_marked_and_all_of_it_is_undone_and_made_again(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job")
    path = folder / "job.toml"
    before = path.read_text(encoding="utf-8")
    with served(folder) as (_, address), browser_page() as page:
        opened_at(page, address, "parts")

        # A hole, first with a diameter that the job file does not take: one sentence, and the form stays open.
        page.click("[data-key='plate/add-step']")
        page.select_option("[data-key=step-make]", "hole")
        page.fill("[data-key=field-at-0-station]", "30 mm")
        page.fill("[data-key=field-at-0-height]", "15 mm")
        page.fill("[data-key=field-diameter]", "six mm")
        with page.expect_response("**/api/1/edit") as answer:
            page.keyboard.press("Enter")
        assert answer.value.status == 422
        page.locator(".refusal", has_text="'six mm'").wait_for()
        page.keyboard.press("Escape")
        page.locator(".refusal").wait_for(state="detached")
        # A bare number is in the unit that is shown.
        page.fill("[data-key=field-diameter]", "6")
        # The plate lies at x = 25 mm, 57.5 mm above the sheet's lower edge: the first place missed it.
        page.fill("[data-key=field-at-0-station]", "55 mm")
        page.fill("[data-key=field-at-0-height]", "72 mm")
        with saved(page):
            page.click("[data-key=step-keep]")
        page.locator(".steps li", has_text="Holes: at station 55 mm, height 72 mm, 6 mm across").wait_for()

        # A second step, brought before the first; then the first one changed.
        page.click("[data-key='plate/add-step']")
        page.select_option("[data-key=step-make]", "grow")
        page.fill("[data-key=field-by]", "1/64 in")
        with saved(page):
            page.click("[data-key=step-keep]")
        with saved(page):
            page.click("[data-key='plate/earlier-1']")
        assert [step.make for step in open_job(folder).spec.part[0].step] == ["grow", "hole"]
        page.click("[data-key='plate/change-0']")
        page.fill("[data-key=field-by]", "0.5 mm")
        with saved(page):
            page.click("[data-key=step-keep]")

        # The grain by the arrow and the keyboard: 15 and 2 degrees, kept by Enter.
        page.focus("[data-key='plate/arrow']")
        page.keyboard.press("Shift+ArrowLeft")
        page.keyboard.press("ArrowUp")
        page.keyboard.press("ArrowUp")
        with saved(page):
            page.keyboard.press("Enter")
        assert open_job(folder).spec.part[0].grain == "17 deg"
        with saved(page):
            page.click("[data-key='plate/cut']")
        page.locator("[data-key='card-plate'] [aria-label='Stands at: cut']").wait_for()
        after = path.read_text(encoding="utf-8")

        undo_all(page)
        assert path.read_text(encoding="utf-8") == before
        while page.locator("[data-key=redo]").is_enabled():
            with page.expect_response("**/api/1/redo") as answer:
                page.keyboard.press("Control+Shift+z")
            assert answer.value.ok
            settled(page)
        assert path.read_text(encoding="utf-8") == after
