"""The sheet's own ground: blank paper between the parts, which no part may grow into."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np

from vectorize.faces.regions import Regions

_LARGE_SHARE = 0.15
_FRAME_SHARE = 0.45
_FRAME_SPAN = 0.8
_FRAME_RECTANGLE = 0.96


def with_ground(regions: Regions) -> Regions:
    """Return the regions with what lies inside the sheet's frame counted as outside too.

    A frame is a rectangle around most of the page with other drawings standing free inside it; frames may be
    doubled. A page-filling part is not one: it is no rectangle, or nothing as large as a part stands in it.
    """
    page = regions.extent[0] * regions.extent[1]
    large = np.flatnonzero(regions.area_px > _LARGE_SHARE * page)
    ground = {int(r) for r in large if r != 0 and int(r) not in regions.outside and _is_framed(regions, int(r), page)}
    ground |= {int(r) for r in np.flatnonzero(regions.area_px > 0) if _is_rim(regions, int(r), page)}
    return replace(regions, outside=regions.outside | ground)


def _is_framed(regions: Regions, region: int, page: float) -> bool:
    loops = sorted(regions.loops({region}), key=lambda loop: -loop.signed_area_px)
    if not loops or _rectangularity(loops[0].points) < _FRAME_RECTANGLE:
        return False
    columns, rows = regions.extent
    width, height = np.ptp(loops[0].points, axis=0).tolist()
    is_around_page = width > _FRAME_SPAN * columns and height > _FRAME_SPAN * rows
    islands = sum(-loop.signed_area_px > 0.002 * page for loop in loops[1:])
    return islands >= 1 if is_around_page else islands >= 2 and loops[0].signed_area_px > _FRAME_SHARE * page


def _is_rim(regions: Regions, region: int, page: float) -> bool:
    """Whether a region is the narrow band between two frames: a large box, hardly any area."""
    x0, y0, x1, y1 = regions.boxes[region].tolist()
    box = (x1 - x0) * (y1 - y0)
    if region == 0 or region in regions.outside or box < 0.6 * page or regions.area_px[region] > 0.15 * box:
        return False
    loops = sorted(regions.loops({region}), key=lambda loop: -loop.signed_area_px)
    return bool(loops) and _rectangularity(loops[0].points) > _FRAME_RECTANGLE


def _rectangularity(points: np.ndarray) -> float:
    """Area of the hull over that of the smallest rectangle around it; a title block takes a corner off the frame."""
    contour = points.astype(np.float32)
    (_, (a, b), _) = cv2.minAreaRect(contour)
    if cv2.contourArea(contour) < 0.7 * a * b:
        return 0.0
    return float(cv2.contourArea(cv2.convexHull(contour)) / max(a * b, 1e-9))
