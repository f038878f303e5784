"""One pick on a drawing gives the exact part, whatever else is drawn through and about it."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from fixtures import drawn_plans, vectors
from fixtures.compare_traces import compare
from fixtures.pen_drawing import Plan
from vectorize.faces.stroke_sheet import affine_of
from vectorize.page import Page, read_page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.known import KnownDimension
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Arc, Line, Point, Segment
from vectorize.shapes.stroke import Stroke
from vectorize.trace.trace_page import PartPick, Trace, TraceSettings, find_candidates, trace_picks

VECTOR_MM = 0.01  # the accuracy asked of drawings
SHEETS = (
    "workshop", "lettered", "shared", "nested", "doublers", "half", "crossed", "overlapping", "hatched", "hinges",
    "equal", "busy",
)  # fmt: skip


def placed(outline: Outline, scale: PlanScale, page: Page) -> Outline:
    """The true outline in the frame of the trace: DXF units through the scale, which only shifts them."""
    dx, dy = scale.to_mm([[0.0, 0.0]])[0]
    return outline.mapped(lambda p: (p[0] + float(dx), p[1] + float(dy)))


@pytest.mark.parametrize("name", SHEETS)
def test_every_part_of_every_sheet_is_found_exactly_from_one_pick(tmp_path: Path, name: str) -> None:
    plan: Plan = getattr(drawn_plans, name)()
    vectors.write_dxf(plan, tmp_path / "plan.dxf")
    page = read_page(tmp_path / "plan.dxf")
    scale = fit_scale(page, accepts_stated_size=True)
    picks = [PartPick(p.name, (p.pick,), line=p.line, mirror=p.mirror) for p in plan.parts]  # type: ignore[arg-type]
    trace = trace_picks(page, scale, picks)
    assert [part.name for part in trace.parts] == [part.name for part in plan.parts]
    for traced, true in zip(trace.parts, plan.parts, strict=True):
        measured = compare(traced.outline, placed(true.outline, scale, page))
        assert measured.worst_mm < VECTOR_MM
        assert measured.area_error < 1e-4
        assert len(traced.outline.cutouts) == len(true.outline.cutouts)


def page_of(*strokes: Stroke, size: float = 200.0) -> Page:
    return Page("drawn", 1, 1, None, strokes, size, size, is_y_up=True, stated_px_per_mm=(1.0, 1.0))


def stroke(*points: Point, is_closed: bool = False, pen: float = 0.4, is_dashed: bool = False) -> Stroke:
    ring = [*points, points[0]] if is_closed else list(points)
    segments: tuple[Segment, ...] = tuple(Line(a, b) for a, b in itertools.pairwise(ring))
    return Stroke(segments, is_closed, "outline", pen, is_dashed)


def traced(page: Page, *picks: Point, **options) -> Trace:
    settings = options.pop("settings", None)
    scale = fit_scale(page, accepts_stated_size=True)
    return trace_picks(page, scale, [PartPick("part", tuple(picks), **options)], settings)


def area_of(trace: Trace) -> float:
    (part,) = trace.parts
    return part.outline.area_mm2


SQUARE = stroke((10, 10), (110, 10), (110, 110), (10, 110), is_closed=True)


@pytest.mark.parametrize("gap", [0.02, 0.25, 0.5, 1.9])
def test_a_gap_is_bridged_and_its_place_and_size_noted(gap: float) -> None:
    page = page_of(stroke((60 - gap / 2, 10), (10, 10), (10, 110), (110, 110), (110, 10), (60 + gap / 2, 10)))
    trace = traced(page, (60, 60))
    assert area_of(trace) == pytest.approx(10_000, rel=1e-6)
    if gap > 0.1:
        (note,) = [n for n in trace.notes if n.code == "bridged"]
        assert f"a gap of {gap:.{1 if gap >= 1 else 2}f} mm" in note.text
        assert note.at == pytest.approx((60, 10), abs=0.1)
        assert f"at ({note.at[0]:.1f}, {note.at[1]:.1f}) was bridged" in note.text


def test_a_wider_gap_leaves_the_part_open_and_the_others_whole() -> None:
    leaking = stroke((58, 120), (10, 120), (10, 190), (110, 190), (110, 120), (62, 120))
    page = page_of(leaking, SQUARE)
    scale = fit_scale(page, accepts_stated_size=True)
    trace = trace_picks(page, scale, [PartPick("leaks", ((60, 150),)), PartPick("whole", ((60, 60),))])
    assert [part.name for part in trace.parts] == ["whole"]
    (note,) = [n for n in trace.notes if n.state == "open"]
    assert note.part == "leaks"
    assert "not inside a closed outline" in note.text


def test_lines_that_overshoot_their_corners_still_bound() -> None:
    # +--|---------|--+   four separate lines, each a millimetre too long at both ends
    page = page_of(
        stroke((9, 10), (111, 10)),
        stroke((9, 110), (111, 110)),
        stroke((10, 9), (10, 111)),
        stroke((110, 9), (110, 111)),
    )
    assert area_of(traced(page, (60, 60))) == pytest.approx(10_000, rel=1e-9)


def test_a_line_through_the_part_is_crossed_and_one_between_its_sides_divides_it() -> None:
    through = stroke((0, 60), (120, 60), pen=0.4)
    between = stroke((10, 40), (110, 40), pen=0.4)
    assert area_of(traced(page_of(SQUARE, through), (60, 80))) == pytest.approx(10_000)
    assert area_of(traced(page_of(SQUARE, between), (60, 80))) == pytest.approx(7_000)
    assert area_of(traced(page_of(SQUARE, between), (60, 80), (60, 20))) == pytest.approx(10_000)


def test_dashed_and_thin_lines_do_not_divide() -> None:
    dashed = stroke((10, 40), (110, 40), is_dashed=True)
    thin = stroke((10, 70), (110, 70), pen=0.2)
    assert area_of(traced(page_of(SQUARE, dashed, thin), (60, 80))) == pytest.approx(10_000)


def test_a_line_that_stops_inside_or_just_touches_changes_nothing() -> None:
    touching = stroke((60, 110), (60, 150))
    inside = stroke((60, 10), (60, 70))
    trace = traced(page_of(SQUARE, touching, inside), (90, 80))
    assert area_of(trace) == pytest.approx(10_000)
    assert len(trace.parts[0].outline.exterior.segments) == 4


def test_a_shared_edge_drawn_twice_belongs_to_both() -> None:
    left = stroke((10, 10), (60, 10), (60, 110), (10, 110), is_closed=True)
    right = stroke((60, 30), (110, 30), (110, 90), (60, 90), is_closed=True)
    assert area_of(traced(page_of(left, right), (30, 60))) == pytest.approx(5_000)
    assert area_of(traced(page_of(left, right), (90, 60))) == pytest.approx(3_000)


def test_a_picked_cut_out_is_taken_away_and_small_marks_are_not() -> None:
    letter = stroke((30, 30), (33, 30), (33, 34), (30, 34), is_closed=True)
    other = stroke((35, 30), (38, 30), (38, 34), (35, 34), is_closed=True)
    tall = stroke((40, 30), (40, 34), (43, 34))
    hole = Stroke((Arc((80, 60), (76, 60), 1.0), Arc((76, 60), (80, 60), 1.0)), True, "outline", 0.4)
    page = page_of(SQUARE, letter, other, tall, hole)
    trace = traced(page, (60, 80))
    (cutout,) = trace.parts[0].outline.cutouts
    assert cutout.as_circle() is not None
    assert any("circle of 4.0 mm" in n.text for n in trace.notes if n.code == "cutout")
    assert len(traced(page, (60, 80), cutouts=((31, 32),)).parts[0].outline.cutouts) == 2


@pytest.mark.parametrize(("edge", "side"), [("centre", 100.0), ("inside", 99.6), ("outside", 100.4)])
def test_the_true_edge_may_lie_beside_the_middle_of_the_line(edge: str, side: float) -> None:
    trace = traced(page_of(SQUARE), (60, 60), settings=TraceSettings(edge=edge))  # type: ignore[arg-type]
    assert area_of(trace) == pytest.approx(side**2, rel=1e-6)


def test_a_pick_outside_everything_is_told() -> None:
    trace = traced(page_of(SQUARE), (150, 150))
    assert not trace.parts
    assert "not inside a closed outline" in trace.notes[0].text


def test_a_half_that_does_not_reach_its_centre_line_is_told() -> None:
    trace = traced(page_of(SQUARE), (60, 60), mirror=((150, 0), (150, 100)))
    assert not trace.parts
    assert "does not reach the centre line" in trace.notes[0].text


@pytest.mark.parametrize("name", ["workshop", "nested", "overlapping", "hinges"])
def test_the_first_candidates_are_the_parts_but_for_one(tmp_path: Path, name: str) -> None:
    plan: Plan = getattr(drawn_plans, name)()
    vectors.write_svg(plan, tmp_path / "plan.svg")
    page = read_page(tmp_path / "plan.svg")
    scale = fit_scale(page, accepts_stated_size=True)
    dx, dy = scale.to_mm([[0.0, plan.height]])[0]
    true = [p.outline.mapped(lambda q: (q[0] + float(dx), q[1] + float(dy))).exterior for p in plan.parts]
    found = find_candidates(page, scale).parts[: len(plan.parts)]
    hits = sum(any(compare(Outline(c.outline.exterior), Outline(t)).worst_mm < VECTOR_MM for t in true) for c in found)
    assert hits >= len(plan.parts) - 1


def letters(x: float, y: float, count: int = 12) -> list[Stroke]:
    """Marks of a letter's size in two rows."""
    spots = [(x + 3.5 * (n % 6), y + 6.0 * (n // 6)) for n in range(count)]
    return [stroke((a, b), (a, b + 4), (a + 2.5, b + 4), (a + 2.5, b), pen=0.3) for a, b in spots]


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Stroke:
    return stroke((x0, y0), (x1, y0), (x1, y1), (x0, y1), is_closed=True)


def test_a_lettered_panel_is_a_part_and_a_title_block_in_the_corner_is_none() -> None:
    frame = rectangle(5, 5, 195, 195)
    panel, block, small = (rectangle(*box) for box in ((20, 120, 46, 136), (166, 8, 192, 26), (60, 60, 80, 75)))
    page = page_of(frame, block, *letters(169, 11), panel, *letters(23, 123), small)
    found = find_candidates(page, fit_scale(page, accepts_stated_size=True)).parts
    areas = [round(part.outline.area_mm2) for part in found]
    assert areas[:2] == [26 * 16, 20 * 15]
    assert 26 * 18 not in areas


def test_a_plate_with_four_large_cut_outs_comes_before_what_fills_them() -> None:
    openings = [
        stroke((x, y), (x + 60, y), (x + 60, y + 50), (x, y + 50), is_closed=True) for x in (20, 110) for y in (20, 110)
    ]
    page = page_of(stroke((5, 5), (190, 5), (190, 180), (5, 180), is_closed=True), *openings)
    found = find_candidates(page, fit_scale(page, accepts_stated_size=True)).parts
    assert found[0].outline.area_mm2 == pytest.approx(185 * 175 - 4 * 3000)


def test_a_list_that_lines_rule_comes_behind_the_parts() -> None:
    listed = [rectangle(20, 120, 46, 136), stroke((20, 128), (46, 128)), *letters(23, 122)]
    page = page_of(*listed, rectangle(60, 60, 75, 75), rectangle(100, 60, 114, 75), stroke((5, 5), (195, 195)))
    found = find_candidates(page, fit_scale(page, accepts_stated_size=True)).parts
    assert [round(part.outline.area_mm2) for part in found[:2]] == [225, 210]


def known_sides(across: float, up: float) -> tuple[KnownDimension, KnownDimension]:
    return KnownDimension((0, 0), (across, 0), 100.0), KnownDimension((0, 0), (0, up), 100.0)


def test_points_read_off_by_a_hundredth_keep_a_drawing_square_and_its_bolt_holes_round() -> None:
    bolt = Stroke((Arc((80, 60), (77, 60), 1.0), Arc((77, 60), (80, 60), 1.0)), True, "outline", 0.4)
    page = page_of(SQUARE, bolt)
    scale = fit_scale(page, known_sides(100.01, 99.99))
    assert scale.mm_per_px == pytest.approx((1.0, 1.0), rel=1e-4)
    assert affine_of(scale).keeps_circles
    (cutout,) = trace_picks(page, scale, [PartPick("part", ((60, 80),))]).parts[0].outline.cutouts
    assert cutout.as_circle() is not None


def test_a_bolt_hole_of_a_stretched_drawing_is_still_a_hole() -> None:
    bolt = Stroke((Arc((80, 60), (77, 60), 1.0), Arc((77, 60), (80, 60), 1.0)), True, "outline", 0.4)
    page = page_of(SQUARE, bolt)
    scale = fit_scale(page, known_sides(100.0, 99.0))
    assert not affine_of(scale).keeps_circles
    (part,) = trace_picks(page, scale, [PartPick("part", ((60, 80),))]).parts
    assert len(part.outline.cutouts) == 1
