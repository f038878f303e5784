"""Where two lines touch they enclose a sliver, which may cross itself; it is neither a piece of a part nor a hole."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.vectorize.inked_lines import Sheet
from vectorize.faces.sheet import read_drawing
from vectorize.lines.graph import LineWork
from vectorize.scale.fit_scale import fit_scale
from vectorize.trace.rings import InkRings
from vectorize.trace.trace_page import PartPick, TraceSettings
from vectorize.trace.trace_sheet import trace_sheet

PLATE = [(12, 12), (74, 12), (74, 48), (12, 48)]
SPECK = [(40, 30), (43, 30), (41.5, 33)]


@pytest.mark.parametrize("turn", [1, -1])
def test_a_sliver_that_crosses_itself_takes_nothing_from_its_part(turn: int) -> None:
    sheet = Sheet().shape(PLATE, SPECK)
    page = sheet.page()
    scale = fit_scale(page, sheet.known())
    drawing = read_drawing(page, scale, gap_mm=2.0)
    work = drawing.regions.work
    (speck,) = [k for k, edge in enumerate(work.edges) if edge.length < 12 * scale.px_per_mm]
    # A bow tie: two triangles of 0.5 and 0.7 square pixels, walked once with and once against the clock.
    middle = work.edges[speck].points[0]
    bow = np.array([(0, 0), (1, 0), (2, 0.7), (2, -0.7), (1, 0), (0, 1), (0, 0)])[::turn]
    edges = [replace(e, points=middle + bow) if k == speck else e for k, e in enumerate(work.edges)]
    regions = replace(drawing.regions, work=LineWork(work.nodes, tuple(edges)))
    rings = InkRings(replace(drawing, regions=regions))
    pick = PartPick("plate", (sheet.pick(20, 20),))
    (part,) = trace_sheet(rings, scale, [pick], TraceSettings()).parts
    assert part.outline.area_mm2 == pytest.approx(62 * 36, rel=0.005)
    assert part.outline.cutouts == ()
