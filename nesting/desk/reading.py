"""What the desk's workers do with scans: check them, cut them into tiles, look for closed shapes on them.

A process remembers the plans that it read last, so that a click does not read a scan again.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from nesting.desk.tiles import Grey, Pyramid, cut_tiles
from nesting.desk.views import regions_view
from nesting.desk.worker import Report
from nesting.job.folder import Job, open_job
from nesting.job.tracing import OpenPlan, open_plans
from vectorize.errors import ScanError, SheetwoodError
from vectorize.scan import read_page

_plans: dict[tuple[object, ...], OpenPlan] = {}
"""Plans that this process has read, so that a click does not read the scan again; the newest few are kept."""
_MOST_PLANS = 2


def remembered_plans(job: Job) -> dict[str, OpenPlan]:
    """Return the job's plans, those that this process has read before with what it knows of them."""
    found = {}
    for name, plan in open_plans(job).items():
        key = (str(job.folder), plan.table.model_dump_json(), _file_stamps(plan))
        found[name] = _plans.pop(key, plan)
        _plans[key] = found[name]
    while len(_plans) > _MOST_PLANS:
        _plans.pop(next(iter(_plans)))
    return found


def _file_stamps(plan: OpenPlan) -> tuple[tuple[int, int], ...]:
    names = plan.table.files or (plan.table.file,)
    stamps = []
    for name in names:
        try:
            found = plan.job.path(str(name)).stat()
        except (OSError, SheetwoodError):
            continue
        stamps.append((found.st_mtime_ns, found.st_size))
    return tuple(stamps)


def check_plan(report: Report, upload: Path, name: str) -> None:
    """Do nothing if the file can be read as a plan.

    Raises:
        ScanError: It cannot; it is called `name` in the message.
    """
    report.say(f"reading {name}")
    try:
        read_page(upload)
    except ScanError as error:
        raise ScanError(str(error).replace(str(upload), name).replace(upload.name, name)) from error


def cut_plan(report: Report, folder: Path, number: int, tiles: Path) -> Pyramid:
    """Cut plan `number` into tiles in the folder `tiles`.

    Raises:
        ScanError: The plan cannot be read.
        WriteError: The tiles cannot be written.
    """
    job = open_job(folder)
    plan = list(remembered_plans(job).values())[number]
    report.say(f"reading {plan.table.name}")
    grey: Grey | None = plan.page.grey
    if grey is None:
        raise ScanError(f"{plan.table.name} is a drawing without a picture; save it as a picture of 300 dpi to see it.")
    return cut_tiles(grey, tiles, report)


def find_regions(report: Report, folder: Path, number: int) -> list[dict[str, Any]]:
    """Return every closed shape of plan `number` that could be a part, as the page shows it.

    Raises:
        ScanError, ScaleError: The plan cannot be read or has no scale.
    """
    from vectorize.trace import find_candidates

    job = open_job(folder)
    plan = list(remembered_plans(job).values())[number]
    report.say(f"looking for closed shapes on {plan.table.name}")
    return regions_view(find_candidates(plan.page, plan.scale, plan.settings), plan.scale)
