"""How far a batch is, as it goes on: jobs, stages, what each worker is at, and the time left."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from nesting.cli.console import stages

if TYPE_CHECKING:
    from nesting.job.batch.run_batch import JobDone, Report, Standing
    from nesting.job.batch.wish import Wish


@contextmanager
def batch_progress(wish: Wish, count: int) -> Iterator[Report]:
    """Give what a batch tells its progress to: a line for each job at its end, and a bar on a terminal."""
    from nesting.job.batch.batch_words import job_line, standing_line

    most = max(1, count * len(wish.stages))
    began = time.monotonic()
    with stages() as show:

        def report(standing: Standing, job: JobDone | None) -> None:
            if job is not None:
                show(f"{standing.jobs} of {standing.of}: {job_line(job)}")
            share = min(1.0, max(standing.stages / most, standing.jobs / max(1, standing.of)))
            show(standing_line(standing, share, time.monotonic() - began), share)

        yield report
