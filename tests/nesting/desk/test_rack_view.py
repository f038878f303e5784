"""The rack by touch: the same parts on two boards, one of them taken; a laid part turned and pinned by buttons."""

from pathlib import Path

import pytest
from PIL import Image

from nesting.job.folder import open_job
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import make_job
from tests.nesting.desk.test_browser import good_enough, saved, settled, state, undo_all, view
from tests.vectorize.test_leftover import photo

pytestmark = pytest.mark.slow

TOUCH_TARGET_PX = 44


def test_the_same_parts_lie_on_both_boards_and_a_laid_part_is_turned_by_buttons(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page(size=(820, 1180)) as page:
        page.goto(address)
        page.wait_for_selector("#stages a")
        settled(page)
        view(page, "rack")

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
        assert not state(page)["layout"]["boards"][0]["placements"][0]["pinned"]
        undo_all(page)
        assert open_job(folder).spec.part[0].board is None


def test_an_offcut_is_photographed_its_grain_clicked_and_undone(tmp_path):
    need_browser()
    axe = Path(pytest.importorskip("axe_core_python").__file__).parent / "axe.min.js"
    Image.fromarray(photo().grey).save(tmp_path / "left.png")
    with served(make_job(tmp_path / "job")) as (_, address), browser_page() as page:
        page.goto(address)
        page.wait_for_selector("#stages a")
        settled(page)
        view(page, "rack")
        page.click("[data-key=by-photo]")
        page.set_input_files("[data-key=offcut-photo]", tmp_path / "left.png")
        for field, value in {"board": "L1", "thickness": "3 mm", "mass": "6.5 g"}.items():
            page.fill(f"[data-key=offcut-{field}]", value)
        shown = page.locator("[data-key=offcut-picture]")
        box = shown.bounding_box()
        for share in (0.3, 0.7):
            shown.click(position={"x": share * box["width"], "y": 0.5 * box["height"]})
        shown.locator("line.along").wait_for(state="attached")  # a level line has no height to be seen by
        page.evaluate(axe.read_text(encoding="utf-8"))
        found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        assert [one["id"] for one in found["violations"] if one["impact"] in ("serious", "critical")] == []

        with page.expect_response("**/api/1/offcuts?**") as answer:
            page.click("[data-key=offcut-keep]")
        assert answer.value.ok
        page.locator("[data-board=L1]").wait_for()
        assert [board["name"] for board in state(page)["boards"]] == ["B1", "B2", "L1"]
        undo_all(page)
        page.locator("[data-board=L1]").wait_for(state="detached")
