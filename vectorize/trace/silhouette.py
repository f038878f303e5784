"""A thing instead of a drawing: an old part, or a leftover board, laid on the scanner.

The edge is where the picture is half way between the thing and what lies behind it; there is no pen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray
from skimage.measure import find_contours

from vectorize.basics.errors import PickError, ScaleError, ScanError, SheetwoodError
from vectorize.basics.notes import Note
from vectorize.faces.part_pick import PartPick, TraceSettings
from vectorize.faces.picking import guarded
from vectorize.fit import FitSettings, fit_ring
from vectorize.fit.edge_uncertainty import uncertainty
from vectorize.shapes.outline import Outline, Ring
from vectorize.shapes.segment import Point, Points
from vectorize.trace.traced import Trace, TracedPart, open_part

if TYPE_CHECKING:
    from vectorize.page import Page
    from vectorize.scale.plan_scale import PlanScale

LEAST_MM = 8.0
"""Nothing smaller is a thing by itself."""

LEAST_HOLE_MM = 1.5
"""Nothing smaller is a hole: dust, grain, a pin mark."""

ROUNDING_MM = 0.12
"""Stands in for the pen width: a sawn corner is no sharper than this."""

ROUNDING_PX = 1.7
"""Nor is a corner in a picture that is a little out of focus."""

UNEVEN_MM = 0.05
"""Light that falls off across the sheet bends a straight edge by so much, because one level serves all of it."""

LEAST_CONTRAST = 25

RIM_MM = 2.0
"""So much of a photographed sheet's rim is not looked at: it curls, and throws a shadow."""


@dataclass(frozen=True, slots=True, eq=False)
class Things:
    """A picture with things in it: `grey` brighter inside, which thing each pixel is, and the half-way level.

    `cut` are the things that run over the edge of what is looked at: the picture, or the sheet on it.
    """

    grey: NDArray[np.float32]
    labels: NDArray[np.int32]
    boxes: NDArray[np.int64]
    level: float
    cut: frozenset[int]


def trace_silhouettes(page: Page, scale: PlanScale, picks: Sequence[PartPick], settings: TraceSettings) -> Trace:
    """Return the outline of the thing at each pick; one that fails becomes an open note.

    Raises:
        ScanError: The page has no picture, or nothing stands out on it.
    """
    things = things_on(page, scale)
    parts: list[TracedPart] = []
    notes: list[Note] = []
    for pick in picks:
        try:
            parts.append(_traced(things, scale, pick, settings))
        except SheetwoodError as error:
            notes.append(open_part(pick, error))
    return Trace(tuple(parts), tuple(notes))


def find_silhouettes(page: Page, scale: PlanScale, settings: TraceSettings) -> Trace:
    """Return every thing on the page, the largest first."""
    things = things_on(page, scale)
    least = LEAST_MM * scale.px_per_mm
    sizes = np.max(things.boxes[:, 2:4], axis=1)
    order = [k for k in np.argsort(-things.boxes[:, 4], kind="stable").tolist() if k != 0 and sizes[k] >= least]
    picks = [PartPick(f"region {n}", (_deepest(things, k),)) for n, k in enumerate(order, start=1)]
    return trace_silhouettes(page, scale, picks, settings)


def things_on(page: Page, scale: PlanScale) -> Things:
    """Return what stands out on a page.

    Raises:
        ScanError: The page has no picture, or nothing stands out on it.
        ScaleError: A photographed sheet's edge is outside of the picture.
    """
    if page.grey is None:
        raise ScanError(f"{page.name} is a drawing; a solid part needs a picture of it. Choose another edge.")
    grey, edge = _looked_at(page.name, page.grey, scale)
    smooth = np.asarray(cv2.GaussianBlur(grey, (0, 0), 1.0), np.uint8)
    _, mask = cv2.threshold(smooth, 0, 1, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    mask = np.asarray(mask, np.uint8)
    is_dark = float(mask[edge].mean()) > 0.5
    inside = 1 - mask if is_dark else mask
    means = [float(grey[mask == k].mean()) if np.any(mask == k) else 0.0 for k in (0, 1)]
    if abs(means[1] - means[0]) < LEAST_CONTRAST:
        raise ScanError(f"nothing stands out on {page.name}; scan the part on a ground of clearly another brightness.")
    half = (means[0] + means[1]) / 2
    _, labels, stats, _ = cv2.connectedComponentsWithStats(inside, connectivity=8, ltype=cv2.CV_32S)
    fine = grey.astype(np.float32)
    return Things(
        -fine if is_dark else fine,
        np.asarray(labels, np.int32),
        np.asarray(stats, np.int64),
        -half if is_dark else half,
        frozenset(np.unique(labels[edge]).tolist()),
    )


def _looked_at(name: str, grey: NDArray[np.uint8], scale: PlanScale) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
    """Return the picture to look at and the pixels along its edge: of a photographed sheet, without its rim.

    What lies beyond, the table, becomes as bright as the sheet.

    Raises:
        ScaleError: The sheet's edge is outside of the picture.
    """
    edge = np.zeros(grey.shape, np.bool_)
    if not scale.is_sheet:
        edge[[0, -1]] = edge[:, [0, -1]] = True
        return grey, edge
    width, height = scale.page_mm
    corners = [(RIM_MM, RIM_MM), (width - RIM_MM, RIM_MM), (width - RIM_MM, height - RIM_MM), (RIM_MM, height - RIM_MM)]
    shape = np.round(scale.to_px(corners)).astype(np.int32)
    sheet, line = np.zeros(grey.shape, np.uint8), np.zeros(grey.shape, np.uint8)
    cv2.fillConvexPoly(sheet, shape, 1)
    cv2.polylines(line, [shape], True, 1, 5)
    edge = (line > 0) & (sheet > 0)
    if not edge.any():
        raise ScaleError(
            f"{name}: the edge of the sheet lies outside of the picture; give its corners in pixels of this picture, "
            "or take the whole sheet into it."
        )
    ground = np.uint8(round(float(np.median(grey[edge]))))
    return np.where(sheet > 0, grey, ground), edge


def _deepest(things: Things, thing: int) -> Point:
    x, y, w, h = things.boxes[thing, :4].tolist()
    own = np.pad((things.labels[y : y + h, x : x + w] == thing).astype(np.uint8), 1)
    row, column = np.unravel_index(int(np.argmax(cv2.distanceTransform(own, cv2.DIST_L2, 3))), own.shape)
    return (float(x + column - 1), float(y + row - 1))


@guarded
def _traced(things: Things, scale: PlanScale, pick: PartPick, settings: TraceSettings) -> TracedPart:
    thing = _picked(things, pick, scale)
    contours = contours_of(things, thing)
    body, *others = sorted((_ring(c, scale, settings) for c in contours), key=lambda r: -abs(r.signed_area_mm2))
    holes = [ring for ring in others if abs(ring.signed_area_mm2) > np.pi / 4 * LEAST_HOLE_MM**2]
    outline = Outline(body, tuple(holes))
    sigma_edge, sigma_area = uncertainty(outline, scale)
    return TracedPart(pick.name, outline, sigma_edge, sigma_area, 0.0, pick.inside[0])


def _picked(things: Things, pick: PartPick, scale: PlanScale) -> int:
    rows, columns = things.labels.shape
    found = set()
    for x, y in pick.inside:
        column, row = round(x), round(y)
        if not (0 <= column < columns and 0 <= row < rows):
            raise PickError(f"the pick at {scale.told((x, y))} is outside the page of {columns} x {rows} px.")
        found.add(int(things.labels[row, column]))
    if len(found) != 1 or 0 in found:
        raise PickError(f"the pick at {scale.told(pick.inside[0])} is not on one solid thing; pick inside it.")
    thing = found.pop()
    if thing in things.cut:
        raise PickError(
            "the thing runs over the edge of the picture, or of the sheet that it lies on; lay it wholly inside and "
            "take the picture again."
        )
    return thing


def contours_of(things: Things, thing: int) -> list[Points]:
    """Return the half-way contours of a thing in pixels, (N, 2), the outer one and its holes."""
    x, y, w, h = things.boxes[thing, :4].tolist()
    m = 4
    top, left = max(0, y - m), max(0, x - m)
    window = things.grey[top : y + h + m, left : x + w + m].copy()
    others = things.labels[top : y + h + m, left : x + w + m]
    window[(others != thing) & (others != 0)] = things.level - 50
    found = find_contours(window, things.level)  # type: ignore[no-untyped-call]
    return [np.asarray(c[:-1, ::-1] + (left, top), np.float64) for c in found if len(c) > 12 and np.all(c[0] == c[-1])]


def _ring(contour: Points, scale: PlanScale, settings: TraceSettings) -> Ring:
    ring = np.vstack([contour, contour[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    wanted = np.linspace(0, along[-1], max(12, round(along[-1])), endpoint=False)
    even = np.column_stack([np.interp(wanted, along, ring[:, k]) for k in (0, 1)])
    rounding_mm = max(ROUNDING_MM, ROUNDING_PX / scale.px_per_mm)
    fit = FitSettings(max(settings.tolerance_mm, UNEVEN_MM), rounding_mm, 1.0 / scale.px_per_mm)
    return fit_ring(scale.to_mm(even), np.ones(len(even), np.bool_), settings=fit).ring
