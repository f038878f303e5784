"""From the job's plans to outlines and parts."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nesting.job.files import Written, write_results
from nesting.job.folder import Job, file_name_for
from nesting.job.kept_scales import keep_scale
from nesting.job.plans import OpenPlan, frame_of, open_plans, plan_of
from nesting.job.schema import PartTable
from nesting.job.store import StoredOutline, save_outline, stored_outline, trace_hash, with_correction, with_filled
from nesting.wood.part import FREE_GRAIN_DEG, Part
from vectorize.basics.errors import JobError, PartError, ScaleError
from vectorize.basics.notes import Note, each_once
from vectorize.basics.units import parse_angle
from vectorize.basics.watch import Watcher, portion, unwatched
from vectorize.shapes.alternative import Alternative, Place
from vectorize.shapes.likeness import Likeness, Shape, alike
from vectorize.shapes.outline import TracedOutline
from vectorize.trace.trace_page import PartPick, Trace, find_candidates, trace_picks

if TYPE_CHECKING:
    from nesting.job.deriving import AllParts
    from nesting.job.given import Given

READ_SHARE = 0.15
"""What decoding a scan and fitting its scale take of the time to trace it."""


@dataclass(frozen=True, slots=True)
class JobTrace:
    """The outlines of a job and everything said about them."""

    outlines: tuple[StoredOutline, ...]
    notes: tuple[Note, ...]


def trace_job(
    job: Job,
    *,
    is_fresh: bool = False,
    progress: Watcher = unwatched,
    plans: dict[str, OpenPlan] | None = None,
) -> JobTrace:
    """Return every part's outline: from `outlines/` where nothing changed, else traced from its plan.

    Without parts in the job every candidate region is given. New outlines are saved. A part that cannot
    be traced becomes an open note; the others are given.

    Args:
        job: The job.
        is_fresh: Trace again even where an outline is stored.
        progress: Told what is done to each plan, and within it each stage with its share.
        plans: The job's plans where the caller has them open already, so that no scan is read twice.

    Raises:
        ScanError, ScaleError, JobError: A plan cannot be read or has no scale.
        WriteError: An outline cannot be saved.
    """
    plans = plans or open_plans(job, is_fresh=is_fresh)
    outlines: list[StoredOutline] = []
    notes: list[Note] = []
    for plan in plans.values():
        if job.spec.part:
            drawn = [part for part in job.spec.part if part.source is None]
            mine = [part for part in drawn if plan_of(part, plans) is plan]
            found, said = _trace_parts(job, plan, mine, is_fresh=is_fresh, progress=progress)
        else:
            found, said = _trace_candidates(plan, progress)
        outlines += found
        notes += said
    return JobTrace(tuple(outlines), tuple(notes))


def likenesses_of(trace: JobTrace) -> tuple[Likeness, ...]:
    """Return which outlines are one shape with an earlier one, within the uncertainty of both.

    None while a plan has no scale: how alike shapes are is judged in millimetres.
    """
    if any(note.code == "no-scale" for note in trace.notes):
        return ()
    return alike([Shape(stored.name, stored.outline, stored.traced.sigma_edge_mm) for stored in trace.outlines])


def likeness_notes(likenesses: Iterable[Likeness]) -> list[Note]:
    """Return a note for each shape that is drawn several times, with the parts that share it."""
    groups: dict[str, list[Likeness]] = {}
    for like in likenesses:
        groups.setdefault(like.same_as, []).append(like)
    notes = []
    for first, others in groups.items():
        names = ", ".join(like.name + (" (turned over)" if like.is_mirrored else "") for like in others)
        worst = max(like.worst_mm for like in others)
        text = f"{first} is drawn {len(others) + 1} times: also as {names}; they differ by at most {worst:.2f} mm."
        notes.append(Note("same-shape", text, part=first))
    return notes


def _filled(plan: OpenPlan, part: PartTable, outline: StoredOutline) -> StoredOutline:
    """Return the outline without the holes that the part's table fills."""
    return with_filled(outline, [plan.to_mm(pixel) for pixel in part.fill], plan.to_mm) if part.fill else outline


def _trace_parts(
    job: Job, plan: OpenPlan, tables: list[PartTable], *, is_fresh: bool, progress: Watcher
) -> tuple[list[StoredOutline], list[Note]]:
    hashes = {part.name: trace_hash(plan.digests, plan.table, part) for part in tables}
    stored = {part.name: None if is_fresh else stored_outline(job, part, hashes[part.name]) for part in tables}
    missing = [part for part in tables if stored[part.name] is None]
    notes: list[Note] = []
    if missing:
        progress(f"tracing {plan.file_names}")
        progress("reading the scan", 0.0)
        _refuse_guessed_size(plan)
        keep_scale(job, plan.table, plan.scale, plan.scale_hash)
        picks = [_pick(part, plan) for part in missing]
        trace = trace_picks(plan.page, plan.scale, picks, plan.settings, watch=portion(progress, READ_SHARE, 1.0))
        for fresh in _stored(plan, trace, hashes):
            save_outline(job, fresh)
            stored[fresh.name] = fresh
        notes += [n for n in plan.told(trace.notes) if n.part is not None and stored[n.part] is None]
    found = [
        with_correction(job, _filled(plan, part, outline))
        for part in tables
        if (outline := stored[part.name]) is not None
    ]
    anew = {part.name for part in missing}
    notes += [note if outline.name in anew else note.retold() for outline in found for note in outline.notes]
    return found, list(each_once(notes))


def _refuse_guessed_size(plan: OpenPlan) -> None:
    if not plan.scale.is_true_size:
        raise ScaleError(next(note.text for note in plan.scale.notes if note.code == "no-scale"))


def _trace_candidates(plan: OpenPlan, progress: Watcher) -> tuple[list[StoredOutline], list[Note]]:
    progress(f"looking for parts on {plan.file_names}")
    progress("reading the scan", 0.0)
    trace = find_candidates(plan.page, plan.scale, plan.settings, watch=portion(progress, READ_SHARE, 1.0))
    return _stored(plan, trace, {}), [*plan.page_notes, *plan.scale.notes, *plan.told(trace.notes)]


def _stored(plan: OpenPlan, trace: Trace, hashes: dict[str, str]) -> list[StoredOutline]:
    # What concerns the whole plan is kept with every part, so that a later run can say it again.
    # As a later run reads them back from the outline's file.
    said = [note.rounded() for note in plan.told(trace.notes)]
    general = [*plan.page_notes, *plan.scale.notes, *(note for note in said if note.part is None)]
    return [
        StoredOutline(
            name=part.name,
            plan=plan.table.name,
            traced=TracedOutline(part.outline, part.sigma_edge_mm, part.sigma_area_mm2),
            pen_width_mm=part.pen_width_mm,
            inside_px=plan.in_file(part.inside_px),
            made_from=hashes.get(part.name, ""),
            notes=(*general, *(note for note in said if note.part == part.name)) if hashes else (),
            sure=part.sure,
            alternatives=tuple(_in_file(plan, other) for other in part.alternatives),
        )
        for part in trace.parts
    ]


def _in_file(plan: OpenPlan, other: Alternative) -> Alternative:
    """Return a reading with its places as pixels of the plan's files."""
    at, *_ = _places(plan, [other.at])
    return replace(other, at=at, inside=_places(plan, other.inside), cutouts=_places(plan, other.cutouts))


def _places(plan: OpenPlan, points: Iterable[Place]) -> tuple[Place, ...]:
    # To a hundredth of a pixel, as they are written and read back.
    found = (plan.in_file((point[0], point[1])) for point in points)
    return tuple(tuple(round(value, 2) for value in place) for place in found)


def _pick(part: PartTable, plan: OpenPlan) -> PartPick:
    return PartPick(
        name=part.name,
        inside=tuple(plan.on_page(pixel) for pixel in part.pick),
        cutouts=tuple(plan.on_page(pixel) for pixel in part.cutout),
        line=part.line,
        mirror=None if part.mirror is None else (plan.on_page(part.mirror[0]), plan.on_page(part.mirror[1])),
    )


def write_previews(job: Job, *, is_forced: bool = False) -> tuple[Note, ...]:
    """Write a numbered picture of the candidate regions of every plan to `out/`; return notes."""
    from vectorize.trace.numbered_preview import preview_png

    files = {}
    for plan in open_plans(job).values():
        trace = find_candidates(plan.page, plan.scale, plan.settings)
        files[f"regions-{file_name_for(plan.table.name)}.png"] = preview_png(
            plan.page, trace, plan.scale, sheet=plan.joined
        )
    return write_results(job.out, files, is_forced=is_forced).notes


def write_readings(job: Job, trace: JobTrace, plans: Mapping[str, OpenPlan], *, is_forced: bool = False) -> Written:
    """Write a picture to `out/` for every plan with doubtful parts: the readings of each side by side.

    Raises:
        WriteError: The folder cannot be written.
    """
    doubtful: dict[str, list[StoredOutline]] = {}
    for stored in trace.outlines:
        if stored.is_doubtful and stored.plan in plans:
            doubtful.setdefault(stored.plan, []).append(stored)
    if not doubtful:
        return Written((), ())
    from vectorize.trace.readings_preview import readings_png

    files = {
        f"doubtful-{file_name_for(name)}.png": readings_png(plans[name].page, parts, plans[name].scale)
        for name, parts in doubtful.items()
    }
    return write_results(job.out, files, is_forced=is_forced)


def derive_parts(given: Given, outlines: Sequence[StoredOutline], plans: dict[str, OpenPlan]) -> AllParts:
    """Return the job's parts with material, thickness and grain, those made from others included, and carved panels.

    Args:
        given: What parts are made from besides outlines.
        outlines: The traced outlines; a part without one is left out.
        plans: The plans that parts are drawn on.

    Raises:
        JobError: The job has no parts, or some that are made from each other in a circle or from nothing.
        PartError: No part has both material and thickness; one that lacks them is left out with an open note.
    """
    from nesting.job.deriving import AllParts, all_parts, as_needed, drilling_notes
    from nesting.job.strip_stock import on_strips

    spec = given.spec
    if not spec.part:
        raise JobError("job.toml has no [[part]]; run `sheetwood trace` and copy picks from the numbered picture.")
    parts, notes = _traced_parts(given, outlines, plans)
    if not any(table.source or table.step or table.carve for table in spec.part):
        return AllParts(as_needed(given, on_strips(given, parts)), (*notes, *drilling_notes(given, parts)), ())
    made = all_parts(given, parts, lambda table: frame_of(spec, plan_of(table, plans)))
    return AllParts(
        as_needed(given, on_strips(given, made.parts)),
        (*notes, *made.notes, *drilling_notes(given, made.parts)),
        made.carvings,
        made.seams,
    )


def _traced_parts(
    given: Given, outlines: Sequence[StoredOutline], plans: dict[str, OpenPlan]
) -> tuple[list[Part], list[Note]]:
    by_name = {outline.name: outline for outline in outlines}
    parts: list[Part] = []
    notes: list[Note] = []
    faults: list[PartError] = []
    for table in given.spec.part:
        if table.name not in by_name or table.source is not None:
            continue
        try:
            part, said = _part(given, table, by_name[table.name], plan_of(table, plans))
        except PartError as error:
            faults.append(error)
            notes.append(Note("no-wood", str(error), state="open", part=table.name))
        else:
            parts.append(part)
            notes += said
    if faults and not parts:
        raise faults[0]
    return parts, notes


def _part(given: Given, table: PartTable, stored: StoredOutline, plan: OpenPlan) -> tuple[Part, list[Note]]:
    for what in ("material", "thickness"):
        if getattr(table, what) is None:
            raise PartError(f'part {table.name}: no {what} is given; add {what} = "…" to its table in job.toml.')
    grain_deg, is_assumed = _grain(table, stored, plan)
    part = Part(
        name=table.name,
        outline=stored.outline,
        material=given.material(str(table.material)),
        thickness_mm=float(table.thickness or 0.0),
        grain_deg=grain_deg,
        is_grain_assumed=is_assumed,
        grain_tolerance_deg=FREE_GRAIN_DEG if table.grain_tolerance == "free" else float(table.grain_tolerance),
        count=table.count,
        hand=table.hand,
        board=table.board,
        boards=table.boards,
        weighed_g=table.weighed,
        weighed_as=table.weighed_as,
        sigma_area_mm2=stored.traced.sigma_area_mm2,
        plan=stored.plan,
    )
    said = f"no grain direction is given; its long axis is assumed ({grain_deg:.0f} deg)."
    return part, [Note("grain-assumed", said, part=table.name)] if is_assumed else []


def _grain(table: PartTable, stored: StoredOutline, plan: OpenPlan) -> tuple[float, bool]:
    """Return the grain direction in degrees (0 to 180), and whether it was assumed."""
    if isinstance(table.grain, str):
        return parse_angle(table.grain) % 180.0, False
    if table.grain is None:
        return long_axis_deg(stored.traced), table.grain_tolerance != "free"
    (x0, y0), (x1, y1) = plan.to_mm(table.grain[0]), plan.to_mm(table.grain[1])
    if math.hypot(x1 - x0, y1 - y0) < 1.0:
        raise JobError(f"part {table.name!r}: the two grain points are less than 1 mm apart; pick them farther apart.")
    return math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180.0, False


def long_axis_deg(traced: TracedOutline) -> float:
    """Return the direction of the long side of the smallest rectangle round the outline, 0 to 180 degrees."""
    import cv2

    points = traced.outline.exterior.flattened(0.01)
    corners = cv2.boxPoints(cv2.minAreaRect((points - points[0]).astype("float32"))).tolist()
    sides = [(b[0] - a[0], b[1] - a[1]) for a, b in itertools.pairwise(corners[:3])]
    dx, dy = max(sides, key=lambda side: math.hypot(*side))
    return math.degrees(math.atan2(dy, dx)) % 180.0
