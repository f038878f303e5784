from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from tests.vectorize.inked_lines import Sheet, circle_points
from vectorize.faces.regions import Loop
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.outline import Outline
from vectorize.shapes.stroke import Stroke
from vectorize.trace.trace_page import PartPick, TraceSettings, find_candidates, trace_picks

# The limits that the product states for a worn scan at 200 dpi.
WORST_EDGE_MM = 0.30
MEAN_EDGE_MM = 0.06
AREA_SHARE = 0.0025

# A pen width is known to a fifth of it on a clean picture: a blurred edge has no sharp end.
PEN_WIDTH_MM = 0.1

NOTCHED = [(10, 10), (60, 10), (60, 40), (45, 40), (45, 32), (30, 32), (30, 40), (10, 40)]


def edge_distances(outline: Outline, truth: Polygon) -> np.ndarray:
    """Distances of points every 0.2 mm on either boundary to the other one."""
    found = outline.to_polygon().boundary
    there = [truth.boundary.distance(found.interpolate(d)) for d in np.arange(0, found.length, 0.2)]
    back = [found.distance(truth.boundary.interpolate(d)) for d in np.arange(0, truth.boundary.length, 0.2)]
    return np.array(there + back)


def true_polygon(sheet: Sheet, scale: PlanScale, exterior: object, holes: list[object]) -> Polygon:
    """The drawn shape where the scale sees it: the drawing's own map followed by the fitted one."""
    rings = [scale.to_mm(sheet.px(ring)) for ring in (exterior, *holes)]  # type: ignore[arg-type]
    return Polygon(rings[0], rings[1:])


@pytest.fixture
def worn() -> Sheet:
    sheet = Sheet(skew_deg=1.3, axes=(1.003, 0.998))
    return sheet.shape(NOTCHED, circle_points(20, 25, 3)).text(35, 20, "R4 x 2").shape(circle_points(80, 30, 12))


@pytest.mark.parametrize("seed", [1, 2])
def test_a_worn_scan_gives_parts_within_the_stated_accuracy(worn: Sheet, seed: int) -> None:
    page = worn.page(seed=seed)
    scale = fit_scale(page, worn.known())
    picks = (PartPick("former", (worn.pick(50, 20),)), PartPick("disc", (worn.pick(80, 30),)))
    trace = trace_picks(page, scale, picks)
    truths = [
        true_polygon(worn, scale, NOTCHED, [circle_points(20, 25, 3)]),
        true_polygon(worn, scale, circle_points(80, 30, 12), []),
    ]
    assert [part.name for part in trace.parts] == ["former", "disc"]
    for part, truth in zip(trace.parts, truths, strict=True):
        away = edge_distances(part.outline, truth)
        assert away.max() < WORST_EDGE_MM
        assert away.mean() < MEAN_EDGE_MM
        assert part.outline.area_mm2 == pytest.approx(truth.area, rel=AREA_SHARE)


def test_the_comparison_notices_a_shifted_shape() -> None:
    square = Outline.rectangle(0, 0, 10, 10)
    assert edge_distances(square, Polygon([(0.5, 0), (10.5, 0), (10.5, 10), (0.5, 10)])).max() > 0.45


def test_a_circle_comes_back_as_a_circle_and_a_notched_former_as_straight_lines(worn: Sheet) -> None:
    page = worn.page(seed=3)
    scale = fit_scale(page, worn.known())
    picks = (PartPick("former", (worn.pick(50, 20),)), PartPick("disc", (worn.pick(80, 30),)))
    former, disc = trace_picks(page, scale, picks).parts
    assert len(former.outline.exterior.segments) == len(NOTCHED)
    circle = disc.outline.exterior.as_circle()
    assert circle is not None
    assert circle[1] == pytest.approx(12.0, abs=0.05)
    (hole,) = former.outline.cutouts
    assert hole.as_circle() is not None


@pytest.mark.parametrize("dpi", [100, 150, 200, 300, 600])
def test_a_square_and_a_circle_measure_the_same_at_every_resolution(dpi: float) -> None:
    sheet = Sheet(60, 30, dpi=dpi, pen_mm=0.6).shape([(5, 5), (25, 5), (25, 25), (5, 25)], circle_points(43, 15, 10))
    page = sheet.page()
    picks = (PartPick("square", (sheet.pick(15, 15),)), PartPick("circle", (sheet.pick(43, 15),)))
    square, circle = trace_picks(page, fit_scale(page, sheet.known()), picks).parts
    assert square.outline.area_mm2 == pytest.approx(400.0, rel=0.002)
    assert circle.outline.area_mm2 == pytest.approx(np.pi * 100, rel=0.002)


@pytest.mark.parametrize(("edge", "side"), [("inside", 19.5), ("centre", 20.0), ("outside", 20.5)])
def test_the_true_edge_lies_where_asked_for(edge: str, side: float) -> None:
    sheet = Sheet(60, 30, dpi=300).shape([(5, 5), (25, 5), (25, 25), (5, 25)])
    page = sheet.page()
    settings = TraceSettings(edge=edge)  # type: ignore[arg-type]
    (square,) = trace_picks(
        page, fit_scale(page, sheet.known()), (PartPick("square", (sheet.pick(15, 15),)),), settings
    ).parts
    assert square.outline.size_mm == pytest.approx((side, side), abs=PEN_WIDTH_MM)


def test_bad_picks_are_open_notes_and_spoil_no_other_part(worn: Sheet) -> None:
    page = worn.page(seed=4)
    picks = (
        PartPick("on a line", (worn.pick(10, 20),)),
        PartPick("outside", ((-5.0, 10.0),)),
        PartPick("blank paper", (worn.pick(95, 5),)),
        PartPick("former", (worn.pick(50, 20),)),
    )
    trace = trace_picks(page, fit_scale(page, worn.known()), picks)
    assert [part.name for part in trace.parts] == ["former"]
    problems = {note.part: note for note in trace.notes if note.state == "open"}
    assert set(problems) == {"on a line", "outside", "blank paper"}
    assert "lies on a line" in problems["on a line"].text
    assert "outside the page" in problems["outside"].text
    assert "open" in problems["blank paper"].text


def _tinted() -> Sheet:
    """A plate under a coarse halftone, its dots as large as lettering, beside a plain one."""
    sheet = Sheet(100, 50, dpi=150).shape([(10, 10), (45, 10), (45, 40), (10, 40)])
    for x in np.arange(8, 48, 3.0):
        for y in np.arange(8, 43, 3.0):
            sheet.filled(circle_points(x, y, 1.1, 24))
    return sheet.shape([(60, 10), (90, 10), (90, 40), (60, 40)])


def _two_corners(*_: object, **__: object) -> object:
    """What a fit made of a sliver between the dots of a tint: two pieces, each a single chord."""
    return shapely.LinearRing([(0.0, 0.0), (1.0, 0.0)])


def test_what_a_library_stumbles_over_is_an_open_note_of_its_part_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    from vectorize.trace import rings as tracing

    sheet = _tinted()
    page, real = sheet.page(), tracing.fitted
    scale = fit_scale(page, sheet.known())
    picks = [PartPick("tinted", (sheet.pick(27.5, 24.5),)), PartPick("plain", (sheet.pick(75, 25),))]
    calls: list[int] = []

    def fitted(*asked: object, **how: object) -> object:
        calls.append(1)
        return _two_corners() if len(calls) == 1 else real(*asked, **how)  # type: ignore[arg-type]

    monkeypatch.setattr("vectorize.trace.rings.fitted", fitted)
    trace = trace_picks(page, scale, picks)
    assert [part.name for part in trace.parts] == ["plain"]
    (note,) = [note for note in trace.notes if note.state == "open"]
    assert (note.code, note.part) == ("open-part", "tinted")
    assert "enclose no shape that can be measured" in note.text


def test_a_hole_without_a_measurable_edge_is_an_open_note_and_the_part_is_given(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """As the speck between a rib's edge and a line that grazes it: the whole part was lost for it."""
    from vectorize.trace import rings as tracing

    sheet = Sheet().shape([(20, 10), (80, 10), (80, 50), (20, 50)]).shape(circle_points(35, 30, 5))
    sheet.shape([(60, 25), (70, 25), (70, 35), (60, 35)])
    page, real = sheet.page(), tracing.fitted
    at = sheet.pick(65, 30)

    def fitted(drawn: object, loop: Loop, *asked: object, **how: object) -> object:
        is_the_hole = np.hypot(*(loop.points.mean(axis=0) - at)) < 20 and loop.signed_area_px < 0
        return _two_corners() if is_the_hole else real(drawn, loop, *asked, **how)  # type: ignore[arg-type]

    monkeypatch.setattr("vectorize.trace.rings.fitted", fitted)
    trace = trace_picks(page, fit_scale(page, sheet.known()), [PartPick("plate", (sheet.pick(50, 15),))])
    (part,) = trace.parts
    assert len(part.outline.cutouts) == 1
    (note,) = [note for note in trace.notes if note.code == "no-cutout"]
    assert (note.state, note.part) == ("open", "plate")
    assert note.at == pytest.approx(at, abs=5)


def test_a_part_whose_edge_crosses_itself_is_an_open_note_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    """No later stage could weigh, lay or cut it, and one such part would stop them for all."""
    from vectorize.trace import trace_sheet as tracing

    sheet = _tinted()
    page, real = sheet.page(), tracing.TracedPart
    picks = [PartPick("tinted", (sheet.pick(27.5, 24.5),)), PartPick("plain", (sheet.pick(75, 25),))]
    bow_tie = Outline.from_points([(0, 0), (40, 20), (40, 0), (0, 30)])

    def crossing(name: str, outline: Outline, *more: object, **named: object) -> object:
        return real(name, bow_tie if name == "tinted" else outline, *more, **named)  # type: ignore[arg-type]

    monkeypatch.setattr("vectorize.trace.trace_sheet.TracedPart", crossing)
    trace = trace_picks(page, fit_scale(page, sheet.known()), picks)
    assert [part.name for part in trace.parts] == ["plain"]
    (note,) = [note for note in trace.notes if note.state == "open"]
    assert (note.code, note.part) == ("open-part", "tinted")
    assert "crosses itself at" in note.text
    assert "draw its outline at the desk" in note.text


@pytest.mark.parametrize("what", ["ring_of", "curves_along"])
def test_so_it_is_on_a_page_of_strokes(monkeypatch: pytest.MonkeyPatch, what: str) -> None:
    monkeypatch.setattr(f"vectorize.trace.rings.{what}", _two_corners)
    square = Stroke(Outline.rectangle(10, 10, 50, 40).exterior.segments, is_closed=True, pen_width=0.5)
    page = Page("plan.svg", 1, 1, None, (square,), 100, 50, stated_px_per_mm=(1.0, 1.0))
    scale = fit_scale(page, accepts_stated_size=True)
    trace = trace_picks(page, scale, [PartPick("square", ((30, 20),))], TraceSettings(edge="inside"))
    assert [(note.code, note.part) for note in trace.notes] == [("open-part", "square")]
    assert find_candidates(page, scale).parts == ()


def test_whoever_watches_is_told_stages_and_parts_in_order_with_growing_shares(worn: Sheet) -> None:
    page = worn.page(seed=4)
    scale = fit_scale(page, worn.known())
    told: list[tuple[str, float | None]] = []
    picks = [PartPick("former", (worn.pick(50, 20),)), PartPick("disc", (worn.pick(80, 30),))]
    trace_picks(page, scale, picks, watch=lambda stage, share=None: told.append((stage, share)))
    shares = [share for _, share in told if share is not None]
    assert [stage for stage, _ in told][-2:] == ["former", "disc"]
    assert len(shares) == len(told) >= 7
    assert shares == sorted(shares)
    assert 0.0 <= shares[0] < shares[-1] < 1.0


def test_unpicked_regions_are_listed_with_a_point_that_picks_them(worn: Sheet) -> None:
    page = worn.page(seed=5)
    scale = fit_scale(page, worn.known())
    candidates = find_candidates(page, scale).parts
    assert [part.name for part in candidates] == ["region 1", "region 2"]
    again = trace_picks(page, scale, [PartPick(c.name, (c.inside_px,)) for c in candidates]).parts
    assert [p.outline.area_mm2 for p in again] == pytest.approx([c.outline.area_mm2 for c in candidates])
