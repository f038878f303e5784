"""From a page and picks to outlines in millimetres: the whole of tracing, stage by stage."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from vectorize.curve import Point, Points
from vectorize.curves import FitSettings, fit_ring
from vectorize.cutouts import guess_cutout
from vectorize.drawing import Drawing, read_drawing
from vectorize.errors import PickError, SheetwoodError
from vectorize.growth import Growth
from vectorize.notes import Note
from vectorize.outline import Outline, Ring
from vectorize.regions import Loop, Regions
from vectorize.repair import repaired

if TYPE_CHECKING:
    from vectorize.scale import PlanScale
    from vectorize.scan import Page

EdgeSide = Literal["centre", "inside", "outside", "solid"]

LEAST_CANDIDATE_MM = 8.0
"""A region narrower than this both ways is lettering or a hole, not a candidate."""


@dataclass(frozen=True, slots=True)
class PartPick:
    """What was picked for one part, in original pixels.

    `inside` are points in the part (more than one where lines divide it), `cutouts` points in regions to
    take away, `line` says which kind of line bounds it, `mirror` two points on a half-plan's centre line.
    """

    name: str
    inside: tuple[Point, ...]
    cutouts: tuple[Point, ...] = ()
    line: Literal["solid", "dashed"] = "solid"
    mirror: tuple[Point, Point] | None = None


@dataclass(frozen=True, slots=True)
class TraceSettings:
    """How to trace: where the true edge lies, how wide a gap is bridged, how closely curves are followed."""

    edge: EdgeSide = "centre"
    gap_mm: float = 2.0
    tolerance_mm: float = 0.05


@dataclass(frozen=True, slots=True)
class TracedPart:
    """A part's outline in mm on the deskewed page, how sure it is, and where it was picked."""

    name: str
    outline: Outline
    sigma_edge_mm: float
    sigma_area_mm2: float
    pen_width_mm: float
    inside_px: Point


@dataclass(frozen=True, slots=True)
class Trace:
    """Traced parts, and notes on what was repaired, guessed or left open."""

    parts: tuple[TracedPart, ...]
    notes: tuple[Note, ...] = ()


def trace_picks(
    page: Page, scale: PlanScale, picks: Sequence[PartPick], settings: TraceSettings | None = None
) -> Trace:
    """Return the outline of every pick; one that fails becomes an open note and spoils no other."""
    settings = settings or TraceSettings()
    if page.grey is None:
        from vectorize.trace_strokes import trace_stroke_picks

        return trace_stroke_picks(page, scale, picks, settings)
    drawing = read_drawing(page, scale, gap_mm=settings.gap_mm)
    parts: list[TracedPart] = []
    notes: list[Note] = list(drawing.ink.notes)
    for pick in picks:
        try:
            part, remarks = _trace_one(drawing, scale, pick, settings)
        except SheetwoodError as error:
            at = pick.inside[0] if pick.inside else None
            notes.append(Note("open-part", str(error), state="open", part=pick.name, at=at))
        else:
            parts.append(part)
            notes.extend(remarks)
    return Trace(tuple(parts), tuple(notes))


def find_candidates(page: Page, scale: PlanScale, settings: TraceSettings | None = None) -> Trace:
    """Return every region that could be a part, most likely first, named `region 1`, `region 2` and so on."""
    settings = settings or TraceSettings()
    if page.grey is None:
        from vectorize.trace_strokes import find_stroke_candidates

        return find_stroke_candidates(page, scale, settings)
    drawing = read_drawing(page, scale, gap_mm=settings.gap_mm)
    parts: list[TracedPart] = []
    for inside in _candidate_points(drawing, scale):
        pick = PartPick(f"region {len(parts) + 1}", (inside,))
        try:
            part, _ = _trace_one(drawing, scale, pick, settings)
        except SheetwoodError:
            continue
        parts.append(part)
    return Trace(tuple(parts), drawing.ink.notes)


def _trace_one(
    drawing: Drawing, scale: PlanScale, pick: PartPick, settings: TraceSettings
) -> tuple[TracedPart, list[Note]]:
    picked = frozenset(_picked_region(drawing, scale, point) for point in pick.inside)
    growth = drawing.grower().grown(picked, pick.inside[0], line=pick.line)
    loops = drawing.regions.loops(growth.regions)
    if not loops:
        raise PickError(f"{pick.name}: no closed line was found around the pick.")
    exterior, *others = sorted(loops, key=lambda loop: -loop.signed_area_px)
    if others and others[0].signed_area_px > 0:
        raise PickError(f"{pick.name}: the picked regions do not touch each other; pick what lies between them too.")
    notes = _crossing_notes(drawing, pick, growth) + _bridge_notes(drawing, pick, loops, scale)
    body = _fitted(drawing, exterior, scale, settings)
    holes = [_fitted(drawing, loop, scale, settings) for loop in _holes(drawing, scale, pick, others, notes)]
    outline = Outline(body.ring, tuple(hole.ring for hole in holes))
    sigma_edge = math.hypot(0.1 / scale.px_per_mm, scale.sigma * max(outline.size_mm) / 2)
    sigma_area = math.hypot(sigma_edge * math.sqrt(outline.perimeter_mm), 2 * scale.sigma * outline.area_mm2)
    part = TracedPart(pick.name, outline, sigma_edge, sigma_area, body.pen_mm, pick.inside[0])
    return part, notes


SPECK_MM = 2.0
"""A region smaller than a square of this side is a speck: a pick in it means the region around."""


def _picked_region(drawing: Drawing, scale: PlanScale, point: Point) -> int:
    """Return the region at a pick.

    Raises:
        PickError: The pick is outside the page, on a line, or in a region that is not closed.
    """
    where = f"({point[0]:.0f}, {point[1]:.0f})"
    regions = drawing.regions
    if regions.at(point) is None:
        rows, columns = regions.labels.shape
        raise PickError(f"the pick at {where} is outside the page of {columns} x {rows} px; pick inside the part.")
    # A crease or a blot may lie under the pick; what it encloses is no part, so the region around is meant.
    speck_px = SPECK_MM * scale.px_per_mm
    near: set[int] = set()
    for reach in (0.6 * drawing.pen_px, speck_px / 2, speck_px):
        near = near or {r for r in _regions_near(regions, point, reach) if regions.area_px[r] >= speck_px**2}
    if len(near) != 1:
        raise PickError(f"the pick at {where} lies on a line; move it into the part.")
    (region,) = near
    if region in regions.outside:
        raise PickError(f"the outline around {where} is not closed: its region reaches the edge of the page.")
    return region


def _regions_near(regions: Regions, point: Point, reach: float) -> set[int]:
    column, row, r = round(point[0]), round(point[1]), max(0, round(reach))
    window = regions.labels[max(0, row - r) : row + r + 1, max(0, column - r) : column + r + 1]
    return {int(i) for i in np.unique(window)} - {0}


@dataclass(frozen=True, slots=True, eq=False)
class _Fitted:
    ring: Ring
    pen_mm: float
    rms_mm: float


def _fitted(drawing: Drawing, loop: Loop, scale: PlanScale, settings: TraceSettings) -> _Fitted:
    """Measure a loop's centre line, shift it to the true edge, and fit it in millimetres."""
    points, widths, is_clean = _measured_loop(drawing, loop)
    pen_px = float(np.median(widths[is_clean])) if np.any(is_clean) else drawing.pen_px
    points, is_clean = _evenly(points, is_clean)
    shift = {"inside": 0.5, "outside": -0.5}.get(settings.edge, 0.0) * pen_px
    pen_mm, step_mm = pen_px / scale.px_per_mm, 1.0 / scale.px_per_mm
    mm, is_clean = repaired(scale.to_mm(_shifted(points, shift)), is_clean, pen_mm=pen_mm, step_mm=step_mm)
    fit = fit_ring(
        mm,
        is_clean,
        settings=FitSettings(settings.tolerance_mm, pen_mm, step_mm),
    )
    return _Fitted(fit.ring, pen_mm, fit.rms_mm)


def _measured_loop(drawing: Drawing, loop: Loop) -> tuple[Points, Points, NDArray[np.bool_]]:
    """Return centre points once round in pixels, their widths, and which are undisturbed."""
    columns: list[tuple[Points, Points, NDArray[np.bool_]]] = []
    for index, forwards in zip(loop.ids, loop.forwards, strict=True):
        found = drawing.measured(index)
        order = slice(0, -1) if forwards else slice(None, 0, -1)
        columns.append((found.points[order], found.widths[order], found.is_clean[order]))
    points, widths, clean = (np.concatenate(column) for column in zip(*columns, strict=True))
    return points, widths, clean


def _crossing_notes(drawing: Drawing, pick: PartPick, growth: Growth) -> list[Note]:
    """List every line that was crossed, where it is and why."""
    notes = []
    for index, reason in growth.crossed:
        points = drawing.regions.work.edges[index].points
        x, y = points[len(points) // 2]
        words = {
            "dashed": "a dashed line",
            "thinner": "a line thinner than the outline",
            "runs through": "a line that runs on past the outline",
            "bridged": "a line that stops short of the outline",
        }[reason]
        text = (
            f"{words} crosses the part at ({x:.0f}, {y:.0f}); it was taken as part of the drawing, not of the outline."
        )
        notes.append(Note("crossed", text, part=pick.name, at=(float(x), float(y))))
    return notes


def _bridge_notes(drawing: Drawing, pick: PartPick, loops: Sequence[Loop], scale: PlanScale) -> list[Note]:
    """List every gap in the part's outline that was bridged, with its length."""
    notes = []
    for edge in dict.fromkeys(edge for loop in loops for edge in loop.edges if edge.is_bridge and not edge.is_dashed):
        x, y = edge.points.mean(axis=0)
        text = f"a gap of {edge.length / scale.px_per_mm:.1f} mm in the outline at ({x:.0f}, {y:.0f}) was bridged."
        notes.append(Note("bridged", text, part=pick.name, at=(float(x), float(y))))
    return notes


def _evenly(points: Points, is_clean: NDArray[np.bool_]) -> tuple[Points, NDArray[np.bool_]]:
    """Return the closed loop with points one pixel apart."""
    ring = np.vstack([points, points[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    count = max(8, round(along[-1]))
    wanted = np.arange(count) * along[-1] / count
    even = np.column_stack([np.interp(wanted, along, ring[:, k]) for k in (0, 1)])
    soiled = np.interp(wanted, along, np.append(~is_clean, ~is_clean[0]).astype(np.float64))
    return even, soiled < 0.01


def _shifted(points: Points, shift_px: float) -> Points:
    """Move a loop to its left (into the part) by `shift_px`; y points down."""
    if shift_px == 0.0:
        return points
    tangent = np.roll(points, -3, axis=0) - np.roll(points, 3, axis=0)
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-9)[:, None]
    return np.asarray(points + shift_px * np.column_stack([tangent[:, 1], -tangent[:, 0]]), np.float64)


def _holes(drawing: Drawing, scale: PlanScale, pick: PartPick, loops: Sequence[Loop], notes: list[Note]) -> list[Loop]:
    """Return the loops that are cut-outs: those picked, and those that look like it; each guess is noted."""
    lows, highs = (scale.to_mm(drawing.marks[:, k : k + 2]) for k in (0, 2))
    boxes = np.column_stack([np.minimum(lows, highs), np.maximum(lows, highs)])
    taken = []
    for loop in loops:
        if any(_contains(loop, point) for point in pick.cutouts):
            taken.append(loop)
            continue
        guess = guess_cutout(scale.to_mm(_clean_points(drawing, loop)), marks_mm=boxes)
        if guess.is_cutout:
            taken.append(loop)
            at = loop.points.mean(axis=0)
            notes.append(
                Note("cutout", f"{guess.reason} taken as a cut-out.", part=pick.name, at=(float(at[0]), float(at[1])))
            )
    missed = [p for p in pick.cutouts if not any(_contains(loop, p) for loop in loops)]
    for point in missed:
        text = f"no closed line lies around the cut-out picked at ({point[0]:.0f}, {point[1]:.0f})."
        notes.append(Note("open-cutout", text, state="open", part=pick.name, at=point))
    return taken


def _clean_points(drawing: Drawing, loop: Loop) -> Points:
    """Return the measured centre of a loop where it is undisturbed; everywhere if that is too little."""
    points, _, is_clean = _measured_loop(drawing, loop)
    return points[is_clean] if is_clean.sum() > 0.4 * len(points) else points


def _contains(loop: Loop, point: Point) -> bool:
    return cv2.pointPolygonTest(loop.points.astype(np.float32), point, False) >= 0


def _candidate_points(drawing: Drawing, scale: PlanScale) -> list[Point]:
    """Return a point deep inside each region that is large enough, largest region first."""
    regions = drawing.regions
    least = LEAST_CANDIDATE_MM * scale.px_per_mm
    spans = regions.boxes[:, 2:] - regions.boxes[:, :2]
    points = []
    for region in np.argsort(-regions.area_px, kind="stable").tolist():
        if region == 0 or region in regions.outside or spans[region].max() < least:
            continue
        if regions.area_px[region] < least * least / 4:
            continue
        points.append(_deepest(regions, region))
    return points


def _deepest(regions: Regions, region: int) -> Point:
    """Return the pixel of a region that is farthest from its edge."""
    x0, y0, x1, y1 = regions.boxes[region].tolist()
    inside = np.zeros((y1 - y0 + 2, x1 - x0 + 2), np.uint8)
    inside[1:-1, 1:-1] = regions.labels[y0:y1, x0:x1] == region
    depth = cv2.distanceTransform(inside, cv2.DIST_L2, 3)
    row, column = np.unravel_index(int(np.argmax(depth)), depth.shape)
    return (float(x0 + column - 1), float(y0 + row - 1))


__all__ = [
    "PartPick",
    "Trace",
    "TraceSettings",
    "TracedPart",
    "find_candidates",
    "trace_picks",
]
