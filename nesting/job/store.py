"""Outlines on disk: what was traced, with the hash of what made it, and a person's corrections."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import shapely

from nesting.job.files import digest, write_whole
from nesting.job.folder import Job, file_name_for
from nesting.job.schema import PartTable, PlanTable
from nesting.job.side_files import outline_in, read_side_file
from vectorize.basics.errors import JobError
from vectorize.basics.notes import Note, place_from_json
from vectorize.shapes.alternative import Alternative
from vectorize.shapes.outline import Outline, Ring, TracedOutline, check_outline
from vectorize.shapes.segment import Point

TRACE_FORMAT = 4
"""Part of the hash of a stored outline: raised when tracing changes, so that old outlines are made anew."""


@dataclass(frozen=True, slots=True)
class StoredOutline:
    """A part's outline in millimetres on its plan, with its certainty and what the trace said of it.

    `inside_px` is a point in it, in pixels of the plan's file; a third number names the file where there are several.
    `sure` is the probability that the shape is right, `alternatives` what else it may be. Holes that the job fills are
    no part of the outline; what lies there is `filled`. On disk stands the outline as it was traced.
    """

    name: str
    plan: str
    traced: TracedOutline
    pen_width_mm: float
    inside_px: tuple[float, ...]
    made_from: str
    notes: tuple[Note, ...] = ()
    sure: float = 1.0
    alternatives: tuple[Alternative, ...] = ()
    filled: tuple[Ring, ...] = ()

    @property
    def outline(self) -> Outline:
        """Return the shape."""
        return self.traced.outline

    @property
    def is_doubtful(self) -> bool:
        """Return whether it is left open which of its readings is right."""
        is_open = any(note.code == "doubtful" and note.state == "open" for note in self.notes)
        return is_open and bool(self.alternatives)


def trace_hash(files: Sequence[str], plan: PlanTable, part: PartTable) -> str:
    """Return the hash of everything that a part's trace depends on; `files` are the hashes of the plan's files."""
    asked = part.model_dump(include={"name", "pick", "cutout", "line", "mirror"}, mode="json")
    text = json.dumps(
        [TRACE_FORMAT, list(files), plan.model_dump(mode="json", exclude={"datum", "aft"}), asked], sort_keys=True
    )
    return digest(text.encode())


def stored_outline(job: Job, part: PartTable, made_from: str) -> StoredOutline | None:
    """Return the outline on disk if it was made from the same things, else None."""
    try:
        data = read_side_file(job, _outline_name("outlines", part.name), refused=JobError)
        if data is None or data["made_from"] != made_from:
            return None
        stored = _from_json(data)
        if stored.name != part.name or not all(map(math.isfinite, _sigmas(stored))):
            return None
        check_outline(stored.outline)
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError):
        # A damaged or older file is no loss: the outline is traced again.
        return None
    return stored


def save_outline(job: Job, stored: StoredOutline) -> None:
    """Write `outlines/NAME.json`.

    Raises:
        WriteError: The folder cannot be written.
    """
    text = json.dumps(_as_json(stored), ensure_ascii=False)
    write_whole(job.own(_outline_name("outlines", stored.name)), text.encode())


def corrected_outline(job: Job, name: str) -> Outline | None:
    """Return a person's correction of a part, or None where there is none.

    Raises:
        JobError: The file is there but cannot be read; it is never skipped silently.
    """
    file = _outline_name("corrected", name)
    data = read_side_file(job, file, refused=JobError)
    return None if data is None else outline_in(data, file, refused=JobError)


def with_filled(
    stored: StoredOutline, places_mm: Sequence[Point], to_mm: Callable[[tuple[float, ...]], Point]
) -> StoredOutline:
    """Return the outline without the holes that hold one of the places; a place in no hole is an open note.

    What was said of cutting a filled hole goes with it; `to_mm` tells where the pixel of a note lies.
    """
    holes = {hole: Outline(hole).to_polygon() for hole in stored.outline.cutouts}
    spots = [shapely.Point(place) for place in places_mm]
    filled = tuple(hole for hole, shape in holes.items() if any(shape.contains(spot) for spot in spots))
    idle = [spot for spot in spots if not any(holes[hole].contains(spot) for hole in filled)]
    said = [
        Note(
            "open-fill",
            f"there is no hole at ({spot.x:.1f}, {spot.y:.1f}) mm to be filled; take the place out of 'fill'.",
            state="open",
            part=stored.name,
        )
        for spot in idle
    ]
    kept = [
        note
        for note in stored.notes
        if note.code != "cutout"
        or note.at is None
        or not any(holes[hole].contains(shapely.Point(to_mm(note.at))) for hole in filled)
    ]
    outline = Outline(stored.outline.exterior, tuple(hole for hole in holes if hole not in filled))
    traced = replace(stored.traced, outline=outline)
    return replace(stored, traced=traced, filled=filled, notes=(*kept, *said))


def with_correction(job: Job, stored: StoredOutline) -> StoredOutline:
    """Return the stored outline, replaced by a person's correction where there is one, and say how they differ."""
    corrected = corrected_outline(job, stored.name)
    if corrected is None:
        return stored
    distance = stored.outline.to_polygon(0.01).hausdorff_distance(corrected.to_polygon(0.01))
    said = Note(
        code="corrected",
        part=stored.name,
        text=f"the outline corrected by hand is used; it differs from the trace by up to {distance:.2f} mm.",
    )
    traced = TracedOutline(corrected, stored.traced.sigma_edge_mm, stored.traced.sigma_area_mm2)
    return replace(stored, traced=traced, notes=(*_without_doubt(stored.notes), said), sure=1.0, alternatives=())


def _without_doubt(notes: Iterable[Note]) -> list[Note]:
    """Return notes without those on a doubtful shape or corner: a person has drawn it."""
    return [note for note in notes if note.code not in ("doubtful", "doubtful-corner")]


def _outline_name(folder: str, name: str) -> str:
    return f"{folder}/{file_name_for(name)}.json"


def _as_json(stored: StoredOutline) -> dict[str, Any]:
    return {
        "format": TRACE_FORMAT,
        "name": stored.name,
        "plan": stored.plan,
        "made_from": stored.made_from,
        "outline": stored.outline.as_json(),
        "sigma_edge_mm": stored.traced.sigma_edge_mm,
        "sigma_area_mm2": stored.traced.sigma_area_mm2,
        "pen_width_mm": stored.pen_width_mm,
        "inside_px": list(stored.inside_px),
        "notes": [note.as_json() for note in stored.notes],
        "sure": stored.sure,
        "alternatives": [other.as_json() for other in stored.alternatives],
    }


def _sigmas(stored: StoredOutline) -> tuple[float, ...]:
    return stored.traced.sigma_edge_mm, stored.traced.sigma_area_mm2, stored.pen_width_mm, stored.sure


def _from_json(data: dict[str, Any]) -> StoredOutline:
    outline = Outline.from_json(data["outline"])
    traced = TracedOutline(outline, float(data["sigma_edge_mm"]), float(data["sigma_area_mm2"]))
    return StoredOutline(
        name=str(data["name"]),
        plan=str(data["plan"]),
        traced=traced,
        pen_width_mm=float(data["pen_width_mm"]),
        inside_px=place_from_json(data["inside_px"]),
        made_from=data["made_from"],
        notes=tuple(map(Note.from_json, data["notes"])),
        sure=float(data["sure"]),
        alternatives=tuple(Alternative.from_json(other) for other in data["alternatives"]),
    )
