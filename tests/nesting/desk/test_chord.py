"""The sections of a wing that give its mean chord, changed row by row: what stays is left as it was written."""

import pytest

from nesting.job.folder import open_job
from tests.nesting.desk.browser import browser_page, need_browser, served
from tests.nesting.desk.jobs import JOB, make_job
from tests.nesting.desk.test_browser import opened_at, saved, settled, undo_all
from tests.nesting.desk.test_step_forms import edited

CHORD = """
[balance]
range = ["25 %", "30 %"]

[balance.chord]
sections = [
    { span = "0 mm", chord = "88 mm", leading_edge = "103 mm" },     # at the fuselage
    { span = "230 mm", chord = "3 in", leading_edge = "103 mm" },
    { span = "320 mm", chord = "30 mm", leading_edge = "130 mm" },
]
"""


def _section(span, chord, edge):
    return {"span": span, "chord": chord, "leading_edge": edge}


ROOT, MIDDLE, TIP = (
    _section("0 mm", "88 mm", "103 mm"),
    _section("230 mm", "3 in", "103 mm"),
    _section("320 mm", "30 mm", "130 mm"),
)


def test_only_the_section_that_changed_is_written_anew():
    wider = _section("230 mm", "80 mm", "103 mm")
    after, title = edited(JOB + CHORD, kind="set", at=["balance", "chord"], value={"sections": [ROOT, wider, TIP]})
    assert after == (JOB + CHORD).replace('"3 in"', '"80 mm"')
    assert title == "set the mean chord"


def test_sections_come_and_go_and_give_way_to_a_chord_that_is_typed():
    shorter, _ = edited(JOB + CHORD, kind="set", at=["balance", "chord"], value={"sections": [ROOT, TIP]})
    assert shorter.count("span =") == 2
    typed, _ = edited(shorter, kind="set", at=["balance", "chord"], value={"length": "3 in", "leading_edge": "4 in"})
    assert "sections" not in typed
    again, _ = edited(typed, kind="set", at=["balance", "chord"], value={"sections": [ROOT, MIDDLE, TIP]})
    assert "length" not in again.split("[balance.chord]")[1]
    none, title = edited(again, kind="set", at=["balance", "chord"], value=None)
    assert "chord" not in none
    assert title == "take the mean chord away"


@pytest.mark.slow
def test_sections_are_changed_added_and_taken_away_on_the_page_and_each_is_undone(tmp_path):
    need_browser()
    folder = make_job(tmp_path / "job", job=JOB + CHORD)

    def sections():
        found = open_job(folder).spec.balance.chord.sections
        return [(one.span, one.chord, one.leading_edge) for one in found]

    with served(folder) as (_, address), browser_page() as page:
        opened_at(page, address, "weight")
        page.click("[data-key=stations]")
        assert page.input_value("[data-key=chord-1-chord]") == "76.2 mm"
        page.fill("[data-key=chord-1-chord]", "80 mm")
        page.click("[data-key=chord-more]")
        for key, value in {"span": "400 mm", "chord": "10 mm", "leading_edge": "140 mm"}.items():
            page.fill(f"[data-key=chord-3-{key}]", value)
        with saved(page):
            page.keyboard.press("Enter")
        first = sections()
        assert first == [(0, 88, 103), (230, 80, 103), (320, 30, 130), (400, 10, 140)]
        assert "# at the fuselage" not in (folder / "job.toml").read_text(encoding="utf-8")

        page.click("[data-key=chord-drop-2]")
        page.click("[data-key=chord-leave]")
        page.locator("[data-key=chord-row-3]").wait_for()
        page.click("[data-key=chord-drop-2]")
        page.locator("[data-key=chord-row-3]").wait_for(state="detached")
        with saved(page):
            page.click("[data-key=chord-keep]")
        assert sections() == [first[0], first[1], first[3]]

        page.select_option("[data-key=chord-kind]", "itself")
        page.fill("[data-key=chord-length]", "70 mm")
        page.fill("[data-key=chord-edge]", "100 mm")
        with saved(page):
            page.click("[data-key=chord-keep]")
        assert settled(page)["balance"]["chord"]["length_mm"] == 70.0
        assert sections() == []
        undo_all(page)
        page.locator("[data-key=chord-row-2]").wait_for()
        assert (folder / "job.toml").read_text(encoding="utf-8") == JOB + CHORD
