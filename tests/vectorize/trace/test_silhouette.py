"""A plate laid on the scanner keeps all its corners sharp, however the picture falls."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
import shapely

from fixtures.compare_traces import compare
from tests.vectorize.inked_lines import Sheet
from vectorize.fit import FitSettings
from vectorize.page import Page
from vectorize.scale.fit_scale import fit_scale
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.outline import Outline
from vectorize.trace import silhouette
from vectorize.trace.trace_page import PartPick, TraceSettings, find_candidates, trace_picks

PLATE = [(10.0, 10.0), (70.0, 10.0), (70.0, 40.0), (10.0, 40.0)]
PHOTO_MM = 0.5
"""What is asked of a photo is 0.8 mm at worst."""

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


SHEET_MM = (297.0, 210.0)
RIB = [(40.0, 60.0), (250.0, 70.0), (246.0, 110.0), (150.0, 128.0), (44.0, 120.0)]
OVER = [(180.0, 150.0), (280.0, 150.0), (280.0, 220.0), (180.0, 220.0)]


def photo(table: int, part: int) -> tuple[Page, PlanScale]:
    """A white sheet on a table, seen aslant, with a rib on it and a plate that hangs over its upper edge."""
    per_mm, finer = 5, 8
    width, height = (round(side * per_mm) for side in SHEET_MM)
    flat = np.array([(0, 0), (width, 0), (width, height), (0, height)], np.float32) - 0.5
    seen = np.array([(210, 180), (1750, 120), (1820, 1330), (130, 1240)], np.float32)
    slant = cv2.getPerspectiveTransform(flat, seen)
    fine = np.full((height * finer, width * finer), 240, np.uint8)
    for ring in (RIB, OVER):
        points = np.array(ring) * (per_mm, -per_mm) + (0, height)
        cv2.fillPoly(fine, [np.round(points * finer - 0.5).astype(np.int32)], part)
    sheet = cv2.resize(fine, (width, height), interpolation=cv2.INTER_AREA)
    grey = cv2.warpPerspective(sheet, slant, (1960, 1480), borderValue=table, flags=cv2.INTER_AREA)
    grey = cv2.GaussianBlur(grey, (0, 0), 0.8) + np.random.default_rng(2).normal(0, 2.0, grey.shape)
    page = Page("photo.jpg", 1, 1, np.clip(grey, 0, 255).astype(np.uint8), (), 1960, 1480)
    return page, fit_scale(page, sheet_mm=SHEET_MM, corners=seen.tolist())


@pytest.mark.parametrize(("table", "part"), [(50, 140), (50, 70), (150, 60)])
def test_a_part_photographed_on_a_sheet_is_told_from_the_table(table: int, part: int) -> None:
    page, scale = photo(table, part)
    at = [scale.to_px([middle])[0].tolist() for middle in ((150.0, 95.0), (230.0, 175.0))]
    picks = [PartPick(name, ((x, y),)) for name, (x, y) in zip(("rib", "over"), at, strict=True)]
    trace = trace_picks(page, scale, picks, TraceSettings(edge="solid"))
    (rib,) = trace.parts
    assert compare(rib.outline, Outline.from_points(RIB)).worst_mm < PHOTO_MM
    (note,) = trace.notes
    assert note.part == "over"
    assert "runs over the edge of the picture, or of the sheet that it lies on" in note.text
    (found,) = find_candidates(page, scale, TraceSettings(edge="solid")).parts
    assert found.outline.area_mm2 == pytest.approx(rib.outline.area_mm2)


@pytest.mark.parametrize(
    "error", [shapely.GEOSException("TopologyException"), ValueError("no corners"), cv2.error("x")]
)
def test_a_thing_at_which_a_library_stumbles_is_an_open_note_and_spoils_no_other(
    error: Exception, monkeypatch: pytest.MonkeyPatch
) -> None:
    small = [(10.0, 50.0), (30.0, 50.0), (30.0, 65.0), (10.0, 65.0)]
    sheet = Sheet(80, 75, dpi=100).filled(PLATE).filled(small)
    page = sheet.page(seed=1, noise=3.0)
    scale = fit_scale(page, sheet.known())
    fit = silhouette.fit_ring

    def stumbling(points: np.ndarray, is_clean: np.ndarray, *, settings: FitSettings) -> object:
        if np.ptp(points[:, 0]) < 30.0:
            raise error
        return fit(points, is_clean, settings=settings)

    monkeypatch.setattr(silhouette, "fit_ring", stumbling)
    picks = [PartPick("small", (sheet.pick(20, 57),)), PartPick("plate", (sheet.pick(40, 25),))]
    trace = trace_picks(page, scale, picks, TraceSettings(edge="solid"))

    assert [part.name for part in trace.parts] == ["plate"]
    (note,) = trace.notes
    assert (note.code, note.state, note.part) == ("open-part", "open", "small")
    assert "enclose no shape that can be measured" in note.text
    assert str(error) not in note.text
