"""The demonstration's plan, scanned afresh with random wear, against its truth."""

from __future__ import annotations

import secrets

import pytest

from fixtures.compare import aligning_pose, compare
from fixtures.draw_sedge import draw_sedge_scan
from vectorize.scale import KnownDimension, fit_scale
from vectorize.scan import Page
from vectorize.trace import PartPick, trace_picks

# The limits that the product states for this scan.
WORST_EDGE_MM = 0.35
MEAN_EDGE_MM = 0.08
AREA_SHARE = 0.003


@pytest.mark.slow
@pytest.mark.parametrize("number", range(5))
def test_every_part_of_a_fresh_scan_is_found_within_the_stated_accuracy(number: int) -> None:
    seed = secrets.randbelow(1_000_000)
    print(f"scan {number}: seed {seed}")
    grey, truth = draw_sedge_scan(seed)
    page = Page("plan.jpg", 1, 1, grey, (), grey.shape[1], grey.shape[0])
    scale = fit_scale(page, [KnownDimension(a, b, length) for a, b, length in truth.known])
    picks = [PartPick(name, (point,), line=truth.lines[name]) for name, point in truth.picks.items()]  # type: ignore[arg-type]
    trace = trace_picks(page, scale, picks)
    outlines = {part.name: part.outline for part in trace.parts}
    assert outlines.keys() == truth.outlines.keys(), [note.text for note in trace.notes if note.state == "open"]
    pose = aligning_pose(outlines, truth.outlines)
    for name, outline in outlines.items():
        measured = compare(outline.placed(pose), truth.outlines[name])
        assert measured.worst_mm < WORST_EDGE_MM, name
        assert measured.mean_mm < MEAN_EDGE_MM, name
        assert measured.area_error < AREA_SHARE, name
