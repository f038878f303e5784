"""A gap that is too wide to be bridged by itself, closed by two points."""

import math
from itertools import pairwise

import pytest

from tests.vectorize.inked_lines import Sheet
from vectorize.basics.errors import ScanError
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.shapes.segment import Line
from vectorize.shapes.stroke import Stroke
from vectorize.trace.trace_page import PartPick, TraceSettings, trace_picks

# A plate of 50 x 30 mm whose upper edge is missing for 8 mm.
PLATE = [(48, 45), (20, 45), (20, 15), (70, 15), (70, 45), (56, 45)]
GAP = ((48, 45), (56, 45))


def traced(page, known, bridges, pick):
    return trace_picks(page, fit_scale(page, known), [PartPick("plate", (pick,))], TraceSettings(bridges=bridges))


def test_a_wide_gap_is_closed_by_its_two_ends():
    sheet = Sheet().line(PLATE)
    page, known, pick = sheet.page(), sheet.known(), sheet.pick(30, 30)
    left_open = traced(page, known, (), pick)
    assert [note.code for note in left_open.notes if note.state == "open"] == ["open-part"]
    (part,) = traced(page, known, ((sheet.pick(*GAP[0]), sheet.pick(*GAP[1])),), pick).parts
    assert part.outline.size_mm == pytest.approx((50, 30), abs=0.1)
    assert part.outline.area_mm2 == pytest.approx(1500, rel=0.002)


def test_a_gap_in_a_drawing_is_closed_exactly():
    ends = [(float(x), 60.0 - y) for x, y in PLATE]
    strokes = (Stroke(tuple(Line(a, b) for a, b in pairwise(ends)), is_closed=False),)
    page = Page("plate.svg", 1, 1, None, strokes, 100.0, 60.0, stated_px_per_mm=(1.0, 1.0))
    scale = fit_scale(page, accepts_stated_size=True)
    settings = TraceSettings(bridges=(((48.0, 15.0), (56.0, 15.0)),))
    (part,) = trace_picks(page, scale, [PartPick("plate", ((30.0, 30.0),))], settings).parts
    assert part.outline.area_mm2 == pytest.approx(1500, abs=1e-6)


@pytest.mark.parametrize(
    ("bridge", "words"),
    [(((10.0, 10.0), (5000.0, 10.0)), "leaves the page"), (((10.0, 10.0), (10.0, 10.0)), "has no length")],
)
def test_a_bridge_that_cannot_be_is_refused(bridge, words):
    sheet = Sheet().line(PLATE)
    with pytest.raises(ScanError, match=words):
        traced(sheet.page(), sheet.known(), (bridge,), sheet.pick(30, 30))


def test_a_slanting_bridge_has_the_width_of_its_lines():
    sheet = Sheet(pen_mm=0.6).line([(20, 15), (70, 15), (70, 45)]).line([(20, 15), (20, 25), (30, 35)])
    bridge = (sheet.pick(30, 35), sheet.pick(70, 45))
    (part,) = traced(sheet.page(), sheet.known(), (bridge,), sheet.pick(40, 25)).parts
    # Shoelace by hand of (20, 15), (70, 15), (70, 45), (30, 35), (20, 25).
    assert part.outline.area_mm2 == pytest.approx(1150, rel=0.004)
    assert math.isclose(part.pen_width_mm, 0.6, abs_tol=0.12)
