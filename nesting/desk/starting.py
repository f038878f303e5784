"""How a job begins at the desk: from a scan dropped on the page, or as the built-in demo."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import tomlkit

from nesting.desk import scan_work
from nesting.desk.history import DESK_FOLDER, Step, read_texts
from nesting.desk.uploads import discard, settle
from nesting.desk.workshop import Workshop
from nesting.job.folder import JOB_FILE, read_spec
from nesting.job.new_job import copy_demo, new_job
from vectorize.basics.errors import CallError, WriteError


def start_demo(workshop: Workshop) -> None:
    """Copy the built-in demo into the folder.

    Raises:
        CallError: The folder holds a job already.
    """
    if workshop.has_job:
        raise CallError("this folder holds a job already; open the demo in an empty folder.")
    copy_demo(workshop.folder)
    workshop.notify_changed()


def add_plan(workshop: Workshop, upload: Path, name: str) -> bool:
    """Take an uploaded scan into the job, or begin a job with it; return whether it is a picture, and no drawing.

    Raises:
        ScanError: It cannot be read as a plan; nothing is kept of it.
        WriteError: It cannot be kept.
    """
    try:
        is_picture = bool(workshop.trace_worker.run(scan_work.check_plan, upload, name))
        if workshop.has_job:
            _add_table(workshop, settle(upload, workshop.folder, name))
        else:
            _begin(workshop, upload, name)
    finally:
        discard(upload)
    workshop.notify_changed()
    return is_picture


def _begin(workshop: Workshop, upload: Path, name: str) -> None:
    with tempfile.TemporaryDirectory(dir=workshop.folder / DESK_FOLDER) as folder:
        scan = Path(folder) / name
        try:
            shutil.move(upload, scan)
        except OSError as error:
            raise WriteError(f"cannot keep {name}: {error.strerror or error}.") from error
        new_job(workshop.folder, plan=scan)


def _add_table(workshop: Workshop, file: str) -> None:
    before = read_texts(workshop.folder, (JOB_FILE,))
    document = tomlkit.parse(before[JOB_FILE] or "")
    plans = document.get("plan")
    taken = {str(table.get("name", "plan")) for table in plans or ()}
    table = tomlkit.table()
    table["name"] = next(f"sheet {n}" for n in range(1, 1000) if f"sheet {n}" not in taken)
    table["file"] = file
    if plans is None:
        document.append("plan", tomlkit.aot())
    document["plan"].append(table)
    text = tomlkit.dumps(document)
    read_spec(text)
    after: dict[str, str | None] = {JOB_FILE: text}
    workshop.make(Step(f"add the plan {file}", before, after))
