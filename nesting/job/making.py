"""The later stages on a job: weigh, nest, write patterns; and the whole run, from paper to pattern."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from nesting.board import Board
from nesting.job.files import digest, write_results
from nesting.job.folder import Job
from nesting.job.rack import read_rack
from nesting.job.results import layout_from_json, nest_result
from nesting.job.tracing import JobTrace, Progress, make_parts, trace_job
from nesting.part import Part
from nesting.patterns.settings import FORMATS, Format, PatternSettings
from nesting.patterns.sheets import board_pattern, part_pattern
from nesting.place.layout import Layout
from nesting.place.nest import nest_parts
from nesting.place.problem import NestRules
from nesting.place.proof import prove_layout
from nesting.weigh import Pick, Weight, WeightTable, choose_boards, weigh_parts
from vectorize.errors import CallError, NothingFoundError
from vectorize.notes import Note

LAYOUT_FILE = "layout.json"


@dataclass(frozen=True, slots=True)
class Effort:
    """How long a search may take: seconds or sweeps, whichever ends first, and the seed it starts from."""

    time_limit_s: float | None = 10.0
    max_sweeps: int | None = None
    seed: int = 0


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


def run_job(job: Job, *, effort: Effort, is_forced: bool, progress: Progress) -> Run:
    """Take a job from paper to patterns: trace, weigh, nest, write.

    Raises:
        SheetwoodError: A stage that cannot go on; what was written before stays.
    """
    trace = trace_job(job, progress=progress)
    parts, said = make_parts(job, trace)
    boards = read_rack(job)
    progress("nesting")
    layout = nest_job(job, parts, boards, effort=effort)
    weights = nested_weights(parts, boards, layout)
    progress("writing patterns")
    files, kept = write_patterns(job, parts, boards, layout, weights, is_forced=is_forced)
    boardless = {note.part for note in weights.notes if note.code == "no board"}
    unplaced = (note for note in unplaced_notes(layout) if note.part not in boardless)
    notes = (*trace.notes, *said, *weights.notes, *layout.notes, *unplaced, *kept)
    return Run(trace, parts, boards, weights, layout, files, notes)


def rules_of(job: Job) -> NestRules:
    """Return the nesting rules of a job: the tool's defaults, with what `[nest]` says."""
    nest = job.spec.nest
    return NestRules.for_tool(
        nest.tool, kerf_mm=nest.kerf, clearance_mm=nest.clearance, ends_mm=nest.ends, edges_mm=nest.edges
    )


def nest_job(job: Job, parts: Sequence[Part], boards: Sequence[Board], *, effort: Effort) -> Layout:
    """Nest a job's parts on its boards, light boards first, and keep the proved layout in `out/layout.json`.

    Raises:
        NoSolutionError, NothingFoundError: Nothing can be, or could be, placed.
        WriteError: `out/` cannot be written.
    """
    choice = choose_boards(parts, boards)
    layout = nest_parts(
        parts,
        choice.boards,
        rules=rules_of(job),
        time_limit_s=effort.time_limit_s,
        max_sweeps=effort.max_sweeps,
        seed=effort.seed,
    )
    if not layout.proof.is_proved:
        raise NothingFoundError(
            f"the layout found does not pass its proof ({layout.proof.faults[0]}); try another --seed or more --time."
        )
    result = nest_result(layout, layout.notes) | {"made_from": inputs_hash(job, parts, boards)}
    write_results(job.out, {LAYOUT_FILE: json.dumps(result, indent=1, ensure_ascii=False).encode()}, is_forced=True)
    return layout


def nested_weights(parts: Sequence[Part], boards: Sequence[Board], layout: Layout) -> WeightTable:
    """Return the weights as nested, each chosen board with the reason: first choice, or what had no room."""
    first = {pick.part: pick for pick in choose_boards(parts, boards).picks}
    table = weigh_parts(parts, boards, layout=layout)
    weights = tuple(
        replace(weight, reason=_why_nested(weight, first[weight.part])) if weight.is_chosen else weight
        for weight in table.weights
    )
    return replace(table, weights=weights)


def _why_nested(weight: Weight, pick: Pick) -> str:
    if weight.board == pick.boards[0]:
        return pick.reason.removeprefix(f"{weight.board}, ")
    passed = ", ".join(pick.boards[: pick.boards.index(weight.board)])
    return f"no room left on {passed}"


def settled_layout(job: Job, parts: Sequence[Part], boards: Sequence[Board], *, effort: Effort) -> Layout:
    """Return the layout in `out/layout.json` if it was made from the same parts, boards and rules; else nest anew.

    A stored layout is proved again before it is given.
    """
    try:
        data = json.loads((job.out / LAYOUT_FILE).read_text(encoding="utf-8"))
        if data["made_from"] == inputs_hash(job, parts, boards):
            layout = layout_from_json(data)
            proof = prove_layout(layout.boards, parts, boards, rules_of(job), unplaced=layout.unplaced)
            if proof.is_proved:
                return replace(layout, proof=proof)
    except (OSError, ValueError, KeyError, TypeError):
        pass  # no layout yet, or a damaged one: it is made anew
    return nest_job(job, parts, boards, effort=effort)


def inputs_hash(job: Job, parts: Iterable[Part], boards: Iterable[Board]) -> str:
    """Return the hash of all that a layout depends on; what a sawn part turned out to weigh moves nothing."""
    shapes = [repr(replace(part, weighed_g=None)) for part in parts]
    inputs = [shapes, [repr(board) for board in boards], repr(job.spec.nest)]
    return digest(json.dumps(inputs).encode())


def unplaced_notes(layout: Layout) -> tuple[Note, ...]:
    """Return an open note for every copy that found no place."""
    return tuple(Note("unplaced", u.reason, state="open", part=u.part) for u in layout.unplaced)


def write_patterns(
    job: Job,
    parts: Sequence[Part],
    boards: Sequence[Board],
    layout: Layout,
    weights: WeightTable,
    *,
    only: str | None = None,
    formats: Sequence[str] | None = None,
    paper: str | None = None,
    is_forced: bool = False,
) -> tuple[tuple[str, ...], tuple[Note, ...]]:
    """Write patterns of all boards and parts (or of `only` one part) to `out/`; return file names and notes.

    Raises:
        CallError: No part of that name, an unknown format or paper.
        WriteError: `out/` cannot be written.
    """
    settings = pattern_settings(job, paper=paper)
    wanted = _formats(formats)
    mass = {(w.part, w.copy): w.mass_g for w in weights.weights if w.is_chosen}
    files: dict[str, bytes] = {}
    if only is None:
        by_name = {board.name: board for board in boards}
        for laid in layout.boards:
            files |= board_pattern(by_name[laid.board], laid, parts, settings=settings, weights=mass, formats=wanted)
    for part in _chosen_parts(parts, only):
        files |= part_pattern(part, settings=settings, formats=wanted)
    written = write_results(job.out, files, is_forced=is_forced)
    return tuple(path.name for path in written.paths), written.notes


def _formats(wanted: Sequence[str] | None) -> tuple[Format, ...]:
    unknown = [name for name in wanted or () if name not in FORMATS]
    if unknown:
        raise CallError(f"there is no pattern format {unknown[0]!r}; choose from {', '.join(FORMATS)}.")
    return tuple(name for name in FORMATS if not wanted or name in wanted)


def pattern_settings(job: Job, *, paper: str | None = None) -> PatternSettings:
    """Return the pattern settings of a job; `paper` given on the command line wins."""
    nest = rules_of(job)
    return PatternSettings(paper=paper or job.spec.pattern.paper, tool=nest.tool, kerf_mm=nest.kerf_mm)


def _chosen_parts(parts: Sequence[Part], only: str | None) -> Sequence[Part]:
    if only is None:
        return parts
    chosen = [part for part in parts if part.name == only]
    if not chosen:
        raise CallError(f"there is no part {only!r}; parts: {', '.join(part.name for part in parts)}.")
    return chosen
