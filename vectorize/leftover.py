"""A leftover board photographed on a sheet of known size: its outline in millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np

from vectorize.curve import Point
from vectorize.errors import PickError, ScaleError
from vectorize.outline import TracedOutline
from vectorize.picking import TraceSettings
from vectorize.scale import KnownDimension, PlanScale, fit_scale
from vectorize.scan import Page
from vectorize.silhouette import find_silhouettes

RIM_MM = 2.0
"""So much of the sheet's rim is not looked at: it curls, and throws a shadow."""
SAW_TOLERANCE_MM = 0.1
"""How closely a sawn or broken edge is followed: finer than anybody cuts up to it."""


def leftover_outline(
    page: Page,
    *,
    sheet_mm: tuple[float, float] | None = None,
    corners: Sequence[Point] | None = None,
    known: Sequence[KnownDimension] = (),
) -> tuple[TracedOutline, PlanScale]:
    """Return the outline of the largest thing on a picture, and the scale that it was measured by.

    Args:
        page: A photo of the board on a sheet of clearly another brightness, or a flat scan of it.
        sheet_mm: Size of that sheet; without it `known` must give the scale.
        corners: The sheet's corners in pixels, in order round it; found where they are not given.
        known: Known dimensions, in pixels.

    Raises:
        ScaleError: The sheet is not found, or nothing says how large anything is.
        ScanError: The page has no picture, or nothing stands out on it.
        PickError: No thing lies wholly on the sheet.
    """
    if sheet_mm is None and not known:
        raise ScaleError(f"{page.name}: nothing says how large the board is; give the sheet's size or a known length.")
    scale = fit_scale(page, known, sheet_mm=sheet_mm, corners=corners)
    on_sheet = page if sheet_mm is None else _on_the_sheet(page, scale)
    found = find_silhouettes(on_sheet, scale, TraceSettings(edge="solid", tolerance_mm=SAW_TOLERANCE_MM)).parts
    if not found:
        raise PickError(
            f"{page.name}: no board lies wholly on the sheet; lay it inside the sheet's edges, on a ground of clearly "
            "another brightness, and take the picture again."
        )
    largest = max(found, key=lambda part: part.outline.area_mm2)
    return TracedOutline(largest.outline, largest.sigma_edge_mm, largest.sigma_area_mm2), scale


def _on_the_sheet(page: Page, scale: PlanScale) -> Page:
    """Return the page with everything beyond the sheet, and its rim, as bright as the sheet."""
    if page.grey is None:
        return page
    (width, height), rim = scale.page_mm, RIM_MM
    inside = [(rim, rim), (width - rim, rim), (width - rim, height - rim), (rim, height - rim)]
    shape = np.round(scale.to_px(inside)).astype(np.int32)
    sheet = np.zeros(page.grey.shape, np.uint8)
    cv2.fillConvexPoly(sheet, shape, 1)
    edge = np.zeros_like(sheet)
    cv2.polylines(edge, [shape], True, 1, 5)
    rim_levels = page.grey[(edge > 0) & (sheet > 0)]
    if rim_levels.size == 0:
        raise ScaleError(
            f"{page.name}: the edge of the sheet lies outside of the picture; give its corners in pixels of this "
            "picture, or take the whole sheet into it."
        )
    ground = float(np.median(rim_levels))
    return replace(page, grey=np.where(sheet > 0, page.grey, np.uint8(round(ground))))
