"""A job as bytes: what of its folder travels to a worker, and under which hash a stage of it is done."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import nesting
from nesting.job.files import digest
from nesting.job.folder import JOB_FILE, Job
from nesting.job.given import section_files
from nesting.job.laid import LAYOUT_FILE
from nesting.job.store import TRACE_FORMAT
from vectorize.basics.errors import JobError
from vectorize.basics.plain_file import read_plain
from vectorize.basics.wording import shown

_SIDES = ("rack", "corrected", "outlines", "outlines/plans")
"""Folders of a job that hold files beside its tables."""
_OF_TRACE = {"name", "plan", "pick", "cutout", "line", "mirror", "fill", "source"}
"""Keys of a part that its outline is traced by."""


def job_files(job: Job) -> dict[str, bytes]:
    """Return what a stage of a job reads, by name within its folder: what is not there is left out.

    Raises:
        JobError: A file that the job names lies outside its folder, or cannot be read.
    """
    files: dict[str, bytes] = {}
    for name in dict.fromkeys(_names(job)):
        try:
            files[name] = read_plain(job.path(name))
        except (FileNotFoundError, NotADirectoryError, IsADirectoryError):
            continue  # told by the stage that needs it
        except OSError as error:
            raise JobError(f"{shown(name)} cannot be read: {error.strerror or error}.") from error
    return files


def _names(job: Job) -> Iterator[str]:
    yield JOB_FILE
    yield job.spec.rack.file
    for plan in job.spec.plan:
        yield from (file for file, _ in plan.sources)
    for part in job.spec.part:
        yield from section_files(part)
    for side in _SIDES:
        yield from sorted(path.relative_to(job.folder).as_posix() for path in (job.folder / side).glob("*.json"))
    yield f"{job.out_name}/{LAYOUT_FILE}"


def stage_key(stage: str, job: Job, files: Mapping[str, bytes], options: Iterable[object]) -> str:
    """Return the hash of all that a stage of a job is made from: equal where there is nothing to do again.

    Tracing reads plans, corrections and what parts say of their outline; every later stage all of the job but the
    layout, which patterns read too.
    """
    layout = f"{job.out_name}/{LAYOUT_FILE}"
    if stage == "trace":
        plans = {file for plan in job.spec.plan for file, _ in plan.sources}
        read = [name for name in files if name in plans or name.startswith("corrected/")]
        tables = _trace_tables(job)
    else:
        read = [name for name in files if name != layout or stage == "pattern"]
        tables = []
    named = sorted((name, digest(files[name])) for name in read)
    made_by = [nesting.__version__, TRACE_FORMAT]
    return digest(json.dumps([made_by, stage, [*map(repr, options)], tables, named]).encode())


def _trace_tables(job: Job) -> list[Any]:
    plans = [plan.model_dump(mode="json") for plan in job.spec.plan]
    return [*plans, *(part.model_dump(mode="json", include=_OF_TRACE) for part in job.spec.part)]
