"""A leftover board photographed on a sheet of known size: its outline in millimetres."""

from __future__ import annotations

from collections.abc import Sequence

from vectorize.basics.errors import PickError, ScaleError
from vectorize.faces.part_pick import TraceSettings
from vectorize.page import Page
from vectorize.scale.known import KnownDimension
from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.outline import TracedOutline
from vectorize.shapes.segment import Point

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
    from vectorize.scale.fit_scale import fit_scale  # what traces is slow to load
    from vectorize.trace.silhouette import find_silhouettes

    if sheet_mm is None and not known:
        raise ScaleError(f"{page.name}: nothing says how large the board is; give the sheet's size or a known length.")
    scale = fit_scale(page, known, sheet_mm=sheet_mm, corners=corners)
    found = find_silhouettes(page, scale, TraceSettings(edge="solid", tolerance_mm=SAW_TOLERANCE_MM)).parts
    if not found:
        raise PickError(
            f"{page.name}: no board lies wholly on the sheet; lay it inside the sheet's edges, on a ground of clearly "
            "another brightness, and take the picture again."
        )
    largest = max(found, key=lambda part: part.outline.area_mm2)
    return TracedOutline(largest.outline, largest.sigma_edge_mm, largest.sigma_area_mm2), scale
