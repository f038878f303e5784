"""Covering, paint and glue entered at the desk in a real browser, and what they do to the weight."""

import pytest

from nesting.job.folder import open_job
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, make_job
from tests.nesting.desk.test_browser import saved, settled, view
from tests.nesting.desk.test_findings import BALANCE

pytestmark = pytest.mark.slow


def test_coats_and_glue_are_entered_changed_and_taken_away(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job", job=JOB + BALANCE)
    with served(folder) as (_, address), browser_page() as page:
        page.goto(address)
        page.wait_for_selector("#stages a")
        settled(page)
        view(page, "weight")
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        bare = page.inner_text(".balance .big")

        page.check("[data-key=finish-plate]")
        page.fill("[data-key=finish-both]", "tissue")
        page.select_option("[data-key=finish-both-coat]", "dope")
        page.click("[data-key=finish-both-add]")
        page.click("[data-key=finish-both-add]")
        assert page.input_value("[data-key=finish-both]") == "tissue, dope, dope"
        with saved(page):
            page.click("[data-key=finish-keep]")
        (finish,) = open_job(folder).spec.finish
        assert (finish.parts, finish.both) == (("plate",), ("tissue", "dope", "dope"))
        settled(page)
        assert page.inner_text(".balance .big") != bare
        assert page.input_value("[data-key=finish-both]") == ""
        assert not page.is_checked("[data-key=finish-plate]")

        page.click("[data-key=finish-change-0]")
        assert page.is_checked("[data-key=finish-plate]")
        page.fill("[data-key=finish-both]", "film")
        page.fill("[data-key=finish-sanding]", "thin")
        page.click("[data-key=finish-keep]")
        page.wait_for_selector("[data-key=finish-sanding][aria-invalid=true]")
        assert page.is_checked("[data-key=finish-plate]")
        assert page.input_value("[data-key=finish-both]") == "film"
        page.fill("[data-key=finish-sanding]", "0.05")
        with saved(page):
            page.click("[data-key=finish-keep]")
        (finish,) = open_job(folder).spec.finish
        assert (finish.both, finish.sanding) == (("film",), 0.05)

        page.check("[data-key=joint-plate]")
        for key, text in (("name", "seam"), ("length", "4 in"), ("width", "3 mm")):
            page.fill(f"[data-key=joint-{key}]", text)
        page.select_option("[data-key=joint-glue]", "epoxy")
        with saved(page):
            page.click("[data-key=joint-keep]")
        (joint,) = open_job(folder).spec.joint
        assert (joint.name, joint.glue, joint.length, joint.width) == ("seam", "epoxy", 101.6, 3.0)

        # What nobody touched of an entry is kept as it was, to the last digit.
        page.click("[data-key=joint-change-0]")
        page.fill("[data-key=joint-width]", "5 mm")
        with saved(page):
            page.click("[data-key=joint-keep]")
        (joint,) = open_job(folder).spec.joint
        assert (joint.length, joint.width) == (101.6, 5.0)

        for name in ("finish", "joint"):
            with saved(page):
                page.click(f"[data-key={name}-drop-0]")
        settled(page)
        assert page.inner_text(".balance .big") == bare
