"""From a page and picks to outlines in millimetres, whatever kind of page it is.

What traces one kind of page is imported when such a page is traced: outlines that are kept need none of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from vectorize.basics.watch import Watcher, portion, unwatched
from vectorize.faces.part_pick import EdgeSide, PartPick, TraceSettings
from vectorize.trace.traced import Trace, TracedPart

if TYPE_CHECKING:
    from vectorize.page import Page
    from vectorize.scale.plan_scale import PlanScale
    from vectorize.trace.rings import InkRings


def trace_picks(
    page: Page,
    scale: PlanScale,
    picks: Sequence[PartPick],
    settings: TraceSettings | None = None,
    *,
    watch: Watcher = unwatched,
) -> Trace:
    """Return the outline of every pick; one that fails becomes an open note and spoils no other.

    `watch` is told each stage and each part as it begins.
    """
    settings = settings or TraceSettings()
    if page.grey is None:
        from vectorize.trace.trace_strokes import trace_stroke_picks

        return trace_stroke_picks(page, scale, picks, settings)
    if settings.edge == "solid":
        from vectorize.trace.silhouette import trace_silhouettes

        return trace_silhouettes(page, scale, picks, settings)
    from vectorize.trace.trace_sheet import trace_sheet

    return trace_sheet(_read(page, scale, settings, watch), scale, picks, settings, watch=watch)


def _read(page: Page, scale: PlanScale, settings: TraceSettings, watch: Watcher) -> InkRings:
    from vectorize.faces.sheet import read_drawing
    from vectorize.trace.rings import InkRings
    from vectorize.trace.trace_sheet import READING_SHARE

    reading = portion(watch, 0.0, READING_SHARE)
    return InkRings(read_drawing(page, scale, gap_mm=settings.gap_mm, bridges=settings.bridges, watch=reading))


def find_candidates(
    page: Page, scale: PlanScale, settings: TraceSettings | None = None, *, watch: Watcher = unwatched
) -> Trace:
    """Return every region that could be a part, most likely first, named `region 1`, `region 2` and so on.

    `watch` is told each stage and each region as it begins.
    """
    settings = settings or TraceSettings()
    if page.grey is None:
        from vectorize.trace.trace_strokes import find_stroke_candidates

        return find_stroke_candidates(page, scale, settings)
    if settings.edge == "solid":
        from vectorize.trace.silhouette import find_silhouettes

        return find_silhouettes(page, scale, settings)
    from vectorize.trace.trace_sheet import sheet_candidates

    return sheet_candidates(_read(page, scale, settings, watch), scale, settings, watch=watch)


__all__ = [
    "EdgeSide",
    "PartPick",
    "Trace",
    "TraceSettings",
    "TracedPart",
    "find_candidates",
    "trace_picks",
]
