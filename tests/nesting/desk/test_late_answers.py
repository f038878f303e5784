"""A busy machine: what the builder does while an answer is on its way is never undone by that answer."""

from contextlib import contextmanager

import pytest

from nesting.job.folder import open_job
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, make_job
from tests.nesting.desk.test_browser import Sheet, good_enough, opened_at, saved, settled
from tests.nesting.desk.test_chord import CHORD

pytestmark = pytest.mark.slow

HOLD_NEWS = """() => {
    const own = window.fetch;
    const gate = new Promise((open) => { window.letNewsIn = open; });
    window.fetch = async (place, ...more) => {
        if (String(place).endsWith("/state")) await gate;
        return own(place, ...more);
    };
    window.asBefore = () => { window.fetch = own; };
}"""


@contextmanager
def desk_at(tmp_path, view, *, job=JOB):
    need_browser()
    folder = make_job(tmp_path / "job", job=job)
    with served(folder) as (_, address), browser_page() as page:
        opened_at(page, address, view)
        yield page, folder


@contextmanager
def late_news(page):
    """Hold back how the job stands until the block ends, as a busy machine does; then let the page catch up."""
    page.evaluate(HOLD_NEWS)
    yield
    with page.expect_response("**/api/1/state"):
        page.evaluate("window.letNewsIn()")
    page.evaluate("window.asBefore()")
    page.wait_for_timeout(500)


SQUARE = """
[[part]]
name = "square"
plan = "sheet 1"
pick = [[440, 150]]
"""


def test_a_dropped_point_does_not_give_its_edge_to_the_part_that_is_chosen_meanwhile(tmp_path):
    with desk_at(tmp_path, "plan", job=JOB + SQUARE) as (page, folder):
        settled(page)
        page.click("[data-key=part-plate]")
        page.check("[data-key=aim-boundary]")
        sheet = Sheet(page)
        page.evaluate(HOLD_NEWS.replace('endsWith("/state")', 'includes("/snap")'))
        page.mouse.move(*sheet.place(340, 210))
        page.mouse.down()
        page.mouse.move(*sheet.place(330, 204), steps=4)
        page.mouse.up()
        page.evaluate("import('/static/store.js').then(({ choose }) => choose('part', 'square'))")
        page.evaluate("window.letNewsIn()")
        page.evaluate("window.asBefore()")
        page.wait_for_timeout(1500)
        assert not list((folder / "corrected").glob("*"))
        assert [part["size_mm"] for part in settled(page)["parts"]] == [
            pytest.approx((60, 30), abs=0.2),
            pytest.approx((30, 30), abs=0.2),
        ]


def answered(page, press):
    """Send something and wait for the answer, not for the news that follows it."""
    with page.expect_response("**/api/1/edit") as answer:
        press()
    assert answer.value.ok, answer.value.text()


def test_another_way_to_give_the_chord_stays_chosen(tmp_path):
    with desk_at(tmp_path, "weight", job=JOB + CHORD) as (page, folder):
        page.click("[data-key=stations]")
        page.click("[data-key=chord-drop-1]")
        with late_news(page):
            answered(page, lambda: page.click("[data-key=chord-keep]"))
            page.select_option("[data-key=chord-kind]", "itself")
            page.fill("[data-key=chord-length]", "70 mm")
        assert page.input_value("[data-key=chord-length]") == "70 mm"
        with saved(page):
            page.click("[data-key=chord-keep]")
        assert open_job(folder).spec.balance.chord.length == 70


NEXT_ENTRIES = {
    "put-item": ("stations", {"name": ("motor", "battery"), "mass": ("20 g", "20 g"), "station": ("10 mm", "10 mm")}),
    "finish": ("finishing", {"both": ("tissue", "dope"), "sanding": ("0.1 mm", "0.1 mm")}),
    "reading": ("readings", {"mass": ("20 g", "21 g"), "balance": ("10 mm", "10 mm")}),
}


@pytest.mark.parametrize("form", NEXT_ENTRIES)
def test_an_entry_that_is_begun_before_the_last_one_is_answered_is_kept(tmp_path, form):
    opener, fields = NEXT_ENTRIES[form]
    with desk_at(tmp_path, "weight") as (page, _):
        page.click(f"[data-key={opener}]")
        if page.locator(f"[data-key={form}-plate]").count():
            page.check(f"[data-key={form}-plate]")
        for name, (first, _) in fields.items():
            page.fill(f"[data-key={form}-{name}]", first)
        changed = [name for name, (first, then) in fields.items() if first != then]
        with late_news(page):
            answered(page, lambda: page.click(f"[data-key={form}-keep]"))
            for name in changed:
                page.fill(f"[data-key={form}-{name}]", fields[name][1])
        for name, (_, then) in fields.items():
            assert page.input_value(f"[data-key={form}-{name}]") == (then if name in changed else ""), name
        assert page.evaluate("document.activeElement.dataset.key") == f"{form}-{changed[-1]}"


def test_a_length_that_is_begun_anew_keeps_its_points(tmp_path):
    with desk_at(tmp_path, "plan") as (page, folder):
        sheet = Sheet(page)
        page.check("[data-key=aim-measure]")
        known = len(open_job(folder).spec.plan[0].known)
        for at in ((100, 90), (300, 90)):
            sheet.click(*at)
        page.fill("[data-key=known-length]", "50 mm")
        with late_news(page):
            answered(page, lambda: page.click("[data-key=known-keep]"))
            for at in ((100, 90), (100, 210)):
                sheet.click(*at)
            page.fill("[data-key=known-length]", "30 mm")
        assert page.input_value("[data-key=known-length]") == "30 mm"
        with saved(page):
            page.click("[data-key=known-keep]")
        assert len(open_job(folder).spec.plan[0].known) == known + 2


HOLD_EDITS = HOLD_NEWS.replace('endsWith("/state")', 'endsWith("/edit")')


def test_points_that_are_clicked_while_a_length_is_being_kept_are_those_of_the_next_one(tmp_path):
    with desk_at(tmp_path, "plan", job=JOB) as (page, folder):
        sheet = Sheet(page)
        page.check("[data-key=aim-measure]")
        for at in ((100, 90), (340, 90)):
            sheet.click(*at)
        page.fill("[data-key=known-length]", "60 mm")
        page.evaluate(HOLD_EDITS)
        page.keyboard.press("Enter")
        for at in ((100, 90), (100, 210)):
            sheet.click(*at)
        page.locator("[data-key=known-length]").wait_for()
        assert page.input_value("[data-key=known-length]") == ""
        page.keyboard.type("30 mm")
        with page.expect_response("**/api/1/edit"):
            page.evaluate("window.letNewsIn()")
        page.evaluate("window.asBefore()")
        settled(page)
        assert page.input_value("[data-key=known-length]") == "30 mm"
        with saved(page):
            page.keyboard.press("Enter")
        _, *kept = open_job(folder).spec.plan[0].known
        assert [(one.length, one.start[0], one.end[0]) for one in kept] == [
            (60.0, pytest.approx(100, abs=1), pytest.approx(340, abs=1)),
            (30.0, pytest.approx(100, abs=1), pytest.approx(100, abs=1)),
        ]


def test_a_length_that_is_refused_comes_back_with_its_points(tmp_path):
    with desk_at(tmp_path, "plan", job=JOB) as (page, folder):
        sheet = Sheet(page)
        page.check("[data-key=aim-measure]")
        for at in ((100, 90), (340, 90)):
            sheet.click(*at)
        page.fill("[data-key=known-length]", "sixty")
        with page.expect_response("**/api/1/edit"):
            page.keyboard.press("Enter")
        page.locator("[data-key=known-length]").wait_for()
        assert page.input_value("[data-key=known-length]") == "sixty"
        page.fill("[data-key=known-length]", "60 mm")
        with saved(page):
            page.keyboard.press("Enter")
        assert [one.length for one in open_job(folder).spec.plan[0].known] == [100.0, 60.0]


def test_a_piece_that_is_taken_up_again_stays_in_the_hand(tmp_path):
    with desk_at(tmp_path, "rack") as (page, _):
        page.click("[data-key=fit]")
        page.locator(".piece").first.wait_for()
        good_enough(page)
        settled(page)
        page.locator(".piece").first.focus()
        page.keyboard.press("Shift+ArrowRight")
        with late_news(page):
            answered(page, lambda: page.keyboard.press("Enter"))
            page.keyboard.press("Shift+ArrowRight")
        assert page.locator(".piece.held").count() == 1
        before = along(page)
        with saved(page):
            page.keyboard.press("Enter")
        assert along(page) == pytest.approx(before + 10)


def along(page):
    return settled(page)["layout"]["boards"][0]["placements"][0]["x_mm"]


def test_a_corner_that_is_moved_before_the_last_four_are_kept_stays_moved(tmp_path):
    with desk_at(tmp_path, "plan") as (page, folder):
        page.check("[data-key=aim-corners]")
        sheet = Sheet(page)
        for number, at in enumerate([(20, 20), (600, 20), (600, 420), (20, 420)]):
            sheet.click(*at)
            page.locator(f"[data-key=corner-move-{number}]").wait_for()
        page.fill("[data-key=sheet-size]", "A6")
        with late_news(page):
            answered(page, lambda: page.click("[data-key=corners-keep]"))
            page.click("[data-key=corner-move-0]")
            sheet.click(70, 60)
            page.locator("[data-key=corner-move-0][aria-pressed=false]").wait_for()
        settled(page)
        corners = open_job(folder).spec.plan[0].corners
        assert min(abs(x - 70) + abs(y - 60) for x, y in corners) < 12
        assert min(abs(x - 20) + abs(y - 20) for x, y in corners) > 20


HEAR_NEWS = """
window.EventSource = class extends EventSource {
    constructor(...place) { super(...place); window.news = this; }
};
"""


def test_shapes_that_waited_for_a_search_on_another_plan_are_found_though_that_one_failed(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job", job=JOB)
    with served(folder) as (_, address), browser_page() as page:
        page.add_init_script(HEAR_NEWS)
        page.route("**/regions", lambda route: route.fulfill(json={"regions": None, "is_searched": False}))
        opened_at(page, address, "plan")
        sheet = Sheet(page)
        page.check("[data-key=aim-pick]")
        page.mouse.move(*sheet.place(200, 150))
        page.unroute("**/regions")
        task = {"number": 99, "kind": "regions", "title": "", "state": "failed", "text": "no", "share": None}
        page.evaluate("(task) => news.dispatchEvent(new MessageEvent('task', { data: JSON.stringify(task) }))", task)
        page.locator("#readout", has_text="60.0 × 30.0 mm").wait_for()
