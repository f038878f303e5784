"""What the job says of balance, as the JSON that the page shows and edits."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from nesting.desk.standing import Standing
from nesting.job.schema import JobSpec

_UNITS = {
    "mass": "mass_g",
    "spread": "spread_g",
    "most": "most_g",
    "station": "station_mm",
    "lateral": "lateral_mm",
    "depth": "depth_mm",
    "angle": "angle_deg",
    "length": "length_mm",
    "leading_edge": "leading_edge_mm",
}


def balance_view(spec: JobSpec, standing: Standing | None) -> dict[str, Any]:
    """Return the balance report, or why there is none, and what the job says of it."""
    table = spec.balance
    return {
        "report": standing.balance if standing else None,
        "fault": standing.faults.balance if standing else None,
        "range": None if table.range is None else [_range_end(*end) for end in table.range],
        "plan": table.plan,
        "datum": table.datum,
        "aft": table.aft,
        "lateral_mm": table.lateral,
        "chord": None if table.chord is None else _with_units(table.chord),
        "seats": {seat.part: _with_units(seat) for seat in table.seat},
        "in_place": table.in_place,
        "items": [_with_units(item) for item in table.item],
        "ballast": [_with_units(place) for place in table.ballast],
        "alternatives": [_with_units(alternative) for alternative in table.alternative],
    }


def _with_units(entry: BaseModel) -> dict[str, Any]:
    return {_UNITS.get(name, name): value for name, value in entry.model_dump().items()}


def _range_end(kind: str, value: float) -> str:
    return f"{100 * value:g} %" if kind == "chord" else f"{value:g} mm"
