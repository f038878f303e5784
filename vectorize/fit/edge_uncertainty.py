"""How sure a traced outline is.

The factors below were fitted on some 1,700 drawn, worn and scanned parts of 150 to 400 dpi and checked on as many
others; `python -m tests.benchmarks.certainty` measures them again.
"""

from __future__ import annotations

import math

from vectorize.scale.plan_scale import PlanScale
from vectorize.shapes.outline import Outline
from vectorize.shapes.segment import Line, step_count

SPREAD_FACTOR = 0.52
"""How far a straight edge is off for how far the measured points lie about it: a fit averages over many."""

ROUNDED_SHARE = 0.8
"""How much of their spread counts where points were measured on black and white alone: they are rounded to and fro, and
a fit averages over that."""

SIZE_FACTOR = 0.82
"""Two axes that err each by itself seldom err at once as far as the farthest 5 % of an edge would feel it; where one
known dimension tells both, they err together, and the factor is 1."""

UNSEEN_PX = 0.05
"""What a line strays by beside that, however closely the points lie about it."""

BENT_FACTOR = 18.0
"""A part that is bent all round is off by so many times more, squared: a free curve follows each stray, where a line
or a whole circle averages over many."""

LEAST_SIGMA_MM = 0.002

SILHOUETTE_SPREAD_PX = 0.17
"""Spread of the boundary of a thing on the scanner, whose edge is not fitted by a pen's middle."""

NOISE_LENGTH_MM = 0.13
"""Correlation length of the noise of an edge, in mm: the area feels that it strays together so far."""


def uncertainty(
    outline: Outline,
    scale: PlanScale,
    *,
    spread_mm: float | None = None,
    is_rounded: bool = False,
    corner_mm: float = 0.0,
) -> tuple[float, float]:
    """Return one standard deviation of the edge in mm, half of what 95 % of it lies within, and of the area in mm2.

    Args:
        outline: The outline as traced.
        scale: The scale that brought it to millimetres; its own uncertainty grows with the part's size.
        spread_mm: Root mean square of the measured points about the outline; None for a silhouette.
        is_rounded: Whether the points were measured on a picture in black and white alone.
        corner_mm: How far the least sure corner may be off, 0 where none is in doubt; two sigma hold it.
    """
    px = 1.0 / scale.px_per_mm
    spread = SILHOUETTE_SPREAD_PX * px if spread_mm is None else spread_mm
    spread *= ROUNDED_SHARE if is_rounded else 1.0
    local = SPREAD_FACTOR * math.hypot(spread, UNSEEN_PX * px) * math.sqrt(1.0 + BENT_FACTOR * _bent_share(outline))
    by_scale, area_by_scale = by_size(outline, scale)
    misfit, joint = _at_seams(outline, scale)
    edge = math.hypot(local, by_scale, misfit, scale.wave_mm, corner_mm / 2.0, LEAST_SIGMA_MM)
    strays = px * math.sqrt(NOISE_LENGTH_MM * outline.perimeter_mm)
    # A wave moves an edge as a slipped scan does, by as much over no less than the part's narrow side.
    area = math.hypot(strays, area_by_scale, misfit * joint, scale.wave_mm * min(outline.size_mm))
    return edge, area


def by_size(outline: Outline, scale: PlanScale) -> tuple[float, float]:
    """Return what the scale's uncertainty alone adds to one standard deviation of the edge in mm, and of the area."""
    edge, area = scale.doubt.of(outline)
    return (SIZE_FACTOR + (1.0 - SIZE_FACTOR) * abs(scale.doubt.correlation)) * edge, area


def _bent_share(outline: Outline) -> float:
    """Return how much of the edge is arcs and free curves; a whole circle is not counted."""
    bent = [
        segment.length
        for ring in outline.rings
        if ring.as_circle() is None
        for segment in ring.segments
        if not isinstance(segment, Line)
    ]
    return math.fsum(bent) / outline.perimeter_mm


def _at_seams(outline: Outline, scale: PlanScale) -> tuple[float, float]:
    """Return by how many mm the scans that show a part miss the rest, and over how many mm its area feels that.

    Two sides of a join that miss each other add or take a strip as long as the join; a scan that slipped within the
    part does so over no less than its narrow side.
    """
    if scale.seams is None:
        return 0.0, 0.0
    ring = outline.exterior
    points = [s.point_at(k / n) for s in ring.segments for n in [step_count(s.length)] for k in range(n)]
    misfit, joint = scale.seams.across(scale.to_px(points))
    return misfit, max(joint, min(outline.size_mm))
