"""The skin of a carved panel by its girth: what covering and paint go on."""

from __future__ import annotations

import numpy as np

from nesting.carve.panel import CarvedPanel
from nesting.carve.planform import stretches_at
from vectorize.shapes.outline import Outline

_POINTS = 241
"""Points along each face of a section; its girth is then short by less than 0.01 %."""


def face_girths_mm(panel: CarvedPanel, station_mm: float, begin: float = 0.0, end: float = 1.0) -> tuple[float, float]:
    """Return how long the upper and the lower face are along the chord at a station, between two shares of it.

    Points are even in the angle b with x = (1 - cos b) / 2, in which the round nose is smooth.
    """
    b0, b1 = np.arccos(1 - 2 * np.clip([begin, end], 0.0, 1.0))
    x = (1 - np.cos(np.linspace(b0, b1, _POINTS))) / 2
    chord = float(panel.planform.chord(np.array([station_mm]))[0])
    upper, lower = (
        float(np.hypot(np.diff(chord * x), np.diff(z)).sum()) for z in panel.heights(station_mm, x)
    )  # fmt: skip
    return upper, lower


def face_areas_mm2(panel: CarvedPanel, piece: Outline | None = None) -> tuple[float, float]:
    """Return the areas of the upper and the lower face of a panel, or of a piece of it: the girth over the span.

    Cut-outs are taken off. That faces also slant along the span is left out: by 1 in 50 that is 0.02 %. So is the
    blunt edge behind a section, which belongs to neither face.
    """
    outline = piece or panel.planform.outline
    rings = panel.planform.rings_of(outline)
    low, high = panel.planform.span
    begin, end = max(low, float(rings[0][:, 1].min())), min(high, float(rings[0][:, 1].max()))
    total = np.zeros(2)
    stations, weights = panel.planform.quadrature(begin, end, outline=outline)
    for station, weight in zip(stations.tolist(), weights.tolist(), strict=True):
        lead = float(panel.planform.leading_edge(np.array([station]))[0])
        chord = float(panel.planform.chord(np.array([station]))[0])
        for ahead, aft in stretches_at(rings, station):
            total += weight * np.array(face_girths_mm(panel, station, (ahead - lead) / chord, (aft - lead) / chord))
    return float(total[0]), float(total[1])
