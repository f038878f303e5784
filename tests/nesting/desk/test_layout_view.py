"""A layout whose job has changed stays, and tells which parts still lie well."""

import pytest

from nesting.desk.layouts import layout_view
from nesting.job.laid import Laid
from nesting.place.layout import BoardLayout, Layout, Placement, Proof
from nesting.place.layout_rules import NestRules
from nesting.place.proof import prove_layout
from nesting.wood.board import Board
from nesting.wood.part import Part
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import make_job
from tests.nesting.desk.test_browser import good_enough, opened_at, saved, settled
from vectorize.shapes.outline import Outline, Pose


def test_only_the_copies_that_a_fault_names_no_longer_hold():
    part = Part("rib", Outline.rectangle(0, 0, 20, 10), "balsa", 3.0, count=11)
    board = Board("B1", "balsa", 3.0, 500, 60)
    places = [Placement("rib", copy, Pose(10 + 40 * (copy - 1), 20)) for copy in range(1, 12)]
    places[0] = Placement("rib", 1, Pose(10 + 40 * 1 + 5, 20))  # over the second
    layouts = (BoardLayout("B1", tuple(places), 0.1, 450.0),)
    proof = prove_layout(layouts, [part], [board], NestRules())
    view = layout_view(Laid(Layout(layouts, (), proof), "", frozenset()), is_current=False)
    holding = {one["copy"]: one["holds"] for one in view["boards"][0]["placements"]}
    assert holding == {1: False, 2: False} | dict.fromkeys(range(3, 12), True)
    whole = layout_view(Laid(Layout(layouts, (), Proof((), 1.0)), "", frozenset()), is_current=True)
    assert all(one["holds"] for one in whole["boards"][0]["placements"])


@pytest.mark.slow
def test_parts_stay_on_their_boards_when_something_changes_grey_where_they_no_longer_fit(tmp_path):
    need_browser()
    with served(make_job(tmp_path / "job")) as (_, address), browser_page() as page:
        opened_at(page, address, "rack")
        page.click("[data-key=fit]")
        page.locator(".piece").first.wait_for()
        good_enough(page)
        on = settled(page)["layout"]["boards"][0]["name"]
        page.click(f"[data-key=board-{on}]")
        page.fill("[data-key=b-notes]", "kept dry")
        with saved(page):
            page.keyboard.press("Enter")
        assert page.locator("[data-part=plate]").count() == 1
        page.fill("[data-key=b-width]", "20")
        with saved(page):
            page.keyboard.press("Enter")
        page.locator("[data-part=plate].stale").wait_for()
        page.locator("text=no longer fits where it lies").wait_for()
        with saved(page):
            page.fill("[data-key=b-width]", "100")
            page.keyboard.press("Enter")
        page.locator("[data-part=plate]:not(.stale)").wait_for()
