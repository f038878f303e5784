"""In which units a job speaks to people."""

from __future__ import annotations

import tomllib
from contextlib import suppress
from pathlib import Path

from nesting.job.folder import JOB_FILE, Job, open_job
from nesting.job.rack_files import read_rack
from vectorize.basics.errors import SheetwoodError
from vectorize.basics.plain_file import read_plain
from vectorize.basics.spoken import METRIC, Speech


def speech_of(job: Job) -> Speech:
    """Return how a job speaks; names of its plans, parts and boards stay as they are written."""
    names = [*(plan.name for plan in job.spec.plan), *(part.name for part in job.spec.part)]
    with suppress(SheetwoodError):  # a rack that cannot be read is told by whoever needs it
        names += [board.name for board in read_rack(job)]
    return Speech(job.spec.job.units, tuple(names))


def speech_in(folder: Path) -> Speech:
    """Return how the job in a folder speaks, also while something in it is wrong; metric where it does not say."""
    try:
        return speech_of(open_job(folder))
    except SheetwoodError:
        return _speech_of_broken(folder / JOB_FILE)


def _speech_of_broken(file: Path) -> Speech:
    try:
        units = tomllib.loads(read_plain(file).decode())["job"]["units"]
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return METRIC
    return Speech("in") if units == "in" else METRIC
