"""Photograph the desk with the demonstration on it.

`python -m tests.nesting.desk.pictures` renews the pictures of the docs; `--every FOLDER` writes each view in light and
dark, at the size of a laptop and of a tablet, to look at.
"""

import argparse
import math
import tempfile
from pathlib import Path

from PIL import Image

from nesting.job.folder import open_job
from nesting.job.laying import Effort
from nesting.job.making import run_job
from nesting.job.new_job import copy_demo
from tests.nesting.desk.browser import browser_page, served
from tests.nesting.desk.test_browser import Sheet, settled

DOCS = Path("docs/pictures/desk")
VIEWS = ("plan", "parts", "rack", "weight", "patterns")
SIZES = {"laptop": (1366, 768), "tablet": (820, 1000)}
DOCS_SIZE = (1180, 720)
COLOURS = 128
STRETCH_PX = ((1223, 425), (1913, 413))
"""Close to two corners of the demonstration's fuselage, on its plan: those of the wing's seat."""


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--every", type=Path, metavar="FOLDER", help="write every view there, and leave the docs alone")
    parser.add_argument("--job", type=Path, help="a finished job to photograph; default the demonstration, run first")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        folder = options.job or finished_demo(Path(made) / "sedge")
        if options.every:
            options.every.mkdir(parents=True, exist_ok=True)
            every_view(folder, options.every)
        else:
            for_the_docs(folder)
            step_of_the_trainer(Path(made) / "teasel")
            what_the_plan_says(Path(made) / "kestrel")


def finished_demo(folder):
    copy_demo(folder)
    run_job(open_job(folder), effort=Effort(time_limit_s=20), is_forced=False, progress=print)
    return folder


def every_view(folder, target):
    for device, size in SIZES.items():
        with served(folder) as (_, address), browser_page(size=size) as page:
            page.goto(address)
            for scheme in ("light", "dark"):
                page.emulate_media(color_scheme=scheme)
                for view in VIEWS:
                    turn_to(page, view)
                    kept(page, target / f"{view}-{device}-{scheme}.png")


def for_the_docs(folder):
    with served(folder) as (_, address), browser_page(size=DOCS_SIZE) as page:
        page.goto(address)
        turn_to(page, "plan")
        chosen(page, "fuselage")
        kept(page, DOCS / "plan.png")
        page.check("[data-key=aim-boundary]")
        page.click("[aria-label=Closer]", click_count=2)
        for corner in corners_near(page, *STRETCH_PX):
            Sheet(page).click(*corner)
        page.mouse.move(5, 700)
        page.wait_for_timeout(1500)
        kept(page, DOCS / "boundary.png")
        page.click("[aria-label='Whole sheet']")
        page.check("[data-key=aim-measure]")
        pointed(page, first_known(page))
        kept(page, DOCS / "measure.png")
        for view in VIEWS[1:]:
            turn_to(page, view)
            kept(page, DOCS / f"{view}.png")
            if view == "weight":
                page.locator("section.balance").first.scroll_into_view_if_needed()
                kept(page, DOCS / "balance.png")
    with served(folder) as (_, address), browser_page(size=SIZES["tablet"]) as page:
        page.emulate_media(color_scheme="dark")
        page.goto(address)
        turn_to(page, "rack")
        kept(page, DOCS / "rack-dark.png")


def turn_to(page, view):
    """Open a view and wait until nothing runs and what it shows is there."""
    page.wait_for_selector("[data-key=undo]")
    page.evaluate("view => { location.hash = '#' + view }", view)
    page.wait_for_function("async () => { const s = await (await fetch('/api/1/state')).json(); return s.is_followed }")
    if view == "plan":
        page.locator("#sheet[aria-busy=false]").wait_for()
    for _ in range(2):  # what is shown may start something of its own
        page.wait_for_timeout(1500)
        page.wait_for_function("() => !document.querySelector('.running')")


def chosen(page, part):
    page.locator(f".pad button:has-text('{part}')").first.click()
    page.wait_for_timeout(800)


def what_the_plan_says(folder):
    """The demonstration's scan dropped on an empty desk."""
    copy_demo(folder / "demo")
    with served(folder) as (_, address), browser_page(size=DOCS_SIZE) as page:
        page.goto(address)
        page.set_input_files("input[type=file]", str(folder / "demo" / "plan.jpg"))
        page.locator("[data-key=says-take-all]").wait_for()
        turn_to(page, "plan")
        page.locator("[data-key=says-name-0]").hover()
        page.wait_for_timeout(800)
        kept(page, DOCS / "says.png")


def step_of_the_trainer(folder):
    """The form of a step, beside what else is done to a fuselage."""
    copy_demo(folder, name="teasel")
    with served(folder) as (_, address), browser_page(size=DOCS_SIZE) as page:
        page.goto(address)
        turn_to(page, "parts")
        page.locator("[data-key=making-fuselage] button[aria-label^='Change']").nth(1).click()
        page.locator("[data-key=step-form]").evaluate("form => form.scrollIntoView({ block: 'end' })")
        page.wait_for_timeout(800)
        kept(page, DOCS / "steps.png")


def first_known(page):
    """Where the first end of the first known length lies on the sheet, in pixels."""
    return settled(page)["plans"][0]["known"][0]["from"]


def corners_near(page, *places):
    """The points of the first part's edge that lie closest to these places, in pixels."""
    edge = settled(page)["parts"][0]["outline_px"][0]
    return [min(edge, key=lambda point: math.dist(point, place)) for place in places]


def pointed(page, place):
    page.mouse.move(*Sheet(page).place(*place))
    page.wait_for_timeout(1200)


def kept(page, target):
    page.screenshot(path=target)
    with Image.open(target) as picture:
        picture.convert("RGB").quantize(COLOURS).save(target, optimize=True)
    print(target)


if __name__ == "__main__":
    main()
