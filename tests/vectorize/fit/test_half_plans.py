"""The long straight edges of a half-plan are not turned by the curves that leave them gently."""

from __future__ import annotations

from pathlib import Path

import pytest

from fixtures.cases import case
from fixtures.compare_traces import aligning_pose, compare
from vectorize.page import read_page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.known import KnownDimension
from vectorize.trace.trace_page import PartPick, trace_picks

AREA_SHARE = 0.0006
"""A straight edge of 70 mm turned by its last 3 mm cost a quarter more than this."""
MEAN_MM = 0.03
"""What is aimed at on a clean scan."""


@pytest.mark.slow
def test_a_half_plan_keeps_its_area(tmp_path: Path) -> None:
    sample = case("half-plan").make(tmp_path, 3)
    page = read_page(sample.files[0])
    scale = fit_scale(page, [KnownDimension((a[0], a[1]), (b[0], b[1]), size) for a, b, size in sample.known])
    pick = PartPick("elevator", (sample.truth.picks["elevator"],), mirror=sample.truth.mirrors["elevator"])
    (part,) = trace_picks(page, scale, [pick]).parts
    true = sample.truth.outlines["elevator"]
    assert part.outline.area_mm2 == pytest.approx(true.area_mm2, rel=AREA_SHARE)
    turned = part.outline.placed(aligning_pose({"elevator": part.outline}, {"elevator": true}))
    assert compare(turned, true).mean_mm < MEAN_MM
