import pytest

from nesting.carve.flats import planing_flats
from nesting.carve.panel import CarvedPanel
from nesting.carve.panel_lines import Side
from nesting.carve.section import HighPoint, naca4
from nesting.carve.tape import edge_stop, tape_plan, worked_sides, zone
from tests.nesting.carve.carved_panels import high_point_panel, naca_panel, rectangle, taper

SIDES: tuple[Side, ...] = ("upper", "lower")


def test_each_step_masks_what_it_does_not_work() -> None:
    panel = naca_panel()
    steps = tape_plan(panel)
    assert [step.side for step in steps] == ["upper"] * 3 + ["lower"] * 3
    for step in steps:
        for mask in step.masked:
            assert step.worked.to_polygon().intersection(mask.to_polygon()).area < 0.5
    whole = panel.planform.outline.area_mm2
    first = steps[0]
    assert first.worked.area_mm2 + sum(m.area_mm2 for m in first.masked) == pytest.approx(whole, rel=1e-4)


def test_a_flat_bottom_is_not_worked() -> None:
    assert {step.side for step in tape_plan(high_point_panel())} == {"upper"}


#   ____________________   face of the blank
#  (      section       >  2 mm      the surface ends half the blank and half the edge above the table
#   --------------------   table
def test_a_section_in_the_middle_of_its_blank_ends_above_the_middle_on_both_faces() -> None:
    # A symmetrical wing in 7.9 mm stock with a 2 mm edge: 7.9 / 2 + 2 / 2 = 4.95 mm, whichever side is up.
    section = HighPoint(7.9 / 120, nose=0.01, trailing=2.0 / 120)
    panel = CarvedPanel(rectangle(120.0), 7.9, section, thickness_mm=(7.9, 7.9), trailing_mm=2.0)
    for side in SIDES:
        stop = edge_stop(panel, 0.0, side=side)
        assert stop.height_mm == pytest.approx(4.95, abs=1e-9)
        assert stop.wire_mm == 5.0
    words = " ".join(step.text for step in tape_plan(panel))
    assert words.count("4.95 mm (0.195 in) above the table (a wire or strip of 5.0 mm") == 2
    assert "2 mm wire" not in words


def test_a_flat_bottom_ends_the_thickness_of_its_edge_above_the_table() -> None:
    stop = edge_stop(high_point_panel(), 0.0, side="upper")
    assert (stop.height_mm, stop.wire_mm) == (pytest.approx(1.0), 1.0)


def test_heights_follow_from_the_seat_and_the_section() -> None:
    # NACA 0012 of 100 mm chord with its lowest point on the face of 14 mm stock. Half-thickness 6.0017 mm at the
    # highest point, 0.126 mm at the trailing edge (NACA Report 460; public coordinate files agree to 6e-8 chord).
    panel = CarvedPanel(rectangle(100.0), 14.0, naca4("0012"), seat="bottom")
    assert edge_stop(panel, 0.0, side="upper").height_mm == pytest.approx(6.0017 + 0.126, abs=1e-3)
    assert edge_stop(panel, 0.0, side="lower").height_mm == pytest.approx(14.0 - (6.0017 - 0.126), abs=1e-3)


def test_the_last_planing_flat_runs_out_at_or_above_that_height() -> None:
    for panel in (naca_panel(), high_point_panel()):
        for side in worked_sides(panel):
            (row,) = planing_flats(panel, (100.0,), side=side)
            height = edge_stop(panel, 100.0, side=side).height_mm
            assert height - 1e-6 <= row.bevels[-1].end[1] <= height + row.leaves_mm + 1e-6


def test_wires_are_those_that_shops_of_the_jobs_units_sell() -> None:
    # 1/32 and 3/64 in are 0.794 and 1.191 mm; 1.0 mm of edge takes the thinnest that is not below it by 0.05 mm.
    stop = edge_stop(high_point_panel(), 0.0, side="upper", units="in")
    assert stop.wire_mm == pytest.approx(3 / 64 * 25.4)
    texts = [step.text for step in tape_plan(high_point_panel(), units="in")]
    assert "a wire or strip of 3/64 in (1.2 mm)" in texts[0]
    # NACA 0009 at 120 mm in the middle of 12 mm: 6 + 0.00945 x 0.1 x 120 = 6.11 mm; no wire of whole mm is near.
    assert edge_stop(naca_panel(), 0.0, side="lower").wire_mm is None
    assert "pack a straight strip" in tape_plan(naca_panel())[0].text


def test_a_height_that_changes_along_the_span_is_given_at_both_ends() -> None:
    panel = CarvedPanel(taper(120, 60), 12.0, naca4("2409"))
    assert "at the root" in tape_plan(panel)[0].text
    assert "at the tip" in tape_plan(panel)[0].text


def test_a_zone_is_the_share_of_the_planform() -> None:
    panel = naca_panel()
    assert zone(panel, 0.25, 0.75).area_mm2 == pytest.approx(panel.planform.outline.area_mm2 / 2, rel=1e-5)
