"""Sheets on which something lay over a part's own line and led the tracer astray."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from fixtures.cases import Sample
from fixtures.opening import worst_of
from fixtures.random_sheets import random_sheet

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
    assert worst_of(Sample((file,), sheet.truth, picks, sheet.known), name) < EDGE_MM
