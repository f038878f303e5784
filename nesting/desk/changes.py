"""What an edit makes of the job's files: the step that can be undone, found before anything is written."""

from __future__ import annotations

import copy
import dataclasses
import json
from collections.abc import Sequence
from typing import Any

import tomlkit

from nesting.desk import layouts
from nesting.desk import requests as ask
from nesting.desk.history import Step, read_texts
from nesting.desk.job_edits import edit_job, place_in, remeasure
from nesting.desk.layouts import LAYOUT_NAME
from nesting.desk.left_out import left_out_step
from nesting.desk.naming_edits import (
    called_in_job,
    drop_part,
    names_of_parts,
    renamed,
    renamed_part,
    told_gone,
)
from nesting.desk.rack_edits import edit_rack, edit_side_file
from nesting.desk.standing import Standing, need_standing
from nesting.job.assigning import tie_parts
from nesting.job.deriving import owner_of
from nesting.job.done_parts import placeless_copies
from nesting.job.folder import JOB_FILE, Job, file_name_for, read_spec
from nesting.job.laid import laid_text, read_laid
from nesting.job.laying import inputs_hash, proved_layout
from nesting.job.rack_files import rack_name, side_name
from nesting.job.references import call_anew
from nesting.job.rules import rules_of
from nesting.job.schema import JobSpec
from nesting.wood.names import Kind
from nesting.wood.rack import parse_rack
from vectorize.basics.errors import CallError, JobError
from vectorize.basics.wording import shown
from vectorize.shapes.outline import Outline, Ring, check_outline
from vectorize.shapes.segment import Line, Segment

NEW_PART = ("part", None)
"""The path of a part that is not there yet."""


def step_for(edit: ask.AnyEdit, job: Job, standing: Standing | None) -> Step:
    """Return the step that `edit` is on the files as they are now; nothing is written.

    Raises:
        SheetwoodError: The edit speaks of something that is not there, or would leave the job unusable.
    """
    match edit:
        case ask.SetValue():
            return _value_step(edit, job)
        case ask.MoveRow() | ask.MeasuredBars():
            return _job_step(edit, job)
        case ask.LeaveOut():
            return left_out_step(edit, job.folder)
        case ask.SetBoard() | ask.AddBoards() | ask.DropBoard():
            return _rack_step(edit, job)
        case ask.AddBlemish() | ask.DropBlemish():
            return _side_file_step(edit, job)
        case ask.SetOutline():
            return _outline_step(edit, job)
        case ask.CutPart():
            return _cut_step(edit, job)
        case ask.PlaceCopy() | ask.PinCopy():
            return _layout_step(edit, job, need_standing(standing))
        case ask.TieParts():
            return _tie_step(edit, job, need_standing(standing))


def _value_step(edit: ask.SetValue, job: Job) -> Step:
    """Return the step of a value; what hangs on a name, or on wood that is cut, goes along."""
    for also in edit.also:
        is_whole = len(also.at) < 3 and also.at != NEW_PART
        if is_whole or (also.at[0] in ("part", "plan") and also.at[2:3] in (("name",), ("cut",))):
            raise CallError("what names a part or a plan is changed by itself, not beside something else.")
    match edit.at:
        case ("part", str(part)) if edit.value is None:
            return _drop_step(part, job)
        case ("part", str(part), "name") if isinstance(edit.value, str) and edit.value:
            return _rename_step(part, edit.value, edit, job)
        case ("part", str(part), "cut") if edit.value:
            return _pinned_step(_job_step(edit, job), part, job)
        case ("plan", str(plan), "name") if isinstance(edit.value, str):
            return _job_step(edit, job, called=("plan", plan, edit.value))
        case ("balance", "item", str(item)) if edit.value is None:
            return _job_step(edit, job, called=("item", item, None))
        case ("balance", "item", str(item), "name") if isinstance(edit.value, str):
            return _job_step(edit, job, called=("item", item, edit.value))
        case ("part" | "plan", str(name)) | ("balance", "item", str(name)):
            raise CallError(f"{shown(name)} is changed key by key, so that what speaks of it goes along.")
        case _:
            # What was corrected on older parts of the names of new ones is not theirs.
            return _without(_job_step(edit, job), job, _names_added(edit))


def _names_added(edit: ask.SetValue) -> list[str]:
    """Return the names of the parts that an edit adds."""
    tables = [change.value for change in (edit, *edit.also) if change.at == NEW_PART]
    names = [table.get("name") for table in tables if isinstance(table, dict)]
    return [name for name in names if isinstance(name, str)]


def _tie_step(edit: ask.TieParts, job: Job, standing: Standing) -> Step:
    before = read_texts(job.folder, (JOB_FILE,))
    document = tomlkit.parse((before[JOB_FILE] or "").lstrip("\ufeff"))
    tied = tie_parts(document, edit.ties, standing.parts, standing.boards)
    if not tied:
        raise JobError("none of these parts is in the job any more; reload the page.")
    text = tomlkit.dumps(document)
    read_spec(text)
    boards = set(edit.ties.values())
    what = tied[0] if len(tied) == 1 else f"{len(tied)} parts"
    title = f"leave the board of {what} free" if boards == {None} else f"set the board of {what}"
    return Step(title, before, {JOB_FILE: text})


def _job_step(
    edit: ask.SetValue | ask.MoveRow | ask.MeasuredBars, job: Job, *, called: tuple[Kind, str, str | None] | None = None
) -> Step:
    """Return the step of an edit of `job.toml`; `called` is what is renamed by it, or gone with it."""
    before = read_texts(job.folder, (JOB_FILE,))
    document = tomlkit.parse((before[JOB_FILE] or "").lstrip("\ufeff"))
    title = remeasure(document, edit) if isinstance(edit, ask.MeasuredBars) else edit_job(document, edit)
    told = ""
    if called is not None:
        kind, old, new = called
        lost = call_anew(document, kind, renamed(old, new))
        told = "" if new is not None else told_gone(old, lost)
    text = tomlkit.dumps(document)
    near = place_in(document, edit.at) if isinstance(edit, ask.SetValue) else ()
    _need_files_inside(job, read_spec(text, near=near))
    return Step(title, before, {JOB_FILE: text}, told)


def _need_files_inside(job: Job, spec: JobSpec) -> None:
    """Raise `JobError` if a job names a file outside its folder that it did not name before."""
    for name in sorted(_files_named(spec) - _files_named(job.spec)):
        job.path(name)


def _files_named(spec: JobSpec) -> set[str]:
    return {spec.rack.file, *(file for plan in spec.plan for file, _ in plan.sources)}


def _drop_step(part: str, job: Job) -> Step:
    before = read_texts(job.folder, (JOB_FILE, LAYOUT_NAME))
    document = tomlkit.parse((before[JOB_FILE] or "").lstrip("\ufeff"))
    names = names_of_parts(document)
    gone, lost = drop_part(document, part)
    text = tomlkit.dumps(document)
    read_spec(text)
    layout = before[LAYOUT_NAME]
    for name in gone:
        layout = layouts.called_anew(layout, part=renamed_part(name, None, names))
    step = Step(f"remove part {part}", before, {JOB_FILE: text, LAYOUT_NAME: layout}, told_gone(part, lost))
    return _without(step, job, gone)


def _rename_step(old: str, new: str, edit: ask.SetValue, job: Job) -> Step:
    ours, theirs = _correction_name(old), _correction_name(new)
    before = read_texts(job.folder, (JOB_FILE, LAYOUT_NAME, ours, theirs))
    document = tomlkit.parse((before[JOB_FILE] or "").lstrip("\ufeff"))
    call = renamed_part(old, new, names_of_parts(document))
    title = edit_job(document, edit)
    call_anew(document, "part", call)
    text = tomlkit.dumps(document)
    read_spec(text)
    after = {JOB_FILE: text, LAYOUT_NAME: layouts.called_anew(before[LAYOUT_NAME], part=call)}
    return Step(title, before, after | {ours: None} | {theirs: before[ours]})


def _without(step: Step, job: Job, parts: Sequence[str]) -> Step:
    """Add to a step that corrections of parts of these names go: a new part must not take them over."""
    texts = read_texts(job.folder, tuple(map(_correction_name, parts)))
    return dataclasses.replace(step, before={**step.before, **texts}, after={**step.after, **dict.fromkeys(texts)})


def _correction_name(part: str) -> str:
    return f"corrected/{file_name_for(part)}.json"


def _rack_step(edit: ask.SetBoard | ask.AddBoards | ask.DropBoard, job: Job) -> Step:
    name = rack_name(job)
    before = read_texts(job.folder, (name,))
    text, title = edit_rack(before[name], edit, name=name, units=job.spec.job.units)
    beside = _beside_boards(edit, job, before[name] or "", text)
    step = Step(title, before | read_texts(job.folder, beside), {name: text, **beside})
    if isinstance(edit, ask.DropBoard):
        return _board_called(step, edit.board, None, job)
    if isinstance(edit, ask.SetBoard) and edit.field == "name":
        (new,) = _names_of_boards(text) - _names_of_boards(before[name]) or {edit.board}
        return _board_called(step, edit.board, new, job)
    return step


def _board_called(step: Step, old: str, new: str | None, job: Job) -> Step:
    """Add to a step that parts, pins and the layout call a board by its new name, or speak of it no more."""
    before = read_texts(job.folder, (JOB_FILE, LAYOUT_NAME))
    text, lost = called_in_job(before[JOB_FILE], "board", old, new)
    read_spec(text or "")
    after = {JOB_FILE: text, LAYOUT_NAME: layouts.called_anew(before[LAYOUT_NAME], board=renamed(old, new))}
    return Step(step.title, {**step.before, **before}, {**step.after, **after}, told_gone(old, lost))


def _names_of_boards(text: str | None) -> set[str]:
    return {board.name for board in parse_rack(text)} if text and text.strip() else set()


def _beside_boards(
    edit: ask.SetBoard | ask.AddBoards | ask.DropBoard, job: Job, old: str, new: str
) -> dict[str, str | None]:
    """Return what lies beside the boards that an edit brings, renames or takes away.

    A renamed board keeps its outline and blemishes; a new one has none, whatever another of its name left behind.
    """
    were, are = _names_of_boards(old), _names_of_boards(new)
    beside: dict[str, str | None] = dict.fromkeys(side_name(board) for board in sorted(were ^ are))
    if isinstance(edit, ask.SetBoard) and (come := are - were):
        kept = read_texts(job.folder, (side_name(edit.board),))
        beside[side_name(come.pop())] = kept[side_name(edit.board)]
    return beside


def _side_file_step(edit: ask.AddBlemish | ask.DropBlemish, job: Job) -> Step:
    rack = rack_name(job)
    if edit.board not in {board.name for board in parse_rack(read_texts(job.folder, (rack,))[rack] or "")}:
        raise JobError(f"there is no board {edit.board!r} in the rack; reload the page.")
    name = side_name(edit.board)
    before = read_texts(job.folder, (name,))
    text, title = edit_side_file(before[name], edit)
    return Step(title, before, {name: text})


def _outline_step(edit: ask.SetOutline, job: Job) -> Step:
    if edit.part not in {part.name for part in job.spec.part}:
        raise JobError(f"there is no part {edit.part!r}; reload the page.")
    name = _correction_name(edit.part)
    before = read_texts(job.folder, (name,))
    if edit.outline is None:
        return Step(f"take back the correction of {edit.part}", before, {name: None})
    outline = Outline.from_json(edit.outline)
    check_outline(outline, what=f"the corrected outline of {edit.part}")
    text = json.dumps({"name": edit.part, "outline": outline.as_json()}, ensure_ascii=False)
    return Step(f"correct the outline of {edit.part}", before, {name: text})


def _cut_step(edit: ask.CutPart, job: Job) -> Step:
    """The part keeps one side of the cut as its correction; the other side becomes a part like it."""
    names = {part.name for part in job.spec.part}
    if edit.part not in names:
        raise JobError(f"there is no part {edit.part!r}; reload the page.")
    if edit.name in names:
        raise JobError(f"there is a part {edit.name!r} already; call the new one something else.")
    outline = Outline.from_json(edit.outline)
    check_outline(outline, what=f"the outline of {edit.part}")
    new, kept = cut_in_two(outline, edit.ends)
    before = read_texts(job.folder, (JOB_FILE, *map(_correction_name, (edit.part, edit.name))))
    document = tomlkit.parse((before[JOB_FILE] or "").lstrip("\ufeff"))
    parts: Any = document["part"]
    table = copy.deepcopy(next(one for one in parts if one["name"] == edit.part))
    table["name"] = edit.name
    table.pop("weighed", None)
    parts.append(table)
    text = tomlkit.dumps(document)
    read_spec(text)
    after: dict[str, str | None] = {JOB_FILE: text}
    for name, side in ((edit.part, kept), (edit.name, new)):
        check_outline(side, what=f"{name} after the cut")
        content = {"name": name, "outline": side.as_json()}
        after[_correction_name(name)] = json.dumps(content, ensure_ascii=False)
    return Step(f"cut {edit.part} in two", before, after)


def cut_in_two(outline: Outline, ends: tuple[int, int]) -> tuple[Outline, Outline]:
    """Return the outline of the stretch of the exterior from the first to the second of its points, and the rest.

    Each is closed by the straight line between the two points, and has the cut-outs that lie in it.

    Raises:
        JobError: Points that are not there, or next to each other on a straight edge; a cut-out in the way.
    """
    segments, (first, last) = outline.exterior.segments, ends
    count = len(segments)
    if not (0 <= first < count and 0 <= last < count) or first == last:
        raise JobError("the two points of the cut are not on the edge any more; choose them again.")
    turned = [*segments[first:], *segments[:first]]
    size = (last - first) % count
    sides = [_closed_by_cut(turned[:size]), _closed_by_cut(turned[size:])]
    holes: list[list[Ring]] = [[], []]
    for hole in outline.cutouts:
        inside = [side.to_polygon().contains(Outline(hole).to_polygon()) for side in sides]
        if not any(inside):
            raise JobError("the cut runs through a cut-out; choose two points whose line leaves it alone.")
        holes[inside.index(True)].append(hole)
    new, kept = (Outline(side.exterior, tuple(own)) for side, own in zip(sides, holes, strict=True))
    return new, kept


def _closed_by_cut(segments: Sequence[Segment]) -> Outline:
    if len(segments) == 1 and isinstance(segments[0], Line):
        raise JobError("the two points of the cut are neighbours on a straight edge; nothing lies between them.")
    return Outline(Ring((*segments, Line(segments[-1].end, segments[0].start))))


def _pinned_step(step: Step, part: str, job: Job) -> Step:
    """Add to a step that every copy of a part, or of its pieces, stays where it lies: its wood is gone."""
    before = read_texts(job.folder, (LAYOUT_NAME,))
    laid = read_laid(before[LAYOUT_NAME])
    names = [table.name for table in job.spec.part]
    lying = [] if laid is None else [p for board in laid.layout.boards for p in board.placements]
    copies = {(p.part, p.copy) for p in lying if owner_of(p.part, names) == part}
    if laid is None or not copies:
        return step
    text = laid_text(dataclasses.replace(laid, pinned=laid.pinned | copies))
    return Step(step.title, {**step.before, **before}, {**step.after, LAYOUT_NAME: text})


def _layout_step(edit: ask.PlaceCopy | ask.PinCopy, job: Job, standing: Standing) -> Step:
    before = read_texts(job.folder, (LAYOUT_NAME,))
    laid = read_laid(before[LAYOUT_NAME])
    if isinstance(edit, ask.PinCopy):
        title = f"{'pin' if edit.is_pinned else 'unpin'} {edit.part}"
        return Step(title, before, {LAYOUT_NAME: laid_text(layouts.with_pin(laid, edit))})
    made_from = inputs_hash(job, standing.parts, standing.boards)
    changed = layouts.with_copy_at(laid, edit, standing.parts, standing.boards, made_from=made_from)
    cut = placeless_copies(job.spec, standing.parts)
    changed = layouts.refuse_faults(proved_layout(changed, standing.parts, standing.boards, rules_of(job), cut=cut))
    return Step(f"move {edit.part} on {edit.board}", before, {LAYOUT_NAME: laid_text(changed)})
