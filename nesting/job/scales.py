"""The plan scale of a job: shown, and known dimensions added to `job.toml`."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import tomlkit

from nesting.job.bare import known_pieces, parse_known
from nesting.job.folder import Job, change_job
from nesting.job.plans import OpenPlan
from nesting.job.results import notes_result
from nesting.job.schema import KnownTable
from vectorize.basics.errors import CallError, JobError, ScaleError
from vectorize.basics.notes import Note
from vectorize.basics.wording import listed, shown

SAME_POINT_PX = 5.0
"""Points no farther apart than this are one point, marked twice by hand."""


def add_known(job: Job, texts: Sequence[str], *, plan: str | None = None) -> Job:
    """Return the job after known dimensions `X1,Y1,X2,Y2,LENGTH` were written into its `job.toml`, all or none.

    Raises:
        CallError: A text is not of that form, its points have a known dimension already, or several plans and none
            is named.
        JobError: No such plan.
        ScanError: The plan cannot be read.
        ScaleError: With these the known dimensions contradict each other; nothing is written.
        WriteError: Somebody else changed or holds the job.
    """
    known = [(parse_known(text), known_pieces(text)[-1].strip()) for text in texts]
    names = [table.name for table in job.spec.plan]
    if plan is None and len(names) != 1:
        raise CallError(f"the job has {len(names)} plans; say which with --plan NAME ({listed(names)}).")
    wanted = plan or names[0]
    if wanted not in names:
        raise JobError(f"there is no plan {shown(wanted)}; plans: {listed(names)}.")

    table = job.spec.plan[names.index(wanted)]
    there = list(table.known)
    for one, _ in known:
        _refuse_again(one, there)
        there.append(one)
    _refuse_contradiction(OpenPlan(job.path, table.model_copy(update={"known": tuple(there)})))

    def change(document: tomlkit.TOMLDocument) -> None:
        table = document["plan"][names.index(wanted)]
        if "known" not in table:
            table["known"] = tomlkit.aot()
        for one, written in known:
            entry = tomlkit.table()
            entry["from"], entry["to"] = list(one.start), list(one.end)
            entry["length"] = written
            table["known"].append(entry)

    return change_job(job, change)


def _refuse_contradiction(plan: OpenPlan) -> None:
    """Refuse what would leave the plan without a scale: every later command would stop at it."""
    try:
        _ = plan.scale
    except ScaleError as error:
        raise ScaleError(f"nothing was added: {error}") from error


def _refuse_again(known: KnownTable, there: Iterable[KnownTable]) -> None:
    """Refuse a dimension between points that have one: told twice it would only count twice."""
    for old in there:
        pairs = (((known.start, old.start), (known.end, old.end)), ((known.start, old.end), (known.end, old.start)))
        if any(all(_is_same_point(p, q) for p, q in pair) for pair in pairs):
            raise CallError(
                f"the plan has a known dimension between these points already, {old.length:g} mm; "
                "change that one in job.toml, or measure between other points."
            )


def _is_same_point(first: Sequence[float], second: Sequence[float]) -> bool:
    """Return whether two places are marks of one point, in the same file of the plan."""
    return first[2:] == second[2:] and math.dist(first[:2], second[:2]) <= SAME_POINT_PX


def scale_result(plans: Iterable[OpenPlan], notes: Iterable[Note]) -> dict[str, Any]:
    """Return the scales of plans as JSON."""
    rows = [
        {
            "plan": plan.table.name,
            "mm_per_px": list(plan.scale.mm_per_px),
            "skew_deg": plan.scale.skew_deg,
            "page_mm": list(plan.scale.page_mm),
            "is_true_size": plan.scale.is_true_size,
            "points": [
                {"at": list(point.at), "is_mm": list(point.place), "residual_mm": misfit.error_mm}
                for point, misfit in zip(plan.table.point, plan.scale.points, strict=True)
            ],
            "seams": [
                {"files": [seam.first, seam.second], "misfit_mm": seam.rms_mm, "high_mm": seam.high_mm}
                for seam in (() if plan.joined is None else plan.joined.seams)
            ],
            "known": [
                {"from": list(k.start), "to": list(k.end), "length_mm": k.length, "residual_mm": residual.error_mm}
                for k, residual in zip(plan.table.known, plan.scale.residuals, strict=True)
            ],
        }
        for plan in plans
    ]
    return {"scales": rows, "notes": notes_result(notes)}
