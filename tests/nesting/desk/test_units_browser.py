"""A job in inches in a real browser: what fields show and keep; a view that cannot be drawn says so."""

import re

import pytest

from nesting.job.folder import open_job
from nesting.job.rack_files import read_rack
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, make_job
from tests.nesting.desk.test_browser import saved, settled, undo_all, view
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


METRIC = re.compile(r"(?<![(\d.,])\d[\d.,]*\s*(?:mm|cm|g|kg/m[³3]|cm²)(?![\w/])|per mm")


def _metric(page):
    """Return what the open view says in metric units alone: words, what fields hold, and examples in empty ones."""
    said = page.evaluate("""() => {
        const all = (what) => [...document.querySelectorAll(`#work ${what}`)];
        all('details').forEach((one) => { one.open = true; });
        const fields = all(':is(input, textarea)').flatMap((one) => [one.value, one.placeholder]);
        const labels = all('[aria-label]').map((one) => one.getAttribute('aria-label'));
        return [document.getElementById('work').innerText, ...fields, ...labels];
    }""")
    # A length in both systems names the metric one in brackets.
    return [text for text in said for text in METRIC.findall(re.sub(r"\([^()]*\)", "", text))]


def test_every_length_mass_and_density_of_a_job_in_inches_is_in_inches_ounces_and_pounds(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job", job=JOB.replace('name = "Plate"', 'name = "Plate"\nunits = "in"') + BALANCE)
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        page.wait_for_selector("#stages a")
        settled(page)
        for name in ("plan", "parts", "rack", "weight", "patterns"):
            view(page, name)
            page.wait_for_timeout(200)
            assert _metric(page) == [], name
            assert re.search(r"\d in\b|\d oz\b|4 in", page.inner_text("#work")), name
        page.click("[data-key=stage-plan]")
        # 4 pixels a millimetre are 101.6 an inch.
        page.locator(".pad", has_text="101.6 px per in").wait_for()

        # Forms that open on demand: a new board, an offcut, a step, a carving.
        view(page, "rack")
        for key in ("add-boards", "by-photo"):
            page.click(f"[data-key={key}]")
            assert _metric(page) == [], key
        page.click("[data-key=by-photo]")
        view(page, "parts")
        page.click("[data-key='plate/add-step']")
        for make in ("bolts", "lighten", "scarf", "wing seat"):
            page.select_option("[data-key=step-make]", make)
            assert _metric(page) == [], make
        page.click("[data-key=step-leave]")
        page.click("[data-key='plate/add-carve']")
        assert _metric(page) == []
        page.click("[data-key=step-leave]")

        # What is typed is inches, too: a blemish by bare numbers, and a printer by its 4 in bars.
        view(page, "rack")
        page.click("[data-key=board-B1]")
        page.click("[data-key=flaws]")
        for key, value in {"x": "1", "y": "1/2 in", "w": "2", "t": "10 mm"}.items():
            page.fill(f"[data-key=flaw-{key}]", value)
        with saved(page):
            page.click("[data-key=flaw-keep]")
        flaw = read_rack(open_job(folder))[0].blemishes[0].outline
        assert flaw.bounds == pytest.approx((25.4, 12.7, 76.2, 22.7))
        page.fill("[data-key=flaw-x]", "far")
        page.click("[data-key=flaw-keep]")
        page.locator(".slip.fault", has_text="‘far’ is no length").wait_for()

        view(page, "patterns")
        page.click("[data-key=printer]")
        page.fill("[data-key=bar-across]", "3.97 in")
        page.fill("[data-key=bar-up]", "4 in")
        with saved(page):
            page.click("[data-key=bars-keep]")
        assert open_job(folder).spec.pattern.printer == pytest.approx((99.25, 100.0))
        page.locator("[data-key=printer-box]", has_text="4 in come out as 3.970 in across").wait_for()
        undo_all(page)
        assert open_job(folder).spec.pattern.printer == (100.0, 100.0)
        assert read_rack(open_job(folder))[0].blemishes == ()

        # The same views in millimetres show what is looked for.
        with saved(page):
            page.select_option("[data-key=units]", "mm")
        for name in ("plan", "parts", "rack", "weight", "patterns"):
            view(page, name)
            page.wait_for_timeout(200)
            assert _metric(page) != [], name
