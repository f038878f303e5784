"""The plan view in a real browser: photos, drawings, gaps, touch, and an accessibility check of every aim."""

import json
from contextlib import nullcontext
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from PIL import Image
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from fixtures.scanning import Truth
from nesting.desk.plan_view import scale_view
from nesting.job.folder import open_job
from nesting.job.plans import open_plans
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, PLATE_MM, draw_plan, make_job
from tests.nesting.desk.test_browser import Sheet, saved, settled, undo_all, view
from tests.vectorize.scale.test_lens import PHOTO_MM, photographed
from vectorize.scale.plan_scale import PlanScale

pytestmark = pytest.mark.slow

MAP_TOL_PX = 0.01  # two programs of one formula; the page is sent hundredths
CORNER_TOL_PX = 1.0  # a blurred edge of paper on a table
POINT_TOL_PX = 1.0  # what a mouse can aim at on a screen that shows the plan at about its own size


def photo_job(folder: Path) -> Truth:
    """Write a job with a photo that a lens bent, of a sheet of 140 × 110 mm on a dark table; return its truth."""
    page, truth = photographed(-0.03)
    folder.mkdir()
    Image.fromarray(page.grey).save(folder / "photo.png")
    (folder / "job.toml").write_text('[[plan]]\nname = "photo"\nfile = "photo.png"\n', encoding="utf-8")
    return truth


def scale_of(folder: Path) -> PlanScale:
    return next(iter(open_plans(open_job(folder)).values())).scale


def test_a_bent_photo_is_flattened_by_its_corners_and_an_edge_corrected_where_it_lies(tmp_path):
    need_browser()
    folder = tmp_path / "job"
    truth = photo_job(folder)
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        sheet = Sheet(page)
        settled(page)
        page.check("[data-key=aim-corners]")
        for count, (x, y) in enumerate(truth.corners_px, 1):
            # A few pixels off, as a hand is: the click lands on the corner of the paper.
            sheet.click(x + 3, y - 4)
            page.locator("[data-key=corners-form] li").nth(count - 1).wait_for()
        page.fill("[data-key=sheet-size]", "140 x 110 mm")
        with saved(page):
            page.keyboard.press("Enter")
        for marked, corner in zip(open_job(folder).spec.plan[0].corners, truth.corners_px, strict=True):
            assert np.hypot(*np.subtract(marked, corner)) < CORNER_TOL_PX
        scale = scale_of(folder)
        assert scale.lens is not None

        # The page's own map is the server's.
        places = [[60.0, 60.0], [399.0, 324.0], [700.5, 560.25]]
        told = page.evaluate(
            "async ([scale, places]) => { const g = await import('/static/geometry.js');"
            " return places.map((at) => [g.scaleToMm(scale, at), g.scaleFromMm(scale, g.scaleToMm(scale, at))]); }",
            [json.loads(json.dumps(scale_view(scale))), places],
        )
        assert np.array([mm for mm, _ in told]) == pytest.approx(scale.to_mm(places), abs=MAP_TOL_PX / scale.px_per_mm)
        assert np.array([px for _, px in told]) == pytest.approx(np.array(places), abs=MAP_TOL_PX)

        # Hovering says how large a shape is; a click takes it.
        page.check("[data-key=aim-pick]")
        inside = truth.picks["former"]
        page.mouse.move(*sheet.place(*inside))
        page.locator("#readout", has_text="edge 14").wait_for()  # 2 × (44 + 30) mm round
        sheet.click(*inside)
        page.fill("[data-key=part-name]", "former")
        with saved(page):
            page.click("[data-key=part-keep]")
        page.locator("[data-key=part-form]").wait_for(state="detached")
        former = settled(page)["parts"][0]
        assert former["size_mm"] == pytest.approx((44.0, 30.0), abs=PHOTO_MM)

        # A corner of its edge is dragged 12 px and lies where it was put.
        page.check("[data-key=aim-boundary]")
        page.uncheck("[data-key=point-lands]")
        corner = scale.to_px([(48.0, 28.0)])[0]
        assert sheet.drag(tuple(corner), (corner[0] - 12, corner[1] + 5)).ok
        settled(page)
        kept = json.loads((folder / "corrected" / "former.json").read_text(encoding="utf-8"))["outline"]["exterior"]
        points = scale.to_px([kept["start"], *(piece[:2] for piece in kept["pieces"])])
        away = np.hypot(*(points - (corner + np.array([-12, 5]))).T)
        assert away.min() < POINT_TOL_PX

        undo_all(page)
        assert open_job(folder).spec.plan[0].corners is None


def leaking_job(folder: Path) -> Path:
    """Write a job whose plate is open: 60 px, 15 mm of its upper edge are gone."""
    make_job(folder)
    scan = draw_plan()
    scan.paste(250, (180, 80, 240, 100))
    scan.save(folder / "plan.png")
    return folder


def test_how_a_sheet_is_read_is_set_beside_it(tmp_path):
    need_browser()
    folder = leaking_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        Sheet(page)
        assert settled(page)["parts"][0]["state"] == "not traced"
        page.click("[data-key=read]")
        assert page.input_value("[data-key=gap]") == "2 mm"
        with saved(page):
            page.fill("[data-key=gap]", "16 mm")
            page.keyboard.press("Enter")
        assert settled(page)["parts"][0]["state"] == "traced"
        with saved(page):
            page.uncheck("[data-key=flatten-skew]")
        with saved(page):
            page.check("[data-key=axes]")
        plan = open_job(folder).spec.plan[0]
        assert (plan.gap, plan.flatten, plan.axes) == (16.0, ("lens", "perspective"), "separate")

        page.click("[data-key=part-plate]")
        with saved(page):
            page.select_option("[data-key=part-line]", "dashed")
        assert open_job(folder).spec.part[0].line == "dashed"
        undo_all(page)
        assert (folder / "job.toml").read_text(encoding="utf-8") == JOB


def test_half_a_part_is_completed_by_two_clicks_on_its_centre_line_and_taken_back(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        sheet = Sheet(page)
        settled(page)
        page.check("[data-key=aim-half]")
        sheet.click(101, 110)
        page.locator(".slip.fault", has_text="Choose a part").wait_for()
        page.click("[data-key=part-plate]")
        page.locator("[data-key=show-part]").wait_for()
        sheet = Sheet(page)
        sheet.click(101, 110)
        page.locator("[data-key=half-again]").wait_for()
        with saved(page):
            sheet.click(101, 190)
        (one, other) = open_job(folder).spec.part[0].mirror
        assert (one[0], other[0]) == pytest.approx((100, 100), abs=POINT_TOL_PX)  # the plate's left edge
        (part,) = settled(page)["parts"]
        assert part["size_mm"] == pytest.approx((2 * PLATE_MM[0], PLATE_MM[1]), abs=0.5)

        page.locator("[data-key=half-box]", has_text="Half of plate is drawn").wait_for()
        with saved(page):
            page.click("[data-key=half-drop]")
        assert open_job(folder).spec.part[0].mirror is None
        undo_all(page)
        assert (folder / "job.toml").read_text(encoding="utf-8") == JOB


def test_a_gap_is_bridged_by_two_clicks_on_a_touch_screen_and_the_part_is_traced(tmp_path):
    need_browser()
    folder = leaking_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page(size=(820, 1180)) as page:
        page.goto(address)
        sheet = Sheet(page)
        assert settled(page)["parts"][0]["state"] == "not traced"

        touch = page.context.new_cdp_session(page)

        def fingers(kind, *places):
            at = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(places)]
            touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": at})

        def tap(x, y):
            fingers("touchStart", sheet.place(x, y))
            fingers("touchEnd")

        page.check("[data-key=aim-bridge]")
        tap(181, 90)
        page.locator("#spoken", has_text="First").wait_for()
        with saved(page):
            tap(239, 90)
        (bridge,) = open_job(folder).spec.plan[0].bridge
        assert bridge.start == pytest.approx((180, 90), abs=2.5)
        assert bridge.end == pytest.approx((239, 90), abs=2.5)
        assert settled(page)["parts"][0]["state"] == "traced"

        # Two fingers apart come closer to the plan; one finger moves it.
        page.check("[data-key=aim-look]")
        (x, y), before = sheet.place(300, 200), sheet.scale[0]
        fingers("touchStart", (x - 40, y), (x + 40, y))
        fingers("touchMove", (x - 80, y), (x + 80, y))
        fingers("touchEnd")
        closer = Sheet(page)
        assert closer.scale[0] == pytest.approx(before / 2, rel=0.02)
        fingers("touchStart", (x, y))
        fingers("touchMove", (x + 30, y + 20))
        fingers("touchMove", (x + 60, y + 40))
        fingers("touchEnd")
        moved = Sheet(page)
        assert np.subtract(closer.origin, moved.origin) == pytest.approx(
            (60 * closer.scale[0], 40 * closer.scale[1]), abs=1.0
        )
        undo_all(page)
        assert open_job(folder).spec.plan[0].bridge == ()


WATCH_THE_SHEET = """() => {
    window.places = new Set();
    const look = () => {
        const { x, y, width, height } = document.querySelector("#sheet").getBoundingClientRect();
        window.places.add([x, y, width, height].join(" "));
        window.ran ||= Boolean(document.querySelector(".running"));
        requestAnimationFrame(look);
    };
    look();
}"""


@pytest.mark.parametrize("size", [(1280, 800), (820, 1180), (414, 800), (640, 400)])
def test_the_sheet_stays_under_the_hand_whatever_runs_and_whatever_is_told(tmp_path, size):
    need_browser()
    with served(make_job(tmp_path / "job")) as (_, address), browser_page(size=size) as page:
        page.goto(address)
        page.locator("#sheet").wait_for()
        page.evaluate(WATCH_THE_SHEET)
        settled(page)
        with saved(page):
            page.fill("[data-key=job-name]", "a job of so long a name that no page has room for it beside what runs")
            page.keyboard.press("Enter")
        page.evaluate(
            "async () => { const { slip } = await import('/static/dom.js'); slip('This could not be done.', 'fault'); }"
        )
        page.locator("#slips .fault").wait_for()
        page.wait_for_function("window.ran")
        page.evaluate("() => new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)))")
        places = page.evaluate("[...window.places]")
        assert len(places) == 1, places


def test_no_aim_of_the_plan_and_no_form_of_a_part_has_a_serious_fault_of_access(tmp_path):
    need_browser()
    axe = Path(pytest.importorskip("axe_core_python").__file__).parent / "axe.min.js"
    folder = make_job(tmp_path / "job", job=JOB.replace('grain = "0 deg"\n', ""))
    faults = []

    def check(where):
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            page.wait_for_function(f"matchMedia('(prefers-color-scheme: {scheme})').matches")
            found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
            faults.extend(
                f"{where} ({scheme}): {one['id']} at {one['nodes'][0]['target']}: {one['nodes'][0]['failureSummary']}"
                for one in found["violations"]
                if one["impact"] in ("serious", "critical", "moderate")
            )

    with served(folder) as (_, address), browser_page(size=(1024, 768)) as page:
        page.goto(address)
        sheet = Sheet(page)
        settled(page)
        page.evaluate(axe.read_text(encoding="utf-8"))
        sheet.click(200, 150)
        page.locator("[data-key=show-part]").wait_for()
        # Each aim with its form or list as full as it becomes.
        clicks = {
            "measure": ([(100, 380), (500, 380)], "known-keep"),
            "corners": ([(20, 20), (600, 20), (600, 420), (20, 420)], "corners-keep"),
            "pick": ([(440, 150)], "part-keep"),
            "cutout": ([], "aim-cutout"),
            "bridge": ([(100, 90)], "bridge-box"),
            "half": ([(100, 90)], "half-again"),
            "boundary": ([(100, 90), (340, 90)], "stretch-straight"),
            "grain": ([], "grain-accept"),
        }
        assert {f"aim-{name}" for name in (*clicks, "look")} == set(
            page.locator("[data-key^=aim-]").evaluate_all("all => all.map((one) => one.dataset.key)")
        )
        for aim, (places, shown) in clicks.items():
            page.check(f"[data-key=aim-{aim}]")
            for place in places:
                with expect_snap(page, aim):
                    sheet.click(*place)
            page.locator(f"[data-key={shown}]").wait_for()
            check(aim)

        view(page, "parts")
        page.locator("[data-key='plate/accept']").wait_for()
        for key, make in (
            ("add-step", "wing seat"),
            ("add-step", "laminate"),
            ("add-carve", None),
            ("make-from", None),
        ):
            page.click(f"[data-key='plate/{key}']")
            if make:
                page.select_option("[data-key=step-make]", make)
            check(f"{key} {make}")
            page.click("[data-key=step-leave]")
    assert faults == []


def expect_snap(page, aim):
    """Wait until a click on the sheet was answered, where the aim asks the server for the line that is meant."""
    if aim in ("measure", "corners", "bridge", "half"):
        return page.expect_response(lambda answer: "/snap?" in answer.url)
    return nullcontext()


def drawings_job(folder: Path) -> None:
    """Write a job with a drawing of a 60 × 30 mm plate as SVG, as DXF with two layers, and on page 2 of a PDF."""
    folder.mkdir()
    box = '<path d="M10 10H70V40H10Z" fill="none" stroke="#000" stroke-width=".3"/>'
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">'
    (folder / "a.svg").write_text(f"{head}{box}</svg>", encoding="utf-8")
    drawing = ezdxf.new("R2010", units=4)
    drawing.modelspace().add_lwpolyline(
        [(10, 10), (70, 10), (70, 40), (10, 40)], close=True, dxfattribs={"layer": "cut"}
    )
    drawing.modelspace().add_line((40, 10), (40, 40), dxfattribs={"layer": "guide"})
    drawing.saveas(folder / "b.dxf")
    paper = Canvas(str(folder / "c.pdf"), pagesize=(100 * mm, 60 * mm))
    paper.drawString(20, 20, "nothing to cut here")
    paper.showPage()
    paper.setLineWidth(0.3 * mm)
    paper.rect(10 * mm, 20 * mm, 60 * mm, 30 * mm)
    paper.save()
    plans = ((name, f'[[plan]]\nname = "{name}"\nfile = "{name}"\nsize = "as drawn"\n') for name in DRAWINGS)
    (folder / "job.toml").write_text("".join(text for _, text in plans), encoding="utf-8")


DRAWINGS = ("a.svg", "b.dxf", "c.pdf")


def test_drawings_are_plans_with_pages_and_layers_and_a_part_of_each_has_the_drawn_size(tmp_path):
    need_browser()
    folder = tmp_path / "job"
    drawings_job(folder)
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        settled(page)
        for number, name in enumerate(DRAWINGS):
            page.click(f"[data-key=sheet-{number}]")
            if name != "c.pdf":
                page.locator("#sheet[aria-busy=false]").wait_for()
            if name == "b.dxf":
                # With the guide the plate is two shapes; without it one.
                page.click("[data-key=layers]")
                with saved(page):
                    page.click("[data-key=layer-guide]")
                assert open_job(folder).spec.plan[1].layers == ("cut",)
            if name == "c.pdf":
                # The first page has nothing on it: that is said, and another one can be chosen.
                page.locator(".pad .fault", has_text="page 1 holds neither lines nor pictures").wait_for()
                with saved(page):
                    page.select_option("[data-key=page]", "2")
                page.locator("#sheet[aria-busy=false]").wait_for()
                assert open_job(folder).spec.plan[2].page == 2
            page.check("[data-key=aim-pick]")
            place = page.locator("#sheet").bounding_box()
            page.mouse.move(place["x"] + 0.4 * place["width"], place["y"] + 0.5 * place["height"])
            page.locator("#readout", has_text="60.0 × 30.0 mm").wait_for()
            page.mouse.click(place["x"] + 0.4 * place["width"], place["y"] + 0.5 * place["height"])
            page.fill("[data-key=part-name]", f"plate {number}")
            with saved(page):
                page.click("[data-key=part-keep]")
            page.locator("[data-key=part-form]").wait_for(state="detached")
        parts = settled(page)["parts"]
        assert [part["plan"] for part in parts] == list(DRAWINGS)
        for part in parts:
            assert part["size_mm"] == pytest.approx((60.0, 30.0), abs=0.01)
        undo_all(page)
        spec = open_job(folder).spec
        assert (spec.part, spec.plan[1].layers, spec.plan[2].page) == ((), None, 1)
