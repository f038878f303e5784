"""In a real browser: what the job takes with its cuts and cost, and a scan of a cut part with what to sand."""

import pytest

from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import make_job
from tests.nesting.desk.test_browser import settled, view
from tests.nesting.desk.test_cut_scans import scanned_plate
from tests.nesting.desk.test_shopping_view import STOCK

pytestmark = pytest.mark.slow


def test_the_stock_list_and_a_cut_part_are_shown(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job", job=STOCK)
    scan = tmp_path / "cut.png"
    scan.write_bytes(scanned_plate(folder))
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        page.wait_for_selector("#stages a")
        settled(page)
        view(page, "patterns")
        stock = page.locator("section[aria-label='Stock list']")
        words = stock.inner_text()
        for text in ("tissue", "spruce 6 x 3", "steel wire 2.0 mm", "Together 5.00 EUR", "spar 280.0 mm"):
            assert text in words
        assert stock.locator("ul li").count() == 2
        assert page.locator("[data-key=shopping-card]").count() == 1

        view(page, "weight")
        assert page.is_disabled("[data-key=as-cut-go]")
        page.set_input_files("[data-key=as-cut-file]", scan)
        page.click("[data-key=as-cut-go]")
        page.wait_for_selector("[data-key=as-cut-finding]")
        said = page.inner_text("[data-key=as-cut-finding]")
        assert "plate: 1 place to see to" in said
        assert "From B1 it should weigh" in said
        assert page.locator("[data-key=as-cut-finding] ul li").count() == 1
        assert "sand it down" in page.inner_text("[data-key=as-cut-finding] ul li")
        page.wait_for_function("document.querySelector('[data-key=as-cut-map]').naturalWidth > 0")
