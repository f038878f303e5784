"""Holes at the desk: each is filled, kept or cut with one click on it, and stays so."""

import pytest
from PIL import ImageDraw

from nesting.job.folder import open_job
from nesting.job.tracing import trace_job
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, PEN_PX, draw_plan, make_job
from tests.nesting.desk.test_browser import Sheet, opened_at, saved, settled, undo_all

HOLE_PX = (150, 150)


def holed_job(folder):
    """Write a job whose plate has a round hole of 10 mm and, beside it, an oblong shape of 3 × 6 mm."""
    make_job(folder, is_traced=False)
    plan = draw_plan()
    pen = ImageDraw.Draw(plan)
    pen.ellipse((130, 130, 170, 170), outline=20, width=PEN_PX)
    pen.rectangle((264, 138, 276, 162), outline=20, width=PEN_PX)
    plan.save(folder / "plan.png")
    return folder


def holes_of(folder):
    (stored,) = trace_job(open_job(folder)).outlines
    return [round(float(max(_size(hole)))) for hole in stored.outline.cutouts]


def _size(hole):
    points = hole.flattened(0.05)
    return points.max(axis=0) - points.min(axis=0)


def test_a_hole_that_the_job_fills_is_none_whatever_the_trace_took_it_for(tmp_path):
    folder = holed_job(tmp_path / "job")
    before = holes_of(folder)
    assert sorted(before) == [6, 10]
    (folder / "job.toml").write_text(JOB + "fill = [[150, 152], [300, 200]]\n", encoding="utf-8")
    found = trace_job(open_job(folder))
    assert holes_of(folder) == [6]
    (note,) = [note for note in found.notes if note.code == "open-fill"]
    assert (note.part, note.state) == ("plate", "open")
    assert "no hole at" in note.text
    # On disk stands the outline as it was traced, so that a hole comes back at once.
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    assert holes_of(folder) == before


@pytest.mark.slow
def test_holes_are_filled_kept_and_cut_with_one_click_each(tmp_path):
    need_browser()
    folder = holed_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page() as page:
        opened_at(page, address, "plan")
        sheet = Sheet(page)

        def holes():
            part = settled(page)["parts"][0]
            return len(part["outline_px"]) - 1, len(part["filled_px"])

        count, _ = holes()
        page.check("[data-key=aim-cutout]")
        # A place in the part where no shape is drawn cuts nothing.
        sheet.click(210, 190)
        page.locator(".slip", has_text="No closed shape").wait_for()

        with saved(page):
            sheet.click(*HOLE_PX)
        assert holes() == (count - 1, 1)
        assert len(open_job(folder).spec.part[0].fill) == 1
        page.locator("[data-key=holes-told]", has_text="1 filled").wait_for()
        with saved(page):
            sheet.click(*HOLE_PX)
        assert holes() == (count, 0)
        assert open_job(folder).spec.part[0].fill == ()

        # A hole that has no point to spare is taken away as a whole where its edge is corrected.
        page.check("[data-key=aim-boundary]")
        page.uncheck("[data-key=point-lands]")
        sheet.click(150, 130)
        page.locator("[data-key=point-drop]:enabled").wait_for()
        page.focus("#sheet")
        for _ in range(12):
            if holes()[0] < count:
                break
            with saved(page):
                page.keyboard.press("Delete")
            page.keyboard.press(".")
        assert holes()[0] == count - 1
        undo_all(page)
        assert (folder / "job.toml").read_text(encoding="utf-8") == JOB
