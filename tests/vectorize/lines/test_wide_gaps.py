"""A gap wider than what is bridged anyway is decided on by the whole sheet, told, and left open."""

from __future__ import annotations

import numpy as np
import pytest

from tests.vectorize.inked_lines import Sheet, circle_points
from vectorize.faces.gaps import GAP_CUES, GAP_WEIGHTS, gap_cues
from vectorize.faces.part_pick import PartPick
from vectorize.faces.sheet import Drawing, read_drawing
from vectorize.lines.graph import WideGap
from vectorize.scale.fit_scale import fit_scale
from vectorize.trace.trace_page import Trace, trace_picks

AREA_TOL = 0.01


def open_rib(gap_mm: float, *, second_mm: float = 0.0) -> Sheet:
    """An outline of 70 x 20 mm with a gap in its lower side, the right end of which is `second_mm` higher."""
    left, right = (47.5, 20.0), (47.5 + gap_mm, 20.0 + second_mm)
    sheet = Sheet().line([right, (85, 20 + second_mm), (85, 40), (15, 40), (15, 20), left])
    return sheet.shape([(3, 3), (97, 3), (97, 57), (3, 57)], circle_points(25, 48, 4), circle_points(75, 48, 4))


def drawing_of(sheet: Sheet, gap_mm: float = 2.0) -> Drawing:
    page = sheet.page()
    return read_drawing(page, fit_scale(page, sheet.known()), gap_mm=gap_mm)


def wide_gaps(drawing: Drawing) -> list[WideGap]:
    return list(dict.fromkeys(edge.wide for edge in drawing.regions.work.edges if edge.wide is not None))


def traced(sheet: Sheet) -> Trace:
    page = sheet.page()
    return trace_picks(page, fit_scale(page, sheet.known()), [PartPick("rib", (sheet.pick(30, 30),))])


@pytest.mark.parametrize("gap_mm", [3.0, 5.0])
def test_a_wide_gap_in_an_outline_is_closed_told_and_left_open(gap_mm: float) -> None:
    sheet = open_rib(gap_mm)
    trace = traced(sheet)
    (part,) = trace.parts
    assert part.outline.area_mm2 == pytest.approx(70 * 20, rel=AREA_TOL)
    (bridge,) = [note for note in trace.notes if note.code == "bridged"]
    assert bridge.at == pytest.approx(sheet.pick(47.5 + gap_mm / 2, 20), abs=10)
    told_mm = float(bridge.text.removeprefix("a gap of ").split(" mm")[0])
    assert told_mm == pytest.approx(gap_mm, abs=0.5)  # the pen's round ends are half a pen each
    assert [note.part for note in trace.notes if note.state == "open"] == ["rib"]


def test_no_gap_is_laid_over_more_than_three_times_what_is_bridged() -> None:
    assert wide_gaps(drawing_of(open_rib(7.5))) == []
    assert wide_gaps(drawing_of(open_rib(3.0), gap_mm=0.5)) == []


def test_what_spans_a_wide_gap_is_part_of_no_line() -> None:
    drawing = drawing_of(open_rib(4.0))
    work, runs = drawing.regions.work, drawing.runs
    (index,) = [k for k, edge in enumerate(work.edges) if edge.wide is not None]
    edge = work.edges[index]
    assert work.degrees()[[edge.start, edge.end]].tolist() == [1, 1]
    assert not any(k == index for k, _ in runs.partner)
    assert runs.runs[runs.of_edge[index]].edges == (index,)
    assert np.isnan(drawing.ink_px[index])


def test_ends_of_lettering_and_of_crosses_are_not_led_on() -> None:
    sheet = Sheet().shape([(10, 10), (90, 10), (90, 50), (10, 50)])
    sheet.line([(30, 30), (34, 30)]).line([(32, 28), (32, 32)])  # a centre cross
    for x in (50, 54, 58):
        sheet.line([(x, 30), (x, 33)]).line([(x, 33), (x + 2, 33)])
    assert wide_gaps(drawing_of(sheet)) == []


@pytest.mark.parametrize(
    ("nearer", "farther"),
    [
        (WideGap((0, 1), 2.5, 5.0, 1.0, False, False, False), WideGap((0, 1), 6.0, 5.0, 1.0, False, False, False)),
        (WideGap((0, 1), 4.0, 5.0, 1.0, False, False, False), WideGap((0, 1), 4.0, 60.0, 1.0, False, False, False)),
        (WideGap((0, 1), 4.0, 5.0, 1.0, False, False, False), WideGap((0, 1), 4.0, 5.0, 0.4, False, False, False)),
    ],
    ids=["nearness", "good continuation", "likeness"],
)
def test_each_cue_counts_by_itself(nearer: WideGap, farther: WideGap) -> None:
    # Elder & Goldberg 2002, doi:10.1167/2.4.5: the three cues are independent, and each speaks for one line.
    likely, unlikely = (gap_cues(gap, np.array([1.0, 2.0])) @ np.array(GAP_WEIGHTS) for gap in (nearer, farther))
    assert likely > unlikely
    assert len(GAP_CUES) == len(GAP_WEIGHTS)


def test_a_gap_between_likely_outlines_is_the_likelier() -> None:
    gap = WideGap((0, 1), 3.0, 5.0, 1.0, False, False, False)
    odds = [gap_cues(gap, np.array(ends)) @ np.array(GAP_WEIGHTS) for ends in ([3.0, 3.0], [3.0, -3.0], [-3.0, -3.0])]
    assert odds == sorted(odds, reverse=True)
