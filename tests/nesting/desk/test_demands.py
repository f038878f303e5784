"""What a part asks of its board, lines for the builder, blades and what patterns carry: typed fields, each undone."""

import pytest

from nesting.job.folder import open_job, read_spec
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, make_job
from tests.nesting.desk.seeing import called
from tests.nesting.desk.test_browser import opened_at, saved, undo_all
from tests.nesting.desk.test_picker_browser import place_in_picker, sheet_of_picker
from tests.nesting.desk.test_step_forms import SPLICED, edited

KG_M3_PER_LB_FT3 = 16.018463  # NIST SP 811, appendix B.8
MPA_PER_KSI = 6.894757  # the same


def test_what_is_asked_stands_with_the_part_and_not_with_its_steps():
    asked, _ = edited(SPLICED, kind="set", at=["part", "plate", "density"], value=["90 kg/m3", "12 lb/ft3"])
    wood = [{"material": "birch ply", "thickness": "1/32 in"}, {"material": "light ply", "thickness": "2 mm"}]
    instead, _ = edited(asked, kind="set", at=["part", "plate", "substitutes"], value=wood)
    marked, title = edited(
        instead,
        kind="set",
        at=["part", "plate", "mark", None],
        value={"kind": "fold", "at": [[150, 90], [150.123, 210]]},
    )

    part = read_spec(marked).part[0]
    assert part.density == pytest.approx((90.0, 12 * KG_M3_PER_LB_FT3))
    assert [(one.material, round(one.thickness, 3)) for one in part.substitutes] == [
        ("birch ply", 0.794),
        ("light ply", 2.0),
    ]
    assert part.mark[0].at == ((150.0, 90.0), (150.12, 210.0))
    assert [step.make for step in part.step] == ["hole", "grow"]
    assert "# for the pushrod" in marked
    assert title == "add a line for the builder of plate"

    # One substitute is changed; the other stays as it was written.
    wood[1]["thickness"] = "3 mm"
    changed, _ = edited(marked, kind="set", at=["part", "plate", "substitutes"], value=wood)
    assert changed == marked.replace('"2 mm"', '"3 mm"')
    none, _ = edited(changed, kind="set", at=["part", "plate", "substitutes"], value=[])
    assert "substitutes" not in none


@pytest.mark.parametrize(
    "edit",
    [
        {"kind": "set", "at": ["part", "plate", "loaded"], "value": "sideways"},
        {"kind": "set", "at": ["part", "plate", "density"], "value": ["light", "heavy"]},
        {"kind": "set", "at": ["part", "plate", "flat"], "value": "1,234"},
        {"kind": "set", "at": ["part", "plate", "least_stiffness"], "value": "2 kg"},
        {"kind": "set", "at": ["part", "plate", "cuts"], "value": ["crosswise"]},
        {"kind": "set", "at": ["part", "plate", "density"], "value": ["90 kg/m3"]},
        {"kind": "set", "at": ["part", "plate", "density"], "value": ["90 kg/m3"] * 3},
        {"kind": "set", "at": ["part", "plate", "hand"], "value": ["left"]},
        {"kind": "set", "at": ["part", "plate", "substitutes"], "value": [{"material": "ply", "thickness": "thin"}]},
        {"kind": "set", "at": ["part", "plate", "substitutes"], "value": [{"material": "ply"}]},
        {"kind": "set", "at": ["part", "plate", "mark", None], "value": {"kind": "scratch", "at": [[1, 1]]}},
        {"kind": "set", "at": ["part", "plate", "mark", None], "value": {"kind": "fold", "at": []}},
        {"kind": "set", "at": ["part", "plate", "mark", 3], "value": {"kind": "fold", "at": [[1, 1]]}},
        {"kind": "set", "at": ["part", "plate", "mark", 0], "value": None},
        {
            "kind": "set",
            "at": ["pattern", "blade", None],
            "value": {"width": "1 mm", "thickness": "0.4 mm", "kerf": "0.5 mm", "teeth": 0},
        },
        {"kind": "set", "at": ["pattern", "blade", 1], "value": None},
        {"kind": "set", "at": ["pattern", "pages"], "value": 0},
    ],
    ids=called,
)
def test_what_the_job_does_not_allow_is_refused_and_changes_nothing(desk, edit):
    before = (desk.folder / "job.toml").read_bytes()
    answer = desk.post("edit", edit)
    assert answer.status_code in (400, 409, 422)
    assert answer.json()["error"]["text"].endswith(".")
    assert (desk.folder / "job.toml").read_bytes() == before


@pytest.mark.slow
def test_demands_and_lines_are_typed_and_picked_on_the_part_and_undone(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page() as page:
        opened_at(page, address, "parts")

        def part():
            return open_job(folder).spec.part[0]

        page.click("[data-key='plate/demands']")
        for field, value in {"loaded": "edgewise", "use": "flat"}.items():
            with saved(page):
                page.select_option(f"[data-key='plate/{field}']", value)
        page.fill("[data-key='plate/flat']", "1/16 in")
        with saved(page):
            page.keyboard.press("Enter")
        page.fill("[data-key='plate/least_stiffness']", "300 ksi")
        with saved(page):
            page.keyboard.press("Enter")
        for name in ("cuts-quarter", "boards-B2"):
            with saved(page):
                page.click(f"[data-key='plate/{name}']")
        assert page.input_value("[data-key='plate/least_stiffness']") == "2.0684 GPa"
        page.fill("[data-key='plate/density-least']", "90 kg/m3")
        page.click("[data-key='plate/density-keep']")
        page.locator(".slip.fault", has_text="Give both").wait_for()
        page.fill("[data-key='plate/density-most']", "12 lb/ft3")
        with saved(page):
            page.keyboard.press("Enter")
        page.fill("[data-key='plate/substitute-material']", "birch ply")
        page.fill("[data-key='plate/substitute-thickness']", "2 mm")
        with saved(page):
            page.keyboard.press("Enter")
        found = part()
        assert (found.loaded, found.use, found.flat) == ("edgewise", "flat", 1.5875)
        assert found.density == pytest.approx((90.0, 12 * KG_M3_PER_LB_FT3))
        assert [(one.material, one.thickness) for one in found.substitutes] == [("birch ply", 2.0)]
        assert (found.cuts, found.boards) == (("quarter",), ("B2",))
        assert found.least_stiffness == pytest.approx(300 * MPA_PER_KSI)
        assert "(8)" in page.inner_text("[data-key='plate/demands']")

        page.click("[data-key='plate/marks']")
        page.click("[data-key='plate/mark-add']")
        page.select_option("[data-key='plate/mark-kind']", "fold")
        page.fill("[data-key='plate/mark-text']", "hinge")
        page.click("[data-key='plate/mark-pick']")
        page.mouse.click(*place_in_picker(page, sheet_of_picker(page), (150, 91)))
        page.locator(".picker").wait_for(state="detached")
        page.click("[data-key='plate/mark-type']")
        page.fill("[data-key='plate/mark-point-1']", "150, 210")
        page.keyboard.press("Tab")
        with saved(page):
            page.click("[data-key='plate/mark-keep']")
        (mark,) = part().mark
        assert (mark.kind, mark.text) == ("fold", "hinge")
        assert mark.at[0] == pytest.approx((150, 90), abs=3)
        assert mark.at[1] == (150.0, 210.0)
        page.click("[data-key='plate/mark-change-0']")
        page.click("[data-key='plate/mark-point-drop-1']")
        with saved(page):
            page.click("[data-key='plate/mark-keep']")
        assert len(part().mark[0].at) == 1
        with saved(page):
            page.click("[data-key='plate/mark-drop-0']")
        assert part().mark == ()
        with saved(page):
            page.click("[data-key='plate/substitute-drop-0']")
        assert part().substitutes == ()
        undo_all(page)
        assert (folder / "job.toml").read_text(encoding="utf-8") == JOB


@pytest.mark.slow
def test_blades_pages_and_what_patterns_carry_are_set_and_undone(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job")
    with served(folder) as (_, address), browser_page() as page:
        opened_at(page, address, "patterns")
        page.click("[data-key=print]")

        def pattern():
            return open_job(folder).spec.pattern

        for name in ("grain", "cutting"):
            with saved(page):
                page.click(f"[data-key=carry-{name}]")
        assert set(pattern().without) == {"grain", "cutting"}
        page.fill("[data-key=print-pages]", "12")
        with saved(page):
            page.keyboard.press("Enter")
        assert pattern().pages == 12
        for key, value in {"width": "1.2 mm", "thickness": "0.4 mm", "kerf": "0.02 in", "teeth": "18"}.items():
            page.fill(f"[data-key=blade-{key}]", value)
        with saved(page):
            page.click("[data-key=blade-keep]")
        page.fill("[data-key=blade-teeth-0]", "20")
        with saved(page):
            page.keyboard.press("Enter")
        (blade,) = pattern().blade
        assert (blade.width, blade.thickness, blade.kerf, blade.teeth) == pytest.approx((1.2, 0.4, 0.508, 20.0))
        assert 'kerf = "0.508 mm"' in (folder / "job.toml").read_text(encoding="utf-8")
        with saved(page):
            page.click("[data-key=blade-drop-0]")
        assert pattern().blade == ()
        undo_all(page)
        assert (folder / "job.toml").read_text(encoding="utf-8") == JOB
