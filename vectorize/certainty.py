"""How sure a traced outline is."""

from __future__ import annotations

import math

from vectorize.outline import Outline
from vectorize.scale import PlanScale

EDGE_SIGMA_PX = 0.12
"""Spread of a fitted edge about the truth, from drawn and degraded plans of 150 to 400 dpi."""

CURVE_SIGMA_MM = 0.008
"""What lines, arcs and cubics within the usual tolerance leave of a free curve, from the same plans."""


def uncertainty(outline: Outline, scale: PlanScale) -> tuple[float, float]:
    """Return one standard deviation of the edge in mm and of the area in mm2.

    The edge is off by its own measurement, independent from place to place, and by the scale, which grows with the
    distance from the part's middle. The area is off by the edge over pieces of about 20 mm that stray together, and
    by twice the scale.
    """
    local = math.hypot(EDGE_SIGMA_PX / scale.px_per_mm, CURVE_SIGMA_MM)
    half = max(outline.size_mm) / 4
    edge = math.hypot(local, scale.sigma * half)
    pieces = max(1.0, outline.perimeter_mm / 20.0)
    area = math.hypot(local * outline.perimeter_mm / math.sqrt(pieces), 2 * scale.sigma * outline.area_mm2)
    return edge, area
