"""Weight at the desk: the picture first, a plain verdict, names that do not cover each other on any page."""

import itertools

import pytest

from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, RACK, make_job
from tests.nesting.desk.test_browser import opened_at, settled

pytestmark = pytest.mark.slow

BALANCE = """
[balance]
range = ["80 mm", "90 mm"]

[[balance.seat]]
part = "plate"
station = "100 mm"

[[balance.ballast]]
name = "nose"
station = "10 mm"
"""
NEAR = "".join(f"soft {k},balsa,3 mm,3.0 mm,300 mm,100 mm,{10 + k / 10} g,mixed,0 mm,\n" for k in range(1, 5))


def boxes(page, selector):
    return [one.bounding_box() for one in page.locator(selector).all()]


@pytest.mark.parametrize("size", [(1280, 800), (1024, 768), (390, 844)])
def test_names_of_boards_stand_apart_and_nothing_is_cut_off(tmp_path, size):
    need_browser()
    folder = make_job(tmp_path / "job", job=JOB + BALANCE, rack=RACK + NEAR)
    with served(folder) as (_, address), browser_page(size=size) as page:
        opened_at(page, address, "weight")
        names = boxes(page, ".strip text")
        assert len(names) == 6
        for one, other in itertools.combinations(names, 2):
            is_apart = (
                one["x"] + one["width"] <= other["x"] + 1
                or other["x"] + other["width"] <= one["x"] + 1
                or abs(one["y"] - other["y"]) > 9
            )
            assert is_apart, (one, other)
        (strip,) = boxes(page, ".strip")
        assert all(strip["x"] - 1 <= one["x"] for one in names)
        assert all(one["x"] + one["width"] <= strip["x"] + strip["width"] + 1 for one in names)
        assert page.evaluate("(b => b.scrollWidth <= b.clientWidth + 1)(document.querySelector('.scroll'))")

        # The picture stands before the table, and says plainly what is the matter; the figures are the report's.
        assert boxes(page, ".beam")[0]["y"] < boxes(page, ".weights")[0]["y"]
        report = settled(page)["balance"]["report"]
        (nose,) = report["ballast"]
        off = report["loadings"][-1]["balance_mm"] - 90.0
        verdict = page.inner_text("[data-key=verdict]")
        assert verdict == f"Tail-heavy by {off:.1f} mm: {nose['least_g']:.1f} g at nose would do."
