"""The model from the side, as its drawing shows it: every part that is in place, in stations and heights."""

from __future__ import annotations

import math
from typing import Any

from nesting.balance.station import Datum, Seat
from nesting.job.model_values import Model
from nesting.wood.part import Part
from vectorize.shapes.outline import Outline, Pose
from vectorize.shapes.segment import Point

CHORD_MM = 0.3
"""Only looked at, and small."""
_QUARTER = 0.7
"""Sine of a turn that is nearer to a quarter than to none."""


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
    outline = _seated(part.outline, seat)
    # With the nose at the right the drawing's up lies on the other side of the aft direction.
    up = 1.0 if abs(datum.aft_deg) <= 90.0 else -1.0
    rings = [[_place(point, datum, up) for point in ring.flattened(CHORD_MM).tolist()] for ring in outline.rings]
    if seat.is_from_above or abs(math.sin(math.radians(seat.angle_deg))) > _QUARTER:
        return [_edge(rings[0], _place(list(seat.at or outline.centroid), datum, up)[1], part.thickness_mm)]
    return rings


def _edge(ring: list[list[float]], height_mm: float, thickness_mm: float) -> list[list[float]]:
    fore, aft = min(x for x, _ in ring), max(x for x, _ in ring)
    low, high = height_mm - thickness_mm / 2, height_mm + thickness_mm / 2
    return [[fore, low], [aft, low], [aft, high], [fore, high]]


def _seated(outline: Outline, seat: Seat) -> Outline:
    if seat.anchor is None or seat.at is None:
        return outline
    turn = Pose(angle_deg=seat.angle_deg)
    x, y = turn.moved(seat.anchor)
    return outline.placed(Pose(seat.at[0] - x, seat.at[1] - y, seat.angle_deg))


def _place(point: list[float], datum: Datum, up: float) -> list[float]:
    at: Point = (point[0], point[1])
    return [round(datum.station_mm(at), 2), round(up * datum.across_mm(at), 2)]
