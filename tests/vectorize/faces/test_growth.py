"""One pick is enough: what a part grows across, and what bounds it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.vectorize.inked_lines import Sheet, circle_points
from vectorize.scale.fit_scale import fit_scale
from vectorize.trace.trace_page import PartPick, Trace, TraceSettings, trace_picks

AREA_TOL = 0.003  # a share: what the product states for a worn scan

RIB = [(15, 20), (85, 20), (85, 40), (15, 40)]


def traced(sheet: Sheet, *picks: PartPick, gap_mm: float = 2.0) -> Trace:
    page = sheet.page(seed=7)
    return trace_picks(page, fit_scale(page, sheet.known()), picks, TraceSettings(gap_mm=gap_mm))


def areas(trace: Trace) -> dict[str, float]:
    return {part.name: part.outline.area_mm2 for part in trace.parts}


def codes(trace: Trace) -> list[str]:
    return [note.code for note in trace.notes]


def dashes(start: tuple[float, float], end: tuple[float, float], dash: float, space: float) -> list[np.ndarray]:
    a, b = np.array(start, float), np.array(end, float)
    length = float(np.hypot(*(b - a)))
    begins = np.arange(0.0, length, dash + space)
    return [np.vstack([a + (b - a) * s / length, a + (b - a) * min(s + dash, length) / length]) for s in begins]


def test_a_part_grows_across_lines_that_run_on_past_its_outline_and_lists_them() -> None:
    #      |    |
    #   +--|----|--+
    #  -|--|----|--|--
    #   +--|----|--+
    sheet = Sheet(pen_mm=0.5).shape(RIB)
    sheet.line([(35, 10), (35, 50)]).line([(60, 10), (60, 50)]).line([(5, 31), (95, 31)])
    trace = traced(sheet, PartPick("rib", (sheet.pick(25, 25),)))
    assert areas(trace) == pytest.approx({"rib": 1400.0}, rel=AREA_TOL)
    assert codes(trace).count("crossed") == 3


def test_a_thinner_line_that_ends_at_the_outline_is_crossed() -> None:
    sheet = Sheet(pen_mm=0.6).shape(RIB).line([(50, 20), (50, 40)], pen_mm=0.25)
    trace = traced(sheet, PartPick("rib", (sheet.pick(30, 30),)))
    assert areas(trace) == pytest.approx({"rib": 1400.0}, rel=AREA_TOL)


def test_a_pick_on_a_line_that_only_runs_through_the_part_picks_both_its_sides() -> None:
    sheet = Sheet(pen_mm=0.6).shape(RIB).line([(50, 10), (50, 50)], pen_mm=0.25)
    trace = traced(sheet, PartPick("rib", (sheet.pick(50, 30),)))
    assert areas(trace) == pytest.approx({"rib": 1400.0}, rel=AREA_TOL)


def test_a_pick_on_a_line_between_two_parts_is_open() -> None:
    sheet = Sheet().shape(RIB).line([(50, 20), (50, 40)])
    trace = traced(sheet, PartPick("either", (sheet.pick(50, 30),)))
    assert areas(trace) == {}
    assert [note.code for note in trace.notes if note.state == "open"] == ["open-part"]


def test_two_parts_that_share_a_line_both_get_it() -> None:
    sheet = Sheet().shape(RIB).line([(50, 20), (50, 40)])
    trace = traced(sheet, PartPick("left", (sheet.pick(30, 30),)), PartPick("right", (sheet.pick(70, 30),)))
    assert areas(trace) == pytest.approx({"left": 700.0, "right": 700.0}, rel=AREA_TOL)


def test_four_parts_that_meet_in_a_point_stay_four() -> None:
    sheet = Sheet().shape(RIB).line([(50, 20), (50, 40)]).line([(15, 30), (85, 30)])
    trace = traced(sheet, PartPick("one", (sheet.pick(30, 25),)))
    assert areas(trace) == pytest.approx({"one": 350.0}, rel=AREA_TOL)


def test_several_picks_are_merged_across_the_line_between_them() -> None:
    sheet = Sheet().shape(RIB).line([(50, 20), (50, 40)])
    trace = traced(sheet, PartPick("whole", (sheet.pick(30, 30), sheet.pick(70, 30))))
    assert areas(trace) == pytest.approx({"whole": 1400.0}, rel=AREA_TOL)


def test_picks_that_do_not_touch_are_said_to() -> None:
    sheet = Sheet().shape([(10, 10), (40, 10), (40, 40), (10, 40)], [(50, 10), (90, 10), (90, 40), (50, 40)])
    trace = traced(sheet, PartPick("both", (sheet.pick(20, 20), sheet.pick(70, 20))))
    assert trace.parts == ()
    assert "do not touch" in trace.notes[-1].text


def test_overlapping_outlines_are_two_whole_parts() -> None:
    sheet = Sheet().shape([(10, 10), (50, 10), (50, 45), (10, 45)], circle_points(60, 30, 20))
    square, disc = PartPick("square", (sheet.pick(20, 20),)), PartPick("disc", (sheet.pick(70, 30),))
    found = areas(traced(sheet, square, disc))
    assert found == pytest.approx({"square": 1400.0, "disc": math.pi * 400}, rel=AREA_TOL)


def test_a_dashed_line_bounds_only_a_part_that_asks_for_it() -> None:
    sheet = Sheet().shape([(8, 8), (92, 8), (92, 52), (8, 52)])
    corners = [(30.0, 20.0), (70.0, 20.0), (70.0, 40.0), (30.0, 40.0)]
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        for dash in dashes(a, b, 3.0, 1.5):
            sheet.line(dash)
    plate = PartPick("plate", (sheet.pick(50, 30),))
    doubler = PartPick("doubler", (sheet.pick(50, 30),), line="dashed")
    found = areas(traced(sheet, plate, doubler))
    assert found["plate"] == pytest.approx(84 * 44, rel=AREA_TOL)
    assert found["doubler"] == pytest.approx(800.0, rel=0.01)


@pytest.mark.parametrize("gap", [0.3, 1.0, 1.8])
def test_a_gap_is_bridged_along_its_line_and_reported_with_its_place(gap: float) -> None:
    sheet = Sheet().line([(50 + gap / 2, 20), (85, 20), (85, 40), (15, 40), (15, 20), (50 - gap / 2, 20)])
    trace = traced(sheet, PartPick("rib", (sheet.pick(30, 30),)))
    assert areas(trace) == pytest.approx({"rib": 1400.0}, rel=AREA_TOL)
    if gap > 0.5:  # a smaller one is closed by the ink itself
        (bridge,) = [note for note in trace.notes if note.code == "bridged"]
        assert bridge.at == pytest.approx(sheet.pick(50, 20), abs=4)


def test_a_corner_left_open_is_closed_where_its_lines_meet() -> None:
    sheet = Sheet().line([(16.2, 20), (85, 20), (85, 40), (15, 40), (15, 21.2)])
    trace = traced(sheet, PartPick("rib", (sheet.pick(30, 30),)))
    assert areas(trace) == pytest.approx({"rib": 1400.0}, rel=AREA_TOL)


def test_an_outline_that_stays_open_is_told_with_the_place_and_width_of_its_gap() -> None:
    sheet = Sheet().line([(54, 20), (85, 20), (85, 40), (15, 40), (15, 20), (46, 20)])
    sheet.shape([(3, 3), (97, 3), (97, 57), (3, 57)], circle_points(25, 48, 4), circle_points(75, 48, 4))
    trace = traced(sheet, PartPick("rib", (sheet.pick(30, 30),)))
    (note,) = [n for n in trace.notes if n.state == "open"]
    assert note.at == pytest.approx(sheet.pick(50, 20), abs=10)
    assert "open: " in note.text
    width = float(note.text.split("open: ")[1].split(" mm")[0])
    assert width == pytest.approx(8.0, abs=1.0)


def test_half_a_plan_is_completed_without_a_seam() -> None:
    sheet = Sheet().line([(30, 10), (70, 10), (70, 30), (60, 45), (30, 45)])
    for dash in dashes((30, 4), (30, 56), 5.0, 1.5):
        sheet.line(dash, pen_mm=0.3)
    half = PartPick("tail", (sheet.pick(45, 25),), mirror=(sheet.pick(30, 10), sheet.pick(30, 45)))
    (part,) = traced(sheet, half).parts
    assert part.outline.area_mm2 == pytest.approx(2 * (40 * 35 - 75), rel=AREA_TOL)
    assert len(part.outline.exterior.segments) == 6


def test_lettering_is_no_cutout_but_bolt_holes_are() -> None:
    sheet = (
        Sheet(dpi=300).shape(RIB, circle_points(25, 25, 0.9), circle_points(75, 25, 1.5)).text(35, 30, "BOOP 08", 5.0)
    )
    (part,) = traced(sheet, PartPick("rib", (sheet.pick(50, 23),))).parts
    holes = sorted(circle[1] for ring in part.outline.cutouts if (circle := ring.as_circle()) is not None)
    assert len(part.outline.cutouts) == 2
    assert holes == pytest.approx([0.9, 1.5], abs=0.06)


def test_a_part_in_a_cutout_is_a_part_of_its_own_and_taken_out_of_the_other() -> None:
    sheet = Sheet().shape(RIB, circle_points(50, 30, 8), circle_points(50, 30, 5))
    found = areas(traced(sheet, PartPick("rib", (sheet.pick(20, 30),)), PartPick("core", (sheet.pick(50, 30),))))
    assert found["rib"] == pytest.approx(1400 - math.pi * 64, rel=AREA_TOL)
    assert found["core"] == pytest.approx(math.pi * 25, rel=AREA_TOL)


@pytest.mark.parametrize("gap", [0.9, 1.5])
def test_a_gap_in_the_centre_line_of_a_half_is_none_in_its_outline(gap: float) -> None:
    #   |---------+
    #   :         :      both the centre line and the half's own outline are drawn with a gap
    #   |---------+
    sheet = Sheet().line([(30, 22), (30, 10)]).line([(30, 45), (30, 22 + gap)])
    sheet.line([(30, 15), (70, 15), (70, 28)]).line([(70, 29.5), (70, 40), (30, 40)])
    half = PartPick("tail", (sheet.pick(45, 25),), mirror=(sheet.pick(30, 10), sheet.pick(30, 45)))
    trace = traced(sheet, half)
    assert areas(trace) == pytest.approx({"tail": 2 * 40 * 25}, rel=AREA_TOL)
    (bridge,) = [note for note in trace.notes if note.code == "bridged"]
    assert bridge.at == pytest.approx(sheet.pick(70, 28.75), abs=4)
