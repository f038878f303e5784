"""Springy panels and fuselages as built at the desk: the figures of the commands, by the same functions."""

import pytest
from axe_core_python.sync_playwright import Axe

from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.conftest import finished, open_desk
from tests.nesting.desk.jobs import JOB, make_job
from tests.nesting.desk.test_browser import opened_at, settled
from tests.nesting.desk.test_findings import _by_command, _found

CARVED = """
[part.carve]
section = { high_point = "30 %", nose = "0.5 mm", trailing = "0.6 mm" }
span = [[100, 150], [340, 150]]
leading = [220, 90]

[flex]
load = "20 g"

[[flex.option]]
name = "heavy wood"
part = "plate"
boards = ["B2"]

[[flex.option]]
name = "lime edge"
part = "plate"
leading_edge = { width = "4 mm", material = "basswood" }
"""
DOUBLED = """
[[part]]
name = "doubler"
from = "plate"
material = "balsa"
thickness = "3 mm"

[[part.step]]
make = "doubler"
stations = ["10 mm", "40 mm"]
stagger = "0 mm"
"""


def _followed(folder):
    desk = open_desk(folder)
    desk.workshop.follow()
    assert finished(desk.workshop, "follow")["state"] == "done"
    return desk


def test_ways_to_build_a_panel_are_those_of_the_command(tmp_path):
    desk = _followed(make_job(tmp_path / "job", job=JOB + CARVED))
    try:
        assert desk.state()["carved"] == [{"part": "plate", "options": ["heavy wood", "lime edge"]}]
        for options in ([], ["B2"]):
            found = _found(desk, "flex", part="plate", options=options)
            by_command = _by_command("flex", desk.folder, "plate", *options)
            assert found["options"] == by_command["options"]
            assert found["caution"] == by_command["caution"]
            assert found["is_current"]
        refused = desk.post("task/flex", {"part": "plate", "options": [f"way {n}" for n in range(7)]})
        assert refused.status_code == 400
    finally:
        desk.workshop.close()


def test_a_part_with_its_doubler_is_compared_as_by_the_command(tmp_path):
    desk = _followed(
        make_job(
            tmp_path / "job",
            job=JOB.replace('file = "plan.png"\n', 'file = "plan.png"\ndatum = [100, 150]\n') + DOUBLED,
        )
    )
    try:
        found = _found(desk, "compare", part="plate")
        by_command = _by_command("compare", desk.folder, "plate")
        assert [one["built"] for one in found["boards"]] == [one["built"] for one in by_command["boards"]]
        assert all(one["built"] for one in found["boards"])
        assert found["built_file"] == "stiffness-plate.svg"
        assert desk.get(f"files/{found['built_file']}").status_code == 200
    finally:
        desk.workshop.close()


@pytest.mark.slow
def test_pictures_show_mass_against_bending_and_twist_with_their_doubt(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job", job=JOB + CARVED)
    with served(folder) as (_, address), browser_page(size=(1024, 768)) as page:
        opened_at(page, address, "weight")
        said = page.inner_text("[data-key=flex-section]")
        assert "A comparison between boards, never an approval to fly. No flutter speed is told" in said
        page.focus("[data-key=flex-go]")
        page.keyboard.press("Enter")
        page.wait_for_selector("[data-key=flexed]")
        found = page.evaluate("async () => (await (await fetch('/api/1/findings')).json()).flex")
        assert [one["name"] for one in found["options"]] == ["as it stands", "heavy wood", "lime edge"]
        for key in ("first_bending", "first_twist"):
            picture = page.locator(f"[data-key=flex-{key}]")
            assert picture.locator(".way").count() == 3
            heavy = found["options"][1]
            label = picture.get_attribute("aria-label")
            assert f"heavy wood: {heavy['mass_g']:.1f} g, × {heavy[key]:.2f}" in label
        row = page.inner_text("[data-key='flex-row-lime edge']")
        lime = found["options"][2]
        assert f"× {lime['first_twist']:.3f}" in row
        assert f"± {lime['first_twist'] * lime['twist_sigma_share']:.3f}" in row
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            assert Axe().run(page, context="[data-key=flex-section]")["violations"] == []
        page.set_viewport_size({"width": 390, "height": 900})
        caption = page.locator("[data-key=flexed] caption").bounding_box()
        assert caption["x"] + caption["width"] <= 390
        page.set_viewport_size({"width": 1024, "height": 768})

        # A tick chooses what is set against the panel as it stands.
        page.check("[data-key='flex-way-B2']")
        with page.expect_response("**/api/1/task/flex") as answer:
            page.click("[data-key=flex-go]")
        assert answer.value.request.post_data_json == {"part": "plate", "options": ["B2"]}
        settled(page)
