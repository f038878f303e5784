"""Sheets on which something beside or over a part's own line once led the tracer astray."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from fixtures.cases import Sample, case
from fixtures.opening import worst_of
from fixtures.random_sheets import random_sheet

EDGE_MM = 0.3  # what is aimed at on a worn scan
CLEAN_EDGE_MM = 0.12  # and on a clean one


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


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "seed", "part", "limit_mm"),
    [
        # A hatching line cuts off the corner of a tip, which then is too short a stretch to tell its direction from.
        ("hatched", 641, "tip", CLEAN_EDGE_MM),
        # The other side of a nose lies so near that its ink hides what a way round the nose leaves unexplained.
        ("thick-pen", 645, "rib", CLEAN_EDGE_MM),
        # The arms of an E point at the ends of a 3.
        ("worn-lettered", 641, "fuselage", EDGE_MM),
        # The blocks of a strongly compressed picture widen a side, which is left out of the fit as if in company.
        ("jpeg-35", 651, "strap", EDGE_MM),
    ],
)
def test_a_part_of_a_drawn_case_keeps_its_own_line(
    tmp_path: Path, name: str, seed: int, part: str, limit_mm: float
) -> None:
    assert worst_of(case(name).make(tmp_path, seed), part) < limit_mm
