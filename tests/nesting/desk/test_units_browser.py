"""A job in inches in a real browser: what fields show and keep; a view that cannot be drawn says so."""

import pytest

from nesting.job.folder import open_job
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, make_job
from tests.nesting.desk.test_browser import saved, settled, view
from tests.nesting.desk.test_findings import BALANCE

pytestmark = pytest.mark.slow


def test_fields_of_a_job_in_inches_show_inches_and_ounces_and_keep_what_was_typed(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job", job=JOB + BALANCE)
    path = folder / "job.toml"
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        page.wait_for_selector("#stages a")
        settled(page)
        with saved(page):
            page.select_option("[data-key=units]", "in")

        view(page, "parts")
        assert page.input_value("[data-key='plate/thickness']") == "0.1181 in"
        page.fill("[data-key='plate/weighed']", "1/4 oz")
        with saved(page):
            page.keyboard.press("Enter")
        assert 'weighed = "1/4 oz"' in path.read_text(encoding="utf-8")

        view(page, "rack")
        page.click("[data-key=board-B1]")
        assert page.input_value("[data-key=b-length]") == "11.811 in"
        assert page.input_value("[data-key=b-mass]") == "0.3527 oz"
        page.fill("[data-key=b-width]", "3 1/2 in")
        with saved(page):
            page.keyboard.press("Enter")
        assert "300 mm,3 1/2 in,10.0 g" in (folder / "rack.csv").read_text(encoding="utf-8")

        # The end of the range that nobody touched is kept as it was.
        view(page, "weight")
        assert page.input_value("[data-key='w-plate/weighed']") == "0.25 oz"
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        assert page.input_value("[data-key=range-low]") == "0.7874 in"
        page.fill("[data-key=range-high]", "1 in")
        with saved(page):
            page.click("[data-key=range-keep]")
        assert 'range = ["20 mm", "1 in"]' in path.read_text(encoding="utf-8")
        assert open_job(folder).spec.balance.range == (("mm", 20.0), ("mm", 25.4))

        # An answer without what the view needs: one sentence there, and the other views work.
        def without_balance(route):
            answer = route.fetch()
            route.fulfill(response=answer, json=answer.json() | {"balance": None})

        page.route("**/api/1/state", without_balance)
        page.reload()
        page.locator("[data-key=undrawn]", has_text="This view could not be drawn").wait_for()
        view(page, "parts")
        page.locator("[data-key='plate/thickness']").wait_for()
        assert page.locator("[data-key=undrawn]").count() == 0
        page.unroute("**/api/1/state")
