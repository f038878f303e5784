"""A batch from its list of jobs to what became of each: every job a course of stages, done where there are hands."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Literal, TypeAlias

from nesting.job.batch.courses import Answer, Course, Patience, Task, run_here, run_on
from nesting.job.batch.job_bytes import job_files, stage_key
from nesting.job.batch.job_list import Order
from nesting.job.batch.records import RECORD, Done, Record, draft_key, read_record
from nesting.job.batch.stage_task import Figures, Load, Outcome, fault_of_ours, run_stage
from nesting.job.batch.wish import Stage, Wish
from nesting.job.files import write_results
from nesting.job.folder import Job, open_job
from nesting.job.journal import replace_files
from nesting.job.laid import LAYOUT_FILE
from nesting.job.new_job import add_files, bytes_of
from vectorize.basics.errors import SheetwoodError, disk_refusal
from vectorize.basics.notes import Note, each_once
from vectorize.basics.wording import listed

JobState: TypeAlias = Literal["done", "open", "failed"]
StageState: TypeAlias = Literal["done", "kept", "failed"]
Walk: TypeAlias = Generator[Task, Answer, bool]
"""A stretch of a course; it returns whether the job can go on."""


@dataclass(frozen=True, slots=True)
class StageDone:
    """What became of a stage: done now, kept from before, or failed; how long it took, now or then."""

    state: StageState
    seconds: float


@dataclass(slots=True)
class JobDone:
    """What became of a job; it grows while the job goes its course. `seconds` is what was worked on it this time."""

    order: Order
    stages: dict[Stage, StageDone] = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)
    figures: Figures = field(default_factory=dict)
    seconds: float = 0.0

    @property
    def state(self) -> JobState:
        """Return whether the job came to its end, and whether it left something open."""
        if not self.stages or any(stage.state == "failed" for stage in self.stages.values()):
            return "failed"
        return "open" if self.open_notes else "done"

    @property
    def open_notes(self) -> tuple[Note, ...]:
        """Return what a person is to look at."""
        return tuple(note for note in each_once(self.notes) if note.state == "open")

    @property
    def total_seconds(self) -> float:
        """Return how long all its stages took, those of earlier batches included."""
        return sum(stage.seconds for stage in self.stages.values())

    def as_json(self) -> dict[str, Any]:
        """Return the job as the JSON contract has it."""
        return {
            "folder": str(self.order.folder),
            "state": self.state,
            "stages": {name: {"state": s.state, "seconds": round(s.seconds, 3)} for name, s in self.stages.items()},
            "seconds": round(self.seconds, 3),
            "figures": self.figures,
            "notes": [note.as_json() for note in each_once(self.notes)],
        }

    def take(self, stage: Stage, done: Done, state: StageState) -> None:
        """Add a stage that came to its end."""
        self.stages[stage] = StageDone(state, done.seconds)
        self.notes += done.notes
        self.figures |= done.figures

    def fail(self, stage: Stage, why: str, seconds: float = 0.0) -> None:
        """Add a stage that came to none, and why."""
        self.stages[stage] = StageDone("failed", seconds)
        self.notes.append(Note("stage-failed", f"{stage}: {why}", state="open"))


@dataclass(frozen=True, slots=True)
class Standing:
    """How far a batch has come: jobs at their end, stages done, and what each worker is at."""

    jobs: int
    of: int
    stages: int
    at_work: Mapping[str, str]


Report: TypeAlias = Callable[[Standing, JobDone | None], None]
"""Told how far the batch is, and of a job that has just come to its end."""


def run_batch(
    orders: Iterable[Order],
    wish: Wish,
    *,
    cluster: AbstractContextManager[Any] | None = None,
    patience: Patience = Patience(),  # noqa: B008 - it cannot be changed
    report: Report = lambda standing, job: None,
) -> tuple[JobDone, ...]:
    """Do the stages of many jobs, and return what became of each; one that fails does not touch the others.

    Every result is written into its job as soon as it is there, so that a batch that is stopped goes on where it was.

    Args:
        orders: The jobs.
        wish: Up to which stage, and how.
        cluster: Gives the client of the workers, once there is work for them; without it all is done in this process,
            one stage after the other.
        patience: How often and how long a worker may try.
        report: Told how far the batch is.
    """
    jobs = [JobDone(order) for order in orders]
    ended: list[JobDone] = []

    def standing(at_work: Mapping[str, str]) -> Standing:
        return Standing(len(ended), len(jobs), sum(len(job.stages) for job in jobs), at_work)

    def watched(job: JobDone) -> Course:
        yield from _course(job, wish)
        ended.append(job)
        report(standing({}), job)

    courses = map(watched, jobs)

    def watch(at_work: Mapping[str, str]) -> None:
        report(standing(at_work), None)

    if cluster is None:
        run_here(courses, watch)
    else:
        run_on(cluster, courses, patience=patience, watch=watch)
    return tuple(jobs)


def _course(job: JobDone, wish: Wish) -> Course:
    """Go through the stages of a job until one fails; whatever goes wrong is the job's own."""
    stage: Stage = "draft"
    try:
        if not (yield from _drafted(job, wish)):
            return
        for stage in wish.stages:
            if not (yield from _stage(job, stage, wish)):
                return
    except SheetwoodError as error:
        job.fail(stage, str(error))
    except OSError as error:
        job.fail(stage, str(disk_refusal(error)))
    except Exception as error:  # a job must not end the others, whatever it holds
        job.fail(stage, fault_of_ours(error))


def _drafted(job: JobDone, wish: Wish) -> Walk:
    """Draft the job of a plan that has none; what a draft left open stands until somebody has saved the job."""
    order = job.order
    if order.plan is None:
        record = read_record(order.folder)
        if (draft := record.stages.get("draft")) and draft.holds(draft_key(order.folder), order.folder):
            job.take("draft", draft, "kept")
        return True
    load = Load(str(order.folder), order.folder.name, {order.plan.name: bytes_of(order.plan)}, order.plan.name)
    outcome = yield from _outcome(job, "draft", load, wish)
    if outcome is None:
        return False
    add_files(order.folder, {**load.files, **outcome.files})
    done = Done.from_outcome(draft_key(order.folder), outcome)
    _keep(order.folder, Record({}).with_stage("draft", done), {}, {})
    job.take("draft", done, "done")
    return True


def _stage(job: JobDone, stage: Stage, wish: Wish) -> Walk:
    """Do a stage of a job, unless it is done and nothing that it was made from has changed."""
    opened = open_job(job.order.folder)
    files = job_files(opened)
    record = read_record(opened.folder)
    key = stage_key(stage, opened, files, wish.options(stage))
    done = record.stages.get(stage)
    if done is not None and done.holds(key, opened.folder) and not wish.is_forced:
        job.take(stage, done, "kept")
        return True
    load = Load(str(opened.folder), opened.folder.resolve().name, files)
    outcome = yield from _outcome(job, stage, load, wish)
    if outcome is None:
        return False
    done = _write(opened, stage, files, outcome, record, wish)
    job.take(stage, done, "done")
    return True


def _outcome(job: JobDone, stage: Stage, load: Load, wish: Wish) -> Generator[Task, Answer, Outcome | None]:
    """Return what a worker made of a stage, None where it came to no end: what it made of it until then is written."""
    answer = yield Task(f"{job.order.shown}: {stage}", run_stage, (stage, load, wish))
    for number, lost in enumerate(answer.lost, start=1):
        job.notes.append(Note("worker-lost", f"{stage}: try {number} came to no end, as {lost}."))
    if answer.fault is not None:
        tries = f" ({len(answer.lost)} tries)" if len(answer.lost) > 1 else ""
        job.fail(stage, f"{answer.fault}{tries}; run it alone to see why, or give workers more memory (--memory).")
        return None
    outcome: Outcome = answer.value
    job.seconds += outcome.seconds
    if outcome.fault is None:
        return outcome
    job.fail(stage, outcome.fault, outcome.seconds)
    if stage != "draft":
        traced = {name: data for name, data in outcome.files.items() if name.startswith("outlines/")}
        replace_files(job.order.folder, load.files, traced)
    return None


def _write(job: Job, stage: Stage, read: Mapping[str, bytes], outcome: Outcome, record: Record, wish: Wish) -> Done:
    """Write what a stage made into its job, and what is to be known of it the next time."""
    out = f"{job.out_name}/"
    layout = f"{out}{LAYOUT_FILE}"
    results = {
        name.removeprefix(out): data for name, data in outcome.files.items() if name.startswith(out) and name != layout
    }
    written = write_results(job.out, results, is_forced=wish.is_forced) if results else None
    own = {name: data for name, data in outcome.files.items() if name == layout or not name.startswith(out)}
    done = Done.from_outcome("", outcome, () if written is None else written.notes)
    # Hashed as it now stands: what a stage writes may be what it reads.
    done = replace(done, key=stage_key(stage, job, {**read, **own}, wish.options(stage)))
    _keep(job.folder, record.with_stage(stage, done), read, own)
    return done


def _keep(folder: Path, record: Record, before: Mapping[str, bytes], made: Mapping[str, bytes]) -> None:
    """Write files of a job with the record of the batch, all or none; raises as `replace_files`."""
    replace_files(folder, {**before, RECORD: record.read}, {**made, RECORD: record.data})


def batch_notes(jobs: Iterable[JobDone]) -> tuple[Note, ...]:
    """Return what is to be said of a batch as a whole: which jobs failed."""
    failed = [job.order.shown for job in jobs if job.state == "failed"]
    if not failed:
        return ()
    count = "1 job" if len(failed) == 1 else f"{len(failed)} jobs"
    return (Note("jobs-failed", f"{count} failed: {listed(failed)}; mend them and run the batch again.", "open"),)


def by_need(jobs: Iterable[JobDone]) -> list[JobDone]:
    """Return jobs as a person should see them: those that failed, then by how much they leave open, then by name."""
    rank = {"failed": 0, "open": 1, "done": 2}
    return sorted(jobs, key=lambda job: (rank[job.state], -len(job.open_notes), job.order.shown))
