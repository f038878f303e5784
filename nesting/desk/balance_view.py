"""What the job says of balance, as the JSON that the page shows and edits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from nesting.desk.standing import Standing
from nesting.job.model_schema import ChordTable, CoatTable, FinishTable, GlueTable
from nesting.job.schema import JobSpec
from nesting.wood.covering import COATS, GLUES
from vectorize.basics.quantity import Pixel
from vectorize.shapes.segment import Point

_UNITS = {
    "mass": "mass_g",
    "spread": "spread_g",
    "most": "most_g",
    "station": "station_mm",
    "lateral": "lateral_mm",
    "depth": "depth_mm",
    "angle": "angle_deg",
}


def balance_view(spec: JobSpec, standing: Standing | None) -> dict[str, Any]:
    """Return the balance report, or why there is none, and what the job says of it."""
    table = spec.balance
    shown = _Shown({place: at for plan in standing.plans for place, at in plan.places.items()} if standing else {})
    return {
        "report": standing.balance if standing else None,
        "fault": standing.faults.balance if standing else None,
        "range": None if table.range is None else [_range_end(*end) for end in table.range],
        "plan": table.plan,
        "datum": shown.value(table.datum),
        "aft": shown.value(table.aft),
        "lateral_mm": table.lateral,
        "chord": None if table.chord is None else _chord(table.chord),
        "readings": [
            {"parts": list(one.parts), "mass_g": one.mass, "stage": one.stage, "balance_mm": one.balance}
            for one in spec.weighed
        ],
        "finishes": [_finish(one) for one in spec.finish],
        "joints": [
            {"name": one.name, "parts": list(one.parts), "glue": one.glue}
            | {"length_mm": one.length, "width_mm": one.width}
            for one in spec.joint
        ],
        "coats": _known(COATS, spec.coat),
        "glues": _known(GLUES, spec.glue),
        "seats": {seat.part: shown.entry(seat) for seat in table.seat},
        "in_place": table.in_place,
        "items": [shown.entry(item) for item in table.item],
        "ballast": [shown.entry(place) for place in table.ballast],
        "alternatives": [shown.entry(alternative) for alternative in table.alternative],
    }


@dataclass(frozen=True, slots=True)
class _Shown:
    """Entries as the page shows them: units in their names, points of joined scans on the sheet."""

    places: Mapping[Pixel, Point]

    def value(self, value: Any) -> Any:  # noqa: ANN401 - any value of the job
        """Return a point where the sheet has it; anything else as it is."""
        is_of_file = isinstance(value, tuple) and len(value) == 3 and all(isinstance(one, float) for one in value)
        return self.places.get(value, value) if is_of_file else value

    def entry(self, entry: BaseModel) -> dict[str, Any]:
        """Return an entry of the job."""
        return {_UNITS.get(name, name): self.value(value) for name, value in entry.model_dump().items()}


def _finish(finish: FinishTable) -> dict[str, Any]:
    faces = {face: list(getattr(finish, face)) for face in ("both", "top", "bottom", "edges")}
    return {"parts": list(finish.parts), **faces, "sanding_mm": finish.sanding}


def _known(built_in: Mapping[str, Any], own: Sequence[CoatTable | GlueTable]) -> list[str]:
    """Return the names that may be chosen: those of the job first."""
    return list(dict.fromkeys([*(one.name for one in own), *built_in]))


def _chord(chord: ChordTable) -> dict[str, Any]:
    sections = [
        {"span_mm": one.span, "chord_mm": one.chord, "leading_edge_mm": one.leading_edge} for one in chord.sections
    ]
    return {"length_mm": chord.length, "leading_edge_mm": chord.leading_edge, "sections": sections}


def _range_end(kind: str, value: float) -> str:
    return f"{100 * value:g} %" if kind == "chord" else f"{value:g} mm"
