"""Trace a page that is wholly a drawing: the same results as from a picture, from its exact curves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from vectorize.basics.errors import SheetwoodError
from vectorize.basics.notes import Note
from vectorize.faces.picking import PartPick, TraceSettings, guarded
from vectorize.faces.stroke_candidates import drawn_candidates
from vectorize.faces.stroke_parts import Plane, drawn_part, read_strokes
from vectorize.fit.edge_uncertainty import by_size
from vectorize.lines.by_hand import bridged_strokes
from vectorize.shapes.offset_ring import beside
from vectorize.shapes.outline import Outline
from vectorize.trace.traced import Trace, TracedPart, open_part

if TYPE_CHECKING:
    from vectorize.page import Page
    from vectorize.scale.plan_scale import PlanScale

NUMBERS_SIGMA_MM = 0.001
"""What is left of exact curves after a file's rounded numbers."""


def trace_stroke_picks(page: Page, scale: PlanScale, picks: Sequence[PartPick], settings: TraceSettings) -> Trace:
    """Return the outline of every pick; one that fails becomes an open note and spoils no other."""
    page = bridged_strokes(page, settings.bridges)
    parts: list[TracedPart] = []
    notes: list[Note] = []
    planes: dict[object, Plane] = {}
    for pick in picks:
        key = (pick.line, pick.mirror)
        try:
            if key not in planes:
                planes[key] = read_strokes(
                    page, scale, gap_mm=settings.gap_mm, is_dashed=pick.line == "dashed", axis=pick.mirror
                )
            part, remarks = _trace_one(planes[key], scale, pick, settings)
        except SheetwoodError as error:
            notes.append(open_part(pick, error))
        else:
            parts.append(part)
            notes.extend(remarks)
    return Trace(tuple(parts), tuple(notes))


def find_stroke_candidates(page: Page, scale: PlanScale, settings: TraceSettings) -> Trace:
    """Return every closed shape that could be a part, most likely first, named `region 1` and so on."""
    plane = read_strokes(bridged_strokes(page, settings.bridges), scale, gap_mm=settings.gap_mm)
    parts: list[TracedPart] = []
    seen: set[tuple[int, int, int]] = set()
    for inside in drawn_candidates(plane, scale):
        pick = PartPick(f"region {len(parts) + 1}", (inside,))
        try:
            part, _ = _trace_one(plane, scale, pick, replace(settings, edge="centre"))
        except SheetwoodError:
            continue
        x, y = part.outline.centroid
        key = (round(x * 10), round(y * 10), round(part.outline.area_mm2))
        if key not in seen:
            seen.add(key)
            parts.append(part)
    return Trace(tuple(parts))


@guarded
def _trace_one(
    plane: Plane, scale: PlanScale, pick: PartPick, settings: TraceSettings
) -> tuple[TracedPart, Sequence[Note]]:
    outline, pen_mm, remarks = drawn_part(plane, scale, pick)
    return _traced(pick, _at_edge(outline, pen_mm, settings), pen_mm, scale), remarks


def _at_edge(outline: Outline, pen_mm: float, settings: TraceSettings) -> Outline:
    """Return the outline moved by half the pen width where the true edge is not the middle of the line."""
    inward = settings.inward_pens * pen_mm
    return Outline(beside(outline.exterior, inward), tuple(beside(ring, inward) for ring in outline.cutouts))


def _traced(pick: PartPick, outline: Outline, pen_mm: float, scale: PlanScale) -> TracedPart:
    edge, area = by_size(outline, scale)
    sigma_edge = math.hypot(NUMBERS_SIGMA_MM, edge)
    sigma_area = math.hypot(NUMBERS_SIGMA_MM * math.sqrt(outline.perimeter_mm), area)
    return TracedPart(pick.name, outline, sigma_edge, sigma_area, pen_mm, pick.inside[0])
