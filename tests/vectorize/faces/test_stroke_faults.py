"""What once failed on drawings: each fault on a small drawing of its own."""

from __future__ import annotations

import math

import pytest

from tests.vectorize.faces.test_stroke_parts import SQUARE, area_of, page_of, rectangle, stroke, traced
from vectorize.faces.part_pick import PartPick
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.segment import Arc, Cubic, Line, Point
from vectorize.shapes.stroke import Stroke
from vectorize.trace.trace_page import find_candidates, trace_picks


def circle(x: float, y: float, radius: float, *, pen: float = 0.4) -> Stroke:
    halves = (Arc((x + radius, y), (x - radius, y), 1.0), Arc((x - radius, y), (x + radius, y), 1.0))
    return Stroke(halves, True, "outline", pen)


def filled(*points: Point) -> Stroke:
    ring = stroke(*points, is_closed=True, pen=0.0)
    return Stroke(ring.segments, True, "dimensions", is_filled=True)


def candidates(*strokes: Stroke) -> list[float]:
    page = page_of(*strokes)
    found = find_candidates(page, fit_scale(page, accepts_stated_size=True)).parts
    return [round(part.outline.area_mm2, 1) for part in found]


@pytest.mark.parametrize("beyond", [0.005, 0.03, 0.3])
def test_an_outline_drawn_in_one_go_may_overshoot_its_first_corner(beyond: float) -> None:
    # +-------+   one polyline that starts at the lower left, goes round, and ends a hair below its start
    # |       |
    # +-------+
    # |
    outline = stroke((10, 10), (110, 10), (110, 110), (10, 110), (10, 10 - beyond))
    # ends nearer than 0.02 mm are one place, half-way between
    assert area_of(traced(page_of(outline), (60, 60))) == pytest.approx(10_000, rel=2e-5)
    assert candidates(outline) == [pytest.approx(10_000, abs=0.2)]


def test_a_frame_in_a_thick_pen_drops_no_part_and_is_none() -> None:
    frame = rectangle(2, 2, 198, 198)
    thick = Stroke(frame.segments, True, "frame", 1.2)
    parts = [rectangle(20 + 45 * k, 30, 55 + 45 * k, 90) for k in range(3)]
    page = page_of(thick, *parts, circle(37, 60, 6))
    trace = traced(page, (25, 40))
    assert area_of(trace) == pytest.approx(35 * 60 - 36 * math.pi, rel=1e-6)
    between = traced(page, (100, 150))
    assert not between.parts
    assert "open ground" in between.notes[0].text
    assert candidates(thick, *parts, circle(37, 60, 6))[:3] == [round(2100 - 36 * math.pi, 1), 2100.0, 2100.0]


def test_a_plate_with_many_cut_outs_is_listed_first_and_no_frame() -> None:
    slots = [rectangle(15 + 24 * k, 20, 31 + 24 * k, 60) for k in range(5)]
    plate = rectangle(5, 10, 145, 70)
    areas = candidates(plate, *slots)
    assert areas[0] == 140 * 60 - 5 * 16 * 40


def test_an_arrowhead_that_ends_on_a_slot_leaves_it_straight() -> None:
    #  +-----------+
    #  |  +--+     |      the tip of a filled head touches the slot from outside, its leader comes from the right
    #  |  |  |<----|----
    #  +--+--+-----+
    slot = rectangle(30, 40, 36, 70)
    head = filled((36, 55), (39, 54.2), (39, 55.8))
    leader = stroke((39, 55), (140, 55), pen=0.2)
    (part,) = traced(page_of(SQUARE, slot, head, leader), (80, 90)).parts
    (cutout,) = part.outline.cutouts
    assert [type(segment) for segment in cutout.segments] == [Line] * 4
    assert abs(cutout.signed_area_mm2) == pytest.approx(180.0)


HALF = stroke((50, 20), (90, 30), (90, 90), (50, 110))


@pytest.mark.parametrize("aside", [0.0, 0.4])
def test_a_half_on_a_chain_root_is_mirrored_about_the_line_that_is_drawn(aside: float) -> None:
    root = stroke((50, 10), (50, 120), is_dashed=True, pen=0.2)
    page = page_of(HALF, root)
    whole = traced(page, (70, 60), mirror=((50 + aside, 0), (50 - aside / 2, 100)))
    assert area_of(whole) == pytest.approx(2 * area_of(traced(page, (70, 60))), rel=1e-9)
    assert area_of(whole) == pytest.approx(2 * 40 * 75, rel=1e-6)


def test_two_picks_in_one_part_are_told() -> None:
    page = page_of(SQUARE)
    scale = fit_scale(page, accepts_stated_size=True)
    trace = trace_picks(page, scale, [PartPick("a", ((60, 60),)), PartPick("b", ((30, 30),))])
    (note,) = [note for note in trace.notes if note.state == "open"]
    assert note.part == "b"
    assert "the same part as a" in note.text


def test_a_bent_line_that_comes_back_to_itself_is_cut_there() -> None:
    # a ribbon of two curves that cross below their joint: what lies above the crossing is closed
    one = Cubic((40, 40), (90, 60), (90, 110), (60, 110))
    other = Cubic((60, 110), (30, 110), (30, 60), (80, 40))
    ribbon = Stroke((one, other), False, "outline", 0.4)
    (part,) = traced(page_of(ribbon), (60, 90)).parts
    low, high = part.outline.exterior.flattened().min(axis=0), part.outline.exterior.flattened().max(axis=0)
    assert low[1] > 45
    assert high[1] == pytest.approx(110, abs=0.01)


def test_slots_in_a_row_are_cut_out_and_letters_in_a_row_are_not() -> None:
    slots = [rectangle(20 + 9 * k, 20, 26 + 9 * k, 22) for k in range(4)]
    assert len(traced(page_of(SQUARE, *slots), (60, 80)).parts[0].outline.cutouts) == 4
    # D O A I: three closed letters and an open one
    shaft, bow = Line((20, 60), (20, 66)), Arc((20, 66), (20, 60), -1.0)
    letters = [
        Stroke((shaft, bow), True, "text", 0.4),
        circle(29, 63, 3),
        stroke((34, 60), (37, 66), (40, 60), is_closed=True),
        stroke((43, 60), (43, 66)),
    ]
    (part,) = traced(page_of(SQUARE, *slots, *letters), (60, 80)).parts
    assert len(part.outline.cutouts) <= 5
    assert sum(abs(ring.signed_area_mm2) for ring in part.outline.cutouts) < 4 * 12 + 29
