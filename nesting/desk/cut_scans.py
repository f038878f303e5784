"""A part as cut on a scan that the builder drops beside it: compared with its outline, the scan not kept."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field

from nesting.desk.fields import Edit, Name, Number
from nesting.desk.history import DESK_FOLDER
from nesting.desk.notes_view import notes_view, spoken
from nesting.desk.scan_work import stages_of
from nesting.desk.shown_units import with_unit
from nesting.desk.uploads import discard, safe_name
from nesting.desk.worker import Report
from nesting.desk.workshop import Workshop
from nesting.job.bare import parse_pixel
from nesting.job.folder import open_job
from nesting.job.speech import speech_of
from vectorize.basics.units import LENGTH, parse_length


class CheckWish(Edit):
    """A scan of one copy of a part; `at` is a pixel on it as X,Y, `known` two pixels and their distance."""

    part: Name
    name: Name = "scan.png"
    copy_number: Annotated[int, Field(ge=1, le=10_000, alias="copy")] = 1
    page: Annotated[int, Field(ge=1, le=10_000)] = 1
    dpi: Number | None = None
    known: Name | None = None
    at: Name | None = None
    tolerance: Name | None = None


def check_dropped(workshop: Workshop, upload: Path, wish: CheckWish) -> dict[str, Any]:
    """Return how a part on a scan compares with its outline, as `sheetwood check --json`; the map is written to `out/`.

    `file` is the name of the map there.

    Raises:
        SheetwoodError: As `check_part` and `write_check`.
    """
    try:
        found: dict[str, Any] = workshop.trace_worker.run(check_scan, workshop.folder, upload, wish)
    finally:
        discard(upload)
    workshop.notify_changed()
    return found


def check_scan(report: Report, folder: Path, upload: Path, wish: CheckWish) -> dict[str, Any]:
    """Return the comparison of a scan with a part; raises as `check_dropped`."""
    from nesting.job.checking import CheckScan, check_part, map_name, write_check  # what measures edges is slow to load
    from nesting.wood.ascut.as_cut import TOLERANCE_MM

    job, name = open_job(folder), safe_name(wish.name)
    units = job.spec.job.units
    tolerance = None if wish.tolerance is None else with_unit(wish.tolerance, LENGTH, units, what="the tolerance")
    tolerance_mm = TOLERANCE_MM if tolerance is None else parse_length(tolerance, what="the tolerance")
    report.say(f"comparing {wish.part} with {name}")
    with tempfile.TemporaryDirectory(dir=folder / DESK_FOLDER) as place:
        # Messages call the scan as the builder does.
        scan = upload.rename(Path(place) / name)
        known = () if wish.known is None else (wish.known,)
        asked = CheckScan(
            scan,
            wish.page,
            known,
            wish.dpi,
            None if wish.at is None else parse_pixel(wish.at, what="the pixel on the part"),
        )
        checked = check_part(stages_of(job, report), wish.part, asked, copy=wish.copy_number, tolerance_mm=tolerance_mm)
    kept, speech = write_check(job, checked), speech_of(job)
    told = checked.as_json()
    places = [one | {"text": speech.said(one["text"])} for one in told["places"]]
    view = told | {"notes": notes_view((*checked.notes, *kept)), "file": map_name(wish.part)}
    return dict(spoken(view, speech)) | {"places": places}
