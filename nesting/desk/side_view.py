"""The model from the side, as its drawing shows it: every part that is in place, in stations and heights."""

from __future__ import annotations

from typing import Any

from nesting.balance.station import Datum, Seat
from nesting.job.model_values import Model
from nesting.wood.part import Part

CHORD_MM = 0.3
"""Only looked at, and small."""


def side_view(model: Model) -> list[dict[str, Any]]:
    """Return `part` and `rings` (mm aft of the datum, mm up) of each part that stands on the side view.

    What is drawn from above, and what is turned by about a quarter to come to its place, is seen edge-on.
    """
    datum = model.datum
    if datum is None:
        return []
    return [
        {"part": part.name, "rings": _rings(part, seat, datum)}
        for part in model.parts
        if (seat := model.seats.get(part.name)) is not None and seat.station_mm is None
    ]


def _rings(part: Part, seat: Seat, datum: Datum) -> list[list[list[float]]]:
    outline = part.outline.placed(seat.pose)
    rings = [[_place(point, datum) for point in ring.flattened(CHORD_MM).tolist()] for ring in outline.rings]
    if seat.is_flat:
        return [_edge(rings[0], _place(list(seat.at or outline.centroid), datum)[1], part.thickness_mm)]
    return rings


def _edge(ring: list[list[float]], height_mm: float, thickness_mm: float) -> list[list[float]]:
    fore, aft = min(x for x, _ in ring), max(x for x, _ in ring)
    low, high = height_mm - thickness_mm / 2, height_mm + thickness_mm / 2
    return [[fore, low], [aft, low], [aft, high], [fore, high]]


def _place(point: list[float], datum: Datum) -> list[float]:
    x, y = point
    return [round(datum.station_mm((x, y)), 2), round(datum.height_mm((x, y)), 2)]
