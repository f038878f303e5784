"""'What the plan says', used as a builder does: by mouse, by keyboard, taken back, corrected, left out."""

import json
import re
import shutil
import tomllib
from contextlib import contextmanager
from pathlib import Path

import pytest

from nesting.job.drafting import draft_new_job
from nesting.job.folder import open_job
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.conftest import ORIGIN, finished, open_desk
from tests.nesting.desk.jobs import make_job
from tests.nesting.desk.lettered import save_scan
from tests.nesting.desk.test_browser import Sheet, opened_at, saved, settled, undo_all

pytestmark = pytest.mark.slow

FIN, R3, GUSSET = "FIN", "R3", "GUSSET"


@pytest.fixture(scope="module")
def scan(tmp_path_factory):
    return save_scan(tmp_path_factory.mktemp("scan") / "plan.png")


@pytest.fixture(scope="module")
def read(tmp_path_factory, scan):
    """Return a job whose plan was read, to be copied."""
    desk = open_desk(tmp_path_factory.mktemp("read"))
    desk.client.post("/api/1/plans?name=plan.png", content=scan.read_bytes(), headers=ORIGIN)
    assert finished(desk.workshop, "read")["state"] == "done"
    desk.workshop.close()
    return desk.folder


@contextmanager
def dropped(tmp_path, scan):
    """Drop a scan on an empty desk, and give the page once what the plan says is shown, and the folder."""
    need_browser()
    folder = tmp_path / "job"
    folder.mkdir()
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        page.set_input_files("input[type=file]", str(scan))
        page.locator(".says-row, [data-key=says-nothing]").first.wait_for()
        settled(page)
        yield page, folder


@contextmanager
def opened(tmp_path, read, *, size=(1366, 768)):
    """Open the desk on a copy of a job whose plan was read, and give the page and the folder."""
    need_browser()
    folder = shutil.copytree(read, tmp_path / "job")
    with served(folder) as (_, address), browser_page(size=size) as page:
        page.goto(address)
        page.locator(".says-row").first.wait_for()
        settled(page)
        yield page, folder


def row(page, name):
    return page.locator(".says-row", has=page.locator(f"[aria-label='Take {name}']"))


def rows(page):
    return {one.get_attribute("aria-label") for one in page.locator("[data-key^=says-form-]").all()}


def written(folder):
    return tomllib.loads((folder / "job.toml").read_text(encoding="utf-8"))


def without_plan(parts):
    return [{key: value for key, value in part.items() if key != "plan"} for part in parts]


def test_all_that_is_sure_is_taken_with_one_click_as_the_command_writes_it(tmp_path, scan):
    drafted = written(draft_new_job(tmp_path / "drafted", plan=scan).path.parent)
    with dropped(tmp_path, scan) as (page, folder):
        assert rows(page) == {FIN, R3, GUSSET}
        before = (folder / "job.toml").read_bytes()
        assert "the scale and 2 parts" in page.inner_text("[data-key=says-take-all]")
        with saved(page):
            page.click("[data-key=says-take-all]")
        job = written(folder)
        assert without_plan(job["part"]) == [part for part in drafted["part"] if part["name"] != GUSSET]
        assert job["plan"][0]["known"] == drafted["plan"][0]["known"]
        assert rows(page) == {GUSSET}
        assert not page.locator("[data-key=says-scale]").count()
        page.keyboard.press("Control+z")
        need_browser().expect(page.locator("[data-key=says-take-all]")).to_be_visible()
        settled(page)
        assert (folder / "job.toml").read_bytes() == before
        assert rows(page) == {FIN, R3, GUSSET}
        page.click("[data-key=redo]")
        need_browser().expect(page.locator("[data-key=says-take-all]")).to_have_count(0)
        assert written(folder) == job


def test_a_doubtful_value_is_put_in_with_a_click_and_a_wrong_one_corrected(tmp_path, read):
    with opened(tmp_path, read) as (page, folder):
        gusset = row(page, GUSSET)
        assert gusset.locator("[name=thickness]").input_value() == ""
        gusset.locator("button", has_text="2.7 mm").click()
        assert gusset.locator("[name=thickness]").input_value() == "2.7 mm"
        gusset.locator("[name=count]").fill("3")
        with saved(page):
            gusset.locator("button[type=submit]").click()
        fin = row(page, FIN)
        fin.locator("[name=name]").fill("rudder")
        fin.locator("[name=thickness]").fill("1/16 in")
        with saved(page):
            page.click("[data-key=says-take-all]")
        parts = {part["name"]: part for part in written(folder)["part"]}
        assert (parts[GUSSET]["thickness"], parts[GUSSET]["count"]) == ("2.7 mm", 3)
        assert parts["rudder"]["thickness"] == "1/16 in"
        assert set(parts) == {GUSSET, "rudder", R3}
        need_browser().expect(page.locator("[data-key=says-all-done]")).to_contain_text("all taken or left out")


def test_every_row_is_done_by_keyboard_alone(tmp_path, read):
    with opened(tmp_path, read) as (page, folder):
        row(page, FIN).locator("[name=name]").focus()
        for _ in range(4):
            page.keyboard.press("Tab")
        assert "Take FIN" in focused(page)
        with saved(page):
            page.keyboard.press("Enter")
        page.wait_for_function("document.activeElement.textContent === 'Take it'")
        assert "Take R3" in focused(page)
        page.keyboard.press("Tab")
        with saved(page):
            page.keyboard.press("Enter")
        need_browser().expect(row(page, R3)).to_have_count(0)
        row(page, GUSSET).locator("[name=count]").focus()
        page.keyboard.type("7")
        with saved(page):
            page.keyboard.press("Enter")
        assert [part.name for part in open_job(folder).spec.part] == [FIN, GUSSET]
        assert not rows(page)
        page.locator("[data-key=says-bring-back]").focus()
        with saved(page):
            page.keyboard.press("Enter")
        need_browser().expect(row(page, R3)).to_have_count(1)
        undo_all(page)
        need_browser().expect(page.locator("[data-key^=says-form-]")).to_have_count(3)


def focused(page):
    return page.evaluate("document.activeElement.getAttribute('aria-label') ?? ''")


def test_only_lengths_that_are_ticked_are_taken_and_the_scale_can_be_left_out(tmp_path, read):
    with opened(tmp_path, read) as (page, folder):
        page.click("[data-key=says-leave-scale]")
        need_browser().expect(page.locator("[data-key=says-scale]")).to_have_count(0)
        assert "the scale" not in page.inner_text("[data-key=says-take-all]")
        page.keyboard.press("Control+z")
        page.click("[data-key=says-lengths]")
        page.uncheck("[data-key=says-length-tick-0]")
        field = page.locator("[data-key=says-length-field-1]")
        field.fill(re.sub(r"mm", "millimetres", field.input_value()))
        page.click("[data-key=says-take-scale]")
        page.locator(".refusal").first.wait_for()
        field.fill(field.input_value().replace("millimetres", "mm"))
        with saved(page):
            page.click("[data-key=says-take-scale]")
        assert len(open_job(folder).spec.plan[0].known) == 3


def test_a_click_on_the_sheet_brings_the_row_of_the_part_that_was_read_there(tmp_path, read):
    with opened(tmp_path, read) as (page, _):
        sheet = Sheet(page)
        sheet.click(550, 260)
        assert focused(page) == "Take FIN"


def test_the_same_name_on_a_second_sheet_gets_a_number(tmp_path, read):
    with opened(tmp_path, read) as (page, folder):
        with saved(page):
            page.click("[data-key=says-take-all]")
        page.set_input_files("input[type=file]", str(save_scan(tmp_path / "second.png")))
        page.locator("[data-key=says-take-all]").wait_for()
        settled(page)
        page.locator("[data-key=sheet-1][aria-pressed=true]").wait_for()
        with saved(page):
            page.click("[data-key=says-take-all]")
        parts = {part.name: part.plan for part in open_job(folder).spec.part}
        assert parts == {FIN: "sheet 1", R3: "sheet 1", "FIN (2)": "sheet 2", "R3 (2)": "sheet 2"}


def test_a_sheet_that_says_nothing_is_told_in_plain_words(tmp_path, scan):
    blank = save_scan(tmp_path / "blank.png", faint=True)
    with dropped(tmp_path, blank) as (page, _):
        assert "Nothing was read" in page.inner_text("[data-key=says-nothing]")
        assert page.locator("[data-key=says-read]").is_visible()


def test_reading_that_was_stopped_or_failed_is_told_and_can_be_begun_again(tmp_path, scan):
    need_browser()
    folder = tmp_path / "job"
    folder.mkdir()
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        page.set_input_files("input[type=file]", str(scan))
        page.click("[data-key=says-stop]")
        page.locator("[data-key=says]", has_text="Reading was stopped").wait_for()
        page.click("[data-key=says-read]")
        page.locator("[data-key=says-take-all]").wait_for()


def test_a_sheet_that_was_begun_by_hand_is_read_only_where_that_is_asked_for(tmp_path):
    need_browser()
    with served(make_job(tmp_path / "job")) as (_, address), browser_page() as page:
        opened_at(page, address, "plan")
        assert not page.locator("[data-key=says]").count()
        page.click("[data-key=read]")
        page.click("[data-key=says-read]")
        page.locator("[data-key=says-nothing]").wait_for()


def test_rows_have_no_serious_fault_of_access_in_light_or_dark(tmp_path, read):
    axe = Path(pytest.importorskip("axe_core_python").__file__).parent / "axe.min.js"
    with opened(tmp_path, read) as (page, _):
        page.click("[data-key=says-lengths]")
        page.evaluate(axe.read_text(encoding="utf-8"))
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            page.wait_for_function(f"matchMedia('(prefers-color-scheme: {scheme})').matches")
            found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
            faults = [one for one in found["violations"] if one["impact"] in ("serious", "critical", "moderate")]
            assert faults == []


@pytest.mark.parametrize("width", [1024, 390])
def test_no_row_is_wider_than_its_place(tmp_path, read, width):
    with opened(tmp_path, read, size=(width, 800)) as (page, _):
        page.click("[data-key=says-lengths]")
        pad = page.locator(".pad")
        assert pad.evaluate("pad => pad.scrollWidth - pad.clientWidth") == 0


def test_lettering_is_never_markup_and_a_line_without_end_makes_nothing_wider(tmp_path, read):
    need_browser()
    folder = shutil.copytree(read, tmp_path / "job")
    (kept,) = (folder / ".desk").glob("reading-*.json")
    hostile = "<img src=x onerror='window.hit=1'><script>window.hit=1</script>\u202e\x07" + "W" * 10_000
    reading = json.loads(kept.read_text(encoding="utf-8"))
    says = reading["says"]
    for part in says["parts"]:
        part["table"]["name"] = hostile
        for key in ("name", "material", "thickness", "count"):
            part[key] = {"value": hostile, "sure": 0.5, "is_accepted": False, "written": hostile, "others": []}
    for length in says["lengths"]:
        length |= {"written": hostile, "length": hostile}
    says |= {"drawn_size": hostile, "why": hostile, "is_scale_sure": False}
    kept.write_text(json.dumps(reading), encoding="utf-8")
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        page.locator(".says-row").first.wait_for()
        settled(page)
        assert "<img src=x" in page.inner_text("[data-key=says]")
        assert page.locator(".says script, .says img[src=x]").count() == 0
        assert page.evaluate("window.hit ?? null") is None
        pad = page.locator(".pad")
        assert pad.evaluate("pad => pad.scrollWidth - pad.clientWidth") == 0
