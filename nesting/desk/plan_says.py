"""What a plan says, as the page shows it: lengths, parts, and the tables that `sheetwood new --draft` would write."""

from __future__ import annotations

import base64
import math
import tomllib
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shapely.geometry import LineString

from nesting.desk.scan_work import stages_of
from nesting.desk.worker import Report
from nesting.job.draft import is_accepted
from nesting.job.draft_text import LEAST_OFFERED, DraftSheet, job_text, length_words
from nesting.job.folder import open_job

if TYPE_CHECKING:
    from nesting.job.draft import DraftPart, Value
    from nesting.job.draft_text import DraftJob
    from vectorize.shapes.segment import Point, Points

SMOOTH_PX = 0.7
"""Outlines are shown within this: less than a pen line is wide."""

CROP_PX = 40
"""Lettering is shown in pictures of this height."""

MOST_OTHERS = 3
"""So many other readings of a value are offered."""


def read_sheet(report: Report, folder: Path, number: int) -> dict[str, Any]:
    """Return `says`, what plan `number` says, and `crops`, the lettering that it was read from as PNG in base 64.

    Raises:
        SheetwoodError: The plan cannot be read, or is a drawing.
    """
    from nesting.job.draft import load_vocabulary
    from nesting.job.drafting import draft_sheet, open_notes
    from nesting.job.read_picture import lettering_png

    job = open_job(folder)
    stages = stages_of(job, report)
    plan = list(stages.plans.values())[number]
    report.say(f"reading {plan.table.name}")
    file, page_number = plan.table.sources[0]
    sheet = DraftSheet(job.spec.job.name, file, page_number)
    boards = stages.rack.boards
    draft = draft_sheet(plan.page, sheet, boards=boards, vocabulary=load_vocabulary(), watch=report.say)
    unlettered = [note for note in open_notes(draft) if note.code == "not-lettered"]
    notes = [note.as_json() for note in (*draft.draft.notes, *unlettered)]
    says = says_view(draft)
    texts = draft.reading.texts
    crops = {text: lettering_png(plan.page, texts[text], high_px=CROP_PX) for text in _texts_shown(says)}
    kept = {str(text): base64.b64encode(png).decode() for text, png in crops.items()}
    return {"says": says | {"notes": notes}, "crops": kept}


def says_view(job: DraftJob) -> dict[str, Any]:
    """Return the lengths and parts that were read; `table` of a part holds what is sure of it, as `job.toml` would.

    Values are texts as a builder would write them. Each part is called by its number among those read.
    """
    tables = tomllib.loads(job_text(job)).get("part", [])
    size = job.draft.size
    return {
        "units": "mm" if job.is_metric else "in",
        "is_scale_sure": job.scale.is_accepted,
        "why": job.scale.why,
        "lengths": [_length(job, number) for number in range(len(job.scale.dimensions))],
        "drawn_size": None if size is None or size.value == "1:1" else size.written,
        "parts": [
            {"number": str(number), "table": table} | _part(part, is_metric=job.is_metric)
            for number, (part, table) in enumerate(zip(job.draft.parts, tables, strict=True))
        ],
        "unlettered": [_rounded(place) for place in job.draft.unlettered],
    }


def _length(job: DraftJob, number: int) -> dict[str, Any]:
    one, proposed = job.scale.dimensions[number], job.reading.scale
    off_mm = None
    if proposed is not None:
        spans = (abs(b - a) / factor for a, b, factor in zip(one.start, one.end, proposed.px_per_mm, strict=True))
        off_mm = round(math.hypot(*spans) - one.length_mm, 3)
    return {
        "from": _rounded(one.start, 1),
        "to": _rounded(one.end, 1),
        "length": length_words(one.length_mm, is_metric=job.is_metric),
        "length_mm": one.length_mm,
        "off_mm": off_mm,
        "written": job.reading.texts[one.text].text,
        "text": one.text,
    }


def _part(part: DraftPart, *, is_metric: bool) -> dict[str, Any]:
    def length(mm: float) -> str:
        return length_words(mm, is_metric=is_metric)

    return {
        "at": _rounded(part.inside),
        "outline_px": _outline(part.boundary),
        "is_lettered": part.is_lettered,
        "name": _value(part.name, str),
        "material": _value(part.material, str),
        "thickness": _value(part.thickness_mm, length),
        "count": _value(part.count, str),
        "hand": _value(part.hand, str),
        "texts": list(part.texts),
    }


def _value(value: Value[Any] | None, write: Callable[[Any], str]) -> dict[str, Any] | None:
    if value is None or value.sure < LEAST_OFFERED:
        return None
    others = [(write(other), round(sure, 3)) for other, sure in value.others if sure >= LEAST_OFFERED]
    return {
        "value": write(value.value),
        "sure": round(value.sure, 3),
        "is_accepted": is_accepted(value),
        "written": value.written,
        "others": others[:MOST_OTHERS],
    }


def _texts_shown(says: dict[str, Any]) -> Iterable[int]:
    """Return the numbers of the lettering that lengths and parts were read from."""
    found = [one["text"] for one in says["lengths"]] + [text for part in says["parts"] for text in part["texts"]]
    return sorted(set(found))


def _outline(boundary: Points) -> list[list[float]]:
    """Return a ring with no more points than it takes to show it."""
    shown = LineString([*boundary, boundary[0]]).simplify(SMOOTH_PX)
    return [_rounded((x, y), 1) for x, y in shown.coords[:-1]]


def _rounded(point: Point, digits: int = 2) -> list[float]:
    return [round(float(value), digits) for value in point]
