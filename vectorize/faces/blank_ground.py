"""The sheet's own ground: blank paper between the parts, which no part may grow into."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import cv2
import numpy as np

from vectorize.faces.regions import Loop, Regions
from vectorize.shapes.segment import Points

_LARGE_SHARE = 0.15
_FRAME_SHARE = 0.45
_FRAME_SPAN = 0.8
_FRAME_RECTANGLE = 0.96

_ISLAND_SHARE = 0.002
"""What stands free in a frame is a part's size from this share of the page. Chosen, not measured."""

_SIDE_SHARE = 0.05
"""Ground that a crease divides lies along this share of the frame; a part that touches the frame does not.
Chosen on the demo's creased scan (seed 482054)."""

_FEWEST_ISLANDS = 3
"""So many drawings stand free in a frame whose ground is divided; a plate across which lines run has few cut-outs.
Chosen, not measured."""

ToMm = Callable[[Points], Points]


def with_ground(regions: Regions, to_mm: ToMm) -> Regions:
    """Return the regions with what lies inside the sheet's frame counted as outside too.

    A frame is a rectangle around most of the page with other drawings standing free inside it; frames may be
    doubled, and creases from side to side may divide what they hold. A page-filling part is not one: it is no
    rectangle, or nothing as large as a part stands in it. `to_mm` lays a photographed page flat.
    """
    page = regions.extent[0] * regions.extent[1]
    candidates = [int(r) for r in np.flatnonzero(regions.area_px > 0) if r != 0 and int(r) not in regions.outside]
    ground = {r for r in candidates if _is_rim(regions, r, to_mm)}
    framed = {r for r in candidates if regions.area_px[r] > _LARGE_SHARE * page and _is_framed(regions, r, to_mm)}
    if not any(_is_around_page(regions, regions.boxes[r]) for r in framed):
        framed |= _divided_ground(replace(regions, outside=regions.outside | ground), to_mm)
    return replace(regions, outside=regions.outside | ground | framed)


def _is_framed(regions: Regions, region: int, to_mm: ToMm) -> bool:
    loops = _sorted_loops(regions, {region})
    if not loops or _rectangularity(to_mm(loops[0].points)) < _FRAME_RECTANGLE:
        return False
    page = regions.extent[0] * regions.extent[1]
    islands = _islands(regions, loops)
    if _is_around_page(regions, regions.boxes[region]):
        return islands >= 1
    return islands >= 2 and loops[0].signed_area_px > _FRAME_SHARE * page


def _divided_ground(regions: Regions, to_mm: ToMm) -> set[int]:
    """Return the regions along the inside of a frame within which creases or other lines divide the ground."""
    within = set(np.flatnonzero(regions.area_px > 0).tolist()) - regions.outside - {0}
    loops = _sorted_loops(regions, within)
    if not loops:
        return set()
    frame = loops[0]
    box = np.concatenate([frame.points.min(axis=0), frame.points.max(axis=0)])
    if not _is_around_page(regions, box) or _rectangularity(to_mm(frame.points)) < _FRAME_RECTANGLE:
        return set()
    inner = np.where(frame.forwards, regions.left[list(frame.ids)], regions.right[list(frame.ids)])
    lengths = np.bincount(inner, [edge.length for edge in frame.edges])
    ground = set(np.flatnonzero(lengths > _SIDE_SHARE * lengths.sum()).tolist())
    return ground if _islands(regions, _sorted_loops(regions, ground)) >= _FEWEST_ISLANDS else set()


def _sorted_loops(regions: Regions, chosen: set[int]) -> list[Loop]:
    return sorted(regions.loops(chosen), key=lambda loop: -loop.signed_area_px)


def _is_around_page(regions: Regions, box: Points) -> bool:
    """Return whether a box x0, y0, x1, y1 spans most of the page both ways."""
    return bool(np.all(box[2:] - box[:2] > _FRAME_SPAN * np.array(regions.extent)))


def _islands(regions: Regions, loops: list[Loop]) -> int:
    """Return how many drawings as large as a part stand free within the first of the loops."""
    page = regions.extent[0] * regions.extent[1]
    return sum(-loop.signed_area_px > _ISLAND_SHARE * page for loop in loops[1:])


def _is_rim(regions: Regions, region: int, to_mm: ToMm) -> bool:
    """Whether a region is the narrow band between two frames: a large box, hardly any area."""
    page = regions.extent[0] * regions.extent[1]
    x0, y0, x1, y1 = regions.boxes[region].tolist()
    box = (x1 - x0) * (y1 - y0)
    if box < 0.6 * page or regions.area_px[region] > 0.15 * box:
        return False
    loops = _sorted_loops(regions, {region})
    return bool(loops) and _rectangularity(to_mm(loops[0].points)) > _FRAME_RECTANGLE


def _rectangularity(points: np.ndarray) -> float:
    """Area of the hull over that of the smallest rectangle around it; a title block takes a corner off the frame."""
    contour = points.astype(np.float32)
    (_, (a, b), _) = cv2.minAreaRect(contour)
    if cv2.contourArea(contour) < 0.7 * a * b:
        return 0.0
    return float(cv2.contourArea(cv2.convexHull(contour)) / max(a * b, 1e-9))
