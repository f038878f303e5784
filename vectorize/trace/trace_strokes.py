"""Trace a page that is wholly a drawing: as a sheet like any other, its curves exact."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from vectorize.basics.notes import Note
from vectorize.faces.by_hand import bridged_strokes
from vectorize.faces.part_pick import PartPick, TraceSettings
from vectorize.faces.stroke_sheet import in_frame, read_strokes
from vectorize.shapes.alternative import Alternative
from vectorize.shapes.segment import Point
from vectorize.trace.rings import StrokeRings
from vectorize.trace.trace_sheet import sheet_candidates, trace_sheet
from vectorize.trace.traced import Trace, TracedPart

if TYPE_CHECKING:
    from vectorize.page import Page
    from vectorize.scale.plan_scale import PlanScale


def trace_stroke_picks(page: Page, scale: PlanScale, picks: Sequence[PartPick], settings: TraceSettings) -> Trace:
    """Return the outline of every pick; one that fails becomes an open note and spoils no other.

    Halves about one centre line are read together, and so are all other parts.
    """
    framed, fine, k = in_frame(bridged_strokes(page, settings.bridges), scale)
    parts: dict[str, TracedPart] = {}
    notes: list[Note] = []
    for axis in dict.fromkeys(pick.mirror for pick in picks):
        mine = [_in_frame(pick, k) for pick in picks if pick.mirror == axis]
        sheet = read_strokes(framed, fine, gap_mm=settings.gap_mm, axis=mine[0].mirror)
        traced = trace_sheet(StrokeRings(sheet), fine, mine, settings)
        parts |= {part.name: _on_page(part, k) for part in traced.parts}
        notes += [_told(note, k) for note in traced.notes]
    return Trace(tuple(parts[pick.name] for pick in picks if pick.name in parts), tuple(notes))


def find_stroke_candidates(page: Page, scale: PlanScale, settings: TraceSettings) -> Trace:
    """Return every closed shape that could be a part, most likely first, named `region 1` and so on."""
    framed, fine, k = in_frame(bridged_strokes(page, settings.bridges), scale)
    sheet = read_strokes(framed, fine, gap_mm=settings.gap_mm)
    found = sheet_candidates(StrokeRings(sheet), fine, replace(settings, edge="centre"))
    return Trace(tuple(_on_page(part, k) for part in found.parts), tuple(_told(note, k) for note in found.notes))


def _in_frame(pick: PartPick, k: float) -> PartPick:
    """Return a pick with its places in the frame."""

    def moved(points: Sequence[Point]) -> tuple[Point, ...]:
        return tuple((x * k, y * k) for x, y in points)

    mirror = None if pick.mirror is None else moved(pick.mirror)
    return replace(
        pick,
        inside=moved(pick.inside),
        cutouts=moved(pick.cutouts),
        mirror=None if mirror is None else (mirror[0], mirror[1]),
    )


def _on_page(part: TracedPart, k: float) -> TracedPart:
    """Return a part with its places on the page."""
    x, y = part.inside_px
    return replace(
        part, inside_px=(x / k, y / k), alternatives=tuple(_other_on_page(other, k) for other in part.alternatives)
    )


def _other_on_page(other: Alternative, k: float) -> Alternative:
    def moved(places: Sequence[tuple[float, ...]]) -> tuple[tuple[float, ...], ...]:
        return tuple((x / k, y / k) for x, y in places)

    (at,) = moved([other.at])
    return replace(other, at=at, inside=moved(other.inside), cutouts=moved(other.cutouts))


def _told(note: Note, k: float) -> Note:
    """Return a note with its place on the page."""
    at = None if note.at is None else (note.at[0] / k, note.at[1] / k)
    return replace(note, at=at)
