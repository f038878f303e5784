"""What a worker does after every change: trace what is not traced yet, make the parts, read the rack.

It calls the same public functions as the command line.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Collection, Sequence
from pathlib import Path
from typing import Any, TypeVar

from nesting.desk.scan_work import cut_if_needed, stages_of
from nesting.desk.side_view import side_view
from nesting.desk.standing import Faults, PlanState, Standing
from nesting.desk.worker import Report
from nesting.job.deriving import AllParts
from nesting.job.folder import Job, open_job
from nesting.job.model_schema import BalanceTable
from nesting.job.plans import OpenPlan
from nesting.job.schema import JobSpec, PartTable
from nesting.job.stages import Stages
from nesting.job.store import StoredOutline
from nesting.job.tracing import derive_parts
from vectorize.basics.errors import SheetwoodError
from vectorize.basics.notes import Note
from vectorize.basics.quantity import Pixel
from vectorize.basics.wording import told
from vectorize.shapes.segment import Point

Result = TypeVar("Result")


def follow(report: Report, folder: Path) -> Standing:
    """Trace what is not traced yet, weigh, and return how the job stands; one bad part never spoils the others.

    Plans are first cut into tiles; the name of each that can then be looked at is given.

    Raises:
        JobError: `job.toml` itself cannot be used.
    """
    job = open_job(folder)
    stages = stages_of(job, report)
    opened = stages.plans if job.spec.plan else {}
    plans = tuple(_plan_state(report, job, plan) for plan in opened.values())
    outlines, notes, by_part = _outlines(stages)
    made = _parts(stages, outlines, by_part)
    notes += made.notes
    balance, balance_fault = _tried(lambda: _balance(stages))
    return Standing(
        job.read_hash,
        plans,
        outlines,
        made.parts,
        stages.rack.boards,
        tuple(notes),
        Faults(by_part, None if stages.rack.fault is None else told(str(stages.rack.fault)), balance_fault),
        balance,
        made.seams,
    )


def _tried(make: Callable[[], Result]) -> tuple[Result | None, str | None]:
    try:
        return make(), None
    except SheetwoodError as error:
        return None, told(str(error))


def _plan_state(report: Report, job: Job, plan: OpenPlan) -> PlanState:
    name = plan.table.name
    if "page" not in plan.__dict__:
        report.say(f"reading {name}")
    page, fault = _tried(lambda: plan.page)
    pages, _ = _tried(lambda: plan.infos)
    if page is None:
        # Another page of the file may do: the page offers them.
        return PlanState(name, 0.0, 0.0, None, (), fault, pages=pages or ())
    was_cut, cut_fault = _tried(lambda: cut_if_needed(report, job, plan))
    if was_cut:
        report.give(name)
    scale, fault = _tried(lambda: plan.scale)
    notes = plan.page_notes if scale is None else (*plan.page_notes, *scale.notes)
    places, _ = _tried(lambda: _on_the_sheet(job, plan))
    return PlanState(
        name, page.width, page.height, scale, notes, fault or cut_fault,
        is_drawing=page.grey is None, pages=pages or (), places=places or {},
    )  # fmt: skip


def _on_the_sheet(job: Job, plan: OpenPlan) -> dict[Pixel, Point]:
    """Return where the points that the job names on joined scans lie on the sheet; none where a plan is one file.

    The plan may be remembered from an earlier state of the job.
    """
    if not plan.table.files:
        return {}
    parts = [part for part in job.spec.part if part.plan in (None, plan.table.name)]
    named = [point for known in plan.table.known for point in (known.start, known.end)]
    named += [point for bridge in plan.table.bridge for point in (bridge.start, bridge.end)]
    named += [point for part in parts for point in (*part.pick, *part.cutout, *part.fill, *(part.mirror or ()))]
    named += [point for part in parts if isinstance(part.grain, tuple) for point in part.grain]
    named += _balance_points(job.spec, plan.table.name, {part.name for part in parts})
    return {point: plan.on_page(point) for point in named}


def _balance_points(spec: JobSpec, plan: str, parts: Collection[str]) -> list[Pixel]:
    """Return the points of `[balance]` that lie on a plan: anchors on that of their part, the rest on the side view."""
    balance = spec.balance
    points = [seat.anchor for seat in balance.seat if seat.part in parts]
    if plan == (balance.plan or spec.plan[0].name):
        points += [balance.datum, balance.aft if isinstance(balance.aft, tuple) else None]
        points += [seat.at for seat in balance.seat]
        points += [item.at for item in balance.item] + [place.at for place in balance.ballast]
    return [point for point in points if point is not None]


def _outlines(stages: Stages) -> tuple[tuple[StoredOutline, ...], list[Note], dict[str, str]]:
    spec = stages.job.spec
    if not spec.part or not spec.plan:
        return (), [], {}
    try:
        trace = stages.trace
    except SheetwoodError as error:
        return (), [], {part.name: told(str(error)) for part in spec.part}
    faults = {note.part: note.text for note in trace.notes if note.part and note.code == "open-part"}
    return trace.outlines, list(trace.notes), faults


def _parts(stages: Stages, outlines: tuple[StoredOutline, ...], by_part: dict[str, str]) -> AllParts:
    """Make all parts that can be made; one that cannot leaves the others as they are and its reason in `by_part`."""
    tables = stages.job.spec.part
    while tables and stages.job.spec.plan:
        made, fault = _tried(lambda tables=tables: _made_of(stages, outlines, tables))  # type: ignore[misc]
        if made is not None:
            bare = {note.part: note.text for note in made.notes if note.part and note.code == "no-wood"}
            by_part |= {name: text for name, text in bare.items() if name not in by_part}
            return made
        guilty = _guilty(stages, outlines, tables)
        for name in guilty:
            by_part.setdefault(name, str(fault))
        tables = tuple(table for table in tables if table.name not in guilty)
    return AllParts((), (), ())


def _made_of(stages: Stages, outlines: tuple[StoredOutline, ...], tables: Sequence[PartTable]) -> AllParts:
    """Return what these parts of the job alone become."""
    spec = stages.given.spec.model_copy(update={"part": tuple(tables)})
    given = dataclasses.replace(stages.given, spec=spec)
    return stages.memo.of(derive_parts, given=given, outlines=outlines, plans=stages.plans)


def _guilty(stages: Stages, outlines: tuple[StoredOutline, ...], tables: Sequence[PartTable]) -> set[str]:
    """Return the first drawn part that cannot be made by itself, with what is made from it; all if none is found."""
    for table in tables:
        if table.source is None and _tried(lambda table=table: _made_of(stages, outlines, (table,)))[1]:  # type: ignore[misc]
            return _with_descendants(table.name, tables)
    return {table.name for table in tables}


def _with_descendants(name: str, tables: Sequence[PartTable]) -> set[str]:
    found = {name}
    while more := {table.name for table in tables if table.source in found} - found:
        found |= more
    return found


def _balance(stages: Stages) -> dict[str, Any] | None:
    """Return what `sheetwood balance --json` gives, with the parts as they stand on the side view.

    None where the job says nothing of balance.
    """
    spec = stages.job.spec
    if spec.balance == BalanceTable() or not spec.part or not spec.plan:
        return None
    return stages.balance.as_json() | {"side_view": side_view(stages.model)}
