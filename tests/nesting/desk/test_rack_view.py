"""The rack by touch: the same parts on two boards, one of them taken; a laid part turned and pinned by buttons."""

import re
from pathlib import Path

import pytest
from PIL import Image

from nesting.job.folder import open_job
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, files_of, make_job
from tests.nesting.desk.test_browser import good_enough, opened_at, saved, settled, undo_all
from tests.vectorize.trace.test_leftover import AREA_SHARE, BOARD, photo

pytestmark = pytest.mark.slow

TOUCH_TARGET_PX = 44


def test_the_same_parts_lie_on_both_boards_and_a_laid_part_is_turned_by_buttons(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page(size=(820, 1180)) as page:
        opened_at(page, address, "rack")

        # The lightest and the heaviest are offered first; what is shown cannot be dragged.
        assert page.input_value("[data-key=trial-first]") == "B1"
        assert page.input_value("[data-key=trial-second]") == "B2"
        page.click("[data-key=trial-go]")
        page.locator("[data-key=trial-B2] .piece").wait_for()
        tops = [page.locator(f"[data-key=trial-{name}]").bounding_box()["y"] for name in ("B1", "B2")]
        assert tops[0] < tops[1]
        assert page.locator("[data-key=trial-found] [data-part]").count() == 0
        assert "1.60" in page.inner_text("[data-key=trial-B2]")
        assert "never an approval to fly" in page.inner_text("[data-key=trial-found]")
        with saved(page):
            page.click("[data-key=trial-take-B2]")
        assert open_job(folder).spec.part[0].board == "B2"
        settled(page)

        page.click("[data-key=fit]")
        page.locator("[data-part=plate]").wait_for()
        good_enough(page)
        before = settled(page)["layout"]["boards"][0]["placements"][0]
        page.locator("[data-part=plate]").click()
        bar = page.locator("[data-key=piece-bar]")
        bar.wait_for()
        for button in bar.locator("button").all():
            box = button.bounding_box()
            assert min(box["width"], box["height"]) >= TOUCH_TARGET_PX
        page.click("[data-key=piece-bar-half]")
        with saved(page):
            page.click("[data-key=piece-bar-keep]")
        turned = settled(page)["layout"]["boards"][0]["placements"][0]
        assert (turned["angle_deg"] - before["angle_deg"]) % 360 == pytest.approx(180.0)
        assert turned["pinned"]

        with saved(page):
            page.click("[data-key=piece-bar-pin]")
        assert not settled(page)["layout"]["boards"][0]["placements"][0]["pinned"]
        undo_all(page)
        assert open_job(folder).spec.part[0].board is None


def test_boards_that_are_measured_better_are_surer(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page() as page:
        opened_at(page, address, "rack")

        def doubt():
            return settled(page)["boards"][0]["sigma_kg_m3"]

        before = doubt()
        page.click("[data-key=accuracy]")
        assert page.input_value("[data-key=accuracy-thickness]") == "0.03 mm"
        with saved(page):
            page.fill("[data-key=accuracy-thickness]", "0.005 mm")
            page.keyboard.press("Enter")
        assert doubt() < 0.6 * before
        with saved(page):
            page.fill("[data-key=accuracy-thickness]", "")
            page.keyboard.press("Enter")
        assert doubt() == before
        # An emptied field shows what is usual, and undo is the job's though the field has the keyboard.
        page.wait_for_function("document.querySelector('[data-key=accuracy-thickness]').value === '0.03 mm'")
        undo_all(page)
        assert (folder / "job.toml").read_text(encoding="utf-8") == JOB


def test_an_offcut_is_shown_on_its_photo_a_corner_set_right_and_kept_or_put_away(tmp_path):
    need_browser()
    axe = Path(pytest.importorskip("axe_core_python").__file__).parent / "axe.min.js"
    Image.fromarray(photo().grey).save(tmp_path / "left.png")
    folder = make_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page() as page:
        opened_at(page, address, "rack")
        before = _asked(folder)
        page.click("[data-key=by-photo]")
        page.set_input_files("[data-key=offcut-photo]", tmp_path / "left.png")
        shown = page.locator("[data-key=offcut-picture]")
        box = shown.bounding_box()
        for share in (0.3, 0.7):
            shown.click(position={"x": share * box["width"], "y": 0.5 * box["height"]})
        shown.locator("line.along").wait_for(state="attached")  # a level line has no height to be seen by

        right = _looked(page)
        page.locator("[data-key=offcut-outline]").wait_for()
        assert right == pytest.approx(BOARD.area_mm2, rel=AREA_SHARE)
        _say(page, "thickness", "3 mm")
        _say(page, "density", "120 kg/m3")
        told = page.locator("[data-key=offcut-mass-told]").inner_text()
        assert float(re.search(r"([\d.]+) g", told)[1]) == pytest.approx(right * 3 * 120e-6, abs=0.06)

        # A corner is drawn away by the mouse: what was found no longer holds, and another size is found.
        page.check("[data-key=offcut-aim-corners]")
        was = page.input_value("[data-key=offcut-corner-0]")
        mark = page.locator("[data-key=offcut-handle-0] .mark").bounding_box()
        page.mouse.move(mark["x"] + mark["width"] / 2, mark["y"] + mark["height"] / 2)
        page.mouse.down()
        page.mouse.move(mark["x"] + 60, mark["y"] + 50, steps=5)
        page.locator(".photo-glass").wait_for()
        page.mouse.up()
        assert page.locator("[data-key=offcut-keep]").count() == 0
        assert _looked(page) > 1.01 * right  # a smaller sheet of the same size makes all larger
        page.evaluate(axe.read_text(encoding="utf-8"))
        faults = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        assert [one["id"] for one in faults["violations"] if one["impact"] in ("serious", "critical")] == []

        # By keyboard it comes back to where it was: typed, then by the arrows.
        x, y = map(int, was.split(","))
        page.fill("[data-key=offcut-corner-0]", f"{x + 10}, {y + 1}")
        page.keyboard.press("Tab")
        page.focus("[data-key=offcut-handle-0]")
        page.keyboard.press("Shift+ArrowLeft")
        page.keyboard.press("ArrowUp")
        assert page.input_value("[data-key=offcut-corner-0]") == was
        assert _looked(page) == pytest.approx(right, rel=0.002)

        page.click("[data-key=offcut-away]")
        page.locator("[data-board=B1]").wait_for()
        assert page.locator("[data-key=offcut-picture]").count() == 0
        assert _asked(folder) == before

        page.click("[data-key=by-photo]")
        page.set_input_files("[data-key=offcut-photo]", tmp_path / "left.png")
        _looked(page)
        page.locator("[data-key=offcut-board]:focus").wait_for()
        page.keyboard.type("L1")
        _say(page, "thickness", "3 mm")
        _say(page, "mass", "6.5 g")
        with page.expect_response("**/api/1/offcuts/keep") as answer:
            page.keyboard.press("Enter")
        assert answer.value.ok
        page.locator("[data-board=L1]").wait_for()
        assert [board["name"] for board in settled(page)["boards"]] == ["B1", "B2", "L1"]
        undo_all(page)
        page.locator("[data-board=L1]").wait_for(state="detached")
        assert _asked(folder) == before


def _looked(page):
    """Have the board looked for, and return the area in mm² that the page then tells."""
    with page.expect_response("**/api/1/offcuts/describe") as answer:
        page.click("[data-key=offcut-look]")
    assert answer.value.ok
    told = page.locator("[data-key=offcut-told]")
    told.wait_for()
    return 100 * float(re.search(r"([\d.]+) cm²", told.inner_text())[1])


def _say(page, field, value):
    """Type what is known of the board, and wait for what follows from it."""
    page.fill(f"[data-key=offcut-{field}]", value)
    with page.expect_response("**/api/1/offcuts/describe") as answer:
        page.dispatch_event(f"[data-key=offcut-{field}]", "change")
    assert answer.value.ok, answer.value.text()


def _asked(folder):
    """Return the files that results are made from; those follow by themselves."""
    return {name: data for name, data in files_of(folder).items() if not name.startswith(("out/", "outlines/"))}
