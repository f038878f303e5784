"""From a loop of line work to a ring in millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from vectorize.faces.part_pick import TraceSettings
from vectorize.faces.regions import Loop
from vectorize.fit import FitSettings, fit_ring
from vectorize.fit.between_pixels import dequantise_edges
from vectorize.fit.corners_by_ink import resolve_corners_by_ink
from vectorize.fit.halves import completed
from vectorize.fit.ink_view import InkView
from vectorize.fit.repair import repaired
from vectorize.fit.symmetry import symmetrical
from vectorize.fit.uncovered import refit_uncovered_stretches
from vectorize.fit.way_by_ink import DoubtfulCorner
from vectorize.shapes.offset_ring import offset_ring
from vectorize.shapes.outline import Ring
from vectorize.shapes.primitives import Round
from vectorize.shapes.segment import Point, Points

if TYPE_CHECKING:
    from vectorize.faces.sheet import Drawing
    from vectorize.scale.plan_scale import PlanScale


JUMP_PX = 2.0
"""Pixels of a chain touch; a longer step leads to a node that was moved away from the ink."""


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """A ring, the width of its line, the spread of the measured points about it, and the corners left in doubt."""

    ring: Ring
    pen_mm: float
    rms_mm: float
    doubts: tuple[DoubtfulCorner, ...] = ()


def fitted(
    drawing: Drawing,
    loop: Loop,
    scale: PlanScale,
    settings: TraceSettings,
    *,
    mirror: tuple[Point, Point] | None = None,
    circle: Round | None = None,
) -> Fitted:
    """Measure a loop's centre line, complete it about `mirror`, fit it in mm, and move it to the true edge.

    A loop that is known to be a circle, though a line has disturbed it, becomes that `circle`.
    """
    points, widths, is_clean = measured_loop(drawing, loop)
    pen_px = float(np.median(widths[is_clean])) if np.any(is_clean) else drawing.pen_px
    points, is_clean = _evenly(points, is_clean)
    pen_mm, step_mm = pen_px / scale.px_per_mm, 1.0 / scale.px_per_mm
    gaps = [scale.to_mm(edge.points) for edge in loop.edges if edge.is_bridge and not edge.is_dashed]
    mm, is_clean = repaired(scale.to_mm(points), is_clean, pen_mm=pen_mm, step_mm=step_mm, gaps=gaps)
    doubts: tuple[DoubtfulCorner, ...] = ()
    fitting = FitSettings(settings.tolerance_mm, pen_mm, step_mm)
    if mirror is not None:
        whole = completed(mm, is_clean, scale.to_mm(mirror))
        fit = fit_ring(whole.points, whole.is_clean, settings=fitting, corners=whole.corners)
        known = whole.points[list(whole.corners)]
        fit = replace(fit, ring=symmetrical(fit.ring, whole.axis, known, within_mm=settings.tolerance_mm))
    else:
        fit = fit_ring(mm, is_clean, settings=fitting)
        sight = _sight(drawing, loop, scale, gaps)
        if (wider := refit_uncovered_stretches(fit.ring, mm, is_clean, sight, pen_mm=pen_mm)) is not None:
            is_clean = wider
            fit = fit_ring(mm, is_clean, settings=fitting)
        if drawing.is_black_and_white:
            mm = dequantise_edges(mm, is_clean, fit.ring, drawing.ink.darkness, scale, pen_px=pen_px)
            fit = fit_ring(mm, is_clean, settings=fitting)
        ring, doubts = resolve_corners_by_ink(fit.ring, sight, pen_mm=pen_mm, seen=mm[is_clean], shapes=fit.shapes)
        fit = replace(fit, ring=ring)
    if circle is not None and fit.ring.as_circle() is None:
        fit, doubts = replace(fit, ring=Ring.circle(circle.centre, circle.radius)), ()
    # The part lies at the left of a loop, whichever way round.
    ring = fit.ring.oriented(is_counter_clockwise=loop.signed_area_px > 0)
    return Fitted(offset_ring(ring, settings.inward_pens * pen_mm), pen_mm, fit.rms_mm, doubts)


def _sight(drawing: Drawing, loop: Loop, scale: PlanScale, gaps: Sequence[Points]) -> InkView:
    """Return the ink around a loop, the drawing's other lines there, and the gaps in its own."""
    points = loop.points
    own = set(loop.ids)
    others = [
        scale.to_mm(drawn)
        for k, edge in drawing.edges_in(points.min(axis=0) - 20.0, points.max(axis=0) + 20.0)
        if k not in own and not edge.is_bridge
        for drawn in without_jumps(edge.points)
    ]
    is_dashed = any(edge.is_dashed for edge in loop.edges)
    step_mm = 1.0 / scale.px_per_mm
    return InkView(drawing.ink.darkness, scale.to_mm, scale.to_px, step_mm, tuple(others), tuple(gaps), is_dashed)


def without_jumps(points: Points) -> list[Points]:
    """Return the pieces of a chain of pixels between its jumps to the common node of lines that cross."""
    pieces = np.split(points, np.flatnonzero(np.hypot(*np.diff(points, axis=0).T) > JUMP_PX) + 1)
    return [piece for piece in pieces if len(piece) > 1]


def measured_loop(drawing: Drawing, loop: Loop) -> tuple[Points, Points, NDArray[np.bool_]]:
    """Return centre points once round in pixels, their widths, and which are undisturbed."""
    columns: list[tuple[Points, Points, NDArray[np.bool_]]] = []
    for index, forwards in zip(loop.ids, loop.forwards, strict=True):
        found = drawing.measured(index)
        order = slice(0, -1) if forwards else slice(None, 0, -1)
        columns.append((found.points[order], found.widths[order], found.is_clean[order]))
    points, widths, clean = (np.concatenate(column) for column in zip(*columns, strict=True))
    return points, widths, clean


def _evenly(points: Points, is_clean: NDArray[np.bool_]) -> tuple[Points, NDArray[np.bool_]]:
    """Return the closed loop with points one pixel apart."""
    ring = np.vstack([points, points[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    count = max(8, round(along[-1]))
    wanted = np.arange(count) * along[-1] / count
    even = np.column_stack([np.interp(wanted, along, ring[:, k]) for k in (0, 1)])
    soiled = np.interp(wanted, along, np.append(~is_clean, ~is_clean[0]).astype(np.float64))
    return even, soiled < 0.01


def clean_points(drawing: Drawing, loop: Loop, *, is_strict: bool = False) -> Points:
    """Return the measured centre of a loop where it is undisturbed; everywhere if that is too little.

    With `is_strict`, however little it is.
    """
    points, _, is_clean = measured_loop(drawing, loop)
    return points[is_clean] if is_strict or is_clean.sum() > 0.4 * len(points) else points
