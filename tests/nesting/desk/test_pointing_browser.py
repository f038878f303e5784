"""Pointing at the plan: beside the sheet, forms that are left, where the keyboard is then, several sheets."""

import pytest

from nesting.job.folder import open_job
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, draw_plan, make_job
from tests.nesting.desk.test_browser import Sheet, opened_at, saved, settled, undo_all

pytestmark = pytest.mark.slow

DPI = 101.6
"""Four pixels per millimetre, as the plan is drawn."""


def focused(page):
    return page.evaluate("document.activeElement.dataset.key ?? document.activeElement.id")


def test_a_click_beside_the_sheet_makes_nothing_and_escape_leaves_a_form(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page() as page:
        opened_at(page, address, "plan")
        sheet = Sheet(page)
        page.click("[aria-label=Farther]")
        sheet = Sheet(page)
        page.check("[data-key=aim-pick]")
        for beside in ((-27, 150), (200, -20), (650, 150), (200, 447)):
            sheet.click(*beside)
        page.locator(".slip", has_text="beside the sheet").first.wait_for()
        assert page.locator("[data-key=part-form]").count() == 0
        page.check("[data-key=aim-measure]")
        sheet.click(-27, 150)
        sheet.click(100, 90)
        sheet.click(340, 90)
        page.locator("[data-key=known-length]").wait_for()
        page.keyboard.press("Escape")
        page.locator("[data-key=known-length]").wait_for(state="detached")
        assert focused(page) == "sheet"

        page.check("[data-key=aim-pick]")
        sheet.click(440, 150)
        page.locator("[data-key=part-name]:focus").wait_for()
        page.keyboard.press("Escape")
        page.locator("[data-key=part-form]").wait_for(state="detached")
        assert (focused(page), page.is_checked("[data-key=aim-pick]")) == ("sheet", True)
        assert (folder / "job.toml").read_text(encoding="utf-8") == JOB


def test_what_is_kept_leaves_the_keyboard_where_it_was(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page() as page:
        opened_at(page, address, "parts")
        page.click("[data-key='plate/marks']")
        page.click("[data-key='plate/mark-add']")
        page.click("[data-key='plate/mark-type']")
        with saved(page):
            page.click("[data-key='plate/mark-keep']")
        page.locator("[data-key='plate/mark-form']").wait_for(state="detached")
        assert focused(page) == "plate/mark-add"
        with saved(page):
            page.click("[data-key='plate/mark-drop-0']")
        assert focused(page) == "plate/mark-add"
        undo_all(page)


def test_all_sheets_that_are_dropped_are_taken_and_the_first_new_one_is_shown(tmp_path):
    need_browser()
    names = ("one.png", "two.png", "three.png")
    for number, name in enumerate(names):
        plan = draw_plan()
        plan.putpixel((0, 0), number)
        plan.save(tmp_path / name, dpi=(DPI, DPI))
    folder = tmp_path / "job"
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        assert "PDF" in page.inner_text(".start")
        page.set_input_files("input[type=file]", [str(tmp_path / name) for name in names[:2]])
        page.locator("[data-key=sheet-1]").wait_for()
        settled(page)
        page.locator("[data-key=sheet-0][aria-pressed=true]").wait_for()
        page.set_input_files("input[type=file]", [str(tmp_path / names[2])])
        page.locator("[data-key=sheet-2][aria-pressed=true]").wait_for()
        settled(page)
        assert [plan.file for plan in open_job(folder).spec.plan] == list(names)
        page.locator("[data-key=sheet-2] img").wait_for()

        # What the file itself states of its size is taken with one click, and given up with another.
        with saved(page):
            page.click("[data-key=as-drawn]")
        spec = open_job(folder).spec
        assert [plan.size for plan in spec.plan] == [None, None, "as drawn"]
        scale = settled(page)["plans"][2]["scale"]
        assert scale["is_true_size"]
        assert scale["mm_per_px"] == pytest.approx([25.4 / DPI] * 2, rel=1e-3)
        with saved(page):
            page.click("[data-key=as-drawn-drop]")
        assert open_job(folder).spec.plan[2].size is None
