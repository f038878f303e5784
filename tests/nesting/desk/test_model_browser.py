"""The model put together on the page: its pixels, with and without WebGL, and the file that is kept from it."""

import io

import numpy as np
import pytest
import trimesh
from axe_core_python.sync_playwright import Axe
from PIL import Image

from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, make_job
from tests.nesting.desk.test_browser import opened_at

pytestmark = pytest.mark.slow

WITHOUT_WEBGL = """
const given = HTMLCanvasElement.prototype.getContext;
HTMLCanvasElement.prototype.getContext = function (kind, ...rest) {
  return kind.startsWith("webgl") ? null : given.call(this, kind, ...rest);
};
"""


def wooden(page):
    """The share of the picture that has the tone of wood: clearly more red than blue."""
    with Image.open(io.BytesIO(page.locator("canvas.solids").screenshot())) as shown:
        picture = shown.convert("RGB")
    inside = np.asarray(picture, dtype=int)[8:-8, 8:-8]  # without its border
    red, _, blue = np.moveaxis(inside, 2, 0)
    return float(np.mean(red - blue > 30))


def drawn(page):
    page.wait_for_selector("[data-key=body-plate]")
    page.wait_for_timeout(300)
    return wooden(page)


def test_the_model_is_drawn_turned_taken_apart_and_kept(tmp_path):
    need_browser()
    with served(make_job(tmp_path / "job", job=JOB)) as (_, address), browser_page(size=(1280, 800)) as page:
        opened_at(page, address, "model")
        first = drawn(page)
        assert first > 0.02
        assert "plate lies beside the model" in page.inner_text(".on-stand")

        page.focus("canvas.solids")
        for _ in range(4):
            page.keyboard.press("ArrowUp")
        assert wooden(page) != first

        # Away with every part: nothing of wood is left; it comes back.
        boxes = page.locator(".on-stand input[type=checkbox]")
        for one in boxes.all():
            one.uncheck()
        assert wooden(page) < 0.001
        for one in boxes.all():
            one.check()
        assert wooden(page) > 0.02

        results = Axe().run(page)
        assert [(one["id"], [n["html"] for n in one["nodes"]]) for one in results["violations"]] == []

        with page.expect_download() as kept:
            page.click("[data-key=keep-glb]")
        scene = trimesh.load(kept.value.path(), file_type="glb")
        assert len(scene.geometry) > 0
        assert all(geometry.is_watertight for geometry in scene.geometry.values())
        with page.expect_download() as kept:
            page.click("[data-key=keep-picture]")
        with Image.open(kept.value.path()) as picture:
            assert picture.size[0] > 300

        # The same without WebGL, drawn by hand.
        page.add_init_script(WITHOUT_WEBGL)
        page.reload()
        assert drawn(page) > 0.02
