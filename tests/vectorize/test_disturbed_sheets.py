"""Sheets on which something lay over a part's own line and led the tracer astray."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from fixtures.cases import Sample
from fixtures.compare import aligning_pose, compare
from fixtures.opening import opened
from fixtures.random_sheets import random_sheet
from vectorize.trace import trace_picks

EDGE_MM = 0.3  # what is aimed at on a worn scan


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "seed", "name"),
    [
        # The blur of a thick pen fills a notch of 2 mm: none of its points is sure, and one side ends in a corner.
        ("photocopy", 12004, "former"),
        # A crease touches the bend of a tip where both run the same way.
        ("folds", 9007, "tip"),
    ],
)
def test_a_part_keeps_its_own_line(tmp_path: Path, kind: str, seed: int, name: str) -> None:
    sheet = random_sheet(kind, seed)
    Image.fromarray(sheet.picture).save(file := tmp_path / "plan.png")
    picks = {part: (*pick, 1) for part, pick in sheet.truth.picks.items()}
    plan = opened(Sample((file,), sheet.truth, picks, sheet.known))
    found = {part.name: part.outline for part in trace_picks(plan.page, plan.scale, plan.picks, plan.settings).parts}
    outline = found[name].placed(aligning_pose(found, sheet.truth.outlines))
    assert compare(outline, sheet.truth.outlines[name]).worst_mm < EDGE_MM
