"""A builder's whole job at the desk, in a real browser, by mouse and keyboard."""

import contextlib
import json
import re
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest

from nesting.job.folder import open_job
from tests.nesting.desk.browser import PATIENCE_S, browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, PLATE_MM, PX_PER_MM, RACK, draw_plan, make_job

pytestmark = pytest.mark.slow

PRINT_DPI = 300
PRINT_TOL_MM = 0.3  # a quarter of a millimetre of pen and pixel on the plan, and one pixel of the rendering
# What the page itself has been told; on a busy machine that comes later than what a test asks for.
SHOWS = """async (revision) => {
    const { desk } = await import("/static/store.js");
    return desk.state?.revision === revision && desk.state.is_followed;
}"""
VIEWS = ("plan", "parts", "rack", "weight", "patterns")


def state(page):
    return page.evaluate("fetch('/api/1/state').then((answer) => answer.json())")


def view(page, name):
    """Open a view from the end of the one before, and wait until it is shown, from its top."""
    page.evaluate("document.getElementById('work').scrollTo(0, 9999)")
    page.click(f"[data-key=stage-{name}]")
    page.locator(f"[data-key=stage-{name}][aria-current=page]").wait_for()
    assert page.evaluate("document.getElementById('work').scrollTop") == 0


def opened_at(page, address, name):
    """Open the desk, wait until it has looked at the job, and go to a view."""
    page.goto(address)
    page.wait_for_selector("#stages a")
    settled(page)
    view(page, name)


def undo_all(page):
    """Take back every step by keyboard, each answered before the next is asked for."""
    while state(page)["undo"]:
        with page.expect_response("**/api/1/undo") as answer:
            page.keyboard.press("Control+z")
        assert answer.value.ok, answer.value.text()


def good_enough(page):
    """Press 'Good enough', unless the search has ended by itself, as that of a small job does quickly."""
    button = page.locator("[data-key=enough]")
    while button.count():
        with contextlib.suppress(need_browser().TimeoutError):
            button.click(timeout=2000)
            return


def settled(page, *, seconds=PATIENCE_S):
    """Wait until the job is followed, no task runs and the page shows it so, and return its state."""
    for _ in range(seconds * 5):
        found = state(page)
        is_at_rest = found.get("is_followed") and not any(task["state"] == "running" for task in found["tasks"])
        if is_at_rest and page.evaluate(SHOWS, found["revision"]):
            return found
        page.wait_for_timeout(200)
    raise AssertionError(f"the desk did not come to rest: {found}")


@contextmanager
def saved(page):
    """Wait until the change made within has been answered and followed."""
    with page.expect_response("**/api/1/edit"):
        yield
    settled(page)


class Sheet:
    """The plan on the screen: turns pixels of the scan into places to click."""

    def __init__(self, page):
        self.page = page
        page.locator("#sheet[aria-busy=false]").wait_for()
        self.box = page.locator("#sheet").bounding_box()
        (a, b), (c, d) = self._read(200, 150), self._read(400, 350)
        self.scale = ((c - a) / 200, (d - b) / 200)
        self.origin = (a - 200 * self.scale[0], b - 150 * self.scale[1])

    def _read(self, x, y):
        # Emptied first, so that what is read was said of this place.
        self.page.evaluate("document.getElementById('readout').textContent = ''")
        self.page.mouse.move(self.box["x"] + x, self.box["y"] + y)
        said = self.page.locator("#readout", has_text="pixel")
        said.wait_for()
        found = re.search(r"pixel (-?[\d.]+), (-?[\d.]+)", said.inner_text())
        return float(found[1]), float(found[2])

    def place(self, x, y):
        left = self.box["x"] + (x - self.origin[0]) / self.scale[0]
        return left, self.box["y"] + (y - self.origin[1]) / self.scale[1]

    def click(self, x, y):
        self.page.mouse.click(*self.place(x, y))

    def drag(self, start, end):
        """Hold the mouse down from one place to another, and give the answer to what that asked of the server."""
        self.page.mouse.move(*self.place(*start))
        self.page.mouse.down()
        self.page.mouse.move(*self.place(*end), steps=4)
        with self.page.expect_response("**/api/1/edit", timeout=30_000) as answer:
            self.page.mouse.up()
        return answer.value


def measured_mm(pdf: bytes):
    """Return the sizes in mm of every closed shape on the pages, from a rendering that shares no code with us."""
    sizes = []
    document = pypdfium2.PdfDocument(pdf)
    for page in document:
        grey = np.asarray(page.render(scale=PRINT_DPI / 72).to_pil().convert("L"))
        contours, _ = cv2.findContours((grey < 160).astype(np.uint8), cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
        sizes += [tuple(side * 25.4 / PRINT_DPI for side in cv2.boundingRect(contour)[2:]) for contour in contours]
    document.close()
    return sizes


def test_a_whole_job_from_a_dropped_scan_to_a_pattern_of_the_right_size(tmp_path):
    need_browser()
    scan = tmp_path / "my plan.png"
    draw_plan().save(scan)
    folder = tmp_path / "job"
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        page.set_input_files("input[type=file]", str(scan))
        page.locator("#sheet[aria-busy=false]").wait_for()
        settled(page)
        assert "guess" in page.inner_text(".pad") or "known" in page.inner_text(".pad")

        # A known length: two clicks near the ends of the 100 mm line; they snap to its ticks.
        page.check("[data-key=aim-measure]")
        sheet = Sheet(page)
        sheet.click(103, 377)
        page.locator("#spoken", has_text="First end set").wait_for()
        sheet.click(497, 383)
        page.fill("[data-key=known-length]", "100 mm")
        with saved(page):
            page.keyboard.press("Enter")
        known = open_job(folder).spec.plan[0].known[0]
        assert known.start == pytest.approx((100.0, 380.0), abs=0.6)
        assert known.end == pytest.approx((500.0, 380.0), abs=0.6)

        # Pick the plate.
        page.check("[data-key=aim-pick]")
        sheet.click(200, 150)
        page.fill("[data-key=part-name]", "plate <b>")
        with saved(page):
            page.click("[data-key=part-keep]")
        found = settled(page)
        assert found["parts"][0]["size_mm"] == pytest.approx(PLATE_MM, abs=0.2)

        # A rack, pasted as a spreadsheet gives it.
        view(page, "rack")
        page.click("[data-key=add-boards]")
        page.fill("[data-key=new-table]", RACK.replace(",", "\t"))
        with saved(page):
            page.click("[data-key=new-keep]")
        page.click("[data-key=fit]")
        page.locator(".piece").first.wait_for()
        good_enough(page)
        found = settled(page)
        assert found["layout"]["proved"]
        assert page.locator("text=plate <b>").count() >= 1

        # By keyboard: move the part along the board, leave it there.
        page.locator(".piece").first.focus()
        before = found["layout"]["boards"][0]["placements"][0]["x_mm"]
        page.keyboard.press("Shift+ArrowRight")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("Enter")
        page.locator(".piece.pinned").wait_for()
        found = settled(page)
        assert found["layout"]["boards"][0]["placements"][0]["x_mm"] == pytest.approx(before + 11)

        # The same numbers by command.
        done = subprocess.run(
            [sys.executable, "-m", "nesting", "weigh", str(folder), "--json"],
            capture_output=True, text=True, check=False, cwd=Path(__file__).parents[3],
        )  # fmt: skip
        by_command = json.loads(done.stdout)
        shown = {(row["part"], row["board"]): row["mass_g"] for row in found["weights"]["weights"]}
        assert {(row["part"], row["board"]): row["mass_g"] for row in by_command["weights"]} == shown

        # Patterns, one taken away and measured.
        view(page, "patterns")
        page.click("[data-key=draw]")
        with page.expect_download() as download:
            page.locator("a[data-key^='file-board-'][data-key$='.pdf']").first.click()
        sizes = measured_mm(Path(download.value.path()).read_bytes())
        assert any(
            abs(size[0] - PLATE_MM[0]) < PRINT_TOL_MM and abs(size[1] - PLATE_MM[1]) < PRINT_TOL_MM for size in sizes
        ), sorted(sizes)[-5:]

        # Undo the way back to the plan alone, by keyboard; a reload in between loses nothing.
        view(page, "weight")
        page.reload()
        page.wait_for_selector("[data-key=undo]")
        undo_all(page)
        spec = open_job(folder).spec
        assert (spec.part, spec.plan[0].known) == ((), ())


def test_an_edge_is_corrected_by_mouse_and_keys_and_steps_are_taken_back_and_made_again(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job")
    corrected = folder / "corrected" / "plate.json"
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        sheet = Sheet(page)
        settled(page)
        assert page.evaluate("document.scrollingElement.scrollWidth <= innerWidth")
        sheet.click(200, 150)
        page.check("[data-key=aim-boundary]")
        page.uncheck("[data-key=point-lands]")

        # The upper left corner 20 px up: 5 mm. The edge across the other one is refused in words.
        assert sheet.drag((100, 90), (100, 70)).ok
        height_mm = PLATE_MM[1] + 20 / PX_PER_MM
        assert settled(page)["parts"][0]["size_mm"] == pytest.approx((PLATE_MM[0], height_mm), abs=0.5)
        # What the page asks for next comes late, as on a busy machine: the edge is what it was at once.
        page.evaluate(
            "() => { const own = fetch; window.fetch = async (...asked) => {"
            " await new Promise((done) => setTimeout(done, 700)); return own(...asked); }; }"
        )
        refused = sheet.drag((100, 70), (220, 300))
        assert refused.status == 422
        page.locator(".slip.fault").wait_for()
        assert "crosses itself" in page.locator(".slip.fault").inner_text()

        # By keys: the corner is still the chosen one; taken in the hand, moved, put down.
        page.focus("#sheet")
        page.keyboard.press(".")
        page.keyboard.press(",")
        page.keyboard.press("Enter")
        page.keyboard.press("Shift+ArrowUp")
        with page.expect_response("**/api/1/edit") as put_down:
            page.keyboard.press("Enter")
        assert put_down.value.ok
        settled(page)
        by_keys = corrected.read_text(encoding="utf-8")

        undo_all(page)
        assert not corrected.exists()
        while state(page)["redo"]:
            with page.expect_response("**/api/1/redo") as answer:
                page.keyboard.press("Control+Shift+z")
            assert answer.value.ok
        assert corrected.read_text(encoding="utf-8") == by_keys


def test_two_tabs_and_an_editor_see_each_other(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        other = page.context.new_page()
        other.goto(page.url)
        other.wait_for_selector("[data-key=job-name]")

        page.fill("[data-key=job-name]", "From the first tab")
        page.keyboard.press("Tab")
        other.wait_for_selector("[data-key=undo]:enabled")
        assert other.input_value("[data-key=job-name]") == "From the first tab"

        path = folder / "job.toml"
        path.write_text(path.read_text(encoding="utf-8").replace("From the first tab", "By hand"), encoding="utf-8")
        for tab in (page, other):
            need_browser().expect(tab.locator("[data-key=job-name]")).to_have_value(
                "By hand", timeout=PATIENCE_S * 1000
            )

        page.click("[data-key=undo]")
        page.locator(".slip.fault").wait_for()
        assert "changed by someone else" in page.inner_text(".slip.fault")
        assert "By hand" in path.read_text(encoding="utf-8")


def test_no_view_has_a_serious_fault_of_access_in_light_or_dark(tmp_path):
    need_browser()
    axe = Path(pytest.importorskip("axe_core_python").__file__).parent / "axe.min.js"
    balance = '\n[balance]\nrange = ["80 mm", "90 mm"]\n[[balance.seat]]\npart = "plate"\nstation = "100 mm"\n'
    balance += '[[balance.item]]\nname = "engine"\nmass = "0.1 g"\nstation = "30 mm"\n'
    balance += '[[balance.ballast]]\nname = "nose"\nstation = "10 mm"\n[[station]]\nname = "hook"\nstation = "60 mm"\n'
    folder = make_job(tmp_path / "job", job=JOB + balance + '[budget]\nlimit = "9 g"\n')
    (tmp_path / "empty").mkdir()
    faults = []

    def check(page, where):
        page.evaluate(axe.read_text(encoding="utf-8"))
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            page.wait_for_function(f"matchMedia('(prefers-color-scheme: {scheme})').matches")
            found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
            note(f"{where} ({scheme})", found)

    def note(where, found):
        faults.extend(
            f"{where}: {one['id']} at {one['nodes'][0]['target']}: {one['nodes'][0]['failureSummary']}"
            for one in found["violations"]
            if one["impact"] in ("serious", "critical", "moderate")
        )

    with served(folder) as (_, address), browser_page() as page:
        opened_at(page, address, "rack")
        page.click("[data-key=fit]")
        page.locator(".piece").first.wait_for()
        good_enough(page)
        settled(page)
        view(page, "patterns")
        page.click("[data-key=draw]")
        page.locator(".page-picture").first.wait_for()
        settled(page)
        assert (folder / "out" / "bench-card.pdf").is_file()
        for name in VIEWS:
            view(page, name)
            for box in page.locator("summary").all():
                box.click()
            check(page, name)
        view(page, "rack")
        page.click("[data-key=board-B1]")
        page.locator("[data-key=drop-board]").wait_for()
        check(page, "a board")
        page.click("[data-key=add-boards]")
        page.locator("[data-key=new-keep]").wait_for()
        check(page, "adding boards")
    with served(tmp_path / "empty") as (_, address), browser_page() as page:
        page.goto(address)
        page.wait_for_selector("[data-key=demo]")
        check(page, "an empty folder")
    assert faults == []
