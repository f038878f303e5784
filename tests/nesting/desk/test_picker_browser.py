"""A point picked on the plan from a form, by mouse and by keyboard; messages on a page at 200 % leave room for work."""

import re

import pytest

from nesting.job.folder import open_job
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import make_job
from tests.nesting.desk.test_browser import opened_at, saved, undo_all

pytestmark = pytest.mark.slow

WHAT_HIDES = """(key) => {
    const field = document.querySelector(`[data-key='${key}']`).getBoundingClientRect();
    const strip = document.getElementById("stages").getBoundingClientRect();
    const covers = (told) =>
        told.left < field.right && told.right > field.left && told.top < field.bottom && told.bottom > field.top;
    const told = [...document.querySelectorAll(".refusal")].map((one) => one.getBoundingClientRect());
    return {
        "under the strip": strip.bottom > field.top,
        "below the window": field.bottom > innerHeight,
        "under a refusal": told.some(covers),
    };
}"""
"""What hides a field: the strip of the stages, the end of the window, a refusal."""

SMALL = (640, 400)  # a laptop of 1280 x 800 at 200 %
LEFT_SIDE_PX = 100.0  # where the plan of the test job has the left side of its plate
PEN_TOL_PX = 1.5  # half of its pen line
FIELD = "[data-key=field-at-0]"


def _parts(page, address):
    opened_at(page, address, "parts")


def _hole(page):
    page.click("[data-key='plate/add-step']")
    page.select_option("[data-key=step-make]", "hole")
    page.fill("[data-key=field-diameter]", "3 mm")


def sheet_of_picker(page):
    """Wait until the sheet of the open picker is drawn; return its box on the page."""
    sheet = page.locator(".picker-sheet")
    sheet.wait_for()
    page.wait_for_function(
        """() => {
            const sheet = document.querySelector('.picker-sheet');
            const pixels = sheet.getContext('2d').getImageData(0, 0, sheet.width, sheet.height).data;
            for (let k = 0; k < pixels.length; k += 4) if (pixels[k] + pixels[k + 1] + pixels[k + 2] < 150) return true;
            return false;
        }"""
    )
    return sheet.bounding_box()


def _read(page):
    found = re.search(r"pixel (-?[\d.]+), (-?[\d.]+)", page.inner_text(".picker .pencil"))
    return float(found[1]), float(found[2])


def _picked(page):
    found = re.search(r"pixel (\d+), (\d+)", page.inner_text(FIELD))
    return float(found[1]), float(found[2])


def place_in_picker(page, box, wanted):
    """Move the mouse to a pixel of the plan, found by what two places on the screen are read as."""
    places = []
    for share in (0.3, 0.7):
        at = box["x"] + share * box["width"], box["y"] + share * box["height"]
        page.mouse.move(*at)
        page.wait_for_timeout(50)
        places.append((at, _read(page)))
    (one, first), (other, second) = places
    scale = [(second[k] - first[k]) / (other[k] - one[k]) for k in (0, 1)]
    at = [one[k] + (wanted[k] - first[k]) / scale[k] for k in (0, 1)]
    page.mouse.move(*at)
    return at


@pytest.mark.parametrize("size", [(1366, 768), SMALL])
def test_a_point_is_picked_by_mouse_then_by_keyboard_and_left_by_escape(tmp_path, size):
    need_browser()
    folder = make_job(tmp_path / "job")
    before = (folder / "job.toml").read_text(encoding="utf-8")
    with served(folder) as (_, address), browser_page(size=size) as page:
        _parts(page, address)
        _hole(page)

        # By mouse: a click beside the left side of the plate lands on the middle of its line.
        page.click("[data-key=field-at-0-pick]")
        at = place_in_picker(page, sheet_of_picker(page), (LEFT_SIDE_PX + 3, 150))
        page.mouse.click(*at)
        page.locator(".picker").wait_for(state="detached")
        x, y = _picked(page)
        assert x == pytest.approx(LEFT_SIDE_PX, abs=PEN_TOL_PX)
        assert y == pytest.approx(150, abs=3)
        assert page.evaluate("document.activeElement.dataset.key") == "field-at-0-pick"

        # By keyboard: it opens where the point was; the aim starts in the middle and follows the arrows.
        page.keyboard.press("Enter")
        page.locator(".picker-sheet:focus").wait_for()
        page.wait_for_timeout(300)
        page.keyboard.press("ArrowRight")
        start = _read(page)
        assert start == pytest.approx((x, y), abs=6)
        page.keyboard.press("-")
        for _ in range(4):
            page.keyboard.press("Shift+ArrowRight")
        aimed = _read(page)
        assert aimed[0] > start[0] + 10
        page.keyboard.press("Enter")
        page.locator(".picker").wait_for(state="detached")
        # Nothing is drawn there to land on, so it is where it was aimed at.
        assert _picked(page) == pytest.approx(aimed, abs=1)

        # Escape leaves the point and the keyboard where they were.
        kept = _picked(page)
        page.keyboard.press("Enter")
        page.locator(".picker-sheet:focus").wait_for()
        page.keyboard.press("ArrowUp")
        page.keyboard.press("Escape")
        page.locator(".picker").wait_for(state="detached")
        assert _picked(page) == kept
        assert page.evaluate("document.activeElement.dataset.key") == "field-at-0-pick"

        with saved(page):
            page.click("[data-key=step-keep]")
        ((hole_x, hole_y),) = open_job(folder).spec.part[0].step[0].at
        assert (hole_x, hole_y) == pytest.approx(kept, abs=1)
        undo_all(page)
        assert (folder / "job.toml").read_text(encoding="utf-8") == before


def test_refusals_on_a_small_page_stand_at_their_fields_and_cover_none(tmp_path):
    need_browser()
    with served(make_job(tmp_path / "job")) as (_, address), browser_page(size=SMALL) as page:
        _parts(page, address)
        for number, key in enumerate(("plate/thickness", "plate/grain", "plate/tolerance", "plate/weighed")):
            page.fill(f"[data-key='{key}']", "no length, no angle and no mass at all")
            with page.expect_response("**/api/1/edit") as answer:
                page.keyboard.press("Enter")
            assert answer.value.status == 422
            page.wait_for_function("(count) => document.querySelectorAll('.refusal').length === count", arg=number + 1)
            hides = page.evaluate(WHAT_HIDES, key)
            assert not any(hides.values()), hides
        assert page.locator("#slips .fault").count() == 0


def test_what_is_typed_beside_a_refusal_stays_in_its_field_when_the_view_is_drawn_anew(tmp_path):
    need_browser()
    with served(make_job(tmp_path / "job")) as (_, address), browser_page() as page:
        _parts(page, address)
        page.fill("[data-key='plate/thickness']", "no length")
        page.keyboard.press("Enter")
        page.locator(".refusal").wait_for()
        page.focus("[data-key='plate/weighed']")
        page.keyboard.type("12")
        # Another edit, as from a second window, has the view drawn anew.
        page.evaluate(
            """() => fetch("/api/1/edit", {
                method: "POST", headers: { "Content-Type": "application/json" },
                body: JSON.stringify({ kind: "set", at: ["part", "plate", "count"], value: 3 }),
            })"""
        )
        page.wait_for_function("() => document.querySelector(`[data-key='plate/count']`).value === '3'")
        page.keyboard.type("34")
        assert page.input_value("[data-key='plate/weighed']") == "1234"
        assert page.evaluate("document.activeElement.dataset.key") == "plate/weighed"
        assert page.locator(".refusal").count() == 1


def test_messages_on_a_small_page_show_one_at_a_time_and_leave_the_sheet_to_be_seen(tmp_path):
    need_browser()
    with served(make_job(tmp_path / "job")) as (_, address), browser_page(size=SMALL) as page:
        opened_at(page, address, "plan")
        page.locator("#sheet[aria-busy=false]").wait_for()
        page.check("[data-key=aim-half]")
        page.locator("#sheet").scroll_into_view_if_needed()
        box = page.locator("#sheet").bounding_box()
        for count in (1, 2, 3):
            page.mouse.click(box["x"] + box["width"] / 2, box["y"] + 60)  # a part is to be chosen first
            page.wait_for_function("(count) => document.querySelectorAll('#slips .fault').length === count", arg=count)
        # The newest shows, and the one before it once that is put away.
        assert page.locator("#slips .fault:visible").count() == 1
        assert page.locator("#slips").bounding_box()["height"] < SMALL[1] / 2
        page.locator("#slips .fault:visible button").click()
        assert page.locator("#slips .fault").count() == 2
        assert page.locator("#slips .fault:visible").count() == 1

        # The sheet stays to be seen and to be clicked above them.
        shown, slips = page.locator("#sheet").bounding_box(), page.locator("#slips").bounding_box()
        assert slips["y"] - shown["y"] > SMALL[1] / 3
        hit = page.evaluate(
            "([x, y]) => document.elementFromPoint(x, y).id", [shown["x"] + shown["width"] / 2, slips["y"] - 10]
        )
        assert hit == "sheet"
