"""The skin of a carved panel by its girth: what covering and paint go on."""

from __future__ import annotations

import numpy as np

from nesting.carve.panel import CarvedPanel
from nesting.carve.planform import stretches_at
from vectorize.shapes.outline import Outline

_POINTS = 241
"""Points along each face of a section; its girth is then short by less than 0.01 %."""
_EDGE_MM = 4.0
"""Edges are measured in steps of this length at most."""


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


def edge_area_mm2(panel: CarvedPanel, piece: Outline | None = None) -> float:
    """Return the area of all edges of a panel, or of a piece of it: the height of the wood along its outline.

    Where both faces run into each other, as at the leading edge, there is none.
    """
    total = 0.0
    for ring in panel.planform.rings_of(piece or panel.planform.outline):
        for begin, end in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            length = float(np.hypot(*(end - begin)))
            parts = max(1, int(np.ceil(length / _EDGE_MM)))
            middles = begin + (end - begin) * ((np.arange(parts) + 0.5) / parts)[:, None]
            total += length / parts * sum(_height_mm(panel, u, v) for u, v in middles.tolist())
    return total


def _height_mm(panel: CarvedPanel, u: float, v: float) -> float:
    """Return how thick the panel is at a place in its own directions."""
    at = np.array([v])
    lead, chord = float(panel.planform.leading_edge(at)[0]), float(panel.planform.chord(at)[0])
    upper, lower = panel.heights(v, np.clip([(u - lead) / chord], 0.0, 1.0) if chord > 0 else np.zeros(1))
    return float(upper[0] - lower[0])
