"""The whole run, from paper to patterns, and patterns alone."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.balance.weights import WeightTable
from nesting.job.bringing import bring_in_part, correction_name
from nesting.job.folder import Job
from nesting.job.journal import read_files
from nesting.job.laying import Effort, nest_job, unplaced_notes
from nesting.job.model_values import asked_notes
from nesting.job.panels import carved_names, panel_notes
from nesting.job.pattern_files import PatternWish, write_patterns
from nesting.job.stages import Stages
from nesting.job.tracing import JobTrace
from nesting.place.layout import Layout
from nesting.wood.board import Board
from nesting.wood.part import Part
from vectorize.basics.errors import CallError
from vectorize.basics.notes import Note
from vectorize.basics.watch import Watcher


@dataclass(frozen=True, slots=True)
class Run:
    """Everything that a run through a job gave."""

    trace: JobTrace
    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    weights: WeightTable
    layout: Layout
    files: tuple[str, ...]
    notes: tuple[Note, ...]


def run_job(job: Job, *, effort: Effort, is_forced: bool, progress: Watcher, lets_go: bool = False) -> Run:
    """Take a job from paper to patterns: trace, weigh, nest (`lets_go` as `nest_job` has it), write.

    Raises:
        SheetwoodError: A stage that cannot go on; what was written before stays.
    """
    stages = Stages(job, progress=progress)
    parts, boards = stages.parts, stages.boards
    progress("nesting")
    said = nest_job(job, parts, boards, effort=effort, lets_go=lets_go, progress=progress).notes
    layout, weights = stages.need_layout(), stages.weights
    progress("writing patterns")
    files, kept = write_patterns(stages, is_forced=is_forced)
    boardless = {note.part for note in weights.notes if note.code == "no-board"}
    unplaced = (note for note in unplaced_notes(layout) if note.part not in boardless)
    asked = asked_notes(job.spec, parts, boards, weights)
    panels = panel_notes(stages.made.carvings, weights, asked=carved_names(job))
    notes = (*stages.notes, *weights.notes, *asked, *panels, *said, *unplaced, *kept)
    return Run(stages.trace, parts, boards, weights, layout, files, notes)


def pattern_job(
    job: Job, *, wish: PatternWish, effort: Effort, is_forced: bool, progress: Watcher
) -> tuple[tuple[str, ...], tuple[Note, ...]]:
    """Write the patterns asked for, from what is traced and nested already where that still holds.

    Returns the names of the files and everything said.

    Raises:
        CallError: An edited pattern without the part that it is of, or what `write_patterns` refuses.
        SheetwoodError: A stage that cannot go on; what was written before stays.
    """
    if wish.edited is not None and wish.part is None:
        raise CallError("--bring-in needs --part, the part whose outline the drawing holds.")
    before = {} if wish.part is None else read_files(job.folder, (correction_name(wish.part),))
    stages = Stages(job, progress=progress)
    brought: tuple[Note, ...] = ()
    if wish.edited is not None and wish.part is not None:
        brought = bring_in_part(
            job, stages.trace, part=wish.part, file=wish.edited.file, unit_mm=wish.edited.unit_mm, before=before
        )
        stages = Stages(job, progress=progress, memo=stages.memo)
    said: tuple[Note, ...] = ()
    of_parts = stages.notes
    if stages.layout is None:
        said = nest_job(job, stages.parts, stages.boards, effort=effort).notes
        stages = Stages(job, progress=progress, memo=stages.memo)
    else:
        of_parts = tuple(note.retold() for note in of_parts)
    files, told = write_patterns(stages, wish=wish, is_forced=is_forced)
    return files, (*brought, *of_parts, *said, *told)
