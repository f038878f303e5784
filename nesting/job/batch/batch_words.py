"""A batch in words: the line while it goes on, a line for a job at its end, and the table of all jobs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from nesting.job.batch.run_batch import JobDone, Standing, by_need
from vectorize.basics.wording import clipped

HEADS = ("job", "state", "up to", "parts", "open", "boards", "weight g", "waste", "time s", "what to look at")
RIGHT = (3, 4, 5, 6, 7, 8)
_MOST_WHY = 160


def standing_line(standing: Standing, share: float, seconds: float) -> str:
    """Return how far a batch is, in one line."""
    left = f" · about {duration(seconds / share - seconds)} left" if 0.02 < share < 1.0 else ""
    work = ", ".join(sorted(standing.at_work.values()))
    return f"{standing.jobs} of {standing.of} jobs · {standing.stages} stages{left}{f' · {work}' if work else ''}"


def duration(seconds: float) -> str:
    """Return a time as people say it."""
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.1f} h"


def job_line(job: JobDone) -> str:
    """Return what became of a job, in one line."""
    if job.state == "failed":
        return f"{job.order.shown}: failed at {why(job)}"
    count = len(job.open_notes)
    left = "" if not count else f", {count} open" if count > 1 else ", 1 open"
    is_kept = all(stage.state == "kept" for stage in job.stages.values())
    return f"{job.order.shown}: {'nothing to do' if is_kept else 'done'}{left} ({duration(job.seconds)})"


def why(job: JobDone) -> str:
    """Return what a person is to look at first: why the job failed, else what it left open."""
    notes = sorted(job.open_notes, key=lambda note: note.code != "stage-failed")
    if not notes:
        return ""
    part = "" if notes[0].part is None or notes[0].part in notes[0].text else f"{notes[0].part}: "
    return clipped(f"{part}{notes[0].text}", _MOST_WHY)


def batch_table(jobs: Iterable[JobDone]) -> tuple[Sequence[str], list[Sequence[str]], Sequence[int]]:
    """Return heads, rows and the columns of figures of the table of all jobs, those first that need a person."""
    return HEADS, [row(job) for job in by_need(jobs)], RIGHT


def row(job: JobDone) -> tuple[str, ...]:
    """Return a job's row of the table."""
    known = job.figures
    reached = next(reversed(job.stages), "")
    return (
        job.order.shown,
        job.state,
        reached,
        figure(known, "parts"),
        str(len(job.open_notes)),
        figure(known, "boards"),
        figure(known, "mass_g", decimals=1),
        figure(known, "waste_share", decimals=0, times=100, unit=" %"),
        f"{job.total_seconds:.1f}",
        why(job),
    )


def figure(known: Mapping[str, float], name: str, *, decimals: int = 0, times: float = 1.0, unit: str = "") -> str:
    """Return a figure as it is shown, nothing where it is not known."""
    return "" if name not in known else f"{times * known[name]:.{decimals}f}{unit}"
