"""A plate laid on the scanner keeps all its corners sharp, however the picture falls."""

from __future__ import annotations

import pytest

from fixtures.compare import compare
from tests.vectorize.drawing import Sheet
from vectorize.outline import Outline
from vectorize.scale import fit_scale
from vectorize.trace import PartPick, TraceSettings, trace_picks

PLATE = [(10.0, 10.0), (70.0, 10.0), (70.0, 40.0), (10.0, 40.0)]
EDGE_MM = 0.08
"""Two thirds of a pixel at 200 dpi: the light falls off across the sheet, and one level serves all of it."""


@pytest.mark.parametrize(("skew_deg", "seed"), [(0.0, 1), (0.2, 3), (1.0, 2)])
def test_no_corner_of_a_plate_is_bevelled(skew_deg: float, seed: int) -> None:
    sheet = Sheet(80, 50, dpi=200, skew_deg=skew_deg).filled(PLATE)
    page = sheet.page(seed=seed, noise=3.0)
    scale = fit_scale(page, sheet.known())
    settings = TraceSettings(edge="solid")
    (part,) = trace_picks(page, scale, [PartPick("plate", (sheet.pick(40, 25),))], settings).parts
    assert len(part.outline.exterior.segments) == 4
    assert compare(part.outline, Outline.from_points(scale.to_mm(sheet.px(PLATE)))).worst_mm < EDGE_MM
