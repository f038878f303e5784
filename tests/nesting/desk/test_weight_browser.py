"""Weight at the desk: the picture first, a plain verdict, names that do not cover each other on any page."""

import itertools

import pytest

from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, RACK, make_job
from tests.nesting.desk.test_browser import opened_at, saved, settled

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


NAMED = """
[[station]]
name = "axle"
station = "60 mm"
height = "-30 mm"
axle = true

[[station]]
name = "thrust line"
station = "0 mm"
height = "2 mm"
to = {station = "100 mm", height = "0 mm"}

[budget]
limit = "20 g"
target = "12 g"
"""


@pytest.mark.parametrize("size", [(1280, 800), (390, 844)])
def test_named_places_and_the_budget_say_what_the_report_says(tmp_path, size):
    need_browser()
    folder = make_job(tmp_path / "job", job=JOB + BALANCE + NAMED)
    with served(folder) as (_, address), browser_page(size=size) as page:
        opened_at(page, address, "weight")
        report = settled(page)["balance"]["report"]
        axle = next(one for one in report["stations"] if one["name"] == "axle")
        ahead = -axle["loadings"][-1]["from_balance_mm"]
        assert ahead > 0
        assert page.text_content("[data-key='named-axle'] text") == f"axle, {ahead:.1f} mm ahead"
        row = page.inner_text("[data-key=stations] tr:has(th:text-is('axle'))")
        assert f"{axle['loadings'][-1]['ahead_deg']:.1f}° ahead of it" in row
        assert "1.1° to the datum line" in page.inner_text("[data-key=stations] tr:has(th:text-is('thrust line'))")

        budget = report["budget"]
        assert page.inner_text("[data-key=budget] .left") == (
            f"{budget['free_to_limit_g']:.1f} g left to the limit of 20.0 g, "
            f"{budget['free_to_target_g']:.1f} g left to the target of 12.0 g."
        )
        assert boxes(page, "[data-key=budget]")[0]["y"] < boxes(page, ".beam")[0]["y"]
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")

        # As a part is weighed, what is left to spend follows.
        with saved(page):
            page.fill("[data-key='w-plate/weighed']", "5")
            page.press("[data-key='w-plate/weighed']", "Enter")
        now = settled(page)["balance"]["report"]["budget"]
        assert now["weighed_g"] == pytest.approx(5.0)
        assert now["free_to_limit_g"] < budget["free_to_limit_g"]
        assert f"{now['free_to_limit_g']:.1f} g left to the limit" in page.inner_text("[data-key=budget] .left")
        assert "5.0 g of it has been on the scale" in page.inner_text("[data-key=budget]")


ENGINE = """
[[balance.item]]
name = "engine"
mass = "0.05 g"
station = "30 mm"
"""


def shown_balance(page):
    """Where the knife edge stands by the picture, in mm, and the verdict above it."""
    return float(page.text_content(".beam .strong").removesuffix(" mm")), page.inner_text("[data-key=verdict]")


def test_equipment_and_ballast_are_taken_along_the_beam_and_the_balance_answers(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job", job=JOB + BALANCE + ENGINE)
    with served(folder) as (_, address), browser_page(size=(1280, 800)) as page:
        opened_at(page, address, "weight")
        before = settled(page)["balance"]["report"]
        engine = page.locator("[data-key=move-item-engine]")
        engine.scroll_into_view_if_needed()
        box = engine.locator("circle").bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        (reach, *_) = boxes(page, "[data-key=move-item-engine] .reach")
        assert min(reach["width"], reach["height"]) >= 24
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 120, y, steps=6)
        # The same as by hand: the moment of 0.05 g over the whole mass, before anything is kept.
        station = float(engine.get_attribute("aria-valuenow"))
        assert station > 35.0
        loading = before["loadings"][-1]
        by_hand = loading["balance_mm"] + 0.05 * (station - 30.0) / loading["mass_g"]
        shown, verdict = shown_balance(page)
        assert shown == pytest.approx(by_hand, abs=0.06)
        assert settled(page)["undo"] is None
        with saved(page):
            page.mouse.up()
        kept = settled(page)
        assert kept["balance"]["items"][0]["station_mm"] == pytest.approx(station, abs=0.06)
        assert kept["balance"]["report"]["loadings"][-1]["balance_mm"] == pytest.approx(by_hand, abs=0.06)
        page.wait_for_function("() => !document.querySelector('.running')")
        assert shown_balance(page)[1] == verdict

        # By keyboard: two steps and Enter are one edit; what the place then takes is what the report says.
        nose = page.locator("[data-key=move-ballast-nose]")
        nose.focus()
        page.keyboard.press("ArrowRight")
        page.keyboard.press("Shift+ArrowRight")
        assert nose.get_attribute("aria-valuetext") == "21.0 mm"
        told = nose.locator("text").text_content()
        with saved(page):
            page.keyboard.press("Enter")
        (ballast,) = settled(page)["balance"]["report"]["ballast"]
        assert ballast["station_mm"] == pytest.approx(21.0)
        assert told == f"nose: {ballast['least_g']:.1f} g"
        page.keyboard.press("ArrowLeft")
        page.keyboard.press("Escape")
        assert nose.get_attribute("aria-valuetext") == "21.0 mm"
        for _ in range(2):
            with page.expect_response("**/api/1/undo"):
                page.keyboard.press("Control+z")
        undone = settled(page)
        assert undone["undo"] is None
        assert undone["balance"]["items"][0]["station_mm"] == 30.0
