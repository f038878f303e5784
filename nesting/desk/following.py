"""What a worker does after every change: trace what is not traced yet, make the parts, read the rack.

It calls the same public functions as the command line.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from nesting.desk.reading import remembered_plans
from nesting.desk.standing import Faults, PlanState, Standing
from nesting.desk.worker import Report
from nesting.job.folder import Job, open_job
from nesting.job.rack import read_rack
from nesting.job.store import StoredOutline
from nesting.job.tracing import JobTrace, OpenPlan, make_parts, trace_job
from nesting.part import Part
from vectorize.errors import ScaleError, SheetwoodError
from vectorize.notes import Note

Result = TypeVar("Result")


def follow(report: Report, folder: Path) -> Standing:
    """Trace what is not traced yet, weigh, and return how the job stands; one bad part never spoils the others.

    Raises:
        JobError: `job.toml` itself cannot be used.
    """
    job = open_job(folder)
    opened = remembered_plans(job) if job.spec.plan else {}
    plans = tuple(_plan_state(report, plan) for plan in opened.values())
    outlines, notes, by_part = _outlines(report, job, opened)
    parts, said = _parts(job, opened, outlines, by_part)
    boards, rack_fault = _tried(lambda: read_rack(job))
    notes += said
    return Standing(job.read_hash, plans, outlines, parts, boards or (), tuple(notes), Faults(by_part, rack_fault))


def _tried(make: Callable[[], Result]) -> tuple[Result | None, str | None]:
    try:
        return make(), None
    except SheetwoodError as error:
        return None, str(error)


def _plan_state(report: Report, plan: OpenPlan) -> PlanState:
    name = plan.table.name
    try:
        if "page" not in plan.__dict__:
            report.say(f"reading {name}")
        page = plan.page
        width, height = page.width, page.height
    except SheetwoodError as error:
        return PlanState(name, 0.0, 0.0, None, (), str(error))
    try:
        return PlanState(name, width, height, plan.scale, (*page.notes, *plan.scale.notes))
    except ScaleError as error:
        return PlanState(name, width, height, None, page.notes, str(error))


def _outlines(
    report: Report, job: Job, opened: dict[str, OpenPlan]
) -> tuple[tuple[StoredOutline, ...], list[Note], dict[str, str]]:
    if not job.spec.part or not job.spec.plan:
        return (), [], {}
    try:
        trace = trace_job(job, progress=report.say, plans=opened)
    except SheetwoodError as error:
        return (), [], {part.name: str(error) for part in job.spec.part}
    faults = {note.part: note.text for note in trace.notes if note.part and note.code == "open-part"}
    return trace.outlines, list(trace.notes), faults


def _parts(
    job: Job, opened: dict[str, OpenPlan], outlines: tuple[StoredOutline, ...], by_part: dict[str, str]
) -> tuple[tuple[Part, ...], list[Note]]:
    """Make each part by itself, so that one without a thickness leaves the others as they are."""
    parts: list[Part] = []
    notes: list[Note] = []
    for table in job.spec.part:
        alone = dataclasses.replace(job, spec=job.spec.model_copy(update={"part": (table,)}))
        made, fault = _tried(lambda alone=alone: make_parts(alone, JobTrace(outlines, ()), plans=opened))  # type: ignore[misc]
        if fault is not None:
            by_part.setdefault(table.name, fault)
        if made is not None:
            parts += made[0]
            notes += made[1]
    return tuple(parts), notes
