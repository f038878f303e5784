"""What the desk's workers do with scans: check them, cut them into tiles, look for closed shapes on them.

A process remembers the plans that it read last, so that a click does not read a scan again.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from nesting.desk.history import DESK_FOLDER
from nesting.desk.outline_view import regions_view
from nesting.desk.picture_tiles import Grey, cut_tiles, read_pyramid
from nesting.desk.stroke_view import keep_drawing, kept_drawing
from nesting.desk.worker import Report
from nesting.job.files import digest
from nesting.job.folder import Job, open_job
from nesting.job.plans import OpenPlan
from nesting.job.schema import PlanTable
from nesting.job.stages import Memo, Stages, remembered
from vectorize.basics.errors import JobError, ScanError
from vectorize.page import read_page
from vectorize.shapes.segment import Point

_memo = Memo()
"""What this process has made before, so that a click does not read the scan again and undo makes nothing anew."""


def stages_of(job: Job, report: Report) -> Stages:
    """Return the stages of a job, with what this process has made before."""
    stages = Stages(job, progress=report.say, memo=_memo)
    return remembered(stages) if job.spec.plan else stages


def check_plan(report: Report, upload: Path, name: str) -> bool:
    """Return whether the file is a picture of a plan, and not a drawing.

    Raises:
        ScanError: It cannot; it is called `name` in the message.
    """
    report.say(f"reading {name}")
    try:
        return read_page(upload).grey is not None
    except ScanError as error:
        raise ScanError(str(error).replace(str(upload), name).replace(upload.name, name)) from error


def file_key(job: Job, table: PlanTable) -> str:
    """Return a word that is another one whenever the plan's file, page or layers are; its tiles are kept under it.

    Raises:
        JobError: The file is not in the job folder.
    """
    stamps = []
    for file, page in table.sources:
        try:
            found = job.path(file).stat()
        except OSError as error:
            raise JobError(f"plan {table.name!r}: its file {file} is not in the job folder.") from error
        stamps.append((file, found.st_mtime_ns, found.st_size, page))
    # Known dimensions move the scans of a joined sheet against each other, and so its picture.
    known = table.model_dump_json(include={"known", "axes"}) if table.files else ""
    return digest(repr((stamps, known, table.layers)).encode())[:16]


def regions_key(job: Job, table: PlanTable) -> str:
    """Return a word that is another one whenever the closed shapes of a plan may be; they are kept under it.

    Raises:
        JobError: The file is not in the job folder.
    """
    return digest(f"{file_key(job, table)} {table.model_dump_json()}".encode())[:16]


def tiles_folder(folder: Path) -> Path:
    """Return where the tiles of a job's plans are kept."""
    return folder / DESK_FOLDER / "tiles"


def cut_if_needed(report: Report, job: Job, plan: OpenPlan) -> bool:
    """Cut a plan into tiles, or keep the strokes of a drawing, unless that was done; return whether it was.

    Raises:
        ScanError: The plan cannot be read.
        WriteError: They cannot be written.
    """
    tiles = tiles_folder(job.folder) / file_key(job, plan.table)
    if read_pyramid(tiles) is not None or kept_drawing(tiles) is not None:
        return False
    grey: Grey | None = plan.page.grey
    if grey is None:
        keep_drawing(plan.page, tiles)
    else:
        cut_tiles(grey, tiles, report)
    return True


def in_files(report: Report, folder: Path, number: int, points: tuple[Point, ...]) -> list[tuple[float, ...]]:
    """Return pixels of plan `number` as the page shows it as pixels of its files, each with its file's number.

    Raises:
        SheetwoodError: The plan cannot be read, or its files are not joined.
    """
    plan = list(stages_of(open_job(folder), report).plans.values())[number]
    report.say(f"finding the place on {plan.table.name}")
    return [plan.in_file(point) for point in points]


def find_regions(report: Report, folder: Path, number: int) -> tuple[str, list[dict[str, Any]]]:
    """Return the key and every closed shape of plan `number` that could be a part, as the page shows it.

    Raises:
        ScanError, ScaleError: The plan cannot be read or has no scale.
    """
    from vectorize.trace.trace_page import find_candidates

    job = open_job(folder)
    plan = list(stages_of(job, report).plans.values())[number]
    key = regions_key(job, plan.table)
    report.say(f"looking for closed shapes on {plan.table.name}")
    return key, regions_view(find_candidates(plan.page, plan.scale, plan.settings), plan.scale)
