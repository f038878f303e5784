"""Gaps that wear leaves in an outline are bridged as it was drawn, close to corners too."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

from fixtures.cases import case
from fixtures.opening import worst_of
from tests.vectorize.inked_lines import Sheet
from vectorize.scale.fit_scale import fit_scale
from vectorize.trace.trace_page import PartPick, Trace, TraceSettings, trace_picks

EDGE_MM = 0.3  # what is aimed at on a worn scan of 200 dpi
LOST_CORNER_MM = 0.9  # of a corner that is worn away nobody can tell more: the blunt end below is 1.2 mm

NOTCHED = [(15, 12), (85, 12), (85, 40), (52, 40), (52, 34), (48.6, 34), (48.6, 40), (15, 40)]
WEDGE = [(15, 30.6), (15, 20), (80, 24), (80, 25.2)]


def worn(sheet: Sheet, corners: list[tuple[float, float]], begin_mm: float, end_mm: float) -> Sheet:
    """Draw a closed polygon but for the stretch between two lengths along it."""
    ring = np.array([*corners, *corners])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    marks = np.array([end_mm, *(s for s in along if end_mm < s < along[len(corners)] + begin_mm)])
    marks = np.append(marks, along[len(corners)] + begin_mm)
    return sheet.line(np.column_stack([np.interp(marks, along, ring[:, k]) for k in (0, 1)]))


def traced(sheet: Sheet) -> tuple[Trace, float]:
    """Return the trace, and how far the part's corners and edge are from the notched outline and the wedge."""
    page = sheet.page(seed=3)
    scale = fit_scale(page, sheet.known())
    trace = trace_picks(page, scale, [PartPick("part", (sheet.pick(30, 25),))])
    assert [part.name for part in trace.parts] == ["part"]
    found = trace.parts[0].outline.to_polygon(0.02).exterior
    trues = [shapely.LinearRing(scale.to_mm(sheet.px(corners))) for corners in (NOTCHED, WEDGE)]
    return trace, min(shapely.hausdorff_distance(found.segmentize(0.5), true.segmentize(0.5)) for true in trues)


LED_ON_MM = 0.05
"""A corner in a gap is told by its two sides, each over some millimetres, as closely as a corner that was drawn."""

STRAP_MM = 0.1  # half of it is the polygon that the round end is drawn as

FLOOR_MM = 70 + 28 + 33 + 6  # along the outline, where the floor of the notch begins; it is 3.4 mm long


@pytest.mark.parametrize(("begin_mm", "end_mm"), [(0.9, 2.5), (1.2, 2.2), (0.8, 1.9)])
def test_a_gap_right_beside_a_corner_leaves_the_corner(begin_mm: float, end_mm: float) -> None:
    _, worst = traced(worn(Sheet(), NOTCHED, FLOOR_MM + begin_mm, FLOOR_MM + end_mm))
    assert worst < EDGE_MM


@pytest.mark.parametrize("corner_mm", [70.0, 98.0, 131.0, 137.0])
@pytest.mark.parametrize(("before_mm", "behind_mm"), [(0.8, 0.8), (1.0, 0.6)])
def test_a_gap_right_over_a_corner_is_bridged_round_it(corner_mm: float, before_mm: float, behind_mm: float) -> None:
    trace, worst = traced(worn(Sheet(), NOTCHED, corner_mm - before_mm, corner_mm + behind_mm))
    assert worst < LED_ON_MM
    assert [note.code for note in trace.notes].count("bridged") == 1


@pytest.mark.parametrize("corner_mm", [70.0, 131.0])
@pytest.mark.parametrize(("before_mm", "behind_mm"), [(0.5, 0.4), (0.3, 0.7)])
def test_a_corner_worn_by_a_pen_width_or_two_is_no_chamfer(
    corner_mm: float, before_mm: float, behind_mm: float
) -> None:
    # The two ends still touch, so that nothing was bridged.
    _, worst = traced(worn(Sheet(), NOTCHED, corner_mm - before_mm, corner_mm + behind_mm))
    assert worst < LED_ON_MM


@pytest.mark.slow
@pytest.mark.parametrize(
    ("seed", "name"),
    [
        # One side ends 0.4 mm from the corner, the other 1.6: what is worn off explains a cut through it as well.
        (605, "tip"),
        # A corner is gone, and the blur of both its sides meets where it was.
        (610, "rib"),
        (624, "former"),
        # A gap begins where a round end does.
        (600, "strap"),
    ],
)
def test_what_is_worn_off_beside_a_corner_is_led_on_on_a_used_sheet(tmp_path: Path, seed: int, name: str) -> None:
    assert worst_of(case("gaps-2").make(tmp_path, seed), name) < EDGE_MM


def test_a_chamfer_that_was_drawn_stays() -> None:
    sheet = Sheet().shape([(15, 12), (84, 12), (85, 13), (85, 40), (15, 40)])
    outline = traced(sheet)[0].parts[0].outline
    assert len(outline.exterior.segments) == 5


@pytest.mark.parametrize("behind_mm", [0.4, 1.0, 1.6])
def test_a_gap_where_a_side_runs_into_a_round_end_follows_both(behind_mm: float) -> None:
    half = np.linspace(-np.pi / 2, np.pi / 2, 90)
    end = np.column_stack([4.5 * np.cos(half), 4.5 * np.sin(half)])
    strap = list(map(tuple, (np.vstack([end, -end]) + np.repeat([[60.0, 25.0], [20.0, 25.0]], 90, axis=0)).tolist()))
    round_mm = 4.5 * np.pi
    sheet = worn(Sheet(), strap, round_mm + behind_mm - 2.0, round_mm + behind_mm)
    page = sheet.page(seed=3)
    scale = fit_scale(page, sheet.known())
    (part,) = trace_picks(page, scale, [PartPick("part", (sheet.pick(40, 25),))]).parts
    true = shapely.LinearRing(scale.to_mm(sheet.px(strap)))
    found = part.outline.to_polygon(0.01).exterior
    assert shapely.hausdorff_distance(found.segmentize(0.3), true.segmentize(0.3)) < STRAP_MM


def test_a_worn_off_thin_trailing_edge_is_closed_straight_across() -> None:
    end = 10.6 + float(np.hypot(65, 4))
    trace, worst = traced(worn(Sheet(), WEDGE, end - 0.4, end + 1.2 + 0.4))
    assert worst < LOST_CORNER_MM
    assert [note.code for note in trace.notes].count("bridged") == 1


def test_a_thin_line_that_ends_nearby_does_not_take_the_place_of_the_outline() -> None:
    end = 10.6 + float(np.hypot(65, 4))
    sheet = worn(Sheet(pen_mm=0.5), WEDGE, end - 0.4, end + 1.2 + 0.4)
    _, worst = traced(sheet.line([(80.4, 23.0), (80.4, 8.0)], pen_mm=0.25))
    assert worst < LOST_CORNER_MM


def test_the_free_ends_of_two_lines_side_by_side_are_not_joined() -> None:
    # Two spar lines, 1.6 mm apart, run through a part and end beside it.
    sheet = Sheet().shape(NOTCHED)
    for x in (60.0, 61.6):
        sheet.line([(x, 5), (x, 52)], pen_mm=0.5)
    trace, worst = traced(sheet)
    assert worst < EDGE_MM
    assert [note.code for note in trace.notes].count("bridged") == 0


def test_the_arms_of_two_letters_that_point_at_each_other_are_not_joined() -> None:
    sheet = Sheet(pen_mm=0.35).shape([(15, 12), (85, 12), (85, 40), (15, 40)])
    sheet.line([(38.4, 27.5), (36, 27.5), (36, 24), (38.4, 24)]).line([(36, 25.8), (37.8, 25.8)])
    sheet.line([(42.2, 27.5), (44.2, 27.5), (43.2, 26), (44.2, 25.2), (43.6, 24), (42.2, 24)])
    page = sheet.page(seed=3)
    gap_mm = 4.5
    trace = trace_picks(
        page, fit_scale(page, sheet.known()), [PartPick("part", (sheet.pick(25, 25),))], TraceSettings(gap_mm=gap_mm)
    )
    assert trace.parts[0].outline.cutouts == ()


@pytest.mark.parametrize(("diameter_mm", "start_deg"), [(3.5, 0), (5.0, 0), (5.0, 60), (5.0, 240)])
def test_a_small_round_hole_with_a_gap_is_a_hole(diameter_mm: float, start_deg: int) -> None:
    gap_mm = 0.85
    turn = np.radians(np.linspace(start_deg, start_deg + 360 - np.degrees(2 * gap_mm / diameter_mm), 160))
    arc = np.column_stack([np.cos(turn), np.sin(turn)]) * diameter_mm / 2 + (50, 26)
    sheet = Sheet(dpi=200, pen_mm=0.3).shape([(15, 12), (85, 12), (85, 40), (15, 40)]).line(arc)
    page = sheet.page(seed=3, blur_px=1.0, noise=8.0)
    trace = trace_picks(page, fit_scale(page, sheet.known()), [PartPick("part", (sheet.pick(25, 25),))])
    (hole,) = trace.parts[0].outline.cutouts
    assert abs(hole.signed_area_mm2) == pytest.approx(np.pi * diameter_mm**2 / 4, rel=0.05)


def test_the_open_side_of_a_letter_is_not_closed() -> None:
    """A C of 3 mm, whose gap of 1.9 mm is within what is bridged; a letter is no hole."""
    turn = np.radians(np.linspace(40, 320, 160))
    letter = np.column_stack([np.cos(turn), np.sin(turn)]) * 1.5 + (50, 26)
    sheet = Sheet(dpi=200, pen_mm=0.3).shape([(15, 12), (85, 12), (85, 40), (15, 40)]).line(letter)
    page = sheet.page(seed=3)
    trace = trace_picks(page, fit_scale(page, sheet.known()), [PartPick("part", (sheet.pick(25, 25),))])
    assert trace.parts[0].outline.cutouts == ()


def test_two_broken_pieces_of_an_outline_are_joined_over_a_gap_as_wide() -> None:
    sheet = worn(Sheet(), NOTCHED, 30.0, 33.5)
    page = sheet.page(seed=3)
    scale = fit_scale(page, sheet.known())
    trace = trace_picks(page, scale, [PartPick("part", (sheet.pick(30, 25),))], TraceSettings(gap_mm=4.5))
    found = trace.parts[0].outline.to_polygon(0.02).exterior
    assert shapely.hausdorff_distance(found, shapely.LinearRing(scale.to_mm(sheet.px(NOTCHED)))) < EDGE_MM
